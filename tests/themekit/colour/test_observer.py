"""The weights of the 2° observer under D65, against colour-science's own spectra."""

import subprocess
import sys

import colour
import numpy as np
import pytest
from colour.colorimetry import tristimulus_weighting_factors_ASTME2022

from themekit.colour.difference import delta_e_2000
from themekit.colour.observer import BANDS, WAVELENGTHS, WEIGHTS, reflectance_to_lab, reflectance_to_xyz
from themekit.colour.space import WHITE_XYZ, xyz_to_lab

OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
D65 = colour.SDS_ILLUMINANTS["D65"]


def test_the_table_follows_from_the_cie_tables():
    """ASTM E2022 weights of the CIE tables by 1 nm, the ends folded in as ASTM E308 says."""
    fine = colour.SpectralShape(360, 780, 1)
    daylight = D65.copy().interpolate(fine, interpolator=colour.LinearInterpolator)
    whole = tristimulus_weighting_factors_ASTME2022(
        OBSERVER.copy().trim(fine), daylight, colour.SpectralShape(360, 780, 10)
    )
    whole = whole / whole[:, 1].sum()
    folded = whole[4:35].copy()
    folded[0] += whole[:4].sum(axis=0)
    folded[-1] += whole[35:].sum(axis=0)
    np.testing.assert_allclose(WEIGHTS, folded, atol=4e-8)
    assert WAVELENGTHS.tolist() == list(range(400, 701, 10))
    assert BANDS == 31


def test_the_perfect_reflector_is_white():
    white = reflectance_to_xyz(np.ones(31))
    assert white[1] == pytest.approx(1, abs=1e-7)
    np.testing.assert_allclose(white, WHITE_XYZ, atol=3e-4)
    np.testing.assert_allclose(reflectance_to_lab(np.ones(31)), (100, 0, 0), atol=0.02)


@pytest.mark.parametrize("chart", ["ColorChecker N Ohta", "BabelColor Average"])
def test_measured_charts_get_the_colour_that_colour_science_gives(chart):
    """Two sets of measured reflectances of a published colour chart, 24 patches each."""
    daylight = D65.copy().align(OBSERVER.shape)
    for name, spectrum in colour.SDS_COLOURCHECKERS[chart].items():
        fine = spectrum.copy().align(OBSERVER.shape)
        xyz = colour.sd_to_XYZ(fine, OBSERVER, daylight, method="Integration") / 100
        theirs = xyz_to_lab(xyz)
        ours = reflectance_to_lab(np.interp(WAVELENGTHS, spectrum.wavelengths, spectrum.values))
        assert delta_e_2000(ours, theirs) < 0.1, name


def test_spectra_are_taken_in_any_shape():
    spectra = np.random.default_rng(1).random((2, 5, 31))
    labs = reflectance_to_lab(spectra)
    assert labs.shape == (2, 5, 3)
    np.testing.assert_allclose(labs[1, 3], reflectance_to_lab(spectra[1, 3]))


def test_tints_start_without_heavy_libraries():
    """A tint is worked out, reached and solved with NumPy alone."""
    code = """
import sys
from themekit.colour.tint import gel_absorption, reachable, solve, tint_of
from themekit.values import Gel
gel = Gel(1, "red", (45, 60, 30), 1.0, gel_absorption((45, 60, 30), 1.0))
tint_of(reachable([gel]).doses[3], [gel])
solve((60, 40, 20), [gel])
print(sorted({"colour", "scipy", "pandas", "sklearn"} & set(sys.modules)))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
