"""Scheme names against the hue templates of Cohen-Or et al. 2006 (doi:10.1145/1141911.1141933).

Colours are made on the HSV wheel, where the paper's templates live: sectors 18° (i),
93.6° (V), 18° + 79.2° a quarter apart (L), 18° + 18° opposite (I), 180° (T),
93.6° + 18° opposite (Y), 93.6° + 93.6° opposite (X).
"""

import colorsys
from itertools import permutations

import numpy as np
import pytest

from themekit.colour.scheme import hues, scheme
from themekit.colour.space import rgb_to_xyz, xyz_to_lab


def wheel(*degrees):
    return xyz_to_lab(rgb_to_xyz(np.array([colorsys.hsv_to_rgb(d % 360 / 360, 0.9, 0.9) for d in degrees])))


@pytest.mark.parametrize(
    ("degrees", "name", "template"),
    [
        ((10, 20, 27.5), "one hue", "i"),
        ((10, 20, 29), "analogous", "V"),
        ((350, 20, 83), "analogous", "V"),
        ((10, 25, 192), "complementary", "I"),
        ((0, 180), "complementary", "I"),
        ((0, 60, 100), "right angle", "L"),
        ((0, 85, 220), "complementary with neighbours", "Y"),
        ((0, 85, 175), "half the wheel", "T"),
        ((0, 120, 240), "triadic", ""),
        ((20, 115, 262), "triadic", ""),
        ((0, 60, 190, 250), "double complementary", "X"),
        ((0, 72, 144, 216, 288), "varied", ""),
    ],
)
def test_hues_get_the_name_of_the_narrowest_template(degrees, name, template):
    found = scheme(wheel(*degrees))
    assert (found.name, found.template) == (name, template)


@pytest.mark.parametrize("turn", [0, 37, 123, 251, 340])
def test_turning_the_wheel_and_changing_the_order_change_nothing(turn):
    for degrees, name in (
        ((10, 25, 192), "complementary"),
        ((350, 20, 83), "analogous"),
        ((5, 120, 245), "triadic"),
    ):
        for order in permutations(degrees):
            assert scheme(wheel(*(d + turn for d in order))).name == name


def test_whites_and_greys_have_no_say_in_the_hues():
    white, grey = (96, 0, 2), (60, 1, -1)
    assert scheme([white, grey, (30, 0, 0)]).name == "neutral"
    assert scheme([white, grey, *wheel(200)]).name == "neutral with an accent"
    assert scheme([white, *wheel(0, 180)]).name == "complementary"
    assert np.isnan(hues([white])).all()


def test_hues_are_those_of_the_wheel():
    assert hues(wheel(5, 95, 200, 355)) == pytest.approx([5, 95, 200, 355], abs=0.1)
