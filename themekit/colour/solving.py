"""From a colour back to a recipe: at most three gels, in g per 100 g of white icing.

The nearest reachable candidates are the starts; each start's doses are then moved by
Newton's method on the square of CIEDE2000 itself, in the logarithm of the dose and
within every gel's limit, all starts together. Nothing is optimised over all triples.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import WHITE_ICING, add_absorption, predict
from themekit.colour.reach import Reach, limit_g, reachable, usable, weighed, within_ceiling
from themekit.colour.recovery import check_lab
from themekit.errors import Problem, raise_all
from themekit.values import Dose, Gel, Lab

Floats = NDArray[np.float64]

MOST_GELS = 3
#: A recipe with fewer gels is taken when it is at most this much CIEDE2000 farther off.
SIMPLER = 0.1
_STARTS = {1: 1, 2: 3, 3: 6}  # sets of gels tried, by their number
_NEAREST = 24  # candidates that starts are made of
_ROUNDS = 25
_MISSED = 0.3  # CIEDE2000 from which on more sets of gels are tried
_NUDGE = 3e-3  # of the log dose, for the slopes
_FAINT = np.log(4e-4)  # a dose that is weighed as nothing
# The points at which a start and its slopes are looked at: centre, ± each, ± each two.
_PAIRS = ((0, 1), (0, 2), (1, 2))
_OFFSETS = np.array(
    [np.zeros(3), *np.eye(3), *-np.eye(3), *(np.eye(3)[i] + np.eye(3)[j] for i, j in _PAIRS)]
    + [-(np.eye(3)[i] + np.eye(3)[j]) for i, j in _PAIRS]
)


@dataclass(frozen=True, slots=True)
class Solution:
    """A recipe as it is weighed, the colour it gives, and how far that is from the aim.

    `doses` holds one entry per gel used, largest first, empty for white icing; `delta_e`
    is the CIEDE2000 that no allowed recipe was found to lower: above about 2 the colour
    is visibly not the one asked for, and should be said not to be in reach.
    """

    doses: tuple[Dose, ...]
    lab: Lab
    delta_e: float


def solve(
    target_lab: ArrayLike,
    gels: Sequence[Gel],
    max_gels: int = MOST_GELS,
    white: Lab = WHITE_ICING,
) -> Solution:
    """The recipe of at most `max_gels` (1–3) gels whose colour is nearest to `target_lab`.

    Each gel keeps to its own maximum and all together to the general ceiling. Raises
    `InvalidValue` for a target that is not a colour or a number of gels out of range.
    """
    if isinstance(max_gels, bool) or max_gels not in range(1, MOST_GELS + 1):
        allowed = f"a whole number from 1 to {MOST_GELS}"
        raise_all([Problem("max_gels", max_gels, allowed, "Ask for at most three gels.")])
    target = check_lab(target_lab, "target")
    reach = reachable(gels, white)
    order = usable(gels)
    table = np.array([gels[i].k for i in order], float).reshape(len(order), 31)
    limits = np.array([limit_g(gels[i]) for i in order])
    rows = _starts(target, reach, order, max_gels)
    plain = np.where(rows > 0, weighed(rows, limits), 0)
    doses = np.concatenate([np.zeros((1, len(order))), plain, _refine(target, rows, table, limits, white)])
    far = delta_e_2000(predict(table, doses, white), target)
    if far.min() > _MISSED and max_gels == MOST_GELS:
        rows = _extended(doses, far, reach.doses[:, order])
        doses = np.concatenate([doses, _refine(target, rows, table, limits, white)])
    lab = predict(table, doses, white)
    far = delta_e_2000(lab, target)
    best = _simplest(far, (doses > 0).sum(axis=1))
    recipe = recipe_of(doses[best], [gels[i] for i in order])
    L, a, b = lab[best].tolist()
    return Solution(recipe, (L, a, b), float(far[best]))


def recipe_of(doses: ArrayLike, gels: Sequence[Gel]) -> tuple[Dose, ...]:
    """The gels with a dose, largest first; staples (negative ids) carry no gel id."""
    used = [
        Dose(gel.name, gel.id if gel.id > 0 else None, round(float(dose), 3))
        for gel, dose in zip(gels, np.asarray(doses, float), strict=True)
        if dose > 0
    ]
    return tuple(sorted(used, key=lambda d: (-d.g_per_100g, d.gel)))


def _simplest(far: Floats, used: NDArray[np.intp]) -> int:
    """The row with the fewest gels among those nearly as near as the nearest."""
    near = np.flatnonzero(far <= far.min() + SIMPLER)
    return int(min(near, key=lambda i: (used[i], far[i], i)))


def _starts(target: Floats, reach: Reach, order: list[int], max_gels: int) -> Floats:
    """Doses (m, g) to start from, with differing sets of gels, some for each number of gels.

    They are the nearest candidates, and for three gels two of the nearest stirred together:
    few triples survive the thinning, and halves of two near icings are one in between.
    """
    doses = reach.doses[:, order]
    far = delta_e_2000(reach.lab, target)
    used = (doses > 0).sum(axis=1)
    nearest = np.argsort(far, kind="stable")
    starts: list[Floats] = []
    for size in range(1, max_gels + 1):
        pool = doses[nearest[used[nearest] == size][:_NEAREST]]
        if size == MOST_GELS:
            pool = _stirred(doses[nearest[:_NEAREST]], far[nearest[:_NEAREST]])
        seen: dict[bytes, Floats] = {}
        for row in pool:
            seen.setdefault((row > 0).tobytes(), row)
            if len(seen) == _STARTS[size]:
                break
        starts += seen.values()
    return np.array(starts).reshape(len(starts), len(order))


def _stirred(doses: Floats, far: Floats) -> Floats:
    """Halves of two recipes (n, g) each, those of three gels, nearest first; pairs of one too."""
    first, second = np.triu_indices(len(doses))
    halves = (doses[first] + doses[second]) / 2
    order = np.argsort(far[first] + far[second], kind="stable")
    return np.asarray(halves[order][(halves[order] > 0).sum(axis=1) == MOST_GELS])


def _extended(doses: Floats, far: Floats, reached: Floats) -> Floats:
    """The best recipe of one or two gels with a little of each other gel added, (m, g)."""
    used = (doses > 0).sum(axis=1)
    few = np.flatnonzero((used > 0) & (used < MOST_GELS))
    if not len(few):
        return np.zeros((0, doses.shape[1]))
    base = doses[few[np.argmin(far[few])]]
    others = np.flatnonzero(base == 0)
    rows = np.repeat(base[None], len(others), axis=0)
    alone = np.where((reached > 0).sum(axis=1)[:, None] == 1, reached, 0)
    rows[np.arange(len(others)), others] = np.where(alone > 0, alone, np.inf).min(axis=0)[others]
    return rows


def _refine(target: Floats, starts: Floats, table: Floats, limits: Floats, white: Lab) -> Floats:
    """Each start's doses moved to where CIEDE2000 from the target is least, as weighed."""
    rows = np.arange(len(starts))
    picked = np.argsort(-starts, axis=1, kind="stable")[:, :3]
    if picked.shape[1] < 3:  # fewer than three gels: pad with any column at dose 0
        picked = np.pad(picked, ((0, 0), (0, 3 - picked.shape[1])))
    dose = np.where(np.arange(3) < (starts > 0).sum(axis=1)[:, None], starts[rows[:, None], picked], 0)
    free = dose > 0
    k, most = table[picked], limits[picked]
    x = np.log(np.where(free, dose, 1.0))
    damping = np.full(len(starts), 1e-3)
    value = None
    for _ in range(_ROUNDS):
        points = x[:, None, :] + _NUDGE * _OFFSETS
        f = _squares(points, free, k, target, white)
        value = f[:, 0]
        slope, curve = _derivatives(f)
        top = np.log(most)
        held = ~free | ((x >= top - 1e-12) & (slope < 0)) | ((x <= _FAINT) & (slope > 0))
        slope = np.where(held, 0, slope)
        curve = np.where(held[:, :, None] | held[:, None, :], 0, curve)
        step = -_damped(curve, slope, damping)
        trial = np.clip(x + np.clip(step, -1, 1), _FAINT, top)
        trial += np.log(within_ceiling(np.where(free, np.exp(trial), 0), most))[:, None]
        new = _squares(trial[:, None, :], free, k, target, white)[:, 0]
        better = new < value
        moved = np.abs(trial - x).max(axis=1, initial=0, where=free)
        x = np.where(better[:, None], trial, x)
        damping = np.where(better, damping / 10, damping * 10)
        if np.all(((moved < 1e-4) & (new < value + 1e-9)) | (value < 1e-6) | (damping > 1e6)):
            break
    found = np.where(free & (np.exp(x) >= 5e-4), weighed(np.exp(x), most), 0)
    out = np.zeros_like(starts)
    for slot in range(3):
        out[rows, picked[:, slot]] += np.where(free[:, slot], found[:, slot], 0)
    return out


def _squares(x: Floats, free: NDArray[np.bool_], k: Floats, target: Floats, white: Lab) -> Floats:
    """CIEDE2000 squared (m, p) at log doses (m, p, 3) of gels k (m, 3, 31)."""
    dose = np.where(free[:, None, :], np.exp(x), 0)
    return np.asarray(delta_e_2000(add_absorption(dose @ k, white), target) ** 2)


def _derivatives(f: Floats) -> tuple[Floats, Floats]:
    """Gradient (m, 3) and Hessian (m, 3, 3) from values at the `_OFFSETS`."""
    centre, up, down = f[:, :1], f[:, 1:4], f[:, 4:7]
    slope = (up - down) / (2 * _NUDGE)
    curve = np.zeros((len(f), 3, 3))
    curve[:, range(3), range(3)] = (up - 2 * centre + down) / _NUDGE**2
    for n, (i, j) in enumerate(_PAIRS):
        both = f[:, 7 + n] + f[:, 10 + n] + 2 * f[:, 0] - up[:, i] - up[:, j] - down[:, i] - down[:, j]
        curve[:, i, j] = curve[:, j, i] = both / (2 * _NUDGE**2)
    return slope, curve


def _damped(curve: Floats, slope: Floats, damping: Floats) -> Floats:
    """Newton's step with a curvature made positive, so that it always leads down."""
    bent, axes = np.linalg.eigh(curve)
    size = np.abs(bent)
    size += damping[:, None] * np.maximum(size.max(axis=1, keepdims=True), 1e-6) + 1e-9
    along = np.einsum("mij,mi->mj", axes, slope) / size
    return np.asarray(np.einsum("mij,mj->mi", axes, along))
