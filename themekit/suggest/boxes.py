"""Boxes of candidates, nested in a tree, and upper bounds of any triple drawn from three boxes.

The tree halves the candidates level by level: level l has at most 2^l boxes, runs of one order,
and the last level holds one candidate per box. A box knows what no member of
it can exceed; a bound of three boxes is then at least the score of every triple with one
member from each, so boxes whose bound lies below the floor can be dropped unseen.

Bounds are worked out in single precision, which is four times as fast, and raised by
more than its rounding can take away.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from themekit.colour import harmony
from themekit.suggest.candidates import Bools, Candidates, Floats, Ints, Weights
from themekit.suggest.pair_terms import (
    DISTANCE_FULL,
    FINISH_SHARE,
    FORM_SHARE,
    GRAIN_DOUBLINGS,
    GRAIN_SHARE,
    LIGHTNESS_STEP,
    Pairs,
)
from themekit.suggest.splitting import ROUNDING, Singles, edges, halved, members_alone

_SPAN = harmony.HIGHEST - harmony.LOWEST
#: dC² = dHab² + (dCab/1.46)² and dHab² + dCab² is the squared gap in the a*b* plane.
_CHROMA_LOSS = np.float32(1 - 1 / harmony.CHROMA_DIVISOR**2)
_CHROMA_REST = np.float32(1 - _CHROMA_LOSS)
_ROWS, _COLUMNS = 32, 1024


@dataclass(frozen=True, slots=True)
class Level:
    """What the boxes of one level hold; every array has one column per box.

    own    largest part of the score that a member brings alone; −inf of an empty box
    near   (A, boxes) largest weighted closeness to each anchor
    near_low  (A, boxes) the smallest
    edges  (features, boxes) what pair bounds need, in the order of `_pair_bounds`
    every  (G, boxes) all members have the at-most-one flag
    some   (M, boxes) some member has the at-least-one flag
    cost   (demands, 3, boxes) largest cost
    """

    own: Singles
    near: Singles
    near_low: Singles
    edges: Singles
    every: Bools
    some: Bools
    cost: Singles


class Tree:
    """The boxes of all levels over candidates `c`, and their bounds under `weights`."""

    def __init__(self, c: Candidates, weights: Weights, pairs: Pairs) -> None:
        self.c, self.weights = c, weights
        n = self.n = len(c)
        self.depth = max(0, int(np.ceil(np.log2(max(1, n)))))
        self.own, self.near, place = members_alone(c, weights, pairs)
        self.order = halved(place, self.depth)
        hue = np.zeros(n)
        for s in range(pairs.most):
            hue += pairs.share[:, s] * pairs.colours.HSY[:, s]
        self._plain = pairs.most == 1
        self._sort(pairs, hue)
        self._levels: dict[int, Level] = {}
        self._joint: dict[tuple[int, int], Singles] = {}
        size = 3 * float(np.abs(self.own).max(initial=0)) + weights.coverage + weights.contrast
        self.constant = ROUNDING * (size + weights.distinctness + 2 * weights.harmony)

    def _sort(self, pairs: Pairs, hue: Floats) -> None:
        """Lay out what levels are made from: rows of maxima and of minima, in tree order."""
        c, at = self.c, self.order
        lab, chroma = pairs.lab[at], pairs.colours.C[at]
        upper: list[Floats] = [*lab.max(axis=1).T, chroma.max(axis=1)]
        lower: list[Floats] = [*lab.min(axis=1).T, chroma.min(axis=1)]
        if c.texture is None:
            upper.append(pairs.light[at])
            lower.append(pairs.light[at])
        else:
            for values in (c.texture.grain_log2, c.texture.form, c.texture.finish):
                known = ~np.isnan(values) & ((values >= 0) | (values is c.texture.grain_log2))
                upper.append(np.where(known, values, -np.inf)[at])
                lower.append(np.where(known, values, np.inf)[at])
        self._edges = len(upper)
        lower.append(hue[at])
        costs = [demand.cost[at, e] for demand in c.apart for e in range(3)]
        self._upper = np.array([self.own[at], *self.near[:, at], *upper, *costs], dtype=np.float32)
        self._lower = np.array([*lower, *self.near[:, at]], dtype=np.float32)
        self._every, self._some = c.at_most_one[at].T, c.at_least_one[at].T

    def level(self, depth: int) -> Level:
        """The boxes of one level, worked out when first asked for."""
        if depth not in self._levels:
            self._levels[depth] = self._make(depth)
        return self._levels[depth]

    def joint(self, depth: int, anchors: int) -> Singles:
        """Largest own part plus closeness to several anchors at once, (boxes,).

        `anchors` has one bit per anchor. One member must bring all of it, so this is
        less than own and near of the level added up.
        """
        if (depth, anchors) not in self._joint:
            values = self._upper[0].copy()
            for a in range(len(self.near)):
                if anchors >> a & 1:
                    values += self._upper[1 + a]
            first = edges(self.n, depth, self.depth)[:-1]
            out = np.full(1 << depth, -np.inf, np.float32)
            out[: len(first)] = np.maximum.reduceat(values, first)
            self._joint[depth, anchors] = out
        return self._joint[depth, anchors]

    def _make(self, depth: int) -> Level:
        boxes = 1 << depth
        first = edges(self.n, depth, self.depth)[:-1]
        full = slice(len(first))

        def spread(values: NDArray[Any], how: np.ufunc, empty: float) -> NDArray[Any]:
            out = np.full((len(values), boxes), empty, values.dtype)
            if len(values):
                out[:, full] = how.reduceat(values, first, axis=1)
            return out

        A = len(self.near)
        upper = spread(self._upper, np.maximum, -np.inf)
        high, low = upper[1 + A : 1 + A + self._edges], spread(self._lower, np.minimum, np.inf)
        near_low = low[len(low) - A :]
        return Level(
            own=upper[0], near=upper[1 : 1 + A], near_low=near_low,
            edges=self._edges_of(high, low[: len(low) - A]),
            every=spread(self._every, np.logical_and, False), some=spread(self._some, np.logical_or, False),
            cost=upper[1 + A + self._edges :].reshape(-1, 3, boxes),
        )  # fmt: skip

    def _edges_of(self, high: Singles, low: Singles) -> Singles:
        """The features of pair bounds: highs, lows, and codes and root shares of form and finish."""
        if self.c.texture is None:
            return np.concatenate([high, low])  # the lowest HSY comes last
        codes = [np.where(high[f] == low[f], high[f], np.float32(np.nan)) for f in (5, 6)]
        roots = [np.sqrt(share) * (high[f] >= 0) for f, share in ((5, FORM_SHARE), (6, FINISH_SHARE))]
        return np.concatenate([high[:5], low[:5], codes, roots, low[7:]]).astype(np.float32)

    def pair_bounds(self, depth: int, x: Ints, y: Ints) -> tuple[Singles, Singles]:
        """Bounds of what boxes x and y of one level, both (p,), add as a pair, (p,) each.

        First the harmony (without HH) and contrast that a pair adds at most, weighted;
        then the weighted distinctness that it has at most.
        """
        rows = self.level(depth).edges
        return self._pair_bounds(rows[:, x], rows[:, y])

    def pair_table(self, depth: int, boxes: Ints) -> tuple[Singles, Singles]:
        """`pair_bounds` of all pairs of m boxes as (m, m); below the diagonal they are not filled."""
        m = len(boxes)
        rows = self.level(depth).edges[:, boxes]
        together, apart = np.empty((m, m), np.float32), np.empty((m, m), np.float32)
        # Few rows at once keep all steps of the sum in the cache.
        for row in range(0, m, _ROWS):
            block = self._pair_bounds(rows[:, row : row + _ROWS, None], rows[:, None, row:])
            together[row : row + _ROWS, row:], apart[row : row + _ROWS, row:] = block
        return together, apart

    def with_all(self, members: Ints) -> tuple[Singles, Singles, Singles, Singles]:
        """Own parts (n,), closeness (A, n), and the pair bounds of m members with all n, (m, n) each.

        Candidates here are those of `c`, in its order. Between single-coloured ones the
        bounds are the values themselves.
        """
        A = len(self.near)
        low = self._lower[: len(self._lower) - A]
        high = self._upper[1 + A : 1 + A + self._edges]
        sorted_ = self._edges_of(high, low)
        rows = np.empty_like(sorted_)
        rows[:, self.order] = sorted_
        together = np.empty((len(members), self.n), np.float32)
        apart = np.empty_like(together)
        for at in range(0, self.n, _COLUMNS):
            block = self._pair_bounds(rows[:, members, None], rows[:, None, at : at + _COLUMNS])
            together[:, at : at + _COLUMNS], apart[:, at : at + _COLUMNS] = block
        return self.own.astype(np.float32), self.near.astype(np.float32), together, apart

    def _pair_bounds(self, x: Singles, y: Singles) -> tuple[Singles, Singles]:
        w, h = self.weights, 5
        # Of high and low edges: minus the widest distance, and the gap between the boxes.
        one, two = x[h] - y[0], y[h] - x[0]
        step = np.minimum(one, two)
        far2 = step * step
        np.negative(step, out=step)
        gap2: Any = np.float32(0)
        for axis in (1, 2):
            one, two = x[h + axis] - y[axis], y[h + axis] - x[axis]
            gap = np.maximum(one, two)
            np.maximum(gap, 0, out=gap)
            gap *= gap
            gap2 = gap2 + gap
            one = np.minimum(one, two, out=one)
            one *= one
            far2 += one
        chroma = np.maximum(x[3] - y[h + 3], y[3] - x[h + 3])
        chroma *= chroma
        chroma *= _CHROMA_LOSS
        dC = np.maximum(gap2 - chroma, gap2 * _CHROMA_REST)
        np.sqrt(dC, out=dC)
        # The published HC, HLsum and HdL, each without its constant, which follow at once.
        dC *= np.float32(-0.045)
        dC += np.float32(0.8)
        together = np.tanh(dC, out=dC)
        together *= np.float32(0.53)
        part = x[0] + y[0]
        part *= np.float32(0.029)
        part -= np.float32(3.88)
        np.tanh(part, out=part)
        part *= np.float32(0.54)
        together += part
        np.multiply(step, np.float32(0.2), out=part)
        part -= np.float32(2)
        np.tanh(part, out=part)
        part *= np.float32(0.15)
        together += part
        together += np.float32(0.04 + 0.28 + 0.14 - harmony.LOWEST)
        # HH is counted as the members' own, but what is scaled and clipped is the sum of both.
        np.add(x[-1], y[-1], out=part)
        np.negative(part, out=part)
        np.maximum(together, part, out=together)
        part += np.float32(_SPAN)
        np.minimum(together, part, out=together)
        together *= np.float32(w.harmony / 3 / _SPAN)
        if w.contrast:
            contrast = self._contrast(x, y, step)
            contrast *= np.float32(w.contrast / 3)
            together += contrast
        np.sqrt(far2, out=far2)
        far2 *= np.float32(w.distinctness / DISTANCE_FULL)
        np.minimum(far2, np.float32(w.distinctness), out=far2)
        return together, far2

    def _contrast(self, x: Singles, y: Singles, step: Singles) -> Singles:
        """Largest contrast of a pair; `step` is its widest lightness step and may be overwritten."""
        if self.c.texture is None:
            if not self._plain:
                step = np.maximum(x[4] - y[9], y[4] - x[9])
            step *= np.float32(1 / LIGHTNESS_STEP)
            np.minimum(step, 1, out=step)
            return step
        grain: Singles = np.maximum(x[4] - y[9], y[4] - x[9])
        grain *= np.float32(1 / GRAIN_DOUBLINGS)
        np.clip(grain, 0, 1, out=grain)
        grain *= np.float32(GRAIN_SHARE)
        # A box of several forms has the code NaN, which differs from any; of no known one, root 0.
        for code, root in ((10, 12), (11, 13)):
            both = x[root] * y[root]
            both *= x[code] != y[code]
            grain += both
        return grain
