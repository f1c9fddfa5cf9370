"""Kubelka and Munk's single constant and Saunderson's surface correction.

q = K/S is absorption over scattering. A dissolved dye absorbs and hardly scatters, so
the icing's own S stays and the q of several dyes add up.

References
----------
Kubelka, P. and Munk, F. (1931). Ein Beitrag zur Optik der Farbanstriche. Zeitschrift
für technische Physik 12, 593–601.
Saunderson, J. L. (1942). Calculation of the color of pigmented plastics. Journal of
the Optical Society of America 32(12), 727–736. doi:10.1364/JOSA.32.000727.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: Share of light that the surface throws back from outside; Fresnel, index 1.5.
OUTER = 0.04
#: Share of diffuse light that the surface throws back inside; 0.4–0.6 in practice.
INNER = 0.5


def absorption(reflectance: ArrayLike) -> Floats:
    """q = K/S of an opaque layer's reflectance in (0, 1], any shape."""
    r = np.asarray(reflectance, float)
    return np.asarray((1 - r) ** 2 / (2 * r))


def reflectance(q: ArrayLike) -> Floats:
    """Reflectance of q = K/S ≥ 0, any shape.

    The same as 1 + q − sqrt(q² + 2q), in the form that keeps its digits for large q.
    """
    q = np.asarray(q, float)
    return np.asarray(1 / (1 + q + np.sqrt(q * (q + 2))))


def through_surface(inside: ArrayLike) -> Floats:
    """Reflectance seen from outside, specular excluded, of the reflectance inside."""
    r = np.asarray(inside, float)
    return np.asarray((1 - OUTER) * (1 - INNER) * r / (1 - INNER * r))


def under_surface(seen: ArrayLike) -> Floats:
    """Reflectance inside of the reflectance seen from outside; the inverse of the above.

    A value above 0.96 cannot be seen through such a surface and gives more than 1.
    """
    r = np.asarray(seen, float)
    return np.asarray(r / ((1 - OUTER) * (1 - INNER) + INNER * r))


def seen_of(q: ArrayLike) -> Floats:
    """Reflectance seen from outside of q = K/S ≥ 0: `through_surface` of `reflectance`, in one go.

    With r = 1 / (1 + q + sqrt(q² + 2q)) both together come to a single division.
    """
    q = np.asarray(q, float)
    below = np.asarray(q * (q + 2))
    np.sqrt(below, out=below)
    below += q
    below += 1 - INNER
    return np.asarray((1 - OUTER) * (1 - INNER) / below)
