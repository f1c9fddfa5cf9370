"""The smoothest reflectance spectrum that has a given colour.

Of the many spectra that look alike, the one whose slope is least in hyperbolic-tangent
space is taken: it stays between 0 and 1 by construction and resembles real dyes.

References
----------
Burns, S. A. (2020). Numerical methods for smoothest reflectance reconstruction. Color
Research and Application 45(1), 8–21. doi:10.1002/col.22437. "LHTSS" there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.observer import BANDS, WEIGHTS, reflectance_to_lab
from themekit.colour.space import lab_to_xyz, xyz_to_lab
from themekit.errors import InvalidValue, Problem, raise_all

Floats = NDArray[np.float64]

#: A spectrum of this CIEDE2000 or less from the colour asked for is that colour.
CLOSE = 0.1
_LIMIT = 1e-6  # A neutral start is never nearer to 0 or 1.
_Z_MAX = float(np.arctanh(1 - 2 * _LIMIT))
_TOLERANCE = 1e-10
_SLOPE = 2 * np.eye(BANDS) - np.eye(BANDS, k=1) - np.eye(BANDS, k=-1)
_SLOPE[0, 0] = _SLOPE[-1, -1] = 1  # the gradient of Σ(z[i+1] − z[i])² / 2


def lab_to_reflectance(lab: ArrayLike, field: str = "lab") -> Floats:
    """The smoothest reflectance of one CIELAB colour, (3,) to (31,), within 0–1.

    Raises `InvalidValue` naming `field` where no surface in daylight can have the
    colour: a lightness outside 0–100, or more chroma than that lightness allows.
    """
    target = check_lab(lab, field)
    found = smoothest(lab_to_xyz(target), WEIGHTS)
    if delta_e_2000(reflectance_to_lab(found), target) < CLOSE:
        return found
    got = tuple(round(float(v), 2) for v in target)
    allowed = "a colour that a surface can have in daylight"
    raise InvalidValue(
        "No surface can have this colour.",
        [Problem(field, got, allowed, "Lower its chroma, or enter it as a hex colour.")],
    )


def check_lab(lab: ArrayLike, field: str = "lab") -> Floats:
    """`lab` as an array (3,), or `InvalidValue` naming `field`."""
    try:
        value = np.asarray(lab, float)
    except (TypeError, ValueError):
        value = np.empty(0)
    allowed = "three finite numbers L, a, b with L from 0 to 100"
    ok = value.shape == (3,) and bool(np.all(np.isfinite(value)))
    if not ok or not -1e-6 <= value[0] <= 100 + 1e-6:
        raise_all([Problem(field, lab, allowed, "Pick the colour again.")], "A colour could not be used.")
    return value


def smoothest(xyz: ArrayLike, weights: ArrayLike) -> Floats:
    """Values 0–1 of least slope in tanh space with values @ weights = xyz.

    `weights` has shape (31, 3), the result (31,). Where no values between 0 and 1 give
    `xyz`, those of the farthest colour that has some are returned, on the straight line in
    CIELAB from the neutral of the same Y; the caller compares colours where that matters.
    """
    target, columns = np.asarray(xyz, float), np.asarray(weights, float)
    share = float(np.clip(target[1] / columns[:, 1].sum(), _LIMIT, 1 - _LIMIT))
    start = np.full(BANDS, np.arctanh(2 * share - 1))
    solved = _newton(start, np.zeros(3), target, columns)
    z = _walk(start, target, columns, share) if solved is None else solved[0]
    return (np.tanh(z) + 1) / 2


def _newton(z: Floats, multipliers: Floats, target: Floats, weights: Floats) -> tuple[Floats, Floats] | None:
    """Solve the stationarity and the three colour equations; None if not converging."""
    system = np.zeros((BANDS + 3, BANDS + 3))
    for _ in range(25):
        tanh = np.tanh(z)
        slope = (1 - tanh * tanh) / 2  # dR/dz
        pull = weights @ multipliers
        error = (tanh + 1) / 2 @ weights - target
        gradient = _SLOPE @ z + slope * pull
        if np.abs(error).max() < _TOLERANCE and np.abs(gradient).max() < 1e-7:
            return z, multipliers
        system[:BANDS, :BANDS] = _SLOPE
        system[range(BANDS), range(BANDS)] += -2 * tanh * slope * pull
        system[:BANDS, BANDS:] = slope[:, None] * weights
        system[BANDS:, :BANDS] = system[:BANDS, BANDS:].T
        try:
            step = np.linalg.solve(system, -np.concatenate([gradient, error]))
        except np.linalg.LinAlgError:
            return None
        # A long step leaves the region where tanh is anything like its tangent.
        step *= min(1.0, 3.0 / max(float(np.abs(step[:BANDS]).max()), 1e-300))
        z, multipliers = z + step[:BANDS], multipliers + step[BANDS:]
        if not np.all(np.isfinite(z)) or np.abs(z).max() > 4 * _Z_MAX:
            return None
    return None


def _walk(z: Floats, target: Floats, weights: Floats, share: float) -> Floats:
    """As far towards a colour as there are spectra, from the neutral of its Y."""
    multipliers = np.zeros(3)
    neutral, end = xyz_to_lab(share * weights.sum(axis=0)), xyz_to_lab(target)
    at, step = 0.0, 0.25
    while at < 1 and step > 5e-4:
        aim = min(1.0, at + step)
        there = target if aim == 1 else lab_to_xyz(neutral + aim * (end - neutral))
        solved = _newton(z, multipliers, there, weights)
        if solved is None:
            step /= 2
        else:
            (z, multipliers), at = solved, aim
    return z
