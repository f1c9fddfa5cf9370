"""Open vocabulary: the meaning of words as the mean of word-piece vectors.

The vectors are distilled from a sentence model beforehand; here they are only added up.
Words are split as that model's tokenizer splits them (WordPiece, greedy longest match;
Wu et al. 2016, arXiv:1609.08144, section 4.1).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

Unit = NDArray[np.float32]

_WORD = re.compile(r"[^\W_]+")
#: Longer words are not split; the model's tokenizer gives up at the same length.
LONGEST_WORD = 100
#: Bits a word and bits set for each: about one stranger in 300 is taken for a known word.
_BITS_EACH, _SET_EACH = 12, 8


@dataclass(frozen=True, eq=False)
class WordSet:
    """Which words are in a large dictionary, without the dictionary (Bloom 1970).

    Every word put in is found again; of others about 0.3 % are found wrongly.
    """

    bits: NDArray[np.uint8]

    @classmethod
    def of(cls, words: Iterable[str]) -> WordSet:
        """The set of `words`."""
        words = sorted(set(words))
        made = cls(np.zeros(max(1, len(words) * _BITS_EACH // 8 + 1), np.uint8))
        for word in words:
            for at in made._places(word):
                made.bits[at >> 3] |= 1 << (at & 7)
        return made

    def __contains__(self, word: str) -> bool:
        return all(self.bits[at >> 3] >> (at & 7) & 1 for at in self._places(word))

    def _places(self, word: str) -> list[int]:
        digest = blake2b(word.encode(), digest_size=16).digest()
        one, two = int.from_bytes(digest[:8], "big"), int.from_bytes(digest[8:], "big") | 1
        return [(one + i * two) % (8 * len(self.bits)) for i in range(_SET_EACH)]


@dataclass(frozen=True, eq=False)
class Meaning:
    """Word pieces and their vectors.

    place    row of `vectors` for each piece, −1 for one that carries no meaning
    vectors  (p, d) int8; `scale` times them are the vectors
    words    words of several pieces that carry meaning; others of that sort do not
    silent   CRC-32 of whole words that are not split and carry no meaning
    """

    place: Mapping[str, int]
    vectors: NDArray[np.int8]
    scale: float
    words: WordSet
    silent: frozenset[int] = frozenset()

    def pieces_of(self, word: str) -> tuple[str, ...]:
        """The pieces of one word, () when it cannot be split."""
        folded = _plain(word)
        if len(folded) > LONGEST_WORD:
            return ()
        out: list[str] = []
        start = 0
        while start < len(folded):
            mark = "##" if start else ""
            for stop in range(len(folded), start, -1):
                piece = mark + folded[start:stop]
                if piece in self.place or (not start and crc32(piece.encode()) in self.silent):
                    out.append(piece)
                    start = stop
                    break
            else:
                return ()
        return tuple(out)

    def knows(self, word: str) -> bool:
        """Whether the word carries a meaning that can be trusted."""
        return bool(self._rows(word))

    def _rows(self, word: str) -> list[int]:
        """Rows of the pieces of a known word; none of an unknown one."""
        pieces = self.pieces_of(word)
        if len(pieces) > 1 and _plain(word) not in self.words:
            return []
        rows = (self.place.get(p, -1) for p in pieces)
        return [row for row in rows if row >= 0]

    def embed(self, phrase: str) -> Unit | None:
        """Unit vector (d,) of a phrase's known words, None when it has none."""
        rows = [row for word in _WORD.findall(phrase) for row in self._rows(word)]
        if not rows:
            return None
        mean = self.vectors[rows].astype(np.float32).sum(axis=0)
        length = float(np.linalg.norm(mean))
        return np.asarray(mean / length, np.float32) if length else None

    def embed_many(self, phrases: Sequence[str]) -> Unit:
        """Unit vectors (n, d); a row of zeros for a phrase without known words."""
        out = np.zeros((len(phrases), self.vectors.shape[1]), np.float32)
        for row, phrase in enumerate(phrases):
            vector = self.embed(phrase)
            if vector is not None:
                out[row] = vector
        return out

    def nearest(self, phrase: str, matrix: Unit, k: int) -> list[tuple[int, float]]:
        """The k rows of `matrix` (n, d) nearest in meaning, best first, with their cosines."""
        vector = self.embed(phrase)
        if vector is None or not len(matrix):
            return []
        cosine = matrix @ vector
        best = np.argsort(-cosine, kind="stable")[:k]
        return [(int(i), float(cosine[i])) for i in best]


def _plain(word: str) -> str:
    folded = unicodedata.normalize("NFD", unicodedata.normalize("NFKC", word).casefold())
    return "".join(c for c in folded if not unicodedata.combining(c))
