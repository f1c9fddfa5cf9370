"""What belongs to a season, to a celebration or to love, and so says too much anywhere else.

A fir tree is a tree, but on a cookie it says Christmas; a balloon says birthday. What is bound is
told by the themes that carry it: no list of its own that would have to be kept.
"""

from __future__ import annotations

from collections.abc import Sequence

from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.theme import Reading
from themekit.suggest.words import key_of
from themekit.values import Theme

#: Part of the themes that carry a thing which have months of their own, or are days in a life, from which
#: on it is bound to them; by judgement over the things of the tables, no outside source.
SEASONAL, CELEBRATED = 0.7, 0.4
#: Groups of themes in which something is celebrated, and those in which a heart is meant as one.
FESTIVE = frozenset(("life", "holidays", "parties"))
#: A heart that stands so early in a theme's list means love; later it only fills up. Of a holiday the first half.
_FIRST = 2


def season_of(lookup: Lookup, key: Key) -> frozenset[int]:
    """The months to which a thing is bound, since most themes that carry it have their time of the year."""
    themes = [theme for theme, _ in lookup.themes_of_motif.get(key, ())]
    if _share([bool(theme.months) for theme in themes]) < SEASONAL:
        return frozenset()
    return frozenset(month for theme in themes for month in theme.months)


def celebrated(lookup: Lookup, key: Key) -> bool:
    """Whether many themes that carry a thing are days in a life, as of a balloon or a rattle."""
    return _share([theme.group == "life" for theme, _ in lookup.themes_of_motif.get(key, ())]) >= CELEBRATED


def _share(told: Sequence[bool]) -> float:
    return sum(told) / len(told) if told else 0.0


def themes_in(reading: Reading, lookup: Lookup) -> list[Theme]:
    """The themes that a phrase was read as, guesses too."""
    names = [key_of(u.name) for u in reading.understood if u.taken_as == "theme"]
    return [theme for name in names if (theme := lookup.themes.get(name)) is not None]


def love_is_meant(themes: Sequence[Theme]) -> bool:
    """Whether a heart belongs to the themes: to days in a life, and where it stands early in a list."""
    early = [
        theme.motifs[: max(_FIRST, len(theme.motifs) // 2 if theme.group == "holidays" else 0)] for theme in themes
    ]
    return any(theme.group == "life" for theme in themes) or any("heart" in motifs for motifs in early)
