"""The model from one swatch per gel, and what is known of mixing colours."""

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import (
    DOSE_MAX_G,
    MODEL_VERSION,
    WHITE_ICING,
    add_absorption,
    gel_absorption,
    predict,
    swatch_error,
)
from themekit.colour.space import hex_to_lab, lab_to_lch, lab_to_xyz, rgb_to_xyz, xyz_to_lab
from themekit.errors import InvalidValue


def hue(lab):
    return float(lab_to_lch(lab)[2])


def test_dose_zero_gives_white_icing(fourteen, fourteen_k):
    labs = predict(fourteen_k, np.zeros((2, len(fourteen))))
    np.testing.assert_allclose(labs, [WHITE_ICING, WHITE_ICING], atol=1e-6)
    np.testing.assert_allclose(add_absorption(np.zeros(31)), WHITE_ICING, atol=1e-6)


def test_every_swatch_is_given_back_at_its_dose(fourteen):
    """Reds, blues, black and neon pink among them."""
    for g in fourteen:
        assert len(g.k) == 31
        assert min(g.k) >= 0
        assert swatch_error(g.swatch, g.dose_g_per_100g, g.k) < 0.01
        assert delta_e_2000(predict([g.k], [[g.dose_g_per_100g]])[0], g.swatch) < 0.01


def test_the_dose_is_what_k_is_counted_in():
    half, whole = gel_absorption((50, 40, 20), 0.5), gel_absorption((50, 40, 20), 1.0)
    np.testing.assert_allclose(half, np.multiply(whole, 2))


def test_a_swatch_on_other_white_is_given_back_on_that_white():
    cream = (92.0, 1.0, 8.0)
    k = gel_absorption((60, 30, 30), 0.7, cream)
    np.testing.assert_allclose(predict([k], [[0.0], [0.7]], cream), [cream, (60, 30, 30)], atol=1e-5)


@pytest.mark.parametrize(
    ("text", "least", "most"),
    [("#fff04a", 0.5, 1.5), ("#00e5ff", 2.0, 5.0), ("#000000", 0.2, 0.6)],
)
def test_a_swatch_brighter_or_blacker_than_icing_can_be_says_how_far_off_it_stays(text, least, most):
    """A glowing yellow, a screen cyan, a screen black."""
    k = gel_absorption(hex_to_lab(text), 0.5)
    assert least < swatch_error(hex_to_lab(text), 0.5, k) < most
    assert np.all(np.isfinite(k))


def test_any_screen_colour_darker_than_icing_makes_a_gel_or_is_refused():
    labs = xyz_to_lab(rgb_to_xyz(np.random.default_rng(3).random((400, 3))))
    for lab in labs[labs[:, 0] < 90]:
        k = gel_absorption(lab, 1.0)
        assert swatch_error(lab, 1.0, k) < 6
        assert min(k) >= 0


@pytest.mark.parametrize(
    ("swatch", "dose", "fields", "allowed"),
    [
        ((50, 40, 20), 0, ["dose_g_per_100g"], "more than 0"),
        ((50, 40, 20), -1, ["dose_g_per_100g"], "more than 0"),
        ((50, 40, 20), float("nan"), ["dose_g_per_100g"], "more than 0"),
        ((50, 40, 20), float("inf"), ["dose_g_per_100g"], f"at most {DOSE_MAX_G:g}"),
        ((50, 40, 20), "much", ["dose_g_per_100g"], "more than 0"),
        ((50, 40, 20), True, ["dose_g_per_100g"], "more than 0"),
        ((97, 0, 2), 1, ["swatch"], "no lighter than white icing"),
        (WHITE_ICING, 1, ["swatch"], "differs from white icing"),
        ((50, float("nan"), 20), 1, ["swatch"], "three finite numbers"),
        ((50, 150, -150), 1, ["swatch"], "a surface can have"),
        ((99, 0, 2), 0, ["dose_g_per_100g", "swatch"], "more than 0"),
        (None, 0, ["dose_g_per_100g", "swatch"], "more than 0"),
    ],
)
def test_a_gel_that_cannot_be_is_refused_with_every_reason(swatch, dose, fields, allowed):
    with pytest.raises(InvalidValue) as caught:
        gel_absorption(swatch, dose)
    assert [p.field for p in caught.value.problems] == fields
    assert allowed in caught.value.problems[0].allowed
    assert all(p.hint for p in caught.value.problems)


def test_other_absorption_needs_another_model_version():
    """Shelves keep k by version: whoever changes these values must raise the version too."""
    k = gel_absorption((50, 40, 20), 1.0)
    assert MODEL_VERSION == 1
    assert [round(k[i], 3) for i in (0, 10, 20, 30)] == [1.407, 2.398, 0.196, 0.052]


def test_the_order_of_gels_does_not_matter(fourteen, fourteen_k):
    rng = np.random.default_rng(4)
    doses = rng.uniform(0, 0.5, (200, len(fourteen)))
    order = rng.permutation(len(fourteen))
    np.testing.assert_allclose(predict(fourteen_k, doses), predict(fourteen_k[order], doses[:, order]), atol=1e-9)


def test_more_gel_is_darker(fourteen):
    for g in fourteen:
        light = predict([g.k], np.geomspace(0.001, 3, 60)[:, None])[:, 0]
        assert np.all(np.diff(light) < 0), g.name


def test_yellow_and_blue_make_green_darker_and_purer_than_their_lights_averaged(mix):
    """Subtractive mixing: the two lights, averaged, would be a dull grey."""
    yellow, blue = mix(yellow=0.25), mix(sky_blue=0.25)
    green = mix(yellow=0.25, sky_blue=0.25)
    lights = xyz_to_lab((lab_to_xyz(yellow) + lab_to_xyz(blue)) / 2)
    assert 120 < hue(green) < 180
    assert green[0] < lights[0] - 5
    assert lab_to_lch(green)[1] > lab_to_lch(lights)[1] + 10


def test_red_and_yellow_make_orange_between_the_two(mix):
    orange = mix(red=0.06, yellow=0.5)
    assert hue(mix(red=0.6)) < 40
    assert hue(mix(yellow=0.5)) > 75
    assert 45 < hue(orange) < 75
    assert lab_to_lch(orange)[1] > 50


def test_red_and_blue_make_a_violet_darker_than_both(mix):
    violet = mix(hot_pink=0.15, royal_blue=0.15)
    assert 280 < hue(violet) < 340
    assert violet[0] < min(mix(hot_pink=0.15)[0], mix(royal_blue=0.15)[0])


def test_a_little_black_dulls_any_colour(by_name):
    for name in ("yellow", "red", "sky blue", "leaf green"):
        clean = predict([by_name[name].k, by_name["black"].k], [[0.3, 0], [0.3, 0.05]])
        assert clean[1, 0] < clean[0, 0] - 3
        assert lab_to_lch(clean)[1, 1] < lab_to_lch(clean)[0, 1]
