"""Hex, sRGB, CIELAB (D65, 2° observer) and LCh, as small NumPy functions.

The same numbers as colour-science gives, without its import time; the tests hold
the two together.

References
----------
IEC 61966-2-1:1999, sRGB. CIE 15:2004, CIELAB. The white is the D65 chromaticity
(0.3127, 0.3290) of the sRGB standard, so that sRGB white has a* and b* of nearly 0.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.errors import InvalidValue, Problem

Floats = NDArray[np.float64]

# IEC 61966-2-1 gives both matrices rounded to four decimals.
_RGB_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_XYZ_TO_RGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
WHITE_XYZ = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])
_EPSILON = 216 / 24389
_KAPPA = 24389 / 27
_HEX = re.compile(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")


def parse_hex(text: Any, field: str = "hex") -> str:
    """Return `text` as "#rrggbb" in lower case.

    Accepts six or three hex digits, with or without "#". Raises `InvalidValue`
    naming `field` for anything else.
    """
    found = _HEX.fullmatch(text.strip()) if isinstance(text, str) else None
    if found is None:
        raise InvalidValue(
            "A colour could not be read.",
            [Problem(field, text, "six hex digits such as #2a9d8f", "Pick the colour again.")],
        )
    digits = found.group(1).lower()
    if len(digits) == 3:
        digits = "".join(d + d for d in digits)
    return "#" + digits


def hex_to_rgb(hexes: str | list[str] | tuple[str, ...]) -> Floats:
    """sRGB in 0–1 of one hex colour, shape (3,), or of several, shape (n, 3)."""
    if isinstance(hexes, str):
        return np.asarray(hex_to_rgb([hexes])[0])
    digits = "".join(parse_hex(h)[1:] for h in hexes)
    return np.frombuffer(bytes.fromhex(digits), np.uint8).reshape(-1, 3) / 255


def rgb_to_xyz(rgb: ArrayLike) -> Floats:
    """CIE XYZ (white at Y = 1) of sRGB in 0–1, shape (..., 3)."""
    rgb = np.asarray(rgb, float)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((np.maximum(rgb, 0) + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ _RGB_TO_XYZ.T)


def xyz_to_rgb(xyz: ArrayLike) -> Floats:
    """sRGB of CIE XYZ, shape (..., 3); outside 0–1 where the colour is out of gamut."""
    linear: Floats = np.asarray(xyz, float) @ _XYZ_TO_RGB.T
    curved = 1.055 * np.maximum(linear, 0.0031308) ** (1 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, linear * 12.92, curved))


def xyz_to_lab(xyz: ArrayLike) -> Floats:
    """CIELAB under D65 of CIE XYZ (white at Y = 1), shape (..., 3)."""
    t = np.asarray(xyz, float) / WHITE_XYZ
    f = np.where(t > _EPSILON, np.cbrt(t), (_KAPPA * t + 16) / 116)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def lab_to_xyz(lab: ArrayLike) -> Floats:
    """CIE XYZ (white at Y = 1) of CIELAB under D65, shape (..., 3)."""
    lab = np.asarray(lab, float)
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    cubed = f**3
    return np.asarray(np.where(cubed > _EPSILON, cubed, (116 * f - 16) / _KAPPA) * WHITE_XYZ)


def hex_to_lab(hexes: str | list[str] | tuple[str, ...]) -> Floats:
    """CIELAB of one hex colour, shape (3,), or of several, shape (n, 3)."""
    return xyz_to_lab(rgb_to_xyz(hex_to_rgb(hexes)))


def lab_to_lch(lab: ArrayLike) -> Floats:
    """Lightness, chroma and hue angle in [0°, 360°), shape (..., 3)."""
    lab = np.asarray(lab, float)
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360
    return np.stack([lab[..., 0], np.hypot(lab[..., 1], lab[..., 2]), hue], axis=-1)


def lch_to_lab(lch: ArrayLike) -> Floats:
    """CIELAB of lightness, chroma and hue in degrees, shape (..., 3)."""
    lch = np.asarray(lch, float)
    hue = np.radians(lch[..., 2])
    return np.stack([lch[..., 0], lch[..., 1] * np.cos(hue), lch[..., 1] * np.sin(hue)], axis=-1)


def in_gamut(lab: ArrayLike, tolerance: float = 5e-4) -> NDArray[np.bool_]:
    """Whether sRGB can show each colour, shape (...); the tolerance is in sRGB units."""
    rgb = xyz_to_rgb(lab_to_xyz(lab))
    return np.asarray(np.all((rgb >= -tolerance) & (rgb <= 1 + tolerance), axis=-1))


def to_gamut(lab: ArrayLike) -> Floats:
    """The nearest showable colour of the same lightness and hue, shape (..., 3).

    Chroma is lowered by bisection until sRGB can show the colour; a colour already
    in gamut is returned as it is. Lightness is clipped to 0–100 first.
    """
    given = np.asarray(lab, float)
    out = given.copy()
    out[..., 0] = np.clip(out[..., 0], 0, 100)
    inside = in_gamut(out)
    if np.all(inside):
        return out
    low, high = np.zeros(out.shape[:-1]), np.ones(out.shape[:-1])
    for _ in range(20):
        middle = (low + high) / 2
        trial = out.copy()
        trial[..., 1:] *= middle[..., None]
        fits = in_gamut(trial)
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    out[..., 1:] *= np.where(inside, 1.0, low)[..., None]
    return out


def lab_to_hex(lab: ArrayLike) -> str:
    """Hex of one CIELAB colour, mapped into the sRGB gamut first."""
    return labs_to_hex(np.asarray(lab, float).reshape(1, 3))[0]


def labs_to_hex(labs: ArrayLike) -> list[str]:
    """Hex of each CIELAB colour, shape (n, 3), mapped into the gamut first."""
    rgb = np.clip(xyz_to_rgb(lab_to_xyz(to_gamut(labs))), 0, 1)
    return ["#" + bytes(row).hex() for row in np.rint(rgb * 255).astype(np.uint8)]
