"""A trio served mixed: shares by volume that suit the theme."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats
from themekit.suggest.needs import grams_per_tablespoon
from themekit.values import Jar

#: Shares are told in steps of 5 %, none below 10 %.
_STEP, _LEAST = 20, 2
#: A blend reads well when the fine grain is the ground and the coarse one the accent;
#: common practice, no source.
_FINE, _MIDDLE, _SHOWPIECE = 0.50, 0.32, 0.18
#: Weight of that habit beside a mean colour difference of 20.
_HABIT = 1.2


def mean_colour(jar: Jar) -> Floats:
    """Share-weighted mean CIELAB of a jar, shape (3,)."""
    return np.asarray(sum(c.share * np.array(c.lab) for c in jar.colours))


def shares(jars: Sequence[Jar], anchor_labs: Floats, anchor_weights: Floats) -> tuple[float, float, float]:
    """Shares by volume of three jars, adding up to 1, in steps of 0.05.

    Every such split is tried; the best keeps the blend's mean colour near the theme's and
    its grains near half fine, a third middle and the rest showpiece. Without anchors the
    grains alone decide. Ties go to the more even split.
    """
    splits = (
        np.array(
            [(i, j, _STEP - i - j) for i in range(_LEAST, _STEP) for j in range(_LEAST, _STEP - i - _LEAST + 1)],
            float,
        )
        / _STEP
    )
    habit = np.empty(3)
    # Unknown grain sizes count as middling; glitter is an accent, however fine.
    order = np.argsort([np.inf if "glitter" in j.kind else j.texture.grain_mm or 2.5 for j in jars], kind="stable")
    habit[order] = (_FINE, _MIDDLE, _SHOWPIECE)
    cost = _HABIT * np.abs(splits - habit).sum(axis=1)
    if len(anchor_weights):
        blends = splits @ np.array([mean_colour(j) for j in jars])
        cost = cost + delta_e_2000(blends, anchor_weights @ anchor_labs) / 20
    cost = cost + 1e-6 * np.abs(splits - 1 / 3).sum(axis=1)
    best = splits[int(np.argmin(np.round(cost, 9)))]
    return float(best[0]), float(best[1]), float(best[2])


def grams_per_kit(jar: Jar, share: float) -> float | None:
    """Grams of a jar in one kit of three tablespoons, by its share of the volume."""
    spoon = grams_per_tablespoon(jar)
    return None if spoon is None else 3 * share * spoon
