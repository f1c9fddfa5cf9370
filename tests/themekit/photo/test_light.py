"""The arithmetic of a photo's light against colour-science."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest

from themekit.colour.space import WHITE_XYZ, xyz_to_lab
from themekit.photo import light


@pytest.fixture(scope="module")
def science() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


def test_balance_is_bradford_adaptation(science: Any, studio: Any) -> None:
    """colour-science's chromatic adaptation of the chart under illuminant A, white paper at its level."""
    chart = np.array(list(studio.chart().values()))
    seen, white = studio.xyz_under("A", chart), studio.xyz_under("A", np.ones(31))
    where = np.ones((1, 1), bool)
    reference = light.Reference("white paper", tuple(white * light.PAPER_Y), 0.0, True, where)
    wanted = science.adaptation.chromatic_adaptation_VonKries(seen, white, WHITE_XYZ, transform="Bradford")
    assert light.balanced(seen, reference) == pytest.approx(wanted, abs=2e-4)
    assert xyz_to_lab(light.balanced(white * light.PAPER_Y, reference)) == pytest.approx([95, 0, 0], abs=0.01)


def test_a_grey_card_is_eighteen_percent() -> None:
    reference = light.Reference("grey card", (0.05, 0.05, 0.05), 0.0, True, np.ones((1, 1), bool))
    assert light.balanced(np.array([0.05, 0.05, 0.05]), reference)[1] == pytest.approx(0.18)


def test_the_locus_is_krystek_s(science: Any) -> None:
    """colour-science's CCT_to_uv_Krystek1985."""
    kelvin = np.array([1000.0, 2000, 2856, 4000, 6500, 10000, 15000])
    wanted = [science.temperature.CCT_to_uv_Krystek1985(k) for k in kelvin]
    assert light.planckian(kelvin) == pytest.approx(np.array(wanted), abs=1e-9)


@pytest.mark.parametrize("illuminant", ["A", "D65", "FL2"])
def test_white_under_usual_lamps_could_be_white(studio: Any, illuminant: str) -> None:
    assert light.could_be_light(studio.xyz_under(illuminant, np.ones(31)))


@pytest.mark.parametrize("name", ["red", "green", "blue", "magenta", "cyan", "foliage", "purple"])
def test_a_coloured_plate_in_daylight_could_not(studio: Any, name: str) -> None:
    assert not light.could_be_light(studio.xyz_under("D65", studio.chart()[name]))
