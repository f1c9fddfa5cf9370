"""How colours look under another light: a party table is seldom lit by daylight.

The reflectance of each colour is recovered (`recovery`), lit by a CIE illuminant of
colour-science and adapted to daylight white, as the eye does. Recovery is one of many
possible reflectances, so a dye's real shift may differ; differences between colours are
told better than the colours themselves.

References
----------
CIE 015:2018, illuminants A, FL2 and LED-B1; CIE TN 003:2015 for adaptation before
CIELAB; CAT02 after CIE 159:2004.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from themekit.colour.difference import delta_e_2000
from themekit.colour.observer import WAVELENGTHS
from themekit.colour.recovery import lab_to_reflectance
from themekit.colour.space import WHITE_XYZ, Floats, xyz_to_lab
from themekit.errors import InvalidValue, Problem

#: Plain names of lights and the CIE illuminants they stand for.
LIGHTS = {"warm bulb": "A", "shop tube": "FL2", "warm led": "LED-B1"}


def seen_under(labs: ArrayLike, light: str) -> Floats:
    """CIELAB (D65, 2°) as which colours (n, 3) are seen under `light`, shape (n, 3).

    `light` is a key of `LIGHTS`. White stays white, since the eye adapts. Raises
    `InvalidValue` for another light.
    """
    if light not in LIGHTS:
        raise InvalidValue(
            "The light is not known.", [Problem("light", light, ", ".join(LIGHTS), "Choose one of these.")]
        )
    import colour

    weights = _weights(LIGHTS[light])
    reflectances = np.array([lab_to_reflectance(lab) for lab in np.asarray(labs, float).reshape(-1, 3)])
    xyz = reflectances.reshape(-1, len(WAVELENGTHS)) @ weights
    adapted = colour.chromatic_adaptation(
        xyz, weights.sum(axis=0), WHITE_XYZ, method="Von Kries", transform="CAT02"
    )
    return xyz_to_lab(adapted)


def smallest_difference(labs: ArrayLike) -> float:
    """The smallest CIEDE2000 of any two of three colours (3, 3)."""
    one, two, three = np.asarray(labs, float)
    return float(min(delta_e_2000(one, two), delta_e_2000(one, three), delta_e_2000(two, three)))


@cache
def _weights(illuminant: str) -> Floats:
    """Illuminant times observer at our wavelengths, (31, 3); Y of the perfect reflector is 1."""
    import colour

    shape = colour.SpectralShape(float(WAVELENGTHS[0]), float(WAVELENGTHS[-1]), 10)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    power = colour.SDS_ILLUMINANTS[illuminant].copy().align(shape).values
    table = observer * power[:, None]
    return np.asarray(table / table[:, 1].sum())
