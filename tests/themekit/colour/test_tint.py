"""Gels in white icing: the physics, the model from one swatch, reach and the way back."""

from itertools import combinations, product

import numpy as np
import pytest
from scipy.optimize import minimize

from themekit.colour import kubelka_munk as km
from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import DOSE_MAX_G, add_absorption
from themekit.colour.observer import WAVELENGTHS
from themekit.colour.reach import STEP, _cells, _ladder, _recipes, within_ceiling
from themekit.colour.space import hex_to_lab, lab_to_lch, lab_to_xyz, rgb_to_xyz, xyz_to_lab
from themekit.colour.tint import (
    CEILING_G,
    MODEL_VERSION,
    WHITE_ICING,
    gel_absorption,
    limit_g,
    predict,
    reachable,
    solve,
    swatch_error,
    tint_of,
)
from themekit.errors import InvalidValue
from themekit.values import Gel

# Invented swatches of the colours that gels are sold in: name, hex, g per 100 g.
SWATCHES = (
    ("yellow", "#ffd21f", 0.5), ("orange", "#f57c1f", 0.5), ("red", "#c8102e", 0.8),
    ("dark red", "#9b1b1e", 1.0), ("neon pink", "#ff4fa3", 0.3), ("hot pink", "#ff2e93", 0.4),
    ("violet", "#6a3a9c", 0.6), ("royal blue", "#1f4fb0", 0.6), ("sky blue", "#58b7e8", 0.3),
    ("navy", "#1b2a55", 1.2), ("teal", "#1f8a8a", 0.5), ("leaf green", "#3f8f3a", 0.6),
    ("brown", "#6b4226", 0.8), ("black", "#1e1b1c", 1.5),
)  # fmt: skip


def gel(number, name, text, dose, most=None):
    lab = tuple(hex_to_lab(text).tolist())
    return Gel(number, name, lab, dose, gel_absorption(lab, dose), most)


GELS = tuple(gel(i, *swatch) for i, swatch in enumerate(SWATCHES, start=1))
BY_NAME = {g.name: g for g in GELS}
K = np.array([g.k for g in GELS])


def mix(**doses):
    """CIELAB of gels by name (spaces as underscores) at g per 100 g."""
    used = [BY_NAME[name.replace("_", " ")] for name in doses]
    return predict([g.k for g in used], [list(doses.values())])[0]


def hue(lab):
    return float(lab_to_lch(lab)[2])


# --- Kubelka and Munk, Saunderson ---------------------------------------------------------


@pytest.mark.parametrize(
    ("reflectance", "expected"),
    [(0.05, 9.025), (0.1, 4.05), (0.25, 1.125), (0.5, 0.25), (0.75, 0.041667), (0.9, 0.005556), (1, 0)],
)
def test_absorption_of_a_reflectance(reflectance, expected):
    """K/S = (1 − R)²/(2R), Kubelka and Munk (1931), worked out by hand."""
    assert km.absorption(reflectance) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(
    ("q", "expected"),
    [
        (0, 1),
        (0.01, 0.868226),
        (0.1, 0.641742),
        (0.5, 0.381966),
        (1, 0.267949),
        (2, 0.171573),
        (10, 0.045549),
    ],
)
def test_reflectance_of_an_absorption(q, expected):
    """R = 1 + q − √(q² + 2q), Kubelka and Munk (1931); 0.267949 is 2 − √3, 0.171573 is 3 − 2√2."""
    assert km.reflectance(q) == pytest.approx(expected, abs=5e-7)
    assert km.reflectance(q) == pytest.approx(1 + q - np.sqrt(q * q + 2 * q), abs=1e-12)


@pytest.mark.parametrize(
    ("inside", "seen"), [(0.1, 0.050526), (0.5, 0.32), (0.9, 0.785455), (1, 0.96), (0, 0)]
)
def test_the_surface_takes_its_share(inside, seen):
    """Saunderson (1942), specular excluded, k1 = 0.04, k2 = 0.5: worked out by hand."""
    assert (km.OUTER, km.INNER) == (0.04, 0.5)
    assert km.through_surface(inside) == pytest.approx(seen, abs=5e-7)
    assert km.under_surface(seen) == pytest.approx(inside, abs=2e-6)


def test_both_formulae_go_there_and_back():
    r = np.linspace(0.001, 1, 500)
    np.testing.assert_allclose(km.reflectance(km.absorption(r)), r, rtol=1e-9)
    np.testing.assert_allclose(km.under_surface(km.through_surface(r)), r, rtol=1e-12)
    assert km.reflectance(1e9) == pytest.approx(5e-10, rel=1e-6)


# --- One swatch per gel -------------------------------------------------------------------


def test_dose_zero_gives_white_icing():
    labs = predict(K, np.zeros((2, len(GELS))))
    np.testing.assert_allclose(labs, [WHITE_ICING, WHITE_ICING], atol=1e-6)
    np.testing.assert_allclose(add_absorption(np.zeros(31)), WHITE_ICING, atol=1e-6)


@pytest.mark.parametrize(("name", "text", "dose"), SWATCHES)
def test_a_swatch_is_given_back_at_its_dose(name, text, dose):
    k = gel_absorption(hex_to_lab(text), dose)
    assert len(k) == 31
    assert min(k) >= 0
    assert swatch_error(hex_to_lab(text), dose, k) < 0.01
    assert delta_e_2000(predict([k], [[dose]])[0], hex_to_lab(text)) < 0.01


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


def test_the_model_has_a_version():
    assert isinstance(MODEL_VERSION, int)
    assert MODEL_VERSION >= 1


# --- Facts of mixing ----------------------------------------------------------------------


def test_the_order_of_gels_does_not_matter():
    rng = np.random.default_rng(4)
    doses = rng.uniform(0, 0.5, (200, len(GELS)))
    order = rng.permutation(len(GELS))
    np.testing.assert_allclose(predict(K, doses), predict(K[order], doses[:, order]), atol=1e-9)


@pytest.mark.parametrize("name", BY_NAME)
def test_more_gel_is_darker(name):
    light = predict([BY_NAME[name].k], np.geomspace(0.001, 3, 60)[:, None])[:, 0]
    assert np.all(np.diff(light) < 0)


def test_yellow_and_blue_make_green_darker_and_purer_than_their_lights_averaged():
    """Subtractive mixing: the two lights, averaged, would be a dull grey."""
    yellow, blue = mix(yellow=0.25), mix(sky_blue=0.25)
    green = mix(yellow=0.25, sky_blue=0.25)
    lights = xyz_to_lab((lab_to_xyz(yellow) + lab_to_xyz(blue)) / 2)
    assert 120 < hue(green) < 180
    assert green[0] < lights[0] - 5
    assert lab_to_lch(green)[1] > lab_to_lch(lights)[1] + 10


def test_red_and_yellow_make_orange_between_the_two():
    orange = mix(red=0.06, yellow=0.5)
    assert hue(mix(red=0.6)) < 40
    assert hue(mix(yellow=0.5)) > 75
    assert 45 < hue(orange) < 75
    assert lab_to_lch(orange)[1] > 50


def test_red_and_blue_make_a_violet_darker_than_both():
    violet = mix(hot_pink=0.15, royal_blue=0.15)
    assert 280 < hue(violet) < 340
    assert violet[0] < min(mix(hot_pink=0.15)[0], mix(royal_blue=0.15)[0])


def test_a_little_black_dulls_any_colour():
    for name in ("yellow", "red", "sky blue", "leaf green"):
        clean = predict([BY_NAME[name].k, BY_NAME["black"].k], [[0.3, 0], [0.3, 0.05]])
        assert clean[1, 0] < clean[0, 0] - 3
        assert lab_to_lch(clean)[1, 1] < lab_to_lch(clean)[0, 1]


# --- Dyes with known bands ----------------------------------------------------------------


def band(peak, short, long, height=1.0):
    """One absorption band: a Gaussian in wavenumber with two widths, cm⁻¹."""
    x = 1e7 / WAVELENGTHS - 1e7 / peak
    return height * np.exp(-0.5 * (x / np.where(x > 0, short, long)) ** 2)


# Peaks in water: Belitz, Grosch and Schieberle, Food Chemistry, table 8.12. Widths and side
# bands are modelled, so that the half heights agree with measured absorbance of grocery food
# colours in water (red 460 and 552 nm, yellow 486 nm, blue 604 and 650 nm: sample data of the
# photon_canon package, 2025); sunset yellow is given the shape of the other red azo dye.
DYES = {
    "tartrazine": band(426, 1800, 2250),
    "sunset yellow": band(485, 1800, 1350),
    "allura red": band(504, 1700, 1250) + band(380, 3000, 3000, 0.15),
    "brilliant blue": band(630, 560, 435) + band(580, 900, 900, 0.2) + band(408, 900, 900, 0.1),
}
TRUE_K = np.array([spectrum / spectrum.max() for spectrum in DYES.values()])
# What the model knows of each: one swatch, at K/S 1 over white.
MODEL_K = np.array([gel_absorption(predict([k], [[1.0]])[0], 1.0) for k in TRUE_K])


def test_a_dye_known_by_one_swatch_is_met_at_other_doses():
    """K/S 0.02 to 2.5 at the peak; the same on measured spectra gave mean 0.2, worst 1.2."""
    doses = np.geomspace(0.02, 2.5, 12)[:, None]
    off = np.array(
        [delta_e_2000(predict([t], doses), predict([m], doses)) for t, m in zip(TRUE_K, MODEL_K, strict=True)]
    )
    assert off.mean() < 1.0
    assert off.max() < 2.0


def pairs():
    for first, second in combinations(range(len(DYES)), 2):
        for dose in product((0.1, 0.3, 1.0), repeat=2):
            doses = np.zeros(len(DYES))
            doses[[first, second]] = dose
            yield doses


def test_dyes_known_by_one_swatch_each_are_met_in_mixtures():
    """Pairs up to K/S 1 each; the same on measured spectra gave mean 0.7, worst 1.9."""
    doses = np.array(list(pairs()))
    off = delta_e_2000(predict(TRUE_K, doses), predict(MODEL_K, doses))
    assert off.mean() < 1.3
    assert off.max() < 3.5


def test_mixing_spectra_beats_mixing_light():
    """Averaging the light of the two tints, as screen mixing does, is many times farther off."""
    doses = np.array(list(pairs()))
    truth = predict(TRUE_K, doses)
    alone = [predict(TRUE_K, np.where(np.arange(4) == i, doses, 0)) for i in range(4)]
    lights = np.sum([lab_to_xyz(a) * (doses[:, [i]] > 0) for i, a in enumerate(alone)], axis=0) / 2
    blended = delta_e_2000(xyz_to_lab(lights), truth)
    ours = delta_e_2000(predict(MODEL_K, doses), truth)
    assert blended.mean() > 8 * ours.mean()


def test_the_hue_of_one_dye_turns_with_its_strength():
    """Yellow deepens towards orange, red towards scarlet; the model follows from one swatch."""
    doses = [[0.02], [8.0]]
    for name, turns in (("tartrazine", -1), ("allura red", 1), ("brilliant blue", 1)):
        i = list(DYES).index(name)
        pale, deep = predict([TRUE_K[i]], doses)
        pale_model, deep_model = predict([MODEL_K[i]], doses)
        assert turns * (hue(deep) - hue(pale)) > 5
        assert turns * (hue(deep_model) - hue(pale_model)) > 5


# --- Reach --------------------------------------------------------------------------------


def test_fourteen_gels_reach_some_two_thousand_tints():
    reach = reachable(GELS)
    assert 1_500 <= len(reach.lab) <= 2_500
    assert reach.lab.shape == (len(reach.doses), 3)
    assert reach.doses.shape[1] == len(GELS)
    np.testing.assert_allclose(predict(K, reach.doses), reach.lab, atol=1e-9)
    assert len(np.unique(reach.doses, axis=0)) == len(reach.doses)
    assert (reach.doses > 0).sum(axis=1).max() == 3
    np.testing.assert_allclose(np.round(reach.doses, 3), reach.doses, atol=1e-12)


def test_white_comes_first_and_is_always_there():
    for gels in ((), GELS[:1], GELS):
        reach = reachable(gels)
        assert not reach.doses[0].any()
        np.testing.assert_allclose(reach.lab[0], WHITE_ICING, atol=1e-6)
    assert len(reachable(()).lab) == 1


def test_reach_does_not_depend_on_the_order_of_gels_and_cannot_be_changed():
    reach = reachable(GELS)
    order = np.random.default_rng(5).permutation(len(GELS))
    shuffled = reachable([GELS[i] for i in order])
    assert np.array_equal(shuffled.lab, reach.lab)
    assert np.array_equal(shuffled.doses, reach.doses[:, order])
    with pytest.raises(ValueError, match="read-only"):
        reach.lab[0, 0] = 0
    with pytest.raises(ValueError, match="read-only"):
        reach.doses[0, 0] = 0


def test_every_rung_of_every_single_gel_is_kept():
    """A pale natural colour has its own ladder though strong gels reach the same cells."""
    pale = gel(99, "beetroot", "#e6b8c6", 2.0, 3.0)
    reach = reachable((*GELS, pale))
    for column, g in enumerate((*GELS, pale)):
        alone = reach.doses[(reach.doses > 0).sum(axis=1) == 1, column]
        rungs = np.sort(alone[alone > 0])
        assert np.array_equal(rungs, _ladder(np.array(g.k), limit_g(g), WHITE_ICING))
        labs = predict([g.k], np.concatenate([[0], rungs])[:, None])
        steps = delta_e_2000(labs[:-1], labs[1:])
        assert rungs[-1] == pytest.approx(limit_g(g))
        assert np.median(steps) == pytest.approx(STEP, rel=0.3)
    assert (reach.doses[:, -1] > 0).sum() >= 8


def test_thinning_keeps_what_a_slow_plain_version_keeps():
    gels = [BY_NAME[n] for n in ("yellow", "red", "sky blue", "black")]
    table, limits = np.array([g.k for g in gels]), np.array([limit_g(g) for g in gels])
    ladders = [_ladder(k, most, WHITE_ICING) for k, most in zip(table, limits, strict=True)]
    doses = np.concatenate(list(_recipes(ladders)))
    doses = doses[within_ceiling(doses, limits) > 1 - 1e-9]
    labs = predict(table, doses)
    cells, off = _cells(labs)
    best = {}
    for i in range(len(doses)):
        rank = (int((doses[i] > 0).sum()), float(off[i]), i)
        key = tuple(cells[i].tolist())
        if key not in best or rank < best[key]:
            best[key] = rank
    kept = {rank[2] for rank in best.values()} | set(np.flatnonzero((doses > 0).sum(axis=1) <= 1).tolist())
    expected = {tuple(doses[i].tolist()) for i in kept}
    assert {tuple(row) for row in reachable(gels).doses.tolist()} == expected
    assert len(expected) < len(doses) / 2


def test_any_mixture_lies_near_a_candidate():
    """3,000 random recipes of one to three gels: none farther than ΔE00 5.5, on average below 2."""
    rng = np.random.default_rng(6)
    doses = np.zeros((3_000, len(GELS)))
    for row in doses:
        used = rng.choice(len(GELS), rng.integers(1, 4), replace=False)
        row[used] = np.exp(rng.uniform(np.log(0.01), np.log(1.0), len(used)))
    reach = reachable(GELS).lab
    near = np.concatenate(
        [delta_e_2000(part[:, None], reach[None]).min(axis=1) for part in np.split(predict(K, doses), 30)]
    )
    assert near.max() < 5.5
    assert near.mean() < 2.0


def test_limits_and_ceiling_are_kept():
    strict = [Gel(g.id, g.name, g.swatch, g.dose_g_per_100g, g.k, 0.2005) for g in GELS[:3]]
    assert reachable(strict).doses.max() == pytest.approx(0.2)
    free = reachable(GELS).doses
    assert free.max() == pytest.approx(CEILING_G)
    assert free.sum(axis=1).max() <= CEILING_G + 1e-9
    cocoa = gel(-1, "cocoa", "#9c7a5e", 6.0, 12.0)
    with_cocoa = reachable((*GELS[:3], cocoa)).doses
    assert with_cocoa[:, 3].max() == pytest.approx(12)
    # A little cocoa does not lend its own higher maximum to the gels.
    assert (with_cocoa[:, :3].sum(axis=1) / CEILING_G + with_cocoa[:, 3] / 12).max() <= 1 + 1e-9


def test_opaque_gels_and_gels_without_room_are_passed_over():
    opaque = Gel(50, "white", (96, 0, 1), 1.0, ())
    none_left = Gel(51, "barred", (50, 40, 20), 1.0, GELS[0].k, 0.0)
    reach = reachable((opaque, *GELS[:3], none_left))
    assert not reach.doses[:, [0, 4]].any()
    assert np.array_equal(reach.doses[:, 1:4], reachable(GELS[:3]).doses)
    assert {d.gel for d in solve((60, 20, 20), (opaque, *GELS[:3], none_left)).doses} <= {
        g.name for g in GELS[:3]
    }


def test_many_gels_stay_affordable():
    rng = np.random.default_rng(7)
    labs = xyz_to_lab(rgb_to_xyz(rng.uniform(0.05, 0.8, (60, 3))))
    gels = [
        Gel(i, f"g{i}", tuple(lab), 1.0, gel_absorption(lab, 1.0)) for i, lab in enumerate(labs.tolist(), 1)
    ]
    reach = reachable(gels)
    assert (reach.doses > 0).sum(axis=1).max() == 2
    assert len(reach.lab) < 6_000


# --- The way back -------------------------------------------------------------------------


def test_a_mixture_is_solved_to_its_own_doses():
    """solve(predict(c)) returns c within 5 %: from these three gels there is but one recipe."""
    rng = np.random.default_rng(8)
    gels = [BY_NAME[n] for n in ("yellow", "hot pink", "sky blue")]
    table = [g.k for g in gels]
    for size in (1, 2, 3) * 12:
        doses = np.zeros(3)
        doses[rng.choice(3, size, replace=False)] = rng.uniform(0.08, 0.9, size)
        solution = solve(predict(table, doses[None])[0], gels)
        found = {d.gel: d.g_per_100g for d in solution.doses}
        assert solution.delta_e < 0.15
        for g, dose in zip(gels, doses, strict=True):
            assert found.get(g.name, 0) == pytest.approx(dose, rel=0.05)


def test_what_fourteen_gels_can_make_is_found():
    rng = np.random.default_rng(9)
    for _ in range(60):
        doses = np.zeros(len(GELS))
        doses[rng.choice(len(GELS), 3, replace=False)] = np.exp(rng.uniform(np.log(0.02), np.log(0.9), 3))
        target = predict(K, doses[None])[0]
        solution = solve(target, GELS)
        assert solution.delta_e < 0.7
        assert len(solution.doses) <= 3


def test_the_answer_tells_the_colour_of_the_weighed_recipe():
    for target in ((60, 30, 30), (45, -30, 10), (80, 0, -20), (20, 5, -10)):
        solution = solve(target, GELS)
        names = [d.gel for d in solution.doses]
        lab = predict([BY_NAME[n].k for n in names], [[d.g_per_100g for d in solution.doses]])[0]
        np.testing.assert_allclose(solution.lab, lab, atol=1e-9)
        assert solution.delta_e == pytest.approx(float(delta_e_2000(lab, target)))
        assert [d.g_per_100g for d in solution.doses] == sorted(
            (d.g_per_100g for d in solution.doses), reverse=True
        )
        assert all(round(d.g_per_100g, 3) == d.g_per_100g > 0 for d in solution.doses)


def test_no_plain_minimiser_over_every_triple_does_much_better():
    """SciPy over all 20 triples of six gels, for targets in and out of reach."""
    gels = [BY_NAME[n] for n in ("yellow", "red", "sky blue", "leaf green", "brown", "black")]
    table = np.array([g.k for g in gels])
    for target in ((70, -40, 20), (50, 70, 60), (40, 20, -60), (90, 20, -15), (30, 10, 10)):
        best = np.inf
        for triple in combinations(range(6), 3):
            found = minimize(
                lambda x, triple=triple, target=target: float(
                    delta_e_2000(predict(table[list(triple)], np.exp(x)[None])[0], target)
                ),
                np.log([0.1, 0.1, 0.1]),
                method="Nelder-Mead",
                bounds=[(np.log(1e-4), np.log(1.0))] * 3,
                options={"maxfev": 250},
            )
            best = min(best, found.fun)
        assert solve(target, gels).delta_e <= best + 0.3


def test_a_colour_out_of_reach_says_how_far_it_is():
    solution = solve((60, 90, 30), [BY_NAME["sky blue"], BY_NAME["yellow"]])
    assert solution.delta_e > 15
    assert solve(WHITE_ICING, GELS).doses == ()
    assert solve(WHITE_ICING, GELS).delta_e < 0.01
    alone = solve((50, 0, 0), [])
    assert alone.doses == ()
    assert alone.delta_e == pytest.approx(float(delta_e_2000(WHITE_ICING, (50, 0, 0))), abs=1e-6)


def test_fewer_gels_are_never_nearer_and_are_kept_to():
    for target in ((60, 30, 30), (45, -30, 10), (35, 25, -35)):
        off = [solve(target, GELS, max_gels=n) for n in (1, 2, 3)]
        assert [len(s.doses) <= n for n, s in enumerate(off, start=1)] == [True] * 3
        assert off[2].delta_e <= off[1].delta_e + 0.1
        assert off[1].delta_e <= off[0].delta_e + 0.1


def test_solving_does_not_depend_on_the_order_of_gels():
    for target in ((60, 30, 30), (45, -30, 10), (50, 80, 70)):
        assert solve(target, GELS) == solve(target, GELS[::-1])


def test_solving_keeps_each_maximum_and_the_ceiling():
    capped = [Gel(g.id, g.name, g.swatch, g.dose_g_per_100g, g.k, 0.1) for g in GELS]
    for target in ((10, 0, 0), (40, 70, 40), (30, 20, -50)):
        assert all(d.g_per_100g <= 0.1 for d in solve(target, capped).doses)
        assert sum(d.g_per_100g for d in solve(target, GELS).doses) <= CEILING_G + 0.003


@pytest.mark.parametrize(
    ("target", "count", "field"),
    [
        ((float("nan"), 0, 0), 3, "target"),
        ((50, 0), 3, "target"),
        ((150, 0, 0), 3, "target"),
        ((50, 0, 0), 0, "max_gels"),
        ((50, 0, 0), 4, "max_gels"),
        ((50, 0, 0), True, "max_gels"),
    ],
)
def test_what_cannot_be_solved_is_refused_by_name(target, count, field):
    with pytest.raises(InvalidValue) as caught:
        solve(target, GELS, max_gels=count)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.allowed
    assert problem.hint


# --- A tint with its recipe ---------------------------------------------------------------


def test_a_tint_carries_its_rounded_recipe_and_that_recipes_colour():
    staple = gel(-1, "cocoa", "#9c7a5e", 6.0, 12.0)
    tint = tint_of([0.12345, 0, 1.0004], [GELS[0], GELS[1], staple], "warm tan")
    assert tint.name == "warm tan"
    assert [(d.gel, d.gel_id, d.g_per_100g) for d in tint.recipe] == [
        ("cocoa", None, 1.0),
        ("yellow", 1, 0.123),
    ]
    np.testing.assert_allclose(tint.lab, predict([GELS[0].k, staple.k], [[0.123, 1.0]])[0], atol=1e-9)
    assert delta_e_2000(hex_to_lab(tint.hex), tint.lab) < 0.6


def test_a_tint_that_no_screen_shows_keeps_its_lab_and_gets_the_nearest_hex():
    vivid = gel(7, "cyan", "#00a0d0", 0.3)
    tint = tint_of([0.9], [vivid])
    assert tint.hex.startswith("#")
    assert len(tint.hex) == 7
    assert hex_to_lab(tint.hex)[0] == pytest.approx(tint.lab[0], abs=0.6)


def test_white_icing_is_a_tint_without_recipe():
    tint = tint_of([], [])
    assert tint.recipe == ()
    np.testing.assert_allclose(tint.lab, WHITE_ICING, atol=1e-6)


def test_every_candidate_becomes_the_same_tint():
    reach = reachable(GELS)
    for row in range(0, len(reach.lab), 97):
        np.testing.assert_allclose(tint_of(reach.doses[row], GELS).lab, reach.lab[row], atol=1e-9)


def test_doses_that_cannot_be_are_refused_all_at_once():
    opaque = Gel(50, "white", (96, 0, 1), 1.0, ())
    with pytest.raises(InvalidValue) as caught:
        tint_of([-1, float("nan"), 1], [GELS[0], GELS[1], opaque])
    assert [p.field for p in caught.value.problems] == ["doses.yellow", "doses.orange", "doses.white"]
    with pytest.raises(InvalidValue) as caught:
        tint_of([1], GELS)
    assert caught.value.problems[0].field == "doses"
