"""Open vocabulary: the meaning of words as the mean of word-piece vectors.

The vectors are distilled from a sentence model beforehand; here they are only added up.
Words are split as that model's tokenizer splits them (WordPiece, greedy longest match;
Wu et al. 2016, arXiv:1609.08144, section 4.1).
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
#: A word of several pieces is known only when none of them is shorter than this: random
#: letters fall into short pieces, compounds such as "ginger##bread" do not.
SHORTEST_PIECE = 3


@dataclass(frozen=True, eq=False)
class Meaning:
    """Word pieces and their vectors.

    place    row of `vectors` for each piece, −1 for one that carries no meaning
    vectors  (p, d) int8; `scale` times them are the vectors
    """

    place: Mapping[str, int]
    vectors: NDArray[np.int8]
    scale: float

    def pieces_of(self, word: str) -> tuple[str, ...]:
        """The pieces of one word, () when it cannot be split."""
        folded = _plain(word)
        out: list[str] = []
        start = 0
        while start < len(folded):
            mark = "##" if start else ""
            for stop in range(len(folded), start, -1):
                piece = mark + folded[start:stop]
                if piece in self.place:
                    out.append(piece)
                    start = stop
                    break
            else:
                return ()
        return tuple(out)

    def knows(self, word: str) -> bool:
        """Whether the word carries a meaning that can be trusted."""
        pieces = self.pieces_of(word)
        if not pieces or any(self.place[p] < 0 for p in pieces):
            return False
        return len(pieces) == 1 or all(len(p.removeprefix("##")) >= SHORTEST_PIECE for p in pieces)

    def embed(self, phrase: str) -> Unit | None:
        """Unit vector (d,) of a phrase's known words, None when it has none."""
        rows = [
            self.place[piece]
            for word in _WORD.findall(phrase)
            if self.knows(word)
            for piece in self.pieces_of(word)
        ]
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
