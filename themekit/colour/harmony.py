"""Harmony of two and of three colours by the published model of Ou and Luo.

It tells how harmonious observers called colours laid side by side. It does not tell
what people choose, and maximised alone it runs to near-equal pale colours, so it is
one part among others wherever suggestions are ranked.

References
----------
Ou, L.-C. and Luo, M. R. (2006). A colour harmony model for two-colour combinations.
Color Research and Application 31(3), 191–204. doi:10.1002/col.20208.
Ou, L.-C., Chong, P., Luo, M. R. and Minchew, C. (2011). Additivity of colour harmony.
Color Research and Application 36(5), 355–372. doi:10.1002/col.20624.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: The range in which the model's harmony lies, as published; `scaled` maps it to 0–1.
LOWEST, HIGHEST = -1.24, 1.39
#: In dC a chroma difference counts for less than a hue difference by this factor.
CHROMA_DIVISOR = 1.46


class Colours(NamedTuple):
    """What the model needs of each colour alone; all arrays of one shape.

    L and C are CIELAB lightness and chroma, (u, v) the hue as a point on the unit
    circle (0, 0 of a grey), HSY the hue part.
    """

    L: Floats
    C: Floats
    u: Floats
    v: Floats
    HSY: Floats

    def take(self, index: ArrayLike) -> Colours:
        """The colours at `index`, in that shape."""
        return Colours(*(np.asarray(part[np.asarray(index)]) for part in self))


class Parts(NamedTuple):
    """Harmony and its parts: CH = HC + HLsum + HdL + HH; dC is the colour gap behind HC."""

    CH: Floats
    HC: Floats
    HLsum: Floats
    HdL: Floats
    HH: Floats
    dC: Floats  # noqa: N815


def colours(lab: ArrayLike) -> Colours:
    """Work out once what each colour of `lab`, shape (..., 3), brings to every pair."""
    lab = np.asarray(lab, float)
    a, b = lab[..., 1], lab[..., 2]
    C = np.asarray(np.hypot(a, b))
    divisor = np.where(C > 0, C, 1.0)
    return Colours(np.asarray(lab[..., 0]), C, a / divisor, b / divisor, hsy(lab))


def hsy(lab: ArrayLike) -> Floats:
    """The hue part HSY of each colour of `lab`, shape (..., 3), as shape (...).

    The only part that depends on one colour alone; HH of a pair is the sum of two.
    """
    lab = np.asarray(lab, float)
    L, a, b = lab[..., 0], lab[..., 1], lab[..., 2]
    C = np.hypot(a, b)
    h = np.degrees(np.arctan2(b, a)) % 360
    EC = 0.5 + 0.5 * np.tanh(-2 + 0.5 * C)
    HS = -0.08 - 0.14 * np.sin(np.radians(h + 50)) - 0.07 * np.sin(np.radians(2 * h + 90))
    x = (90 - h) / 10  # degrees, as published
    EY = (0.22 * L - 12.8) / 10 * np.exp(x - np.exp(x))
    return np.asarray(EC * (HS + EY))


def hc(dC: ArrayLike) -> Floats:
    """The chromatic part: falls as the colour gap dC grows."""
    return np.asarray(0.04 + 0.53 * np.tanh(0.8 - 0.045 * np.asarray(dC)))


def hl_sum(total: ArrayLike) -> Floats:
    """The part of the lightness sum L1 + L2: rises with it."""
    return np.asarray(0.28 + 0.54 * np.tanh(-3.88 + 0.029 * np.asarray(total)))


def hl_gap(gap: ArrayLike) -> Floats:
    """The part of the lightness gap |L1 − L2|: rises with it."""
    return np.asarray(0.14 + 0.15 * np.tanh(-2 + 0.2 * np.asarray(gap)))


def together(one: Colours, two: Colours) -> Parts:
    """Harmony of prepared colours, pair by pair, in their broadcast shape."""
    # dHab = 2 sqrt(C1 C2) |sin(dh/2)| is sqrt(C1 C2) times the chord between the two
    # hues on the unit circle: no angles, no cancellation, exactly 0 for equal colours.
    hue2 = one.C * two.C * ((one.u - two.u) ** 2 + (one.v - two.v) ** 2)
    dC = np.sqrt(hue2 + ((one.C - two.C) / CHROMA_DIVISOR) ** 2)
    HC, HLsum, HdL = hc(dC), hl_sum(one.L + two.L), hl_gap(np.abs(one.L - two.L))
    HH = one.HSY + two.HSY
    return Parts(HC + HLsum + HdL + HH, HC, HLsum, HdL, HH, dC)


def parts(lab1: ArrayLike, lab2: ArrayLike) -> Parts:
    """Harmony with its parts, of CIELAB colours (D65) of shapes (..., 3) that broadcast."""
    return together(colours(lab1), colours(lab2))


def harmony(lab1: ArrayLike, lab2: ArrayLike) -> Floats:
    """Colour harmony CH of Ou and Luo (2006), shape (...); the higher the more harmonious.

    `lab1` and `lab2` are CIELAB (D65) of shapes (..., 3) that broadcast together.
    Symmetric in the two; published range about −1.24 to 1.39.

    >>> round(float(harmony((50, 0, 0), (50, 0, 0))), 4)
    0.2514
    """
    return parts(lab1, lab2).CH


def three(lab1: ArrayLike, lab2: ArrayLike, lab3: ArrayLike) -> Floats:
    """Harmony of three colours: the mean of the three pairs (Ou et al. 2011), shape (...)."""
    pairs = harmony(lab1, lab2) + harmony(lab1, lab3) + harmony(lab2, lab3)
    return np.asarray(pairs / 3)


def scaled(ch: ArrayLike) -> Floats:
    """Harmony on 0–1: linear over the published range, clipped outside it. 1 is best."""
    return np.asarray(np.clip((np.asarray(ch, float) - LOWEST) / (HIGHEST - LOWEST), 0, 1))
