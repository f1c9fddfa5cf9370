"""A shaded colour is the same colour in less light: chromaticity stays (CIE 15: x = X / (X + Y + Z))."""

from __future__ import annotations

import numpy as np
import pytest

from themekit.colour.space import hex_to_lab, lab_to_xyz
from themekit.draw.svg import shade


@pytest.mark.parametrize("colour", ["#b92235", "#c8253b", "#d9a93b", "#2f5fb3", "#3f8f4f", "#7a4f9e", "#8c8c8c"])
def test_a_shade_keeps_the_chromaticity(colour: str) -> None:
    lab = tuple(hex_to_lab(colour).tolist())
    dark = hex_to_lab(shade(lab, -15.0))
    assert dark[0] == pytest.approx(lab[0] - 15, abs=0.6)
    own, shaded = (xyz[:2] / xyz.sum() for xyz in (lab_to_xyz(np.array(lab)), lab_to_xyz(dark)))
    assert np.allclose(own, shaded, atol=0.012)


def test_white_and_black_stay_within_bounds() -> None:
    assert shade((100.0, 0.0, 0.0), 20.0) == "#ffffff"
    assert shade((5.0, 0.0, 0.0), -20.0) == "#000000"
