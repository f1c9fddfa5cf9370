"""The light of a photo: its reference of known reflectance, and colours as they are under daylight.

References
----------
Bradford matrix: Lam (1985), as used by ICC.1:2022, annex E. Planckian locus: Krystek (1985),
An algorithm to calculate correlated colour temperature, Color Research and Application 10(1),
38–40, equations 4 and 5. White paper: ISO 12647-2:2013 gives its premium papers L* 95 (from
memory); a grey card reflects 18 %, which is the photographer's usual card.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from themekit.colour.space import WHITE_XYZ, lab_to_xyz

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]
Source = Literal["white paper", "grey card"]

PAPER_Y = float(lab_to_xyz([95.0, 0.0, 0.0])[1])
GREY_Y = 0.18
#: Share of the picture that paper or card must fill to be found without a rectangle.
_LEAST_AREA = 0.01
#: Farthest from the Planckian locus, in CIE 1960 uv, that a light may lie; tubes stay within 0.01.
_FARTHEST_UV = 0.025
#: A patch below this part of the picture's brightest is no white paper; what is 18 % grey has at least the other.
_PAPER_LEAST, _GREY_MOST, _GREY_LEAST = 0.7, 0.4, 0.18
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


@dataclass(frozen=True, slots=True)
class Reference:
    """A patch of known reflectance.

    source  what it is taken for
    xyz     its CIE XYZ in the picture, white at Y = 1
    off     distance of its light from D65 in CIE 1976 u'v'; daylight 0, a warm bulb 0.07
    given   whether a rectangle named it
    where   the pixels that belong to it, shape (height, width)
    """

    source: Source
    xyz: tuple[float, float, float]
    off: float
    given: bool
    where: Bools


def balanced(xyz: Floats, reference: Reference) -> Floats:
    """CIE XYZ under D65 of XYZ in the picture, shape (..., 3), the reference at its known level."""
    level = PAPER_Y if reference.source == "white paper" else GREY_Y
    gain = (_BRADFORD @ (WHITE_XYZ * level)) / np.maximum(_BRADFORD @ np.array(reference.xyz), 1e-6)
    adapted = np.linalg.inv(_BRADFORD) @ np.diag(gain) @ _BRADFORD
    return np.asarray(xyz @ adapted.T)


def uv_1976(xyz: Floats) -> Floats:
    """CIE 1976 u', v' of XYZ, shape (..., 3) to (..., 2)."""
    X, Y, Z = xyz[..., 0], xyz[..., 1], xyz[..., 2]
    below = np.maximum(X + 15 * Y + 3 * Z, 1e-9)
    return np.stack([4 * X / below, 9 * Y / below], axis=-1)


def planckian(kelvin: Floats) -> Floats:
    """CIE 1960 u, v of black bodies from 1,000 to 15,000 K, shape (n,) to (n, 2)."""
    T = kelvin
    u = (0.860117757 + 1.54118254e-4 * T + 1.28641212e-7 * T**2) / (1 + 8.42420235e-4 * T + 7.08145163e-7 * T**2)
    v = (0.317398726 + 4.22806245e-5 * T + 4.20481691e-8 * T**2) / (1 - 2.89741816e-5 * T + 1.61456053e-7 * T**2)
    return np.stack([u, v], axis=-1)


def off_daylight(xyz: Floats) -> float:
    """Distance of a light from D65 in u'v'."""
    return float(np.hypot(*(uv_1976(xyz) - uv_1976(WHITE_XYZ))))


def could_be_light(xyz: Floats) -> bool:
    """Whether a white surface under a lamp or daylight could look so."""
    uv = uv_1976(xyz) * np.array([1, 2 / 3])
    locus = planckian(np.linspace(2000, 12000, 101))
    return float(np.min(np.hypot(*(locus - uv).T))) <= _FARTHEST_UV


def from_rectangle(xyz: Floats, inside: Bools, regions: Ints, brightest: float) -> Reference:
    """The reference that a rectangle names; `regions` numbers the smooth regions, 0 is none of them."""
    colour = np.median(xyz[inside], axis=0)
    where = inside.copy()
    numbers, counts = np.unique(regions[inside], return_counts=True)
    for number, count in zip(numbers, counts, strict=True):
        if number and count > 0.5 * inside.sum():
            where |= regions == number
    dim = colour[1] < _GREY_MOST * brightest
    return _reference("grey card" if dim else "white paper", colour, True, where)


def find(xyz: Floats, clipped: Bools, regions: Ints, brightest: float) -> Reference | None:
    """White paper, or else a grey card, among the smooth regions; None when none could be it.

    Paper: the largest of the nearly brightest regions whose colour a lamp or daylight could
    give. It may be taken for white and be none (cream, say): `off` tells of the doubt.
    """
    counts = np.bincount(regions.ravel())
    papers: list[tuple[int, int, Floats]] = []
    greys: list[tuple[int, int, Floats]] = []
    for number in np.flatnonzero(counts >= _LEAST_AREA * regions.size).tolist():
        inside = regions == number
        if number == 0 or clipped[inside].mean() > 0.1:
            continue
        colour = np.median(xyz[inside], axis=0)
        relative = colour[1] / max(brightest, 1e-9)
        if not could_be_light(colour):
            continue
        if relative >= _PAPER_LEAST:
            papers.append((int(counts[number]), number, colour))
        elif _GREY_LEAST <= relative <= _GREY_MOST and counts[number] >= 3 * _LEAST_AREA * regions.size:
            greys.append((int(counts[number]), number, colour))
    if papers:
        top = max(float(colour[1]) for _, _, colour in papers)
        _, number, colour = max((p for p in papers if p[2][1] >= 0.85 * top), key=lambda p: p[:2])
        return _reference("white paper", colour, False, regions == number)
    if greys:
        _, number, colour = max(greys, key=lambda g: g[:2])
        return _reference("grey card", colour, False, regions == number)
    return None


def _reference(source: Source, colour: Floats, given: bool, where: Bools) -> Reference:
    X, Y, Z = colour.tolist()
    return Reference(source, (X, Y, Z), off_daylight(colour), given, where)
