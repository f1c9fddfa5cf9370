"""What is left of a phrase is read by word vectors: a guess, and told as one.

Vectors mislead in two ways that are seen beforehand. A target that shares a word with the
phrase is near by that word alone unless the rest of it is near too: "trip" is no "ski
trip". And opposites stand in the same sentences: "melancholy" lies near "cheerful".
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from themekit.suggest.anchors import Source
from themekit.suggest.draft import EMPTY, Draft, has_content, is_occasion, runs
from themekit.suggest.lookup import Lookup, Target
from themekit.suggest.words import Token, key_of
from themekit.values import Theme, Thing

#: Cosine at which meaning begins to count, and at which it counts in full. Measured against
#: the full sentence model (DEVELOPERS.md): from the floor on two of three first targets are
#: near there too, from 0.65, where a reading is more than a fallback, nine of ten.
MEANING_FLOOR, MEANING_FULL = 0.55, 0.85
#: How many targets meaning may lead to, and how far below the best cosine they may lie.
MEANING_MOST, MEANING_BAND = 3, 0.08
#: What meaning counts beside something that was named.
MEANING_BESIDE = 0.4
#: Cosine that a guess needs there: nine of ten are right from here on, and a wrong one costs cookies.
BESIDE_FLOOR = 0.65
#: Cosine that the rest of a target must have when it shares a word with the phrase.
REST_FLOOR = 0.45
#: When it is to be, unless nothing else is said.
MONTHS = frozenset("january february march april june july august september october november december".split())
#: How many of the nearest targets are looked at.
_LOOKED_AT = 60


def read_by_meaning(draft: Draft) -> list[str]:
    """Read what is left, run by run and then word by word; return the unknown."""
    unknown: list[str] = []
    left = [i for i, t in enumerate(draft.words) if i not in draft.certainty and has_content(t)]
    if draft.certainty or any(draft.words[i].fold not in MONTHS for i in left):
        left = [i for i in left if draft.words[i].fold not in MONTHS]
    for run in runs(left, draft.breaks):
        if not _by_meaning(draft, run):
            unknown += [
                draft.words[i].text for i in run if len(run) == 1 or not _by_meaning(draft, range(i, i + 1))
            ]
    return unknown


def _by_meaning(draft: Draft, span: range) -> bool:
    """Whether word vectors lead from the words of `span` to something known."""
    best = nearest_targets(draft.lookup, [draft.words[i] for i in span])
    # Beside what was named outright, a word known by its meaning only colours the picture:
    # one guess, where alone up to three are weighed. An occasion names no picture.
    themes = draft.lookup.themes
    named = any(
        u.how != "by meaning" and not (u.taken_as == "theme" and is_occasion(themes[key_of(u.name)]))
        for u in draft.understood
    )
    beside = MEANING_BESIDE if named else 1.0
    if named:
        best = [(target, cosine) for target, cosine in best[:1] if cosine >= BESIDE_FLOOR]
    for target, cosine in best:
        part = np.clip((cosine - MEANING_FLOOR) / (MEANING_FULL - MEANING_FLOOR), 0, 1)
        sureness = 0.2 + 0.6 * float(part)
        # The less sure, the much less colour: a wrong guess must not lead an idea.
        mass = sureness * sureness / 0.8 * beside
        meant, of = target.meant, draft.text(span)
        if isinstance(meant, Theme):
            draft.take(span, "theme", meant.name, "by meaning", sureness)
            draft.colour(meant, mass)
            draft.see_motifs(meant, sureness, "guess", of)
        else:
            draft.take(span, "thing", meant.name, "by meaning", sureness)
            draft.sources.append(Source(meant.name, meant.colours, mass * 0.8))
            draft.see(meant.name, sureness, "guess", of)
    return bool(best)


def nearest_targets(lookup: Lookup, words: Sequence[Token]) -> list[tuple[Target, float]]:
    """Up to three targets nearest in meaning, each named once, nearly as near as the best."""
    meaning = lookup.lexicon.meaning
    if meaning is None:
        return []
    targets, matrix = lookup.targets
    against = {other for t in words for w in (t.fold, t.stem) for other in lookup.lexicon.opposites.get(w, ())}
    near = meaning.nearest(" ".join(t.fold for t in words), matrix, _LOOKED_AT)
    out: list[tuple[Target, float]] = []
    first = 0.0
    for target, cosine in ((targets[i], c) for i, c in near if c >= MEANING_FLOOR):
        names = (target.meant.name, *target.meant.aliases)
        if len(out) == MEANING_MOST or cosine < first - MEANING_BAND or not against.isdisjoint(names):
            continue
        fresh = all(target.meant.name != other.meant.name for other, _ in out)
        if fresh and _near_as_a_whole(lookup, target, words):
            first = first or cosine
            out.append((target, cosine))
    return out


def _near_as_a_whole(lookup: Lookup, target: Target, words: Sequence[Token]) -> bool:
    """Whether a target is near by more than a word that it shares with the phrase.

    A thing that is a kind of what is said may stand for it: whipped cream for cream.
    """
    meaning = lookup.lexicon.meaning
    said = {t.stem for t in words}
    key = key_of(target.phrase)
    rest = [part for part in key if part not in said and part not in EMPTY]
    if meaning is None or not rest or said.isdisjoint(key):
        return True
    if isinstance(target.meant, Thing) and key[-1] == words[-1].stem:
        return True
    cosines = meaning.nearest(" ".join(t.fold for t in words), meaning.embed_many([" ".join(rest)]), 1)
    return bool(cosines) and cosines[0][1] >= REST_FLOOR
