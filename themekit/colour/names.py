"""The plain name of a colour: the nearest entry of a table by CIEDE2000."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.difference import delta_e_2000
from themekit.values import Lab

#: Beyond this CIEDE2000 a name no longer says what the colour looks like.
FAR = 12.0


@dataclass(frozen=True, eq=False)
class Names:
    """A table of colour names, searched exactly.

    A few hundred names are compared in full: the whole table costs less than a tree,
    and ΔE*ab neighbours would need re-ranking by CIEDE2000 anyway.
    """

    words: tuple[str, ...]
    labs: NDArray[np.float64]

    @classmethod
    def of(cls, table: Mapping[str, Lab]) -> Names:
        """Names from a mapping of word to CIELAB, in word order so that ties are settled."""
        words = tuple(sorted(table))
        return cls(words, np.array([table[w] for w in words], float).reshape(-1, 3))

    def nearest(self, lab: ArrayLike) -> tuple[str, float]:
        """The nearest name and its CIEDE2000 from `lab`, shape (3,)."""
        return self.nearest_many(np.asarray(lab, float).reshape(1, 3))[0]

    def nearest_many(self, labs: ArrayLike) -> list[tuple[str, float]]:
        """The nearest name and its CIEDE2000 for each of `labs`, shape (n, 3)."""
        distance = delta_e_2000(np.asarray(labs, float)[:, None, :], self.labs[None, :, :])
        best = np.argmin(distance, axis=1)
        return [(self.words[j], float(distance[i, j])) for i, j in enumerate(best)]


_LIGHTNESS = (
    (12, "near-black"),
    (30, "very dark"),
    (45, "dark"),
    (62, "middle"),
    (80, "light"),
    (101, "very light"),
)


def lightness_word(lightness: float) -> str:
    """CIELAB lightness in a plain word, for people who cannot see the swatch."""
    return next(word for limit, word in _LIGHTNESS if lightness < limit)


@lru_cache(maxsize=8)
def _cached(items: tuple[tuple[str, Lab], ...]) -> Names:
    return Names.of(dict(items))


def names_of(table: Mapping[str, Lab]) -> Names:
    """`Names.of`, kept for the tables that are used again and again."""
    return _cached(tuple(table.items()))


#: The basic colour words of English (Berlin and Kay, Basic Color Terms, 1969), in American spelling too.
BASIC = ("white", "black", "red", "green", "yellow", "blue", "brown", "purple", "pink", "orange", "grey")
_SPELT = {"gray": "grey"}


def called(lab: ArrayLike, own: str, names: Names, basic: Names) -> str:
    """The plain name of a colour of a thing that is itself called `own`, such as "red sanding sugar".

    Where the thing's name holds a basic colour word and the colour may be called so, its name
    here agrees: the nearest name if it has that word, else the word alone. A colour may be
    called by a word if none of the other basic ones (`basic`, word to CIELAB) is nearer, or if
    it lies within `FAR` of it.
    """
    nearest = names.nearest(lab)[0]
    found = [_SPELT.get(word, word) for word in "".join(c if c.isalpha() else " " for c in own.casefold()).split()]
    said = [word for word in found if word in basic.words]
    if not said or any(word in nearest.split() for word in said):
        return nearest
    closest = basic.nearest(lab)[0]
    for word in said:
        at = basic.labs[basic.words.index(word)]
        if word == closest or float(delta_e_2000(np.asarray(lab, float), at)) <= FAR:
            return word
    return nearest
