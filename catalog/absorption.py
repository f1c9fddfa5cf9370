"""A gel's absorption, worked out from its swatch when it is entered."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from typing import Any

from themekit.errors import InvalidValue

# A swatch this close to grey that does not darken icing is a white gel, not a slip.
_WHITISH_CHROMA = 10.0


def model_version() -> int:
    """The version of the model that `absorption` uses; kept values of another are stale."""
    from themekit.colour.mixing import MODEL_VERSION

    return MODEL_VERSION


def absorption(gel: Mapping[str, Any]) -> list[float]:
    """The 31 absorption values of a clean gel record; empty for white and opaque gels.

    Raises `InvalidValue` where a coloured swatch cannot come from white icing.
    """
    from themekit.colour.mixing import gel_absorption

    lab = gel["swatch"]["lab"]
    try:
        return list(gel_absorption(lab, gel["dose_g_per_100g"]))
    except InvalidValue:
        if hypot(lab[1], lab[2]) <= _WHITISH_CHROMA:
            return []
        raise
