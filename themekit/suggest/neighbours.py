"""What is often seen with a thing: for shelves that do not hold the thing itself.

A vampire's shelf may hold no vampire but a bat. Neighbours come from the tables first
(what a thing is seen with, and the themes that carry it), then from word vectors.
"""

from __future__ import annotations

from collections.abc import Sequence

from themekit.suggest.draft import Draft
from themekit.suggest.lookup import Lookup
from themekit.suggest.weights import PLAIN_MOTIFS
from themekit.suggest.words import key_of

#: What neighbours count beside the thing itself: listed ones, those of its theme, those in meaning.
LISTED, OF_THEME, IN_MEANING = 0.6, 0.5, 0.5
#: What the neighbours count of a thing that only stands first among a theme's motifs.
OF_FIRST = 0.75
#: What a plain shape counts, which is seen with everything.
PLAIN_SHAPE = 0.5
#: Cosine from which a thing is a neighbour in meaning; by judgement over things of the tables.
NEAR = 0.42
#: How many things have neighbours at most.
MOST_CORES = 6


def add_neighbours(draft: Draft, named: Sequence[str], first: Sequence[str]) -> None:
    """Add what is often seen with things, told as near to them.

    named  things that the phrase names itself
    first  motifs that stand first in the themes it names; of these only listed neighbours count
    """
    for word in named[:MOST_CORES]:
        found = [*_listed(draft.lookup, word), *_of_theme(draft.lookup, word)]
        # Vectors err more often than tables, so they only help where the tables are silent.
        for motif, weight in found or _in_meaning(draft.lookup, word):
            draft.see(motif, weight, "near", word)
    for word in first[:MOST_CORES]:
        for motif, weight in _listed(draft.lookup, word):
            draft.see(motif, OF_FIRST * weight, "near", word)


def _listed(lookup: Lookup, word: str) -> list[tuple[str, float]]:
    """What the tables list beside a thing, the first weighing most."""
    thing = lookup.things.get(key_of(word))
    if thing is None:
        return []
    count = len(thing.seen_with)
    return [
        (w, LISTED * (1 - 0.5 * at / count) * (PLAIN_SHAPE if w in PLAIN_MOTIFS else 1))
        for at, w in enumerate(thing.seen_with)
    ]


def _of_theme(lookup: Lookup, word: str) -> list[tuple[str, float]]:
    """The other motifs of a theme that is named for the thing: "prince and knight" for a knight."""
    key = lookup.motif_key(word)
    found: list[tuple[str, float]] = []
    for theme, _ in lookup.themes_of_motif.get(key, ()):
        if set(key) <= {part for name in (theme.name, *theme.aliases) for part in key_of(name)}:
            count = len(theme.motifs)
            found += [
                (w, OF_THEME * (1 - 0.5 * at / count))
                for at, w in enumerate(theme.motifs)
                if w not in PLAIN_MOTIFS and lookup.motif_key(w) != key
            ]
            break
    return found


def _in_meaning(lookup: Lookup, word: str) -> list[tuple[str, float]]:
    """Motifs near in meaning that share no word with it: "race car" is near "car" by its spelling alone."""
    meaning = lookup.lexicon.meaning
    if meaning is None:
        return []
    motifs, matrix = lookup.motif_vectors
    own = meaning.pieces(word)
    return [
        (motifs[at], IN_MEANING * cosine)
        for at, cosine in meaning.nearest(word, matrix, 12)
        if cosine >= NEAR and own.isdisjoint(meaning.pieces(motifs[at])) and motifs[at] not in PLAIN_MOTIFS
    ]
