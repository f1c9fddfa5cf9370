"""Look-up tables of a shelf's own themes, made from what all shelves share."""

from __future__ import annotations

import numpy as np

from catalog.lexicon import lexicon
from themekit.suggest import lookup
from themekit.suggest.lookup import lookup_for
from themekit.values import Anchor, Theme


def own(name: str, *aliases: str) -> Theme:
    return Theme(name, aliases, (Anchor((50.0, 0.0, 0.0), 1.0, name),), ())


def test_what_meaning_may_lead_to_is_embedded_as_by_itself() -> None:
    """Built-in names from the shared table, her own anew; exactly the same vectors."""
    known = lexicon()
    assert known.meaning is not None
    found = lookup_for(known, (own("harbour lights", "owls"), own("pirate", "zzz qqx")))
    targets, vectors = found.targets
    assert {"harbour lights", "owls", "zzz qqx"} <= {target.phrase for target in targets}
    np.testing.assert_array_equal(vectors, known.meaning.embed_many([t.phrase for t in targets]))
    assert [t.phrase for t in targets[:2]] == ["harbour lights", "owls"]


def test_shelves_without_themes_of_their_own_share_one_table() -> None:
    """And of others no more are kept than a process has room for."""
    known = lexicon()
    assert lookup_for(known) is lookup_for(known)
    for number in range(40):
        lookup_for(known, (own(f"theme {number}"),))
    kept = lookup._cached.cache_info()
    assert kept.currsize == kept.maxsize == 16
