"""Every icing colour that a set of gels can make, thinned to some two thousand.

Each gel climbs a ladder of doses in steps that look alike; singles, pairs and triples
of rungs are predicted, and of the colours that fall into one small cell one is kept.
Cells are cubes in CIELAB with its chroma compressed by CIE94's S_C, because equal steps
of plain CIELAB crowd the vivid colours: for the same number of candidates the farthest
reachable colour then lies about ΔE00 4 from a candidate instead of 7.

References
----------
CIE 116-1995, Industrial colour-difference evaluation: S_C = 1 + 0.045 C*, and S_H =
1 + 0.015 C*, which the same compression follows closely.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import CEILING_G, WHITE_ICING, predict
from themekit.values import Gel, Lab

Floats = NDArray[np.float64]

#: Side of a cell, in units of CIE94 difference.
CELL = 4.2
#: CIEDE2000 between the rungs of one gel's ladder, and of its lowest rung from white.
STEP = 2.5
#: Recipes are weighed to this, g per 100 g of icing.
WEIGHED_G = 0.001
_PAIR_RUNGS = (12, 10, 8, 6, 5, 4, 3)
_TRIPLE_RUNGS = (12, 10, 8, 6, 5, 4, 3, 2)
_ROWS = 30_000  # most pairs, and most triples, of rungs that are predicted
_CHUNK = 16_384

# A gel as far as its colours go: id, name, k, most of it in g per 100 g.
_Mix = tuple[int, str, tuple[float, ...], float]


@dataclass(frozen=True, eq=False, slots=True)
class Reach:
    """Reachable tints: `lab` (n, 3) and `doses` (n, g), g per 100 g, read-only.

    Columns follow the gels as given, row 0 is white icing with no gel at all; rows are
    ordered by number of gels and then by recipe, whatever the order of the gels.
    """

    lab: Floats
    doses: Floats


def limit_g(gel: Gel) -> float:
    """Most of one gel in 100 g of icing: its own maximum, or the general ceiling."""
    return CEILING_G if gel.max_g_per_100g is None else gel.max_g_per_100g


def within_ceiling(doses: ArrayLike, limits: ArrayLike) -> Floats:
    """By how much each row of doses (..., g) must be scaled to keep the ceiling; 1 is within.

    A gel uses up the general ceiling by its dose, or, where its own maximum is higher, by
    its share of that; together they may use it up once.
    """
    used = (np.asarray(doses, float) / np.maximum(CEILING_G, limits)).sum(axis=-1)
    return np.asarray(1 / np.maximum(1.0, used))


def weighed(doses: ArrayLike, limits: ArrayLike) -> Floats:
    """Doses as they are weighed: steps of 0.001 g, at least one step, never over the limit."""
    steps = np.maximum(np.round(np.asarray(doses, float) / WEIGHED_G), 1)
    most = np.floor(np.asarray(limits, float) / WEIGHED_G + 1e-6)
    return np.asarray(np.round(np.minimum(steps, most) * WEIGHED_G, 6))


def usable(gels: Sequence[Gel]) -> list[int]:
    """Positions of the gels that can be mixed, in the order of id and name.

    Left out are gels with an empty `k` (white, opaque) and those with no room to dose.
    """
    fit = (i for i in range(len(gels)) if gels[i].k and limit_g(gels[i]) >= WEIGHED_G)
    return sorted(fit, key=lambda i: (gels[i].id, gels[i].name))


def reachable(gels: Sequence[Gel], white: Lab = WHITE_ICING) -> Reach:
    """The colours that at most three of these gels can make in white icing.

    White is always kept, and so is every rung of each single gel: a weak natural colour
    is not crowded out by a stronger gel's. Of the other colours of a cell the one with
    the fewest gels stays, then the one nearest the cell's centre. Gels with an empty `k`
    (white, opaque) are passed over; their column is 0. Of more than about fifty gels only
    pairs are mixed. The last few results are kept in memory.
    """
    order = usable(gels)
    mixes = tuple((gels[i].id, gels[i].name, gels[i].k, limit_g(gels[i])) for i in order)
    lab, doses = _reachable(mixes, (float(white[0]), float(white[1]), float(white[2])))
    spread = np.zeros((len(lab), len(gels)))
    spread[:, order] = doses
    spread.setflags(write=False)
    return Reach(lab, spread)


@lru_cache(maxsize=8)
def _reachable(mixes: tuple[_Mix, ...], white: Lab) -> tuple[Floats, Floats]:
    table = np.array([m[2] for m in mixes], float).reshape(len(mixes), 31)
    limits = np.array([m[3] for m in mixes], float)
    ladders = [_ladder(k, limit, white) for k, limit in zip(table, limits, strict=True)]
    kept_lab, kept_doses, kept_cells, kept_off = [], [], [], []
    for doses in _chunks(_recipes(ladders)):
        fits = doses[within_ceiling(doses, limits) > 1 - 1e-9]
        lab = predict(table, fits, white)
        cells, off = _cells(lab)
        chosen = _one_per_cell(cells, off, fits)
        kept_lab.append(lab[chosen])
        kept_doses.append(fits[chosen])
        kept_cells.append(cells[chosen])
        kept_off.append(off[chosen])
    lab, doses = np.concatenate(kept_lab), np.concatenate(kept_doses)
    last = _one_per_cell(np.concatenate(kept_cells), np.concatenate(kept_off), doses)
    lab, doses = lab[last], doses[last]
    for array in (lab, doses):
        array.setflags(write=False)
    return lab, doses


def _ladder(k: Floats, limit: float, white: Lab) -> Floats:
    """Doses of one gel from just visible to its limit, a `STEP` of difference apart."""
    fine = np.geomspace(limit / 3000, limit, 400)
    lab = predict(k, fine[:, None], white)
    start = predict(k, [[0.0]], white)
    climbed = np.cumsum(delta_e_2000(np.concatenate([start, lab[:-1]]), lab))
    steps = max(1, int(climbed[-1] / STEP))
    rungs = np.interp(climbed[-1] * np.arange(1, steps + 1) / steps, climbed, fine)
    return np.unique(weighed(np.minimum(rungs, limit), limit))


def _recipes(ladders: list[Floats]) -> Iterator[Floats]:
    """Blocks of doses (n, g): white, every rung of each gel, pairs, triples of fewer rungs."""
    count = len(ladders)
    # Ladders of the same lengths are combined in the same pattern.
    grids: dict[tuple[int, ...], NDArray[np.intp]] = {}
    yield np.zeros((1, count))
    for size, choices in ((1, (1,)), (2, _PAIR_RUNGS), (3, _TRIPLE_RUNGS)):
        sets = comb(count, size)
        rungs = next((r for r in choices if sets * r**size <= _ROWS), choices[-1] if size < 3 else 0)
        if size > 1 and not rungs:
            return
        steps = ladders if size == 1 else [_thin(ladder, rungs) for ladder in ladders]
        for chosen in combinations(range(count), size):
            lengths = tuple(len(steps[i]) for i in chosen)
            if lengths not in grids:
                grids[lengths] = np.indices(lengths).reshape(size, -1)
            doses = np.zeros((grids[lengths].shape[1], count))
            for i, rung in zip(chosen, grids[lengths], strict=True):
                doses[:, i] = steps[i][rung]
            yield doses


def _thin(ladder: Floats, rungs: int) -> Floats:
    """So many rungs of a ladder, evenly spread, the top one among them."""
    if len(ladder) <= rungs:
        return ladder
    at = np.round(np.linspace(0, len(ladder), rungs + 1)[1:] - 1).astype(int)
    return np.asarray(ladder[at])


def _chunks(blocks: Iterator[Floats]) -> Iterator[Floats]:
    """The blocks joined to arrays of a size that stays in memory."""
    held: list[Floats] = []
    rows = 0
    for block in blocks:
        held.append(block)
        rows += len(block)
        if rows >= _CHUNK:
            yield np.concatenate(held)
            held, rows = [], 0
    if held:
        yield np.concatenate(held)


def _cells(lab: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Cell indices (n, 3) of each colour and its squared distance from the cell's centre."""
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    shrink = np.where(chroma > 1e-9, np.log1p(0.045 * chroma) / (0.045 * np.maximum(chroma, 1e-9)), 1.0)
    place = np.column_stack([lab[:, 0], lab[:, 1] * shrink, lab[:, 2] * shrink]) / CELL
    cells = np.floor(place)
    return cells.astype(np.int64), ((place - cells - 0.5) ** 2).sum(axis=1)


def _one_per_cell(cells: NDArray[np.int64], off: Floats, doses: Floats) -> NDArray[np.intp]:
    """Rows to keep: white, singles, and the simplest, most central of each cell; ordered."""
    used = (doses > 0).sum(axis=1)
    cell = _numbered(cells)
    order = np.lexsort((off, used, cell))
    ranked = cell[order]
    first = np.flatnonzero(np.append(True, ranked[1:] != ranked[:-1]))
    kept = np.union1d(_settled(order, first, cell, used, off, doses), np.flatnonzero(used <= 1))
    return kept[np.lexsort((*doses[kept].T[::-1], used[kept]))]


def _numbered(cells: NDArray[np.int64]) -> NDArray[np.int64]:
    """One number for each cell, as three keys sort more slowly than one."""
    low = cells.min(axis=0, initial=0)
    _, wide, high = cells.max(axis=0, initial=0) - low + 1
    place = cells - low
    return np.asarray((place[:, 0] * wide + place[:, 1]) * high + place[:, 2])


def _settled(
    order: NDArray[np.intp], first: NDArray[np.intp], cell: NDArray[np.int64], used: NDArray[np.intp], off: Floats,
    doses: Floats,
) -> NDArray[np.intp]:  # fmt: skip
    """The first row of each cell; where several are equally good the recipe itself settles it."""
    kept = order[first]
    after = order[np.minimum(first + 1, len(order) - 1)]
    tied = (after != kept) & (cell[after] == cell[kept]) & (used[after] == used[kept]) & (off[after] == off[kept])
    for at in np.flatnonzero(tied):
        row = kept[at]
        rows = np.flatnonzero((cell == cell[row]) & (used == used[row]) & (off == off[row]))
        kept[at] = rows[np.lexsort(doses[rows].T)[0]]
    return kept
