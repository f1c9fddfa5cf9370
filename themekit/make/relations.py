"""Complete search over how every two pieces lie to each other, so that a failure is a proof.

Two boxes do not overlap exactly when one lies wholly before the other along some axis.
So a packing is a choice, for every pair, of one of six relations (along x, y or z, either
way round), such that no chain of them is longer than the box. Kept for each axis: the
least difference between any two positions that follows from the relations so far, which
is the longest path between them (the positions' own origin is one more row and column).
A relation that was tried in vain is ruled out by its opposite for the rest of the branch.

Relations of pairs as the search space: S. Martello, D. Pisinger, D. Vigo, E. den Boef,
J. Korst, "Algorithm 864: General and robot-packable variants of the three-dimensional
bin packing problem", ACM Trans. Math. Softw. 33(1), 2007 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.make.lowering import Kind, Size, Spot

_Ints = NDArray[np.int64]
_NEVER = -(2**40)


@dataclass(frozen=True, slots=True)
class Related:
    """Where the pieces lie, or None; whether None is a proof; steps taken."""

    spots: tuple[Spot, ...] | None
    proven: bool
    steps: int


def relate(kinds: Sequence[Kind], box: Size, most_steps: int) -> Related:
    """Lay all pieces into the box or prove that it cannot be done, within `most_steps`.

    Pieces join one at a time, those with the fewest ways first, then the largest; each is
    turned, then related to those before it, the pair with the fewest possible relations first.
    """
    order = sorted(range(len(kinds)), key=lambda k: (len(kinds[k].ways), -kinds[k].volume, k))
    search = _Relations([(k, kinds[k]) for k in order for _ in range(kinds[k].count)], box, most_steps)
    if search.run():
        return Related(search.spots, False, search.steps)
    return Related(None, search.steps <= most_steps, search.steps)


class _Relations:
    """The state that all branches share: pieces, limits, steps and the answer."""

    def __init__(self, pieces: list[tuple[int, Kind]], box: Size, most: int) -> None:
        self.pieces, self.box, self.most = pieces, box, most
        self.steps = 0
        self.spots: tuple[Spot, ...] | None = None
        n = len(pieces)
        self.before = np.tri(n, n, -1, dtype=bool).T  # each pair once

    def run(self) -> bool:
        n = len(self.pieces)
        apart = np.full((3, n + 1, n + 1), _NEVER, np.int64)
        apart[:, range(n + 1), range(n + 1)] = 0
        return self._turn(apart, np.zeros((3, n), np.int64), 0)

    def _turn(self, apart: _Ints, sizes: _Ints, at: int) -> bool:
        """Let piece `at` join in each of its ways."""
        if at == len(self.pieces):
            self.spots = tuple(
                (kind, _size(apart[:, -1, i]), _size(sizes[:, i])) for i, (kind, _) in enumerate(self.pieces)
            )
            return True
        kind, piece = self.pieces[at]
        alone = piece.count == 1 or len({way[0] for way in piece.ways}) == 1
        for way in piece.ways:
            if any(s > b for s, b in zip(way, self.box, strict=True)):
                continue
            joined, turned = apart.copy(), sizes.copy()
            turned[:, at] = way
            fine = True
            for axis in range(3):
                room = self.box[axis] - way[axis]
                # Mirrored packings are packings: the first piece may keep to the near half. Along x this
                # would clash with the order of identical pieces, unless all of them have one width there.
                if at == 0 and (axis > 0 or alone):
                    room //= 2
                fine = fine and _add(joined[axis], -1, at, 0) and _add(joined[axis], at, -1, -room)
            if fine and at and self.pieces[at - 1][0] == kind:
                fine = _add(joined[0], at - 1, at, 0)  # identical pieces in order along x
            if fine and self._settle(joined, turned, at + 1):
                return True
            if self.steps > self.most:
                return False
        return False

    def _settle(self, apart: _Ints, sizes: _Ints, n: int) -> bool:
        """Relate every pair of the first n pieces, then let the next one join."""
        self.steps += 1
        if self.steps > self.most:
            return False
        while True:
            known = apart[:, :n, :n]
            size = sizes[:, :n, None]
            done = (known >= size).any(axis=0)
            open_ = self.before[:n, :n] & ~(done | done.T)
            if not open_.any():
                return self._turn(apart, sizes, n)
            can = known.transpose(0, 2, 1) + size <= 0  # axis, i before j: closes no growing ring
            ways = can.sum(axis=0)
            ways = np.where(open_, ways + ways.T, 9)
            i, j = divmod(int(ways.argmin()), n)
            if ways[i, j] == 0:
                return False
            choices = [(a, *pair) for a in (2, 0, 1) for pair in ((i, j), (j, i)) if can[a, pair[0], pair[1]]]
            for axis, first, second in choices[:-1]:
                branch = apart.copy()
                length = int(sizes[axis, first])
                if _add(branch[axis], first, second, length) and self._settle(branch, sizes, n):
                    return True
                if self.steps > self.most or not _add(apart[axis], second, first, 1 - length):
                    return False
            axis, first, second = choices[-1]
            if not _add(apart[axis], first, second, int(sizes[axis, first])):
                return False


def _add(apart: _Ints, first: int, second: int, least: int) -> bool:
    """Require that `second` lies at least `least` beyond `first`; False if that is impossible."""
    if apart[second, first] + least > 0:
        return False
    if apart[first, second] < least:
        through = apart[:, first, None] + (least + apart[second, None, :])
        np.maximum(apart, through, out=apart)
    return True


def _size(values: _Ints) -> Size:
    x, y, z = values.tolist()
    return x, y, z
