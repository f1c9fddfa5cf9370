"""A tint with its recipe."""

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.colour.tint import WHITE_ICING, predict, reachable, tint_of
from themekit.errors import InvalidValue
from themekit.values import Gel


def test_a_tint_carries_its_rounded_recipe_and_that_recipes_colour(fourteen, make_gel):
    staple = make_gel(-1, "cocoa", "#9c7a5e", 6.0, 12.0)
    tint = tint_of([0.12345, 0, 1.0004], [fourteen[0], fourteen[1], staple], "warm tan")
    assert tint.name == "warm tan"
    assert [(d.gel, d.gel_id, d.g_per_100g) for d in tint.recipe] == [
        ("cocoa", None, 1.0),
        ("yellow", 1, 0.123),
    ]
    np.testing.assert_allclose(tint.lab, predict([fourteen[0].k, staple.k], [[0.123, 1.0]])[0], atol=1e-9)
    assert delta_e_2000(hex_to_lab(tint.hex), tint.lab) < 0.6


def test_a_tint_that_no_screen_shows_keeps_its_lab_and_gets_the_nearest_hex(make_gel):
    vivid = make_gel(7, "cyan", "#00a0d0", 0.3)
    tint = tint_of([0.9], [vivid])
    assert tint.hex.startswith("#")
    assert len(tint.hex) == 7
    assert hex_to_lab(tint.hex)[0] == pytest.approx(tint.lab[0], abs=0.6)


def test_white_icing_is_a_tint_without_recipe():
    tint = tint_of([], [])
    assert tint.recipe == ()
    np.testing.assert_allclose(tint.lab, WHITE_ICING, atol=1e-6)


def test_every_candidate_becomes_the_same_tint(fourteen):
    reach = reachable(fourteen)
    for row in range(0, len(reach.lab), 97):
        np.testing.assert_allclose(tint_of(reach.doses[row], fourteen).lab, reach.lab[row], atol=1e-9)


def test_doses_that_cannot_be_are_refused_all_at_once(fourteen):
    opaque = Gel(50, "white", (96, 0, 1), 1.0, ())
    with pytest.raises(InvalidValue) as caught:
        tint_of([-1, float("nan"), 1], [fourteen[0], fourteen[1], opaque])
    assert [p.field for p in caught.value.problems] == ["doses.yellow", "doses.orange", "doses.white"]
    with pytest.raises(InvalidValue) as caught:
        tint_of([1], fourteen)
    assert caught.value.problems[0].field == "doses"
