"""Branch and bound where all pairs fit in a table: up to about two thousand candidates.

Every pair's value is worked out once, in single precision, and pooled: the table of a
level holds for each two boxes the largest value of any pair between them. So a bound is
as tight as pairs can make it, and costs three look-ups. What a member brings alone is
shared out to its two pairs before pooling, which bounds both together.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from themekit.colour import harmony
from themekit.suggest.best_so_far import Best
from themekit.suggest.boxes import ROUNDING, Singles, halved, members_alone
from themekit.suggest.candidates import Bools, Candidates, Found, Ints, Weights
from themekit.suggest.first_floor import raise_floor
from themekit.suggest.pair_terms import (
    DISTANCE_FULL,
    FINISH_SHARE,
    FORM_SHARE,
    GRAIN_DOUBLINGS,
    GRAIN_SHARE,
    LIGHTNESS_STEP,
    Pairs,
    cheapest_matching,
)

_SPAN = np.float32(harmony.HIGHEST - harmony.LOWEST)
_CHROMA_LOSS = np.float32(1 - 1 / harmony.CHROMA_DIVISOR**2)
#: Table cells worked out at once, for the cache too, and mixes of colours.
_CELLS, _MIXES = 60_000, 20
#: Triples of boxes split at once, which bounds the memory used; of these so many go
#: through the sums together, which stay in the processor's cache.
_CHUNK, _SLICE = 65_536, 4096
_FIRST_LEVEL = 4


class Block(NamedTuple):
    """Triples of boxes a ≤ b ≤ c of one level, their bound and its part for coverage."""

    depth: int
    a: Ints
    b: Ints
    c: Ints
    bound: Singles
    coverage: Singles

    def take(self, index: Ints | Bools | slice) -> Block:
        return Block(self.depth, *(x[index] for x in self[1:]))


class PooledLevel(NamedTuple):
    """What the boxes of one level hold: tables (boxes, boxes) of pairs above the diagonal, and rows.

    pair   largest of what a pair adds with half of what its members bring alone;
           −inf where no pair is allowed
    apart  largest weighted distinctness
    near   (A, boxes) largest weighted closeness to each anchor
    some   (M, boxes) some member has the at-least-one flag
    cost   (demands, 3, boxes) largest cost
    """

    pair: Singles
    apart: Singles
    near: Singles
    some: Bools
    cost: Singles

    def coarser(self) -> PooledLevel:
        """The level above: boxes two by two."""

        def rows(x: NDArray[Any]) -> NDArray[Any]:
            return np.asarray(np.maximum(x[..., ::2], x[..., 1::2]))

        def table(x: Singles) -> Singles:
            return np.asarray(rows(np.maximum(x[::2], x[1::2])))

        return PooledLevel(
            table(self.pair), table(self.apart), rows(self.near), rows(self.some), rows(self.cost)
        ).even()

    def even(self) -> PooledLevel:
        """The level with an empty box at the end where their number is odd, so that all go by two."""
        n = len(self.pair)
        if n == 1 or n % 2 == 0:
            return self

        def rows(x: NDArray[Any], empty: float) -> NDArray[Any]:
            return np.concatenate([x, np.full((*x.shape[:-1], 1), empty, x.dtype)], axis=-1)

        def table(x: Singles) -> Singles:
            out = np.full((n + 1, n + 1), -np.inf, np.float32)
            out[:n, :n] = x
            return out

        return PooledLevel(
            table(self.pair), table(self.apart), rows(self.near, -np.inf), rows(self.some, False),
            rows(self.cost, -np.inf),
        )  # fmt: skip


class PooledSearch:
    """Branch and bound over the levels of pooled tables of candidates `c`."""

    def __init__(self, c: Candidates, weights: Weights, pairs: Pairs, best: Best) -> None:
        self.c, self.weights, self.best = c, weights, best
        n = self.n = len(c)
        self.examined = 0
        own, near, place = members_alone(c, weights, pairs)
        self.own, self.near = own, near
        self.depth = int(np.ceil(np.log2(n)))
        self.order = halved(place, self.depth)
        self.pair, self.apart = self._leaves(pairs)
        size = 3 * float(np.abs(own).max()) + weights.coverage + weights.contrast
        self.margin = ROUNDING * (size + weights.distinctness + 2 * weights.harmony) + best.slack

    def _leaves(self, pairs: Pairs) -> tuple[Singles, Singles]:
        """Pair values (n, n) in tree order, above the diagonal; what is not allowed is −inf."""
        c, w, at, n = self.c, self.weights, self.order, self.n
        values = PairValues(pairs, at)
        hue = np.zeros(n)
        for s in range(pairs.most):
            hue += pairs.share[at, s] * pairs.colours.HSY[at, s]
        alone = (hue - harmony.LOWEST / 2).astype(np.float32)
        half = (c.unary[at] / 6).astype(np.float32)
        pair, apart = np.full((n, n), -np.inf, np.float32), np.zeros((n, n), np.float32)
        twice = np.zeros(n, bool) if self.best.count is None else self.best.count[at] > 1
        rows = max(8, _CELLS // n)
        for row in range(0, n, rows):
            these, rest = slice(row, row + rows), slice(row, None)
            block, far, contrast = values.rows(these, rest)
            block += alone[these, None]
            block += alone[rest]
            block *= np.float32(1 / _SPAN)
            np.clip(block, 0, 1, out=block)
            block *= np.float32(w.harmony / 3)
            contrast *= np.float32(w.contrast / 3)
            block += contrast
            block += half[these, None]
            block += half[rest]
            far *= np.float32(w.distinctness / DISTANCE_FULL)
            np.minimum(far, np.float32(w.distinctness), out=apart[these, rest])
            m = len(block)
            below = np.tri(m, k=-1, dtype=bool)
            below[np.arange(m), np.arange(m)] = ~twice[these]
            block[:, :m][below] = -np.inf
            pair[these, rest] = block
        for flags in c.at_most_one.T:
            flagged = np.flatnonzero(flags[at])
            pair[flagged[:, None], flagged] = -np.inf
        return pair, apart

    def _levels(self) -> list[PooledLevel]:
        """All levels, from the one box down to single candidates."""
        at, c = self.order, self.c
        near = self.near[:, at].astype(np.float32)
        cost = np.array([d.cost[at].T for d in c.apart], np.float32).reshape(-1, 3, self.n)
        levels = [PooledLevel(self.pair, self.apart, near, c.at_least_one[at].T, cost).even()]
        while len(levels) <= self.depth:
            levels.append(levels[-1].coarser())
        return levels[::-1]

    def with_all(self, members: Ints) -> tuple[Singles, Singles, Singles, Singles]:
        """Own parts (n,), closeness (A, n), and pair values of m members with all n, (m, n) each.

        Own parts are 0: they are shared out to the pairs.
        """
        rank = np.empty(self.n, np.int64)
        rank[self.order] = np.arange(self.n)
        at = rank[members]
        both = [np.maximum(t[at], t[:, at].T)[:, rank] for t in (self.pair, self.apart)]
        return np.zeros(self.n, np.float32), self.near.astype(np.float32), both[0], both[1]

    def run(self, budget: int | None) -> Found:
        """The k best triples; a spent budget leaves `proven` False and the gap that remains."""
        best = self.best
        raise_floor(best, self)
        self.levels = self._levels()
        stack = [self._top()]
        while stack and (budget is None or self.examined < budget):
            block = stack.pop()
            block = block.take(np.flatnonzero(block.bound >= self._least()))
            if len(block.a) > _CHUNK:
                stack.append(block.take(slice(_CHUNK, None)))
                block = block.take(slice(_CHUNK))
            if block.depth == self.depth:
                boxes = np.stack([block.a, block.b, block.c], axis=1)  # of one candidate each
                best.offer_bounded(np.sort(self.order[boxes], axis=1), block.bound, self.margin)
            elif len(block.a):
                stack += self._split(block)
        left = max((float(b.bound.max(initial=-np.inf)) for b in stack), default=-np.inf)
        proven = not left >= self._least()
        base = float(best.scores[-1]) if len(best.scores) else 0.0
        gap = 0.0 if proven else max(0.0, left + self.margin - base)
        return Found(best.triples, best.scores, proven, gap, self.examined)

    def _least(self) -> np.float32:
        """What a bound must reach to be kept."""
        return np.float32(max(self.best.floor - self.margin, -1e30))

    def _top(self) -> Block:
        depth = min(_FIRST_LEVEL, self.depth)
        level = self.levels[depth]
        boxes = np.arange(len(level.pair))
        a, b, c = (x.ravel() for x in np.meshgrid(boxes, boxes, boxes, indexing="ij"))
        keep = (a <= b) & (b <= c)
        a, b, c = a[keep], b[keep], c[keep]
        part = level.pair[a, b] + level.pair[a, c] + level.pair[b, c]
        part += np.minimum(np.minimum(level.apart[a, b], level.apart[a, c]), level.apart[b, c])
        self.examined += len(a)
        return self._covered(depth, a, b, c, part)

    def _split(self, block: Block) -> list[Block]:
        """The children of a block that can still reach the floor."""
        parts = [self._children(block.take(slice(at, at + _SLICE))) for at in range(0, len(block.a), _SLICE)]
        joined = (np.concatenate(x) for x in zip(*(p[1:] for p in parts), strict=True))
        return [Block(block.depth + 1, *joined)]

    def _children(self, block: Block) -> Block:
        depth = block.depth + 1
        level = self.levels[depth]
        boxes = len(level.pair)
        pair, apart = level.pair.ravel(), level.apart.ravel()
        a, b, c = 2 * block.a, 2 * block.b, 2 * block.c
        m = len(a)
        bound, far = np.empty((2, 2, 2, m), np.float32), np.empty((2, 2, 2, m), np.float32)
        square = np.array([[[0], [1]], [[boxes], [boxes + 1]]])
        ends = [(x * boxes + y) + square for x, y in ((a, b), (a, c), (b, c))]
        one, two, three = (pair.take(x) for x in ends)
        np.add(one[:, :, None], two[:, None], out=bound)
        bound += three[None]
        one, two, three = (apart.take(x) for x in ends)
        np.minimum(one[:, :, None], two[:, None], out=far)
        np.minimum(far, three[None], out=far)
        bound += far
        self.examined += bound.size
        open_ = np.flatnonzero(bound >= self._least() - block.coverage)
        which, parent = np.divmod(open_, m)
        return self._covered(
            depth,
            a[parent] + (which >> 2),
            b[parent] + (which >> 1 & 1),
            c[parent] + (which & 1),
            bound.ravel()[open_],
        )

    def _covered(self, depth: int, a: Ints, b: Ints, c: Ints, bound: Singles) -> Block:
        """The block of these triples with coverage added, without those that fall below the floor."""
        level = self.levels[depth]
        coverage = np.zeros(len(a), np.float32)
        for near in level.near:
            most = np.maximum(near.take(a), near.take(b))
            coverage += np.maximum(most, near.take(c), out=most)
        bound = bound + coverage
        keep = bound >= self._least()
        for flags in level.some:
            keep &= flags[a] | flags[b] | flags[c]
        for demand, cost in zip(self.c.apart, level.cost, strict=True):
            most = np.stack([cost[:, a], cost[:, b], cost[:, c]])  # member, other, triple
            # Costs are rounded to single precision here.
            keep &= cheapest_matching(most.transpose(2, 0, 1)) >= demand.threshold * (1 - 1e-6) - 1e-6
        at = np.flatnonzero(keep)
        return Block(depth, a[at], b[at], c[at], bound[at], coverage[at])


class PairValues:
    """CH without HH, ΔE*ab and contrast of pairs, in tree order and single precision.

    Of mixes of colours the weighted means, as `Pairs` defines them.
    """

    def __init__(self, pairs: Pairs, order: Ints) -> None:
        self.texture, single = pairs.texture, pairs.single[order]
        lab, chroma = pairs.lab[order], pairs.colours.C[order]
        self.plain = np.array([*lab[:, 0].T, chroma[:, 0]], np.float32)
        self.light = pairs.light[order].astype(np.float32)
        if self.texture is not None:
            grain = self.texture.grain_log2[order] / GRAIN_DOUBLINGS
            self.grain = grain.astype(np.float32)
            self.codes = [
                (
                    np.where(codes >= 0, codes, 0).astype(np.float32),
                    (np.sqrt(part) * (codes >= 0)).astype(np.float32),
                )
                for codes, part in (
                    (self.texture.form[order], FORM_SHARE),
                    (self.texture.finish[order], FINISH_SHARE),
                )
            ]
        self.mixed = np.flatnonzero(~single)
        self.mixes = self._mix(pairs, order) if len(self.mixed) else None

    def _mix(self, pairs: Pairs, order: Ints) -> tuple[Singles, Singles]:
        """CH without HH, and distance, of each mix of colours with all, (mixes, n)."""
        plain = np.flatnonzero(pairs.single[order])
        at = order[self.mixed]
        used = pairs.share[at] > 0
        used[:, 0] = True
        colours = np.array([*pairs.lab[at][used].T, pairs.colours.C[at][used]], np.float32)
        share = pairs.share[at][used].astype(np.float32)
        first = np.concatenate([[0], np.cumsum(used.sum(axis=1))])
        means, distances = np.empty((2, len(at), len(order)), np.float32)
        for row in range(0, len(at), _MIXES):
            own = slice(first[row], first[min(row + _MIXES, len(at))])
            begin, weight = first[:-1][row : row + _MIXES] - first[row], share[own, None]
            these = slice(row, row + _MIXES)
            ch, gap = _colour_pairs(colours[:, own, None], self.plain[:, None, plain])
            means[these, plain] = np.add.reduceat(ch * weight, begin, axis=0)
            both = np.add.reduceat(gap * weight, begin, axis=0) + np.minimum.reduceat(gap, begin, axis=0)
            distances[these, plain] = both / 2
            ch, gap = _colour_pairs(colours[:, own, None], colours[:, None, :])
            ch = np.add.reduceat(ch * weight, begin, axis=0) * share
            means[these, self.mixed] = np.add.reduceat(ch, first[:-1], axis=1)
            there = np.minimum.reduceat(gap, first[:-1], axis=1) * weight
            back = np.minimum.reduceat(gap, begin, axis=0) * share
            both = np.add.reduceat(there, begin, axis=0) + np.add.reduceat(back, first[:-1], axis=1)
            distances[these, self.mixed] = both / 2
        return means, distances

    def rows(self, these: slice, rest: slice) -> tuple[Singles, Singles, Singles]:
        """The values of some candidates with a run of others, (rows, columns) each."""
        ch, gap = _colour_pairs(self.plain[:, these, None], self.plain[:, None, rest])
        if self.mixes is not None:
            r, c = (
                np.flatnonzero((self.mixed >= s.start) & (self.mixed < (s.stop or np.inf))) for s in (these, rest)
            )
            for block, values in zip((ch, gap), self.mixes, strict=True):
                block[:, self.mixed[c] - rest.start] = values[c][:, these].T
                block[self.mixed[r] - these.start] = values[r][:, rest]
        return ch, gap, self._contrast(these, rest)

    def _contrast(self, these: slice, rest: slice) -> Singles:
        if self.texture is None:
            step = self.light[these, None] - self.light[rest]
            np.abs(step, out=step)
            step *= np.float32(1 / LIGHTNESS_STEP)
            return np.minimum(step, 1, out=step)
        total = np.abs(self.grain[these, None] - self.grain[rest])
        np.fmin(total, 1, out=total)
        total[np.isnan(self.grain[these])] = 0
        total[:, np.isnan(self.grain[rest])] = 0
        total *= np.float32(GRAIN_SHARE)
        for code, root in self.codes:
            both = root[these, None] * root[rest]
            both *= code[these, None] != code[rest]
            total += both
        return total


def _colour_pairs(x: Singles, y: Singles) -> tuple[Singles, Singles]:
    """CH without HH, and ΔE*ab, of colours given as rows L, a, b, C that broadcast."""
    step = x[0] - y[0]
    gap = x[1] - y[1]
    gap *= gap
    other = x[2] - y[2]
    other *= other
    gap += other
    np.subtract(x[3], y[3], out=other)
    other *= other
    other *= _CHROMA_LOSS
    dC = gap - other
    # Rounding must not make the root's argument smaller than it can be.
    np.maximum(dC, gap * (1 - _CHROMA_LOSS), out=dC)
    np.sqrt(dC, out=dC)
    gap += np.multiply(step, step, out=other)
    np.sqrt(gap, out=gap)
    np.abs(step, out=step)
    dC *= np.float32(-0.045)
    dC += np.float32(0.8)
    ch = np.tanh(dC, out=dC)
    ch *= np.float32(0.53)
    np.add(x[0], y[0], out=other)
    other *= np.float32(0.029)
    other -= np.float32(3.88)
    np.tanh(other, out=other)
    other *= np.float32(0.54)
    ch += other
    step *= np.float32(0.2)
    step -= np.float32(2)
    np.tanh(step, out=step)
    step *= np.float32(0.15)
    ch += step
    ch += np.float32(0.04 + 0.28 + 0.14)
    return ch, gap
