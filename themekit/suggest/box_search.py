"""Branch and bound over triples of boxes: exact without scoring every triple.

A triple of boxes is split into its at most eight children. A child's bound is first
taken with its parent's pair bounds, which costs no pair at all, and only what passes
gets its own. What lies below the floor, the k-th best score so far, is dropped.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from themekit.suggest.best_so_far import Best
from themekit.suggest.boxes import Tree
from themekit.suggest.candidates import Bools, Found, Ints
from themekit.suggest.first_floor import raise_floor
from themekit.suggest.pair_terms import cheapest_matching
from themekit.suggest.splitting import Singles, edges

#: Triples of boxes split at once, which bounds the memory used.
_CHUNK = 131_072
#: Of these so many go through the sums at once, which stay in the processor's cache.
_SLICE = 4096
#: Most boxes whose pair bounds are laid out as one table.
_TABLE = 3000
#: In smaller blocks it costs more than it saves to tell which anchors are decided.
_DECIDED = 8192
#: Triples with the same anchors undecided go on as a group of their own from this size.
_GROUP = 4096
#: So many anchors at most are counted jointly with the rest of a member.
_ANCHORS = 12
_FIRST_LEVEL = 4


class Block(NamedTuple):
    """Triples of boxes a ≤ b ≤ c of one level.

    bound      leaves out the tree's constant
    pair_part  the part of it that the pairs bring
    won        (3, r) for each box the anchors, one bit each, of which it is sure that its
               member is the closest of the three
    """

    depth: int
    a: Ints
    b: Ints
    c: Ints
    bound: Singles
    pair_part: Singles
    won: Ints

    def take(self, index: Ints | Bools | slice) -> Block:
        return Block._make((self.depth, *(x[..., index] for x in self[1:])))

    def boxes(self) -> tuple[Ints, Ints, Ints]:
        return self.a, self.b, self.c


class Search:
    """Branch and bound from the tree's upper boxes down to single candidates."""

    def __init__(self, tree: Tree, best: Best) -> None:
        self.tree, self.best = tree, best
        self.examined = 0

    def run(self, budget: int | None) -> Found:
        """The k best triples; a spent budget leaves `proven` False and the gap that remains."""
        best = self.best
        raise_floor(best, self.tree)
        stack = [self._top()]
        while stack and (budget is None or self.examined < budget):
            block = stack.pop()
            block = block.take(block.bound >= np.float32(self._least()))
            if len(block.a) > _CHUNK:
                stack.append(block.take(slice(_CHUNK, None)))
                block = block.take(slice(_CHUNK))
            if block.depth == self.tree.depth:
                self._offer(block)
            elif len(block.a):
                stack.append(self._split(block))
        left = max((float(b.bound.max(initial=-np.inf)) for b in stack), default=-np.inf)
        proven = not left >= np.float32(self._least())
        base = float(best.scores[-1]) if len(best.scores) else 0.0
        gap = 0.0 if proven else max(0.0, left + self.tree.constant - base)
        return Found(best.triples, best.scores, proven, gap, self.examined)

    def _top(self) -> Block:
        """All triples of boxes of an upper level."""
        depth = min(_FIRST_LEVEL, self.tree.depth)
        boxes = np.arange(len(edges(self.tree.n, depth, self.tree.depth)) - 1)
        a, b, c = (x.ravel() for x in np.meshgrid(boxes, boxes, boxes, indexing="ij"))
        sorted_ = (a <= b) & (b <= c)
        a, b, c = a[sorted_], b[sorted_], c[sorted_]
        level = self.tree.level(depth)
        own = level.own[a] + level.own[b] + level.own[c]
        for near in level.near:
            own += np.maximum(np.maximum(near[a], near[b]), near[c])
        self.examined += len(a)
        return self._bounded(depth, a, b, c, own, np.zeros((3, len(a)), np.int64))

    def _split(self, block: Block) -> Block:
        """The children of a block that can still reach the floor."""
        if len(block.a) >= _DECIDED:
            self._decide(block)
        parts = [
            self._children(group.take(slice(at, at + _SLICE)), left)
            for left, group in self._groups(block)
            for at in range(0, len(group.a), _SLICE)
        ]
        a, b, c, own, won = (np.concatenate(x, axis=-1) for x in zip(*parts, strict=True))
        return self._bounded(block.depth + 1, a, b, c, own, won)

    def _decide(self, block: Block) -> None:
        """Note which anchors each box of a triple is now sure to be the closest to."""
        level, boxes = self.tree.level(block.depth), block.boxes()
        decided = block.won[0] | block.won[1] | block.won[2]
        for a in range(min(_ANCHORS, len(level.near))):
            open_ = np.flatnonzero((decided >> a & 1) == 0)
            most = [level.near[a].take(x.take(open_)) for x in boxes]
            for box, (p, q) in enumerate(((1, 2), (0, 2), (0, 1))):
                least = level.near_low[a].take(boxes[box].take(open_))
                sure = open_[least >= np.maximum(most[p], most[q])]
                # Where two are sure they are equally close, and either may have it.
                free = sure[(decided[sure] >> a & 1) == 0]
                block.won[box, free] |= 1 << a
                decided[free] |= 1 << a

    def _groups(self, block: Block) -> list[tuple[list[int], Block]]:
        """The block in groups that have the same anchors left undecided, small ones in one."""
        A = len(self.tree.near)
        every = (1 << A) - 1
        left = every & ~(block.won[0] | block.won[1] | block.won[2])
        found, count = np.unique(left, return_counts=True)
        groups, rest = [], np.ones(len(left), bool)
        for anchors in found[count >= _GROUP].tolist():
            members = left == anchors
            groups.append((anchors, block.take(members)))
            rest &= ~members
        if rest.any():
            small = block.take(rest)
            union = int(np.bitwise_or.reduce(left[rest]))
            small.won[:] &= ~union
            groups.append((union, small))
        return [([a for a in range(A) if anchors >> a & 1], group) for anchors, group in groups]

    def _children(self, block: Block, left: list[int]) -> tuple[Ints, Ints, Ints, Singles, Ints]:
        """Children that reach the floor by their parent's pair part, and their own part.

        Anchors that are not `left` undecided count with the box that is sure to be closest.
        """
        depth = block.depth + 1
        level, at = self.tree.level(depth), block.boxes()
        shapes = ((2, 1, 1, -1), (1, 2, 1, -1), (1, 1, 2, -1))
        one, two, three = (
            self._own(depth, x, won).reshape(s) for x, won, s in zip(at, block.won, shapes, strict=True)
        )
        own = one + (two + three)
        for a in left:
            halves = level.near[a].reshape(-1, 2).T
            one, two, three = (np.take(halves, x, axis=1).reshape(s) for x, s in zip(at, shapes, strict=True))
            own += np.maximum(np.maximum(one, two), three)
        # Children of one box stand for two orders of the same pair: keep one.
        own[1, 0, :, np.flatnonzero(block.a == block.b)] = -np.inf
        own[:, 1, 0, np.flatnonzero(block.b == block.c)] = -np.inf
        self.examined += own.size
        lacking = np.float32(self._least()) - block.pair_part
        open_ = np.flatnonzero(own >= lacking)
        which, parent = np.divmod(open_, len(block.a))
        children = [2 * x[parent] + (which >> s & 1) for x, s in zip(at, (2, 1, 0), strict=True)]
        return children[0], children[1], children[2], own.ravel()[open_], block.won[:, parent]

    def _own(self, depth: int, parent: Ints, won: Ints) -> Singles:
        """What both children of each box bring alone, with the anchors won, (2, r)."""
        kinds = np.flatnonzero(np.bincount(won))
        table = np.stack([self.tree.joint(depth, int(kind)).reshape(-1, 2).T for kind in kinds], axis=1)
        if len(kinds) == 1:
            return np.asarray(table[:, 0].take(parent, axis=1))
        row = np.empty(kinds[-1] + 1, np.int64)
        row[kinds] = np.arange(len(kinds)) << (depth - 1)
        return np.asarray(table.reshape(2, -1).take(row[won] + parent, axis=1))

    def _least(self) -> float:
        """What a bound, without the tree's constant, must reach to be kept."""
        return max(self.best.floor - self.best.slack - self.tree.constant, -1e30)

    def _bounded(self, depth: int, a: Ints, b: Ints, c: Ints, own: Singles, won: Ints) -> Block:
        """The block of these triples of boxes, without those below the floor or not allowed."""
        fine = self._allowed(depth, a, b, c)
        if fine is not None:
            a, b, c, own, won = a[fine], b[fine], c[fine], own[fine], won[:, fine]
        pair_part = self._pair_part(depth, a, b, c)
        bound = own + pair_part
        keep = np.flatnonzero(bound >= np.float32(self._least()))
        return Block(depth, a[keep], b[keep], c[keep], bound[keep], pair_part[keep], won[:, keep])

    def _pair_part(self, depth: int, a: Ints, b: Ints, c: Ints) -> Singles:
        """The bound on what the three pairs bring: from one table of the boxes in use, if small."""
        used = np.zeros(1 << depth, bool)
        for x in (a, b, c):
            used[x] = True
        boxes = np.flatnonzero(used)
        m = len(boxes)
        out = np.empty(len(a), np.float32)
        table = m <= _TABLE and m * m <= 16 * len(a) + 4096
        if table:
            together, apart = (t.ravel() for t in self.tree.pair_table(depth, boxes))
            place = np.cumsum(used) - 1
        for at in range(0, len(a), _SLICE):
            i, j, k = (x[at : at + _SLICE] for x in (a, b, c))
            if table:
                i, j, k = place[i], place[j], place[k]
                i *= m
                ij, ik = i + j, i + k
                j *= m
                jk = j + k
                p1, p2, p3 = together.take(ij), together.take(ik), together.take(jk)
                d1, d2, d3 = apart.take(ij), apart.take(ik), apart.take(jk)
            else:
                (p1, d1), (p2, d2), (p3, d3) = (
                    self.tree.pair_bounds(depth, x, y) for x, y in ((i, j), (i, k), (j, k))
                )
            p1 += p2
            p1 += p3
            p1 += np.minimum(np.minimum(d1, d2), d3)
            out[at : at + _SLICE] = p1
        return out

    def _allowed(self, depth: int, a: Ints, b: Ints, c: Ints) -> Bools | None:
        """Which triples of boxes may hold an allowed triple; None when nothing is demanded."""
        level, demands = self.tree.level(depth), self.tree.c.apart
        if not (len(level.every) or len(level.some) or demands):
            return None
        fine = np.ones(len(a), bool)
        for flags in level.every:
            one, two, three = flags[a], flags[b], flags[c]
            fine &= ~((one & two) | (three & (one | two)))
        for flags in level.some:
            fine &= flags[a] | flags[b] | flags[c]
        for demand, cost in zip(demands, level.cost, strict=True):
            most = np.stack([cost[:, a], cost[:, b], cost[:, c]])  # member, other, triple
            fine &= cheapest_matching(most.transpose(2, 0, 1)) >= demand.threshold - 2e-9
        return fine

    def _offer(self, block: Block) -> None:
        """Score single candidates' triples, the likeliest first so that the floor rises soon."""
        at = np.stack([block.a, block.b, block.c], axis=1)  # boxes of one candidate each
        triples = np.sort(self.tree.order[at], axis=1)
        self.best.offer_bounded(triples, block.bound, self.tree.constant + self.best.slack)
