"""Every triple of a home shelf, scored: one pass over flat pair arrays per first member."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from themekit.suggest.best_so_far import Best
from themekit.suggest.candidates import Candidates, Floats, Found, PairTables, Weights
from themekit.suggest.pair_terms import KnownPairs

_Index = NDArray[np.int32]


def enumerate_triples(c: Candidates, weights: Weights, k: int, tables: PairTables) -> Found:
    """The k best triples by scoring all of them; `tables` must belong to `c`."""
    n = len(c)
    best = Best(c, weights, k, KnownPairs(tables))
    together = (weights.harmony * tables.harmony + weights.contrast * tables.contrast) / 3
    for column in c.at_most_one.T:
        together[np.ix_(column, column)] = -np.inf
    apart = weights.distinctness * tables.distinctness
    unary = c.unary / 3
    near = weights.coverage * c.anchor_weights * c.closeness
    second, third = (x.astype(np.int32) for x in np.triu_indices(n, 1))
    pair_sum = together[second, third] + unary[second] + unary[third]
    pair_apart = apart[second, third]
    pair_near = [np.maximum(column[second], column[third]) for column in near.T]
    must = [column[second] | column[third] for column in c.at_least_one.T]
    examined = 0
    for i in range(n - 2):
        tail = (i + 1) * n - (i + 1) * (i + 2) // 2  # pairs (j, k) with i < j stand from here
        j, k3 = second[tail:], third[tail:]
        score = pair_sum[tail:] + unary[i]
        score += together[i][j]
        score += together[i][k3]
        least = np.minimum(apart[i][j], apart[i][k3])
        score += np.minimum(least, pair_apart[tail:], out=least)
        for column, both in zip(near.T, pair_near, strict=True):
            score += np.maximum(both[tail:], column[i])
        for flags, hit in zip(c.at_least_one.T, must, strict=True):
            if not flags[i]:
                score[~hit[tail:]] = -np.inf
        examined += len(score)
        _offer_best(best, i, j, k3, score)
    return Found(best.triples, best.scores, True, 0.0, examined)


def _offer_best(best: Best, i: int, j: _Index, k: _Index, score: Floats) -> None:
    """Offer all that may be among the best, the likeliest first so that the floor rises soon."""
    open_ = np.flatnonzero((score >= best.floor - best.slack) & (score > -np.inf))
    step = 4 * best.k + 64
    while len(open_):
        if len(open_) > step:
            order = np.argpartition(-score[open_], step)
            now, open_ = open_[order[:step]], open_[order[step:]]
        else:
            now, open_ = open_, open_[:0]
        best.offer(np.stack([np.full(len(now), i), j[now], k[now]], axis=1).astype(np.int64))
        open_ = open_[score[open_] >= best.floor - best.slack]
        step *= 4
