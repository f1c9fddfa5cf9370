"""Icing tints: what a set of gels can make, and the recipe for a colour.

The way in for the rest of the program; the model itself is in `mixing`, the candidates
in `reach`, the way back from a colour in `solving`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from themekit.colour.mixing import (
    CEILING_G,
    MODEL_VERSION,
    WHITE_ICING,
    gel_absorption,
    predict,
    swatch_error,
)
from themekit.colour.reach import Reach, limit_g, reachable
from themekit.colour.solving import Solution, recipe_of, solve
from themekit.colour.space import lab_to_hex
from themekit.errors import Problem, raise_all
from themekit.values import Gel, Lab, Tint

__all__ = [
    "CEILING_G",
    "MODEL_VERSION",
    "WHITE_ICING",
    "Reach",
    "Solution",
    "gel_absorption",
    "limit_g",
    "predict",
    "reachable",
    "recipe_of",
    "solve",
    "swatch_error",
    "tint_of",
]


def tint_of(doses: ArrayLike, gels: Sequence[Gel], name: str = "", white: Lab = WHITE_ICING) -> Tint:
    """A tint with its recipe, from doses (g,) of these gels in g per 100 g of icing.

    The recipe is rounded to 0.001 g, and `lab` is the colour of the rounded recipe; `hex`
    is the nearest that sRGB can show. A gel without `k` cannot be dosed. Raises
    `InvalidValue`, every problem at once.
    """
    amounts = np.asarray(doses, float)
    problems = []
    if amounts.shape != (len(gels),):
        problems.append(
            Problem("doses", amounts.shape, f"a dose for each of {len(gels)} gels", "Give 0 for a gel left out.")
        )
        raise_all(problems)
    for gel, dose in zip(gels, amounts.tolist(), strict=True):
        if not 0 <= dose < np.inf:
            problems.append(Problem(f"doses.{gel.name}", dose, "0 g per 100 g or more", "Leave the gel out."))
        elif dose and not gel.k:
            problems.append(
                Problem(f"doses.{gel.name}", dose, "0: this gel is kept out of mixing", "Leave the gel out.")
            )
    raise_all(problems, "The doses cannot be used.")
    rounded = np.round(amounts, 3)
    used = np.flatnonzero(rounded).tolist()
    lab = predict([gels[i].k for i in used], rounded[None, used], white)[0]
    L, a, b = lab.tolist()
    return Tint((L, a, b), lab_to_hex(lab), name, recipe_of(rounded, gels))
