"""The best triple that holds one given candidate, exactly: two partners are sought for it.

A pair of partners scores at most the sum of what each gains alone, so partners whose sum
with the best other one cannot reach the best pair found are left out, and no others.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from themekit.suggest.candidates import Candidates, Floats, Ints, PairTables, Weights
from themekit.suggest.pair_terms import KnownPairs, allowed, exact_scores

#: Partners paired first, which sets the score to reach.
_FIRST = 12


def best_with(
    c: Candidates, weights: Weights, tables: PairTables, ones: Sequence[int]
) -> list[tuple[tuple[int, int, int], float] | None]:
    """For each candidate of `ones` the best triple with it and its score; None where no triple is allowed.

    It is the first that `best_three` would give if that candidate were required; ties go
    to the first triple of indices. `tables` are the `pair_tables` of the candidates.
    """
    together = (weights.harmony * tables.harmony + weights.contrast * tables.contrast) / 3
    apart = weights.distinctness * tables.distinctness
    near = weights.coverage * c.anchor_weights * c.closeness
    most = float(together.max()) if len(c) else 0.0
    return [_best_with(c, weights, tables, one, together, apart, near, most) for one in ones]


def _best_with(
    c: Candidates, weights: Weights, tables: PairTables, one: int,
    together: Floats, apart: Floats, near: Floats, most_together: float,
) -> tuple[tuple[int, int, int], float] | None:  # fmt: skip
    """The best triple with candidate `one`."""
    gain = c.unary / 3 + together[one] + np.maximum(near - near[one], 0).sum(axis=1)
    # The smallest of the distances is at most the mean of those two to `one`.
    bound = gain + apart[one] / 2
    bound[one] = -np.inf
    order = np.argsort(-bound, kind="stable")[: len(c) - 1]
    best: tuple[float, tuple[int, int, int]] | None = None
    base = float(c.unary[one] / 3 + near[one].sum())
    taken = 0
    wanted = min(_FIRST, len(order))
    while taken < wanted:
        found = _pairs(c, weights, tables, one, order[:wanted], together, apart, near)
        if found is not None and (best is None or (-found[0], found[1]) < (-best[0], best[1])):
            best = found
        taken = wanted
        floor = -np.inf if best is None else best[0]
        open_ = bound[order] + bound[order[0]] + base + most_together >= floor - 1e-9
        wanted = max(taken, int(open_.sum()))
    return None if best is None else (best[1], best[0])


def _pairs(
    c: Candidates, weights: Weights, tables: PairTables, one: int, partners: Ints,
    together: Floats, apart: Floats, near: Floats,
) -> tuple[float, tuple[int, int, int]] | None:  # fmt: skip
    """The best triple of `one` and two of the partners."""
    first, second = np.triu_indices(len(partners), 1)
    i, j = partners[first], partners[second]
    value = c.unary[i] / 3 + c.unary[j] / 3 + together[one, i] + together[one, j] + together[i, j]
    value += np.minimum(np.minimum(apart[one, i], apart[one, j]), apart[i, j])
    for column in near.T:
        value += np.maximum(np.maximum(column[i], column[j]), column[one])
    triples = np.sort(np.stack([np.full(len(i), one), i, j], axis=1), axis=1)
    if c.at_most_one.shape[1] or c.at_least_one.shape[1] or c.apart:
        fine = allowed(c, triples)
        triples, value = triples[fine], value[fine]
    if not len(triples):
        return None
    triples = triples[value >= value.max() - 1e-9]
    scores = exact_scores(c, weights, KnownPairs(tables), triples)
    score, triple = min((-s, tuple(t)) for s, t in zip(scores.tolist(), triples.tolist(), strict=True))
    return -score, (triple[0], triple[1], triple[2])
