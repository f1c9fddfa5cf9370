"""Search by lowering: pieces are set down into a box from above, each into the lowest corner.

Every packing of boxes can be laid by lowering its pieces one after another, lowest
first. The state is therefore the height reached over each part of the floor. At every
step the lowest corner is either filled by one of the pieces left, or given up as waste,
which is possible only while the waste so far and the pieces left still go into the box.
A piece's sideways place is taken from faces already there, so a failure is no proof.

Lengths are whole numbers of any unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

Size = tuple[int, int, int]
Spot = tuple[int, Size, Size]  # number of the kind, corner nearest the origin, size as laid
_Grid = tuple[tuple[int, ...], tuple[int, ...], tuple[tuple[int, ...], ...]]


@dataclass(frozen=True, slots=True)
class Kind:
    """Identical pieces: the sizes (x, y, z) in which one may lie, and how many there are."""

    ways: tuple[Size, ...]
    count: int

    @property
    def volume(self) -> int:
        """Volume of one piece."""
        x, y, z = self.ways[0]
        return x * y * z


@dataclass(frozen=True, slots=True)
class Lowered:
    """Where the pieces lie, or None; steps taken; whether nothing had to be taken back."""

    spots: tuple[Spot, ...] | None
    steps: int
    at_once: bool


def lower(kinds: Sequence[Kind], box: Size, most_steps: int) -> Lowered:
    """Lay all pieces into the box, in several orders and along each axis, within `most_steps`.

    First one descent for each rule, then searches whose share of the steps grows; the
    upright ones come first, so that a layout found is usually also the order of packing.
    """
    used = 0
    rules = [(axes, by) for axes in _AXES for by in ("volume", "snug", "height")]
    for share in (0.0, 0.04, 0.4):
        for axes, by in rules:
            left = most_steps - used
            if left <= 0:
                return Lowered(None, used, False)
            allowed = min(left, int(share * most_steps) + 1)
            descent = _Descent([_turned(k, axes) for k in kinds], _along(box, axes), by, allowed, share == 0)
            spots = descent.run()
            used += descent.steps
            if spots is not None:
                return Lowered(tuple(_back(s, axes) for s in spots), used, share == 0)
    return Lowered(None, used, False)


# Upright first (z stays the height), then the box laid on its sides.
_AXES = sorted(permutations((0, 1, 2)), key=lambda axes: (axes[2] != 2, axes))


def _along(size: Size, axes: Sequence[int]) -> Size:
    return size[axes[0]], size[axes[1]], size[axes[2]]


def _turned(kind: Kind, axes: Sequence[int]) -> Kind:
    return Kind(tuple(_along(way, axes) for way in kind.ways), kind.count)


def _back(spot: Spot, axes: Sequence[int]) -> Spot:
    inverse = [axes.index(i) for i in range(3)]
    return spot[0], _along(spot[1], inverse), _along(spot[2], inverse)


class _Descent:
    """One depth-first search with one rule of what is tried first."""

    def __init__(self, kinds: Sequence[Kind], box: Size, by: str, most: int, single: bool) -> None:
        self.box, self.by, self.most, self.single = box, by, most, single
        self.ways = [k.ways for k in kinds]
        self.counts = [k.count for k in kinds]
        self.volumes = [k.volume for k in kinds]
        self.slack = box[0] * box[1] * box[2] - sum(k.volume * k.count for k in kinds)
        self.steps = 0
        self.spots: list[Spot] = []
        self.seen: set[tuple[_Grid, tuple[int, ...]]] = set()

    def run(self) -> list[Spot] | None:
        flat = ((0, self.box[0]), (0, self.box[1]), ((0,),))
        return self.spots if self.slack >= 0 and self._fill(flat, self.slack) else None

    def _fill(self, grid: _Grid, slack: int) -> bool:
        if not any(self.counts):
            return True
        key = (grid, tuple(self.counts))
        if key in self.seen:
            return False
        self.seen.add(key)
        xs, ys, heights = grid
        while True:
            self.steps += 1
            if self.steps > self.most and not self.single:
                return False
            z = min(map(min, heights))
            if z >= self.box[2]:
                return False
            row = next(i for i, line in enumerate(heights) if z in line)
            column = heights[row].index(z)
            x, y = xs[column], ys[row]
            room = _room(grid, row, column, z)
            for _, kind, (dx, dy, dz) in self._choices(room, z):
                self.counts[kind] -= 1
                self.spots.append((kind, (x, y, z), (dx, dy, dz)))
                if self._fill(_raised(xs, ys, heights, row, column, x + dx, y + dy, z + dz), slack):
                    return True
                self.counts[kind] += 1
                self.spots.pop()
                if self.single or self.steps > self.most:
                    return False
            # Nothing goes here: give up the corner's cell, to the height of its lowest higher neighbour.
            x1, y1 = xs[column + 1], ys[row + 1]
            around = [
                heights[r][c]
                for r, c in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1))
                if 0 <= r < len(heights) and 0 <= c < len(heights[0]) and heights[r][c] > z
            ]
            top = min(around, default=self.box[2])
            slack -= (x1 - x) * (y1 - y) * (top - z)
            if slack < 0:
                return False
            xs, ys, heights = grid = _raised(xs, ys, heights, row, column, x1, y1, top)

    def _choices(self, room: list[tuple[int, int]], z: int) -> list[tuple[tuple[int, ...], int, Size]]:
        """What fits into the corner, best first; room is (depth, width free up to that depth)."""
        found: list[tuple[tuple[int, ...], int, Size]] = []
        wide = room[0][1]
        deep = room[-1][0]
        for kind, left in enumerate(self.counts):
            if not left:
                continue
            for way in self.ways[kind]:
                dx, dy, dz = way
                if dx > wide or dy > deep or z + dz > self.box[2]:
                    continue
                if dx > next(width for depth, width in room if dy <= depth):
                    continue
                volume = self.volumes[kind]
                snug = (dx == wide) + (dy == deep) + (z + dz == self.box[2])
                rank: tuple[int, ...]
                if self.by == "volume":
                    rank = (-volume, dz, -dx)
                elif self.by == "snug":
                    rank = (-snug, -volume, dz)
                else:
                    rank = (-dz, -volume, -dx)
                found.append(((*rank, kind), kind, way))
        found.sort()
        return found


def _room(grid: _Grid, row: int, column: int, z: int) -> list[tuple[int, int]]:
    """Depth and width of the flat parts that start at a corner, widest first."""
    xs, ys, heights = grid
    room: list[tuple[int, int]] = []
    end = len(heights[0])
    for r in range(row, len(heights)):
        line = heights[r]
        c = column
        while c < end and line[c] == z:
            c += 1
        if c == column:
            break
        end = c
        depth, width = ys[r + 1] - ys[row], xs[c] - xs[column]
        if room and room[-1][1] == width:
            room[-1] = (depth, width)
        else:
            room.append((depth, width))
    return room


def _raised(
    xs: tuple[int, ...], ys: tuple[int, ...], heights: tuple[tuple[int, ...], ...],
    row: int, column: int, x1: int, y1: int, top: int,
) -> _Grid:  # fmt: skip
    """The grid with the rectangle from a corner to (x1, y1) raised to `top`, equal lines merged."""
    xs2, ys2, lines = list(xs), list(ys), [list(line) for line in heights]
    c1 = column + 1
    while xs2[c1] < x1:
        c1 += 1
    if xs2[c1] > x1:
        xs2.insert(c1, x1)
        for line in lines:
            line.insert(c1, line[c1 - 1])
    r1 = row + 1
    while ys2[r1] < y1:
        r1 += 1
    if ys2[r1] > y1:
        ys2.insert(r1, y1)
        lines.insert(r1, lines[r1 - 1].copy())
    for r in range(row, r1):
        lines[r][column:c1] = [top] * (c1 - column)
    keep = [0] + [i for i in range(1, len(lines)) if lines[i] != lines[i - 1]]
    if len(keep) < len(lines):
        ys2 = [ys2[i] for i in keep] + [ys2[-1]]
        lines = [lines[i] for i in keep]
    columns = list(zip(*lines, strict=True))
    keep = [0] + [i for i in range(1, len(columns)) if columns[i] != columns[i - 1]]
    if len(keep) < len(columns):
        xs2 = [xs2[i] for i in keep] + [xs2[-1]]
        columns = [columns[i] for i in keep]
    return tuple(xs2), tuple(ys2), tuple(zip(*columns, strict=True))
