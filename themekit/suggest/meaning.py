"""Open vocabulary: the meaning of a phrase as the mean of its words' vectors.

The vectors are distilled from a sentence model beforehand; here they are only added up.
A word without a vector may still be the plural of one that has, or be joined from two.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Unit = NDArray[np.float32]

_WORD = re.compile(r"[^\W_]+")
#: The shorter half of a word that is joined from two known ones has at least so many
#: letters; random letters hardly ever make two such words.
SHORTEST_HALF = 4
#: The same for telling whether two known words have a part in common ("pancake", "cupcake").
SHORTEST_PIECE = 3
#: Longer words are not taken apart; no English compound of two words is as long.
LONGEST_WORD = 30


@dataclass(frozen=True, eq=False)
class Meaning:
    """Words and whole phrases with their vectors.

    place    row of `vectors` for each word, and for each phrase of several words that is
             known as a whole; in lower case, without accents, words parted by one space
    vectors  (n, d) int8, all to one scale
    """

    place: Mapping[str, int]
    vectors: NDArray[np.int8]

    def rows_of(self, phrase: str) -> tuple[int, ...]:
        """The rows of `vectors` that a phrase's known words are made of, in order.

        One row for a phrase that is known as a whole.
        """
        words = [_plain(word) for word in _WORD.findall(phrase)]
        whole = self.place.get(" ".join(words)) if len(words) > 1 else None
        if whole is not None:
            return (whole,)
        return tuple(self.place[piece] for word in words for piece in self._known(word))

    def knows(self, word: str) -> bool:
        """Whether a word carries a meaning: it, or what it is the plural of or joined from, has a vector."""
        return bool(self._known(_plain(word)))

    def pieces_of(self, word: str) -> tuple[str, ...]:
        """The known word that a word is, if any, and the two shorter ones that it can be parted into."""
        plain = _plain(word)
        own = self._own(plain)
        return (() if own is None else (own,)) + self._parted(plain, SHORTEST_PIECE)

    def pieces(self, phrase: str) -> frozenset[str]:
        """The words of a phrase with all that they are joined from, to tell what two phrases share."""
        return frozenset(piece for word in phrase.split() for piece in (word, *self.pieces_of(word)))

    def _known(self, word: str) -> tuple[str, ...]:
        own = self._own(word)
        return self._parted(word, SHORTEST_HALF) if own is None else (own,)

    def _parted(self, word: str, least: int) -> tuple[str, ...]:
        """The two known words of at least `least` letters that a word is joined from, as evenly as can be."""
        if len(word) > LONGEST_WORD:
            return ()
        for cut in sorted(range(least, len(word) - least + 1), key=lambda c: abs(2 * c - len(word))):
            first, second = self._own(word[:cut]), self._own(word[cut:])
            if first is not None and second is not None:
                return (first, second)
        return ()

    def _own(self, word: str) -> str | None:
        return next((form for form in _forms(word) if form in self.place), None)

    def embed(self, phrase: str) -> Unit | None:
        """Unit vector (d,) of a phrase's known words, None when it has none."""
        total = self.vectors[list(self.rows_of(phrase))].sum(axis=0, dtype=np.float32)
        length = float(np.sqrt(total @ total))
        return np.asarray(total / length, np.float32) if length else None

    def embed_many(self, phrases: Sequence[str]) -> Unit:
        """Unit vectors (n, d); a row of zeros for a phrase without known words."""
        rows = [self.rows_of(phrase) for phrase in phrases]
        owner = np.repeat(np.arange(len(rows)), [len(r) for r in rows])
        out = np.zeros((len(rows), self.vectors.shape[1]), np.float32)
        np.add.at(out, owner, self.vectors[[row for of in rows for row in of]])
        lengths = np.sqrt(np.einsum("nd,nd->n", out, out))
        return np.asarray(out / np.where(lengths, lengths, 1)[:, None], np.float32)

    def nearest(self, phrase: str, matrix: Unit, k: int) -> list[tuple[int, float]]:
        """The k rows of `matrix` (n, d) nearest in meaning, best first, with their cosines.

        [] when no word of the phrase is known. Rows of equal cosine keep their order.
        """
        vector = self.embed(phrase)
        if vector is None or not len(matrix):
            return []
        cosine = matrix @ vector
        best = np.argsort(-cosine, kind="stable")[:k]
        return [(int(i), float(cosine[i])) for i in best]


def phrase_key(phrase: str) -> str:
    """A phrase as `Meaning.place` has it."""
    return " ".join(_plain(word) for word in _WORD.findall(phrase))


def _plain(word: str) -> str:
    """Compatibility form, case-folded, without accents."""
    if word.isascii():
        return word.lower()
    folded = unicodedata.normalize("NFD", unicodedata.normalize("NFKC", word).casefold())
    return "".join(c for c in folded if not unicodedata.combining(c))


def _forms(word: str) -> tuple[str, ...]:
    """The word itself, then what it may be the plural of."""
    if len(word) < 4 or not word.endswith("s") or word.endswith("ss"):
        return (word,)
    if word.endswith("ies"):
        return (word, word[:-3] + "y", word[:-1])
    if word.endswith("es"):
        return (word, word[:-1], word[:-2])
    return (word, word[:-1])
