"""Gels in white icing: from one swatch to absorption, from doses to a colour.

The model in four steps, 31 bands of 400–700 nm: recover the reflectance of the white
icing and of the gel's swatch; undo the surface (Saunderson); take the gel's absorption
per g per 100 g as the rise of K/S over white; add up K/S for any doses and go back.

What it leaves out and a recipe must say: icing deepens while standing and dries to
another shade, gels of one name differ in strength, some dyes turn with acidity, fat
clouds. White and opaque gels scatter light themselves: they are outside the model and
are entered with `k=()`, which `reachable` and `solve` pass over.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.kubelka_munk import absorption, seen_of, through_surface, under_surface
from themekit.colour.observer import BANDS, WEIGHTS, reflectance_to_lab
from themekit.colour.recovery import CLOSE, check_lab, lab_to_reflectance, smoothest
from themekit.colour.space import lab_to_xyz
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import Lab

Floats = NDArray[np.float64]

#: Raise it whenever the same swatch would give other k: stored values are then worked out again.
MODEL_VERSION = 1
#: Plain white royal icing, dry: nearly white, a trace of yellow. Common practice, no source.
WHITE_ICING: Lab = (96.0, -0.3, 2.2)
#: Most of all gels together, g in 100 g of icing, where a gel states no maximum of its own:
#: beyond it icing turns soft and bitter. Common practice, no source.
CEILING_G = 3.0
#: No gel or staple is entered at a higher dose, g per 100 g.
DOSE_MAX_G = 50.0

_DARKEST = 0.002  # inner reflectance; below it a swatch says nothing about strength
_NO_EFFECT = 1e-4  # K/S that no eye sees in white icing


@lru_cache(maxsize=8)
def _white(lab: Lab) -> tuple[Floats, Floats]:
    """Reflectance seen and q of white icing, each (31,), read-only."""
    seen = lab_to_reflectance(lab, "white")
    seen = np.minimum(seen, through_surface(1.0))
    q = absorption(under_surface(seen))
    seen.setflags(write=False)
    q.setflags(write=False)
    return seen, q


def gel_absorption(swatch_lab: ArrayLike, dose_g_per_100g: float, white: Lab = WHITE_ICING) -> tuple[float, ...]:
    """A gel's absorption, 31 values of K/S per g per 100 g of icing, from one swatch.

    Parameters
    ----------
    swatch_lab        CIELAB of white icing with the gel in it.
    dose_g_per_100g   how much of the gel was in it, above 0 and at most 50 g per 100 g.
    white             CIELAB of the same icing without the gel.

    Raises `InvalidValue`, every problem at once, for a swatch that is not a colour or is
    lighter than the white, for a dose out of range, and where the gel has no effect.
    `swatch_error` tells how well the result gives the swatch back.
    """
    problems = []
    dose: float = dose_g_per_100g if isinstance(dose_g_per_100g, int | float) else float("nan")
    if isinstance(dose_g_per_100g, bool) or not 0 < dose <= DOSE_MAX_G:
        problems.append(
            Problem(
                "dose_g_per_100g",
                dose_g_per_100g,
                f"more than 0 and at most {DOSE_MAX_G:g} g per 100 g of icing",
                "Weigh the gel that went into the swatch.",
            )
        )
    try:
        swatch = check_lab(swatch_lab, "swatch")
    except InvalidValue as error:
        raise_all([*problems, *error.problems])
        raise
    if swatch[0] > white[0]:
        problems.append(
            Problem(
                "swatch",
                tuple(round(float(v), 2) for v in swatch),
                f"no lighter than white icing, L {white[0]:g}",
                "Pick the swatch beside plain white icing; leave opaque and white gels out of mixing.",
            )
        )
    raise_all(problems, "The gel's swatch cannot be used.")
    seen, q_white = _white(_key(white))
    alone = lab_to_reflectance(swatch, "swatch")  # refuses what no surface can be
    # The smoothest share of the white icing's light, so that no band is lighter than the
    # icing itself. A glowing swatch has none: there the bands that are too light are cut.
    mixed = seen * smoothest(lab_to_xyz(swatch), seen[:, None] * WEIGHTS)
    if delta_e_2000(reflectance_to_lab(mixed), swatch) > CLOSE:
        mixed = np.minimum(alone, seen)
    q = absorption(np.clip(under_surface(mixed), _DARKEST, 1.0))
    rise = np.maximum(q - q_white, 0)
    if rise.max() < _NO_EFFECT:
        raise InvalidValue(
            "This gel does not tint.",
            [
                Problem(
                    "swatch",
                    tuple(round(float(v), 2) for v in swatch),
                    "a colour that differs from white icing",
                    "Use a stronger dose for the swatch; leave opaque and white gels out of mixing.",
                )
            ],
        )
    return tuple(float(v) for v in rise / dose)


def swatch_error(
    swatch_lab: ArrayLike, dose_g_per_100g: float, k: Sequence[float], white: Lab = WHITE_ICING
) -> float:
    """CIEDE2000 between a swatch and what the model makes of it at its own dose.

    Below 0.5 for common swatches; more says that icing cannot be so bright (a glowing
    swatch, or a colour picked from a screen) or so dark.
    """
    return float(delta_e_2000(predict([k], [[dose_g_per_100g]], white)[0], np.asarray(swatch_lab, float)))


def predict(k: ArrayLike, doses: ArrayLike, white: Lab = WHITE_ICING) -> Floats:
    """CIELAB (n, 3) of icing with gels k (g, 31) at doses (n, g) in g per 100 g.

    Doses are taken as they are; none may be negative.
    """
    doses = np.asarray(doses, float)
    return add_absorption(doses @ np.asarray(k, float).reshape(doses.shape[-1], BANDS), white)


def add_absorption(rise: ArrayLike, white: Lab = WHITE_ICING) -> Floats:
    """CIELAB (..., 3) of icing whose K/S is raised by `rise` ≥ 0, shape (..., 31)."""
    q = _white(_key(white))[1] + np.asarray(rise, float)
    return reflectance_to_lab(seen_of(q))


def _key(white: Lab) -> Lab:
    L, a, b = white
    return float(L), float(a), float(b)
