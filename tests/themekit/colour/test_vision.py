"""Colour-vision deficiencies against colour-science's own data and functions."""

from __future__ import annotations

import numpy as np
import pytest

from themekit.colour.vision import (
    DEFICIENCIES,
    HARDLY,
    Vision,
    alike,
    likeness,
    matrix,
    seen_hex,
    seen_lab,
    seen_rgb,
    seen_svg,
)
from themekit.errors import InvalidValue
from themekit.values import Lab

#: colour-science's names of the three.
_NAMES = {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}


@pytest.mark.filterwarnings("ignore:.*tritanomaly.*")
@pytest.mark.parametrize("deficiency", DEFICIENCIES)
@pytest.mark.parametrize("severity", [s / 10 for s in range(11)])
def test_matrices_are_colour_sciences(deficiency: str, severity: float) -> None:
    from colour.blindness import matrix_cvd_Machado2009

    theirs = matrix_cvd_Machado2009(_NAMES[deficiency], severity)
    assert np.allclose(matrix(Vision(deficiency, severity)), theirs, atol=1e-12)  # type: ignore[arg-type]


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
@pytest.mark.parametrize("severity", [0.05, 0.33, 0.999])
def test_between_the_steps_matrices_are_interpolated(deficiency: str, severity: float) -> None:
    # Against the data, not the function: that of colour-science 0.4.7 starts from the step above.
    from colour.blindness import CVD_MATRICES_MACHADO2010

    table = CVD_MATRICES_MACHADO2010[_NAMES[deficiency]]
    steps = sorted(table)
    cells = np.array([table[step].ravel() for step in steps])
    expected = [np.interp(severity, steps, column) for column in cells.T]
    assert np.allclose(matrix(Vision(deficiency, severity)).ravel(), expected, atol=1e-12)  # type: ignore[arg-type]


@pytest.mark.filterwarnings("ignore:.*tritanomaly.*")
@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_colours_are_seen_as_colour_sciences_functions_give(deficiency: str) -> None:
    from colour import cctf_decoding, cctf_encoding
    from colour.algebra import vecmul
    from colour.blindness import matrix_cvd_Machado2009
    from colour.notation import CSS_COLOR_3

    rgb = _css(CSS_COLOR_3)
    linear = cctf_decoding(rgb, function="sRGB")
    theirs = vecmul(matrix_cvd_Machado2009(_NAMES[deficiency], 1.0), linear)
    expected = cctf_encoding(np.clip(theirs, 0, 1), function="sRGB")
    assert np.allclose(seen_rgb(rgb, Vision(deficiency)), expected, atol=1e-6)  # type: ignore[arg-type]


def _css(names: object) -> np.ndarray:
    from colour.notation import keyword_to_RGB_CSSColor3

    return np.array([keyword_to_RGB_CSSColor3(name) for name in names])  # type: ignore[attr-defined]


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_black_white_and_grey_stay_so(deficiency: str) -> None:
    # Each row of the authors' matrices adds up to 1, to six decimals.
    for hex_ in ("#000000", "#808080", "#ffffff"):
        assert seen_hex(hex_, Vision(deficiency)) == hex_  # type: ignore[arg-type]


def test_red_and_green_of_one_lightness_fall_together_for_deutan_eyes_and_not_for_tritan_ones() -> None:
    # Two tints of one lightness on a red-green line: L* 55, hues 30° and 150° (common knowledge of colour vision).
    red: Lab = (55.0, 35.0, 20.0)
    green: Lab = (55.0, -25.0, 22.0)
    things = [("red", [(red, 1.0)]), ("green", [(green, 1.0)])]
    usual = likeness(things[0][1], things[1][1])
    assert likeness(things[0][1], things[1][1], Vision("deutan")) < usual / 2
    assert likeness(things[0][1], things[1][1], Vision("tritan")) > usual / 2


def test_what_can_hardly_be_told_apart_is_named_with_both_distances() -> None:
    pinkish: Lab = tuple(seen_lab((60.0, 40.0, 10.0), Vision("protan")))  # type: ignore[assignment]
    # A colour and what it is seen as are one to such eyes, and two to others.
    things = [("rose", [((60.0, 40.0, 10.0), 1.0)]), ("mud", [(pinkish, 1.0)]), ("ink", [((15.0, 0.0, 0.0), 1.0)])]
    found = alike(things, Vision("protan"))
    assert [one.names for one in found] == [("rose", "mud")]
    assert found[0].seen < HARDLY < found[0].usual
    assert alike(things[1:], Vision("protan")) == []
    assert alike([("clear", []), ("clear too", [])], Vision("protan")) == []


def test_a_mix_is_near_a_mix_of_the_same_colours_in_other_shares() -> None:
    red, blue = (45.0, 60.0, 40.0), (35.0, 20.0, -55.0)
    assert likeness([(red, 0.6), (blue, 0.4)], [(red, 0.3), (blue, 0.7)]) == pytest.approx(0)
    assert likeness([(red, 0.5), (blue, 0.5)], [(red, 1.0)]) > 10


def test_pictures_are_repainted_and_their_names_kept() -> None:
    svg = '<use href="#abcdef"/><rect fill="#FF0000" stroke="#00ff00"/><p>fill="#ff0</p>'
    vision = Vision("deutan")
    red, green = seen_hex("#ff0000", vision), seen_hex("#00ff00", vision)
    assert seen_svg(svg, vision) == f'<use href="#abcdef"/><rect fill="{red}" stroke="{green}"/><p>fill="#ff0</p>'
    assert red != "#ff0000"


def test_what_is_no_vision_is_refused_with_every_problem() -> None:
    with pytest.raises(InvalidValue) as refused:
        Vision("duo", 1.5)  # type: ignore[arg-type]
    assert [p.field for p in refused.value.problems] == ["deficiency", "severity"]
