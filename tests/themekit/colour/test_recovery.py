"""The smoothest reflectance of a colour, against measured charts and other methods."""

import colour
import numpy as np
import pytest
from scipy.optimize import minimize

from themekit.colour.difference import delta_e_2000
from themekit.colour.observer import WAVELENGTHS, WEIGHTS, reflectance_to_lab, reflectance_to_xyz
from themekit.colour.recovery import lab_to_reflectance, smoothest
from themekit.colour.space import hex_to_lab, lab_to_xyz, rgb_to_xyz, xyz_to_lab
from themekit.errors import InvalidValue

CHART = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
PATCHES = {n: np.interp(WAVELENGTHS, s.wavelengths, s.values) for n, s in CHART.items()}


def roughness(reflectance):
    """Σ(z[i+1] − z[i])² with R = (tanh z + 1)/2, what Burns (2020) makes least."""
    return float(np.sum(np.diff(np.arctanh(2 * reflectance - 1)) ** 2))


def rms(first, second):
    return float(np.sqrt(np.mean((first - second) ** 2)))


def test_two_thousand_screen_colours_come_back_exactly():
    labs = xyz_to_lab(rgb_to_xyz(np.random.default_rng(1).random((2_000, 3))))
    spectra = np.array([lab_to_reflectance(lab) for lab in labs])
    assert spectra.min() > 0
    assert spectra.max() < 1
    assert delta_e_2000(reflectance_to_lab(spectra), labs).max() < 1e-5


@pytest.mark.parametrize(
    "text",
    [
        "#ff0000",
        "#00ff00",
        "#0000ff",
        "#ffff00",
        "#00ffff",
        "#ff00ff",
        "#ffffff",
        "#000000",
        "#010101",
        "#fefefe",
    ],
)
def test_the_corners_of_srgb_have_a_spectrum(text):
    lab = hex_to_lab(text)
    spectrum = lab_to_reflectance(lab)
    assert np.all((spectrum > 0) & (spectrum < 1))
    assert delta_e_2000(reflectance_to_lab(spectrum), lab) < 0.1


@pytest.mark.parametrize(("depth", "darkest"), [(0.9, 0), (0.99, 0), (0.999, 0), (0.9999, 2)])
def test_colours_a_hair_inside_the_optimal_colours_have_a_spectrum(depth, darkest):
    """Schrödinger's optimal colours reflect all or nothing with two steps; nothing lies beyond."""
    grey, tried = WEIGHTS.sum(axis=0) / 2, 0
    for start in range(0, 28, 3):
        for end in range(start + 3, 31, 4):
            box = np.zeros(31)
            box[start:end] = 1
            for edge in (box, 1 - box):
                xyz = grey + depth * (edge @ WEIGHTS - grey)
                lab = xyz_to_lab(xyz)
                if lab[0] < darkest:
                    continue
                spectrum = lab_to_reflectance(lab)
                np.testing.assert_allclose(spectrum @ WEIGHTS, xyz, atol=1e-9)
                tried += 1
    assert tried > 60


def test_no_smoother_spectrum_has_the_colour():
    """SciPy's own constrained minimiser, started elsewhere, finds the same spectrum."""
    for text in ("#c8102e", "#1f4fb0", "#f8ea62", "#74b552", "#80563c"):
        xyz = lab_to_xyz(hex_to_lab(text))
        ours = lab_to_reflectance(hex_to_lab(text))
        other = minimize(
            lambda z: np.sum(np.diff(z) ** 2),
            np.random.default_rng(2).normal(0, 0.3, 31),
            jac=lambda z: 2 * np.concatenate([[z[0] - z[1]], 2 * z[1:-1] - z[:-2] - z[2:], [z[-1] - z[-2]]]),
            constraints={
                "type": "eq",
                "fun": lambda z, xyz=xyz: 100 * ((np.tanh(z) + 1) / 2 @ WEIGHTS - xyz),
                "jac": lambda z: 50 * WEIGHTS.T / np.cosh(z) ** 2,
            },
            method="SLSQP",
            options={"maxiter": 2_000, "ftol": 1e-14},
        )
        assert other.success
        assert roughness(ours) <= other.fun + 1e-6
        np.testing.assert_allclose(ours, (np.tanh(other.x) + 1) / 2, atol=2e-3)


def test_measured_patches_are_met_better_than_by_meng():
    """24 measured patches: mean error 0.040 in reflectance; Meng (2015) in colour-science, 0.050."""
    shape = colour.SpectralShape(400, 700, 10)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    daylight = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    ours, theirs, between = [], [], []
    for measured in PATCHES.values():
        burns = lab_to_reflectance(reflectance_to_lab(measured))
        meng = colour.recovery.XYZ_to_sd_Meng2015(reflectance_to_xyz(measured), observer, daylight)
        ours.append(rms(burns, measured))
        theirs.append(rms(meng.values, measured))
        between.append(rms(burns, meng.values))
    assert np.mean(ours) < 0.043
    assert np.mean(ours) < np.mean(theirs)
    assert np.median(between) < 0.02
    assert max(between) < 0.1


def test_a_neutral_has_a_flat_spectrum():
    spectrum = lab_to_reflectance((60, 0, 0))
    assert np.ptp(spectrum) < 0.002


def test_of_an_impossible_colour_the_nearest_on_the_way_from_grey_is_given():
    spectrum = smoothest(lab_to_xyz((50, 150, -150)), WEIGHTS)
    reached = reflectance_to_lab(spectrum)
    assert reached[0] == pytest.approx(50, abs=1e-4)
    assert reached[1] == pytest.approx(-reached[2], rel=0.01)
    assert 40 < reached[1] < 150


@pytest.mark.parametrize(
    ("lab", "allowed"),
    [
        ((50, 150, -150), "a surface can have"),
        ((99, 60, 60), "a surface can have"),
        ((3, 0, 40), "a surface can have"),
        ((float("nan"), 0, 0), "three finite numbers"),
        ((50, float("inf"), 0), "three finite numbers"),
        ((101, 0, 0), "L from 0 to 100"),
        ((-1, 0, 0), "L from 0 to 100"),
        ((50, 0), "three finite numbers"),
        ("teal", "three finite numbers"),
        (None, "three finite numbers"),
    ],
)
def test_what_is_not_a_surface_colour_is_refused_with_reason(lab, allowed):
    with pytest.raises(InvalidValue) as caught:
        lab_to_reflectance(lab, "swatch")
    (problem,) = caught.value.problems
    assert problem.field == "swatch"
    assert allowed in problem.allowed
    assert problem.got is not None or lab is None
    assert problem.hint
