"""Colours as they look with a colour-vision deficiency, after Machado, Oliveira and Fernandes.

References
----------
Machado, G. M., Oliveira, M. M. and Fernandes, L. A. F. (2009). A physiologically-based
model for simulation of color vision deficiency. IEEE Transactions on Visualization and
Computer Graphics 15(6), 1291–1298. doi:10.1109/TVCG.2009.113. The matrices are the
authors' own, for linear sRGB at eleven severities (Machado 2010, hdl:10183/26950), as
colour-science 0.4.7 holds them (BSD-3-Clause). For tritan vision their shift is an
approximation; it was not made to model a complete lack of the third cone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import (
    Floats,
    hex_to_rgb,
    lab_to_xyz,
    parse_hex,
    rgb_to_xyz,
    to_gamut,
    xyz_to_lab,
    xyz_to_rgb,
)
from themekit.errors import InvalidValue, Problem
from themekit.values import Lab

Deficiency = Literal["protan", "deutan", "tritan"]
DEFICIENCIES: tuple[Deficiency, ...] = get_args(Deficiency)
#: Below this CIEDE2000 two things on a cookie can hardly be told apart by colour. Our own limit: about 1 is just
#: noticeable side by side (Sharma and others 2005), and grains or lines of icing are not seen side by side.
HARDLY = 6.0

# Rows of 9 numbers, row by row of the matrix, at severities 0.0, 0.1, … 1.0.
_MACHADO: Mapping[Deficiency, tuple[tuple[float, ...], ...]] = {
    "protan": (
        (1, 0, 0, 0, 1, 0, 0, 0, 1),
        (0.856167, 0.182038, -0.038205, 0.029342, 0.955115, 0.015544, -0.00288, -0.001563, 1.004443),
        (0.734766, 0.334872, -0.069637, 0.05184, 0.919198, 0.028963, -0.004928, -0.004209, 1.009137),
        (0.630323, 0.465641, -0.095964, 0.069181, 0.890046, 0.040773, -0.006308, -0.007724, 1.014032),
        (0.539009, 0.579343, -0.118352, 0.082546, 0.866121, 0.051332, -0.007136, -0.011959, 1.019095),
        (0.458064, 0.679578, -0.137642, 0.092785, 0.846313, 0.060902, -0.007494, -0.016807, 1.024301),
        (0.38545, 0.769005, -0.154455, 0.100526, 0.829802, 0.069673, -0.007442, -0.02219, 1.029632),
        (0.319627, 0.849633, -0.169261, 0.106241, 0.815969, 0.07779, -0.007025, -0.028051, 1.035076),
        (0.259411, 0.923008, -0.18242, 0.110296, 0.80434, 0.085364, -0.006276, -0.034346, 1.040622),
        (0.203876, 0.990338, -0.194214, 0.112975, 0.794542, 0.092483, -0.005222, -0.041043, 1.046265),
        (0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (1, 0, 0, 0, 1, 0, 0, 0, 1),
        (0.866435, 0.177704, -0.044139, 0.049567, 0.939063, 0.01137, -0.003453, 0.007233, 0.99622),
        (0.760729, 0.319078, -0.079807, 0.090568, 0.889315, 0.020117, -0.006027, 0.013325, 0.992702),
        (0.675425, 0.43385, -0.109275, 0.125303, 0.847755, 0.026942, -0.00795, 0.018572, 0.989378),
        (0.605511, 0.52856, -0.134071, 0.155318, 0.812366, 0.032316, -0.009376, 0.023176, 0.9862),
        (0.547494, 0.607765, -0.155259, 0.181692, 0.781742, 0.036566, -0.01041, 0.027275, 0.983136),
        (0.498864, 0.674741, -0.173604, 0.205199, 0.754872, 0.039929, -0.011131, 0.030969, 0.980162),
        (0.457771, 0.731899, -0.18967, 0.226409, 0.731012, 0.042579, -0.011595, 0.034333, 0.977261),
        (0.422823, 0.781057, -0.203881, 0.245752, 0.709602, 0.044646, -0.011843, 0.037423, 0.974421),
        (0.392952, 0.82361, -0.216562, 0.263559, 0.69021, 0.046232, -0.01191, 0.040281, 0.97163),
        (0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881),
    ),
    "tritan": (
        (1, 0, 0, 0, 1, 0, 0, 0, 1),
        (0.92667, 0.092514, -0.019184, 0.021191, 0.964503, 0.014306, 0.008437, 0.054813, 0.93675),
        (0.89572, 0.13333, -0.02905, 0.029997, 0.9454, 0.024603, 0.013027, 0.104707, 0.882266),
        (0.905871, 0.127791, -0.033662, 0.026856, 0.941251, 0.031893, 0.01341, 0.148296, 0.838294),
        (0.948035, 0.08949, -0.037526, 0.014364, 0.946792, 0.038844, 0.010853, 0.193991, 0.795156),
        (1.017277, 0.027029, -0.044306, -0.006113, 0.958479, 0.047634, 0.006379, 0.248708, 0.744913),
        (1.104996, -0.046633, -0.058363, -0.032137, 0.971635, 0.060503, 0.001336, 0.317922, 0.680742),
        (1.193214, -0.109812, -0.083402, -0.058496, 0.97941, 0.079086, -0.002346, 0.403492, 0.598854),
        (1.257728, -0.139648, -0.118081, -0.078003, 0.975409, 0.102594, -0.003316, 0.501214, 0.502102),
        (1.278864, -0.125333, -0.153531, -0.084748, 0.957674, 0.127074, -0.000989, 0.601151, 0.399838),
        (1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.3039),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Vision:
    """How someone sees: which deficiency, and its severity from 0 (none) to 1 (complete)."""

    deficiency: Deficiency
    severity: float = 1.0

    def __post_init__(self) -> None:
        problems = []
        if self.deficiency not in DEFICIENCIES:
            problems.append(
                Problem("deficiency", self.deficiency, "one of " + ", ".join(DEFICIENCIES), "Choose one of them.")
            )
        if isinstance(self.severity, bool) or not 0 <= self.severity <= 1:
            problems.append(Problem("severity", self.severity, "a number from 0 to 1", "1 is a complete lack."))
        if problems:
            raise InvalidValue("This colour vision is not known.", problems)


def matrix(vision: Vision) -> Floats:
    """The matrix from linear sRGB to linear sRGB as it is seen, shape (3, 3).

    Severities between two of the authors' are interpolated linearly.
    """
    place = vision.severity * 10
    low = min(9, int(place))
    rows = np.array(_MACHADO[vision.deficiency][low : low + 2]).reshape(2, 3, 3)
    return np.asarray(rows[0] + (place - low) * (rows[1] - rows[0]))


def seen_rgb(rgb: ArrayLike, vision: Vision) -> Floats:
    """sRGB in 0–1 as it is seen, shape (..., 3), clipped to what a screen can show."""
    rgb = np.asarray(rgb, float)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((np.maximum(rgb, 0) + 0.055) / 1.055) ** 2.4)
    seen = np.clip(linear @ matrix(vision).T, 0, 1)
    return np.where(seen <= 0.0031308, seen * 12.92, 1.055 * np.maximum(seen, 0.0031308) ** (1 / 2.4) - 0.055)


@lru_cache(maxsize=16384)
def seen_hex(hex_: str, vision: Vision) -> str:
    """One hex colour as it is seen. Raises `InvalidValue` for what is no colour."""
    rgb = seen_rgb(hex_to_rgb(parse_hex(hex_)), vision)
    return "#" + bytes(np.rint(rgb * 255).astype(np.uint8)).hex()


# Where SVG names a colour; an id such as #abcdef in href is none.
_PAINT = re.compile(r'\b(fill|stroke|stop-color|flood-color|color)="(#[0-9a-fA-F]{6})"')


def seen_svg(svg: str, vision: Vision) -> str:
    """A picture, or a page with pictures in it, with every painted colour as it is seen."""
    return _PAINT.sub(lambda found: f'{found[1]}="{seen_hex(found[2].lower(), vision)}"', svg)


def seen_lab(labs: ArrayLike, vision: Vision) -> Floats:
    """CIELAB colours as they are seen, shape (..., 3); those no screen shows are brought into its gamut first."""
    shown = np.clip(xyz_to_rgb(lab_to_xyz(to_gamut(labs))), 0, 1)
    return xyz_to_lab(rgb_to_xyz(seen_rgb(shown, vision)))


#: A thing's colours with their shares; a tint has one.
Colours = Sequence[tuple[Lab, float]]


def likeness(one: Colours, other: Colours, vision: Vision | None = None) -> float:
    """CIEDE2000 between two things of one or more colours, as they are seen; 0 is alike.

    Each colour is matched to the nearest of the other thing, weighted by its share, and
    the mean of both ways is taken.
    """
    return _pairwise([one, other], vision)[0, 1]


def _pairwise(things: Sequence[Colours], vision: Vision | None) -> dict[tuple[int, int], float]:
    """The likeness of every two things, all colours worked out at once."""
    labs = np.array([lab for colours in things for lab, _ in colours], float).reshape(-1, 3)
    if vision is not None:
        labs = seen_lab(labs, vision)
    apart = delta_e_2000(labs[:, None, :], labs[None, :, :])
    ends = np.cumsum([0, *(len(colours) for colours in things)])
    shares = [np.array([share for _, share in colours], float) for colours in things]
    found = {}
    for i in range(len(things)):
        for j in range(i + 1, len(things)):
            block = apart[ends[i] : ends[i + 1], ends[j] : ends[j + 1]]
            ways = (
                np.average(block.min(axis=1), weights=shares[i]),
                np.average(block.min(axis=0), weights=shares[j]),
            )
            found[i, j] = float(sum(ways)) / 2
    return found


@dataclass(frozen=True, slots=True)
class Alike:
    """Two things that can hardly be told apart by colour: CIEDE2000 as they are seen, and to most eyes."""

    names: tuple[str, str]
    seen: float
    usual: float


def alike(things: Sequence[tuple[str, Colours]], vision: Vision) -> list[Alike]:
    """Pairs of named things that these eyes can hardly tell apart by colour, in order; see `HARDLY`.

    A thing without a colour is like nothing.
    """
    coloured = [(name, colours) for name, colours in things if colours]
    near = {pair: e for pair, e in _pairwise([c for _, c in coloured], vision).items() if e < HARDLY}
    usual = _pairwise([c for _, c in coloured], None) if near else {}
    return [Alike((coloured[i][0], coloured[j][0]), seen, usual[i, j]) for (i, j), seen in near.items()]
