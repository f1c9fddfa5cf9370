"""Branch and bound where all pairs fit in a table: up to about two thousand candidates.

Every pair's value is worked out once, in single precision, and pooled: the table of a
level holds for each two boxes the largest value of any pair between them. So a bound is
as tight as pairs can make it, and costs three look-ups. What a member brings alone is
shared out to its two pairs before pooling, which bounds both together.
"""

from __future__ import annotations

from hashlib import blake2b
from itertools import permutations
from typing import Any, NamedTuple

import numpy as np

from themekit.colour import harmony
from themekit.suggest.best_so_far import Best
from themekit.suggest.candidates import Bools, Candidates, Found, Ints, Weights
from themekit.suggest.first_floor import raise_floor
from themekit.suggest.pair_terms import DISTANCE_FULL, Pairs
from themekit.suggest.pair_values import PairValues
from themekit.suggest.pooled_tables import Kept, pooled_rows, pooled_tables
from themekit.suggest.splitting import ROUNDING, Singles, halved, members_alone

_SPAN = np.float32(harmony.HIGHEST - harmony.LOWEST)
#: Table cells worked out at once, which stay in the processor's cache.
_CELLS = 60_000
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
        return Block._make((self.depth, *(x[index] for x in self[1:])))


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


_KEPT = Kept(2)


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
        self.pairs, self.aparts = _KEPT.get(self._key(), lambda: self._tables(pairs))
        self.pair, self.apart = self.pairs[0][:n, :n], self.aparts[0][:n, :n]
        size = 3 * float(np.abs(own).max()) + weights.coverage + weights.contrast
        self.margin = ROUNDING * (size + weights.distinctness + 2 * weights.harmony) + best.slack

    def _key(self) -> bytes:
        """Names all that the tables depend on."""
        c, w = self.c, self.weights
        parts: list[Any] = [self.order, c.lab, c.share, c.start, c.unary, c.at_most_one, self.best.count]
        if c.texture is not None:
            parts += [c.texture.form, c.texture.finish, c.texture.grain_log2]
        digest = blake2b(repr((w.harmony, w.contrast, w.distinctness)).encode(), digest_size=16)
        for part in parts:
            array = np.ascontiguousarray(np.zeros(0) if part is None else part)
            digest.update(repr((array.shape, array.dtype.str)).encode())
            digest.update(array.tobytes())
        return digest.digest()

    def _tables(self, pairs: Pairs) -> tuple[list[Singles], list[Singles]]:
        """Pair and distinctness tables of all levels, from single candidates up."""
        pair, apart = self._leaves(pairs)
        return pooled_tables(pair, self.depth), pooled_tables(apart, self.depth)

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
        rows = (
            pooled_rows(near, self.depth, -np.inf),
            pooled_rows(c.at_least_one[at].T, self.depth, False),
            pooled_rows(cost, self.depth, -np.inf),
        )
        return [PooledLevel(*level) for level in zip(self.pairs, self.aparts, *rows, strict=True)][::-1]

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
        at = np.flatnonzero(keep)
        a, b, c = a[at], b[at], c[at]
        # The dearest test comes last, and each demand is asked only of what those before it have left.
        for demand, cost in zip(self.c.apart, level.cost, strict=True):
            # Costs are rounded to single precision here.
            far = np.flatnonzero(_matched(cost, a, b, c) >= demand.threshold * (1 - 1e-6) - 1e-6)
            if len(far) < len(a):
                at, a, b, c = at[far], a[far], b[far], c[far]
        return Block(depth, a, b, c, bound[at], coverage[at])


def _matched(cost: Singles, a: Ints, b: Ints, c: Ints) -> Singles:
    """As `cheapest_matching` of the triples' costs (3 others, n), without a table of them all."""
    one, two, three = (cost.take(x, axis=1) for x in (a, b, c))
    least = np.full(len(a), np.inf, np.float32)
    for p, q, r in permutations(range(3)):
        ways = one[p] + two[q]
        ways += three[r]
        np.minimum(least, ways, out=least)
    least /= 3
    return least
