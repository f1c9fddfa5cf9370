"""Colours under other lights, against colour-science's own chart, illuminants and integration."""

from __future__ import annotations

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.light import LIGHTS, seen_under, smallest_difference
from themekit.colour.space import xyz_to_lab
from themekit.errors import InvalidValue


@pytest.mark.parametrize("light", LIGHTS)
def test_white_and_grey_stay_so_under_every_light(light: str) -> None:
    """The eye adapts to the light (CIE TN 003:2015)."""
    seen = seen_under([(96, 0, 0), (50, 0, 0)], light)
    assert np.abs(seen - [(96, 0, 0), (50, 0, 0)]).max() < 1.0


@pytest.mark.filterwarnings("ignore::Warning")  # colour tells how it aligns spectra
def test_chart_under_a_warm_bulb_is_near_what_its_measured_spectra_give() -> None:
    """The measured spectra of a published 24-patch chart, lit by CIE illuminant A and adapted by CAT02.

    Source: the chart's spectral data carried by colour-science (Ohta 1997). Measured
    here: mean CIEDE2000 of 24 patches below 3, where doing nothing gives more.
    """
    import colour

    chart = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"]
    shape = colour.SpectralShape(400, 700, 10)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    white = {
        name: colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name])
        for name in ("A", "D65")
    }

    def lit(name: str) -> np.ndarray:
        power = colour.SDS_ILLUMINANTS[name].copy().align(shape)
        spectra = [sd.copy().align(shape) for sd in chart.values()]
        return np.array([colour.sd_to_XYZ(sd, observer, power) / 100 for sd in spectra])

    day = xyz_to_lab(lit("D65"))
    true = xyz_to_lab(
        colour.chromatic_adaptation(lit("A"), white["A"], white["D65"], method="Von Kries", transform="CAT02")
    )
    error = delta_e_2000(seen_under(day, "warm bulb"), true).mean()
    nothing = delta_e_2000(day, true).mean()
    assert error < 3
    assert error < 0.7 * nothing


def test_smallest_difference_is_of_the_two_most_alike() -> None:
    labs = np.array([(50, 0, 0), (52, 0, 0), (90, 10, 40)], float)
    assert smallest_difference(labs) == pytest.approx(float(delta_e_2000(labs[0], labs[1])))


def test_an_unknown_light_is_refused_with_the_known_ones() -> None:
    with pytest.raises(InvalidValue) as caught:
        seen_under([(50, 0, 0)], "candle")
    assert caught.value.problems[0].got == "candle"
    assert "warm bulb" in caught.value.problems[0].allowed
