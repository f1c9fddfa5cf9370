"""Harmony, contrast and distinctness of pairs, and the exact score of triples.

The one place where a triple's score is defined; the search only bounds it.

    score = mean unary + w_coverage · Σ anchors ω · (largest closeness of the three)
          + w_harmony · mean H + w_contrast · mean T + w_distinctness · smallest D

over the three members and their three pairs, each part but unary in 0–1:

    H  harmony of Ou and Luo between the colours of both, weighted by their shares,
       scaled to 0–1 over the published range
    T  tints: lightness step of the share-weighted means, full at 40 L*;
       jars: form differs, grain sizes differ (full at two doublings), finish differs
    D  mean distance in ΔE*ab from each colour to the nearest of the other candidate,
       both ways, full at 40; 0 between two equal mixes of colours

Pair values are rounded to nine decimals, so that a last bit of a tanh neither parts
equal pairs nor makes one machine order triples unlike another. Then every sum has one
order: three values are added from the smallest to the largest, anchors in their order,
parts in the order above; the score is rounded to 12 decimals.
"""

from __future__ import annotations

import numpy as np

from themekit.colour import harmony
from themekit.suggest.candidates import Bools, Candidates, Floats, Ints, PairTables, Weights, checked

LIGHTNESS_STEP = 40.0
DISTANCE_FULL = 40.0
GRAIN_DOUBLINGS = 2.0
FORM_SHARE, GRAIN_SHARE, FINISH_SHARE = 0.45, 0.35, 0.20
PAIR_DECIMALS, SCORE_DECIMALS = 9, 12
_PAIRS_AT_ONCE = 4096
_ORDERS = ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))


class Pairs:
    """Pair values of any two candidates, worked out when asked for."""

    def __init__(self, c: Candidates) -> None:
        n, counts = len(c), np.diff(c.start)
        self.most = int(counts.max(initial=1))
        self.single = counts == 1
        # Colours padded to (n, most): a missing colour has share 0 and repeats the first.
        position = np.arange(self.most)
        missing = position[None, :] >= counts[:, None]
        at = np.where(missing, c.start[:-1, None], c.start[:-1, None] + position)
        self.lab = c.lab[at].reshape(n, self.most, 3)
        self.share = np.where(missing, 0.0, c.share[at])
        self.colours = harmony.colours(self.lab)
        self.first = harmony.Colours(*(np.ascontiguousarray(x[:, 0]) for x in self.colours))
        self.texture = c.texture
        self.light = np.zeros(n)
        for s in range(self.most):
            self.light += self.share[:, s] * self.lab[:, s, 0]

    def harmony(self, i: Ints, j: Ints) -> Floats:
        """H of pairs i, j of one shape (p,)."""
        total = np.zeros(len(i))
        plain, mixed = self._split(i, j)
        if len(plain):
            p, q = i[plain], j[plain]
            ch = harmony.together(self.first.take(p), self.first.take(q)).CH
            total[plain] = self.share[p, 0] * self.share[q, 0] * ch
        if len(mixed):
            p, q = i[mixed], j[mixed]
            one = harmony.Colours(*(x[p][:, :, None] for x in self.colours))
            two = harmony.Colours(*(x[q][:, None, :] for x in self.colours))
            ch = self.share[p][:, :, None] * self.share[q][:, None, :] * harmony.together(one, two).CH
            for s in range(self.most):
                for t in range(self.most):
                    total[mixed] += ch[:, s, t]
        return np.round(harmony.scaled(total), PAIR_DECIMALS)

    def distinctness(self, i: Ints, j: Ints) -> Floats:
        """D of pairs i, j of one shape (p,)."""
        distance = np.empty(len(i))
        plain, mixed = self._split(i, j)
        distance[plain] = _delta_e(self.lab[i[plain], 0], self.lab[j[plain], 0])
        if len(mixed):
            p, q = i[mixed], j[mixed]
            # A padded colour repeats the first one, so it changes no smallest distance.
            between = _delta_e(self.lab[p][:, :, None], self.lab[q][:, None])
            there, back = between.min(axis=2), between.min(axis=1)
            total = np.zeros(len(p))
            for s in range(self.most):
                total += self.share[p, s] * there[:, s]
            other = np.zeros(len(p))
            for t in range(self.most):
                other += self.share[q, t] * back[:, t]
            distance[mixed] = 0.5 * (total + other)
        return np.asarray(np.round(np.minimum(distance / DISTANCE_FULL, 1), PAIR_DECIMALS), float)

    def contrast(self, i: Ints, j: Ints) -> Floats:
        """T of pairs i, j of one shape (p,)."""
        if self.texture is None:
            step = np.abs(self.light[i] - self.light[j]) / LIGHTNESS_STEP
            return np.asarray(np.round(np.minimum(step, 1), PAIR_DECIMALS), float)
        form, finish, grain = self.texture.form, self.texture.finish, self.texture.grain_log2
        forms = (form[i] != form[j]) & (form[i] >= 0) & (form[j] >= 0)
        finishes = (finish[i] != finish[j]) & (finish[i] >= 0) & (finish[j] >= 0)
        doublings = np.minimum(np.nan_to_num(np.abs(grain[i] - grain[j]) / GRAIN_DOUBLINGS), 1)
        total = FORM_SHARE * forms + GRAIN_SHARE * doublings + FINISH_SHARE * finishes
        return np.asarray(np.round(total, PAIR_DECIMALS), float)

    def _split(self, i: Ints, j: Ints) -> tuple[Ints, Ints]:
        """Positions of pairs of single colours, and of the others."""
        plain = self.single[i] & self.single[j]
        return np.flatnonzero(plain), np.flatnonzero(~plain)


class KnownPairs:
    """Pair values read from tables, with the methods of `Pairs` that scores need."""

    def __init__(self, tables: PairTables) -> None:
        self.tables = tables

    def harmony(self, i: Ints, j: Ints) -> Floats:
        return np.asarray(self.tables.harmony[i, j])

    def contrast(self, i: Ints, j: Ints) -> Floats:
        return np.asarray(self.tables.contrast[i, j])

    def distinctness(self, i: Ints, j: Ints) -> Floats:
        return np.asarray(self.tables.distinctness[i, j])


def _delta_e(lab1: Floats, lab2: Floats) -> Floats:
    d = lab1 - lab2
    return np.asarray(np.sqrt(d[..., 0] ** 2 + d[..., 1] ** 2 + d[..., 2] ** 2))


def pair_tables(candidates: Candidates) -> PairTables:
    """All pair values of the candidates, to be kept as long as the candidates stay.

    Raises `InvalidValue` (a ValueError) naming every field that cannot be used.
    """
    c = checked(candidates)
    n, pairs = len(c), Pairs(c)
    made = [np.zeros((n, n)) for _ in range(3)]
    row, column = np.triu_indices(n, 1)
    for at in range(0, len(row), _PAIRS_AT_ONCE):
        i, j = row[at : at + _PAIRS_AT_ONCE], column[at : at + _PAIRS_AT_ONCE]
        for table, values in zip(made, (pairs.harmony, pairs.contrast, pairs.distinctness), strict=True):
            table[i, j] = table[j, i] = values(i, j)
    made[0][np.arange(n), np.arange(n)] = 0  # a candidate is no pair with itself
    return PairTables(*made)


def triple_terms(c: Candidates, pairs: Pairs | KnownPairs, triples: Ints) -> dict[str, Floats]:
    """Unweighted coverage, harmony, contrast and distinctness of triples (r, 3), each (r,)."""
    i, j, k = triples.T
    one, two = np.concatenate([i, i, j]), np.concatenate([j, k, k])
    coverage = np.zeros(len(triples))
    for a, omega in enumerate(c.anchor_weights):
        coverage += omega * c.closeness[triples, a].max(axis=1)
    return {
        "coverage": coverage,
        "harmony": _mean(pairs.harmony(one, two).reshape(3, -1)),
        "contrast": _mean(pairs.contrast(one, two).reshape(3, -1)),
        "distinctness": pairs.distinctness(one, two).reshape(3, -1).min(axis=0),
    }


def exact_scores(c: Candidates, weights: Weights, pairs: Pairs | KnownPairs, triples: Ints) -> Floats:
    """The score of triples (r, 3), rounded to 12 decimals: what ranks them."""
    t = triple_terms(c, pairs, triples)
    total = _mean(c.unary[triples].T)
    total = total + weights.coverage * t["coverage"]
    total = total + weights.harmony * t["harmony"]
    total = total + weights.contrast * t["contrast"]
    total = total + weights.distinctness * t["distinctness"]
    return np.round(total, SCORE_DECIMALS)


def _mean(three: Floats) -> Floats:
    low, middle, high = np.sort(three, axis=0)
    return np.asarray((low + middle + high) / 3)


def terms(candidates: Candidates, triples: Ints) -> dict[str, Floats]:
    """The parts of triples' scores, unweighted, for showing: each (r,), in 0–1, 1 is best.

    `triples` is (r, 3) with i < j < k. Keys: coverage, harmony, contrast, distinctness.
    """
    c = checked(candidates)
    chosen = np.asarray(triples, dtype=np.int64).reshape(-1, 3)
    return triple_terms(c, Pairs(c), chosen)


def allowed(c: Candidates, triples: Ints) -> Bools:
    """Which triples (r, 3) keep every constraint of the candidates, (r,)."""
    fine = np.ones(len(triples), bool)
    if c.at_most_one.shape[1]:
        held: Ints = np.asarray(c.at_most_one[triples]).sum(axis=1)
        fine &= np.all(held <= 1, axis=1)
    if c.at_least_one.shape[1]:
        fine &= np.all(np.any(c.at_least_one[triples], axis=1), axis=1)
    for demand in c.apart:
        fine &= cheapest_matching(demand.cost[triples]) >= demand.threshold - 1e-9
    return fine


def cheapest_matching(cost: Floats) -> Floats:
    """Smallest mean cost (..., ) over the six ways to match three members to three others.

    `cost` is (..., 3 members, 3 others).
    """
    sums = [cost[..., 0, p] + cost[..., 1, q] + cost[..., 2, r] for p, q, r in _ORDERS]
    return np.asarray(np.min(sums, axis=0) / 3)
