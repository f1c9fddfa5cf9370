"""Texture of jars as codes for the search, and in plain words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from themekit.suggest.best_three import Texture
from themekit.values import FINISHES, FORMS, Jar

#: Plain words for forms; common practice, no source.
FORM_WORDS = {
    "sphere": "balls", "rod": "strands", "crystal": "crystals", "disc": "flat discs", "shape": "little shapes",
    "lump": "lumps", "flake": "flakes", "cone": "drops", "cylinder": "short cylinders", "puff": "light puffs",
    "mix": "a mix of forms",
}  # fmt: skip


def texture_codes(jars: Sequence[Jar]) -> Texture:
    """Codes of form and finish and log2 of grain size; unknown is −1 and NaN."""
    return Texture(
        form=np.array([_code(FORMS, j.texture.form) for j in jars], np.int64),
        finish=np.array([_code(FINISHES, j.texture.finish) for j in jars], np.int64),
        grain_log2=np.array([np.log2(j.texture.grain_mm) if j.texture.grain_mm else np.nan for j in jars]),
    )


def _code(words: Sequence[str], word: str | None) -> int:
    return words.index(word) if word in words else -1
