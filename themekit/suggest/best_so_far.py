"""The best triples met so far in a search, exactly scored and ordered."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from themekit.suggest.candidates import Bools, Candidates, Floats, Ints, Weights
from themekit.suggest.pair_terms import KnownPairs, Pairs, allowed, exact_scores

Singles = NDArray[np.float32]


class Best:
    """Keeps what may be among the k best, and the floor that a new triple must reach.

    With `count` a candidate stands for so many equal ones; a triple that names it twice
    or three times means two or three of these.

    `slack` is how far an approximate score may lie below the exact one, from the
    rounding of pair values and of sums.
    """

    def __init__(
        self, c: Candidates, weights: Weights, k: int, pairs: Pairs | KnownPairs, count: Ints | None = None
    ) -> None:
        self.c, self.weights, self.k, self.pairs, self.count = c, weights, k, pairs, count
        total = weights.coverage + weights.harmony + weights.contrast + weights.distinctness
        self.slack = 1e-9 * (1 + total + float(np.abs(c.unary).max(initial=0)))
        self.floor = -np.inf
        self.triples = np.zeros((0, 3), np.int64)
        self.scores = np.zeros(0)

    def offer(self, triples: Ints) -> tuple[Ints, Floats]:
        """Take triples (r, 3) with i ≤ j ≤ k; one that was offered before does no harm.

        Returns those of them that are allowed, with their scores.
        """
        offered = triples[allowed(self.c, triples)]
        made = exact_scores(self.c, self.weights, self.pairs, offered)
        near = made >= self.floor
        if near.any():
            self._keep(np.concatenate([self.triples, offered[near]]), np.concatenate([self.scores, made[near]]))
        return offered, made

    def offer_bounded(self, triples: Ints, bound: Singles, margin: float) -> None:
        """Offer triples whose score is at most `bound` + `margin`, the likeliest first.

        So the floor rises soon and most need no exact score.
        """
        order = np.argsort(-bound)
        order = order[self.possible(triples[order])]
        step = 4 * self.k + 64
        while len(order):
            order = order[bound[order] >= self.floor - margin]
            self.offer(triples[order[:step]])
            order = order[step:]
            step *= 4

    def best_of(self, origin: Ints, triples: Ints) -> Ints:
        """Offer triples (r, 3) and return the best allowed one of each origin (r,)."""
        fine = allowed(self.c, triples)
        origin, triples = origin[fine], triples[fine]
        _, scores = self.offer(triples)
        order = np.lexsort((-scores, origin))
        first = np.flatnonzero(np.diff(origin[order], prepend=-1))
        return triples[order[first]]

    def possible(self, triples: Ints) -> Bools:
        """Which triples (r, 3) name no candidate more often than there are equals of it."""
        if self.count is None:
            return np.ones(len(triples), bool)
        return np.asarray(self._ways(triples) > 0)

    def _keep(self, triples: Ints, scores: Floats) -> None:
        order = np.lexsort((triples[:, 2], triples[:, 1], triples[:, 0], -scores))
        fresh = np.ones(len(order), bool)
        fresh[1:] = (triples[order[1:]] != triples[order[:-1]]).any(axis=1)
        order = order[fresh]
        if self.count is None:
            order = order[: self.k]
            reached = len(order) == self.k
        else:
            # Ties with the last are kept: which of them come first shows when equals are told apart.
            total = np.cumsum(self._ways(triples[order]))
            reached = bool(total[-1] >= self.k)
            if reached:
                last = scores[order[np.searchsorted(total, self.k)]]
                order = order[scores[order] >= last]
        self.triples, self.scores = triples[order], scores[order]
        if reached:
            self.floor = float(self.scores[-1])

    def _ways(self, triples: Ints) -> Floats:
        """How many triples of candidates each triple stands for, (r,)."""
        assert self.count is not None
        i, j, k = triples.T
        ni, nj, nk = self.count[triples].astype(float).T
        ways = np.where(i == j, ni * (ni - 1) / 2, ni * nj) * nk
        ways = np.where((i != j) & (j == k), ni * nj * (nj - 1) / 2, ways)
        return np.asarray(np.where((i == j) & (j == k), ni * (ni - 1) * (ni - 2) / 6, ways))
