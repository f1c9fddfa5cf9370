"""Colour difference: CIEDE2000 and ΔE*ab, vectorised.

References
----------
Sharma, G., Wu, W. and Dalal, E. N. (2005). The CIEDE2000 color-difference formula:
implementation notes, supplementary test data, and mathematical observations.
Color Research and Application 30(1), 21–30. doi:10.1002/col.20070.
Equation numbers below are theirs.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_POW25_7 = 25.0**7
# Hues exactly opposite (pair 14 of the published table) sit on the edge of eq. 10;
# rounding in arctan2 must not decide on which side they fall.
_OPPOSITE = 180 + 1e-9


def delta_e_2000(lab1: ArrayLike, lab2: ArrayLike, k_l: float = 1.0) -> Floats:
    """CIEDE2000 between two arrays of CIELAB colours (kC = kH = 1).

    `lab1` and `lab2` have shapes (..., 3) that broadcast together; the result has
    the broadcast shape without the last axis. 0 is equal, about 1 just noticeable. `k_l`
    is kL, by how much less lightness counts: 2 is usual for textiles.
    """
    lab1, lab2 = np.asarray(lab1, float), np.asarray(lab2, float)
    L1, a1, b1 = lab1[..., 0], lab1[..., 1], lab1[..., 2]
    L2, a2, b2 = lab2[..., 0], lab2[..., 1], lab2[..., 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7  # eq. 3
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + _POW25_7)))  # eq. 4
    a1, a2 = a1 * (1 + g), a2 * (1 + g)  # eq. 5
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)  # eq. 6
    h1 = np.degrees(np.arctan2(b1, a1)) % 360  # eq. 7
    h2 = np.degrees(np.arctan2(b2, a2)) % 360

    grey = c1 * c2 == 0
    dh = h2 - h1  # eq. 10
    apart = np.abs(dh)
    dh = np.where(apart <= _OPPOSITE, dh, np.where(dh > 0, dh - 360, dh + 360))
    dh = np.where(grey, 0.0, dh)
    d_hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2))  # eq. 11
    d_light, d_chroma = L2 - L1, c2 - c1  # eq. 8, 9

    light, chroma = (L1 + L2) / 2, (c1 + c2) / 2  # eq. 12, 13
    total = h1 + h2  # eq. 14
    hue = np.where(apart <= _OPPOSITE, total, np.where(total < 360, total + 360, total - 360)) / 2
    hue = np.where(grey, total, hue)
    t = (  # eq. 15
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    theta = 30 * np.exp(-(((hue - 275) / 25) ** 2))  # eq. 16
    chroma7 = chroma**7
    r_c = 2 * np.sqrt(chroma7 / (chroma7 + _POW25_7))  # eq. 17
    squared = (light - 50) ** 2
    s_l = 1 + 0.015 * squared / np.sqrt(20 + squared)  # eq. 18
    s_c = 1 + 0.045 * chroma  # eq. 19
    s_h = 1 + 0.015 * chroma * t  # eq. 20
    r_t = -np.sin(np.radians(2 * theta)) * r_c  # eq. 21
    x, y, z = d_light / (k_l * s_l), d_chroma / s_c, d_hue / s_h
    return np.asarray(np.sqrt(np.maximum(x * x + y * y + z * z + r_t * y * z, 0)))  # eq. 22


def delta_e_76(lab1: ArrayLike, lab2: ArrayLike) -> Floats:
    """ΔE*ab, the Euclidean distance in CIELAB (CIE 15:2004), shape as above."""
    return np.asarray(np.linalg.norm(np.asarray(lab1, float) - np.asarray(lab2, float), axis=-1))


def palette_distance(palette1: ArrayLike, palette2: ArrayLike) -> float:
    """Mean CIEDE2000 of the best matching of two three-colour palettes, each (3, 3)."""
    pairs = delta_e_2000(np.asarray(palette1)[:, None, :], np.asarray(palette2)[None, :, :])
    orders = ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))
    return min(float(pairs[0, i] + pairs[1, j] + pairs[2, k]) / 3 for i, j, k in orders)
