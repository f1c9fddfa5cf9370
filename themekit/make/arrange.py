"""Whether pieces go into a box, and how they lie: a search over real arrangements.

Lengths are mm outside and whole tenths of a mm inside, pieces rounded up and boxes down,
so that an answer never hangs on rounding in the baker's favour. Pieces are boxes around
the real things: a round cup takes its square.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Literal

from themekit.errors import Problem, raise_all
from themekit.make.lowering import Kind, Size, lower
from themekit.make.relations import relate
from themekit.make.too_full import fitting, too_bulky, too_much

Answer = Literal["fits", "fits only laid so", "does not fit", "not found"]
Measure = Literal["length", "width", "height"]

#: Above this many pieces no search is tried.
MOST_PIECES = 150
_TENTHS = 10
# Steps for a kit of up to twelve pieces; about 15, 80 and 50 ms.
_FEW_STEPS, _PAIR_STEPS, _MORE_STEPS = 1_200, 1_500, 4_000
#: What a second search, with the flat pieces among the others, may take of these.
_SECOND_SHARE = 0.2
_USUAL_PIECES = 12
_MOST_RELATED = 20


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing as a box in mm. It may always be turned on the floor; `up` are those of its
    own measures that may point up. A flat one `on_top` is laid over all the rest if possible.
    `kind` is a word for what it is, which the search does not read."""

    name: str
    length_mm: float
    width_mm: float
    height_mm: float
    up: tuple[Measure, ...] = ("height",)
    on_top: bool = False
    kind: str = ""

    @property
    def sizes_mm(self) -> tuple[float, float, float]:
        """Its own measures."""
        return self.length_mm, self.width_mm, self.height_mm


@dataclass(frozen=True, slots=True)
class Laid:
    """One piece in the box, in mm from a lower corner: x along the box's length, y along its
    width, z up; sizes as it lies. `level` counts from 0, which stands on the floor;
    `bedded` says that less than half of it rests on anything, so that filling goes under it."""

    name: str
    x_mm: float
    y_mm: float
    z_mm: float
    length_mm: float
    width_mm: float
    height_mm: float
    level: int = 0
    bedded: bool = False
    up: Measure = "height"
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The answer of a search, the layout if there is one (in the order of the pieces), the
    share of the box's room that the pieces take, why not, and the steps of search taken."""

    answer: Answer
    laid: tuple[Laid, ...]
    used_share: float
    why: str
    steps: int


def arrange(
    pieces: Sequence[Piece], inner_mm: tuple[float, float, float], loose_share: float = 0.6
) -> Arrangement:
    """How the pieces lie in a box of these inner sizes (length, width, height in mm).

    "fits": at most `loose_share` of the room is taken and a plain rule lays all pieces
    without taking one back. "fits only laid so": there is a layout, but it is tighter or
    had to be searched for. "does not fit": proven. "not found": the search ended without
    a layout and without a proof. The same input always gives the same answer.

    Raises `InvalidValue` for sizes that are not positive numbers.
    """
    _check(pieces, inner_mm)
    inner = _whole(inner_mm, up=False)
    if not pieces:
        return Arrangement("fits", (), 0.0, "", 0)
    share = sum(math.prod(p.sizes_mm) for p in pieces) / math.prod(inner_mm)
    kinds, members = _kinds(pieces)
    allowed = [fitting(k, inner) for k in kinds]
    large = [pieces[m[0]] for k, m in zip(allowed, members, strict=True) if not k.ways]
    if large:
        names = ", ".join(f"{p.name} ({_sizes(p)})" for p in large)
        return Arrangement("does not fit", (), share, f"Too large in every way it may lie: {names}.", 0)
    if too_much(kinds, inner):
        return Arrangement("does not fit", (), share, f"The pieces take {share:.0%} of the room.", 0)
    if len(pieces) > MOST_PIECES:
        return Arrangement("not found", (), share, f"More than {MOST_PIECES} pieces are not searched.", 0)
    spots, at_once, proof, steps = _search(pieces, inner)
    if spots is not None:
        loose = at_once and share <= loose_share
        return Arrangement("fits" if loose else "fits only laid so", _laid(pieces, spots), share, "", steps)
    if proof:
        return Arrangement("does not fit", (), share, proof, steps)
    return Arrangement("not found", (), share, "No layout was found, but none is ruled out.", steps)


_Placed = list[tuple[Size, Size]]  # corner and size of each piece, in its order


def _search(pieces: Sequence[Piece], inner: Size) -> tuple[_Placed | None, bool, str, int]:
    """Places of all pieces or None, whether found at once, the proof if there is one, steps."""
    over = [i for i, p in enumerate(pieces) if p.on_top]
    rest = [i for i, p in enumerate(pieces) if not p.on_top]
    flat = [_flat(_whole(pieces[i].sizes_mm, up=True), inner) for i in over]
    left = inner[2] - sum(f[2] for f in flat if f)
    steps, effort = 0, 1.0
    if over and all(flat) and left > 0:
        under = [pieces[i] for i in rest]
        spots, at_once, proof, steps = _places(under, (inner[0], inner[1], left), 1.0)
        if spots is not None:
            placed = dict(zip(rest, spots, strict=True))
            for i, f in zip(over, flat, strict=True):
                if f:
                    placed[i] = ((0, 0, left), f)
                    left += f[2]
            return _settled([placed[i] for i in range(len(pieces))], [*rest, *over]), at_once, "", steps
        # No heights add up to anything between: so the whole height gives no more than the height left.
        if proof and _reach(_kinds(under)[0], inner)[2] <= left:
            return None, False, proof, steps
        effort = _SECOND_SHARE
    spots, at_once, proof, more = _places(pieces, inner, effort)
    at_once = at_once and not over
    if spots is None:
        return None, False, proof, steps + more
    return _settled(spots, range(len(spots))), at_once, "", steps + more


def _places(pieces: Sequence[Piece], inner: Size, effort: float) -> tuple[_Placed | None, bool, str, int]:
    """As `_search`, of pieces that are all alike to it, with a share of the usual steps."""
    if not pieces:
        return [], True, "", 0
    kinds, members = _kinds(pieces)
    kinds = [fitting(k, inner) for k in kinds]
    inner = _reach(kinds, inner)
    if not all(k.ways for k in kinds) or too_much(kinds, inner):
        return None, False, "Too large for the room.", 0
    ease = effort * min(1.0, _USUAL_PIECES / len(pieces))
    found = lower(kinds, inner, int(_FEW_STEPS * ease))
    spots, steps, proof = found.spots, found.steps, ""
    if spots is None and too_bulky(kinds, inner):
        return None, False, "The pieces cannot lie side by side and over each other in any way.", steps
    if spots is None and len(pieces) <= _MOST_RELATED:
        related = relate(kinds, inner, int(_PAIR_STEPS * ease))
        spots, steps = related.spots, steps + related.steps
        if related.proven:
            proof = "Every arrangement was tried."
    if spots is None and not proof:
        again = lower(kinds, inner, int(_MORE_STEPS * ease))
        spots, steps = again.spots, steps + again.steps
    if spots is None:
        return None, False, proof, steps
    waiting = [list(m) for m in members]
    places: dict[int, tuple[Size, Size]] = {}
    for kind, at, size in spots:
        places[waiting[kind].pop(0)] = (at, size)
    return [places[i] for i in range(len(pieces))], found.at_once, "", steps


def _reach(kinds: Sequence[Kind], inner: Size) -> Size:
    """The box cut down to the longest sum of pieces along each axis that it holds.

    Any layout can be pushed together towards one corner, where every place is such a sum.
    """
    out = []
    for axis in range(3):
        sums = 1  # bit n: some pieces in a row are n long
        for kind in kinds:
            for _ in range(kind.count):
                longer = sums
                for length in {way[axis] for way in kind.ways}:
                    longer |= sums << length
                sums = longer & ((1 << (inner[axis] + 1)) - 1)
        out.append(sums.bit_length() - 1)
    return out[0], out[1], out[2]


def _kinds(pieces: Sequence[Piece]) -> tuple[list[Kind], list[list[int]]]:
    """Pieces with the same ways as one kind, and which pieces those are."""
    members: dict[tuple[Size, ...], list[int]] = {}
    for i, piece in enumerate(pieces):
        sizes = _whole(piece.sizes_mm, up=True)
        ways = {(sizes[a], sizes[b], sizes[c]) for a, b, c in permutations((0, 1, 2)) if _MEASURES[c] in piece.up}
        members.setdefault(tuple(sorted(ways)), []).append(i)
    order = sorted(members, key=lambda ways: (-math.prod(ways[0]), ways))
    return [Kind(ways, len(members[ways])) for ways in order], [members[ways] for ways in order]


_MEASURES: tuple[Measure, Measure, Measure] = ("length", "width", "height")


def _flat(size: Size, inner: Size) -> Size | None:
    """A flat piece as it lies over the rest, the longer side along the box's longer one."""
    for way in (size, (size[1], size[0], size[2])):
        if way[0] <= inner[0] and way[1] <= inner[1]:
            return way
    return None


def _settled(placed: _Placed, order: Sequence[int]) -> _Placed:
    """Every piece let down until it rests on the floor or on another."""
    out = list(placed)
    done: list[int] = []
    for i in sorted(order, key=lambda i: placed[i][0][2]):
        (x, y, _), size = out[i]
        under = [out[j][0][2] + out[j][1][2] for j in done if _overlap((x, y), size, out[j])]
        out[i] = ((x, y, max(under, default=0)), size)
        done.append(i)
    return out


def _overlap(at: tuple[int, int], size: Size, other: tuple[Size, Size]) -> int:
    """Area that two pieces share when seen from above."""
    (x, y, _), (length, width, _) = other
    along = min(at[0] + size[0], x + length) - max(at[0], x)
    across = min(at[1] + size[1], y + width) - max(at[1], y)
    return max(0, along) * max(0, across)


def _laid(pieces: Sequence[Piece], placed: _Placed) -> tuple[Laid, ...]:
    """Places in mm, with the level of each and whether it is bedded on filling."""
    levels: dict[int, int] = {}
    out: dict[int, Laid] = {}
    for i in sorted(range(len(placed)), key=lambda i: (placed[i][0][2], i)):
        (x, y, z), size = placed[i]
        areas = {j: _overlap((x, y), size, placed[j]) for j in levels}
        under = [j for j, area in areas.items() if area and placed[j][0][2] + placed[j][1][2] <= z]
        levels[i] = 1 + max((levels[j] for j in under), default=-1)
        resting = sum(areas[j] for j in under if placed[j][0][2] + placed[j][1][2] == z)
        piece = pieces[i]
        out[i] = Laid(
            name=piece.name,
            x_mm=x / _TENTHS,
            y_mm=y / _TENTHS,
            z_mm=z / _TENTHS,
            length_mm=size[0] / _TENTHS,
            width_mm=size[1] / _TENTHS,
            height_mm=size[2] / _TENTHS,
            level=levels[i],
            bedded=z > 0 and not piece.on_top and 2 * resting < size[0] * size[1],
            up=_pointing_up(piece, size),
            kind=piece.kind,
        )
    return tuple(out[i] for i in range(len(placed)))


def _pointing_up(piece: Piece, size: Size) -> Measure:
    """Which of its own measures points up, of equal ones the first in `up`."""
    sizes = dict(zip(_MEASURES, _whole(piece.sizes_mm, up=True), strict=True))
    for measure in piece.up:
        others = sorted(v for m, v in sizes.items() if m != measure)
        if sizes[measure] == size[2] and others == sorted(size[:2]):
            return measure
    return piece.up[0]


def _whole(sizes_mm: tuple[float, float, float], up: bool) -> Size:
    """Tenths of a mm, pieces rounded up and boxes down; a hair's breadth of float error is not counted."""
    x, y, z = (math.ceil(s * _TENTHS - 1e-6) if up else math.floor(s * _TENTHS + 1e-6) for s in sizes_mm)
    return x, y, z


def _sizes(piece: Piece) -> str:
    return " × ".join(f"{round(s, 1):g}" for s in piece.sizes_mm) + " mm"


def _check(pieces: Sequence[Piece], inner_mm: tuple[float, float, float]) -> None:
    named = [(f"pieces[{i}] {p.name}", p.sizes_mm) for i, p in enumerate(pieces)] + [("inner_mm", inner_mm)]
    raise_all(
        Problem(name, size, "a length from 0.1 to 100000 mm", "Give sizes in mm.")
        for name, sizes in named
        for size in sizes
        if not 0.1 <= size <= 100_000
    )
