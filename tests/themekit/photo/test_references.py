"""What white paper in the picture is worth, a chart read back, and what poor photos are told.

Spectra, lamps, observer and the chart's values are colour-science's (see conftest.py).
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import WHITE_XYZ, lab_to_xyz, xyz_to_lab
from themekit.photo import PhotoColours, clusters, read_photo
from themekit.photo import reading as words

#: A corner where paper or card lies, as x, y, width, height.
CORNER = (8, 8, 72, 72)


def nearest(read: PhotoColours, wanted: Any) -> Any:
    """CIEDE2000 from each wanted colour to the nearest that was read."""
    labs = np.array([c.lab for c in read.colours])
    return delta_e_2000(np.asarray(wanted)[:, None], labs[None]).min(axis=1)


def table(studio: Any, lamp: str, names: list[str], seed: int, patch: float | None = None) -> Any:
    """Beads on a green table, with a flat patch of that reflectance in the corner."""
    chart, light = studio.chart(), studio.lamps[lamp]
    scene = studio.plate([chart[n] for n in names], light.illuminant, seed, backdrop=chart["bluish green"])
    if patch is not None:
        x, y, width, height = CORNER
        scene[y : y + height, x : x + width] = studio.xyz_under(light.illuminant, np.full(31, patch))
    return studio.developed(scene, light, seed)


def over_chart(
    studio: Any, lamp: str, patch: float | None, marked: bool
) -> tuple[list[float], list[PhotoColours]]:
    """Errors of 17 colours of the chart in six pictures, and what was read."""
    names = list(studio.chart())[:18]
    far: list[float] = []
    reads = []
    for seed in range(6):
        # The table's own colour cannot be told from the table.
        chosen = [n for n in names[seed::6] if n != "bluish green"]
        read = read_photo(table(studio, lamp, chosen, seed, patch), CORNER if marked else None)
        far += nearest(read, [studio.true_lab(studio.chart()[n]) for n in chosen]).tolist()
        reads.append(read)
    return far, reads


def test_marked_paper_holds_the_median_within_four(studio: Any) -> None:
    """Over warm, cool and dim light; a bulb lacks blue, so that it alone may come to 4.5."""
    by_lamp = {lamp: over_chart(studio, lamp, studio.paper, True) for lamp in studio.lamps}
    assert np.median([one for far, _ in by_lamp.values() for one in far]) <= 4.0
    assert all(np.median(far) <= 4.5 for far, _ in by_lamp.values())
    assert {r.balanced_by for _, reads in by_lamp.values() for r in reads} == {"white paper"}


@pytest.mark.parametrize("lamp", ["warm", "cool tube"])
def test_paper_in_the_corner_is_found(studio: Any, lamp: str) -> None:
    far, reads = over_chart(studio, lamp, studio.paper, False)
    assert np.median(far) <= 4.0
    assert {r.balanced_by for r in reads} == {"white paper"}


@pytest.mark.parametrize("lamp", ["warm", "cool tube", "dim", "dim and warm"])
def test_without_a_reference_sureness_says_so(studio: Any, lamp: str) -> None:
    far, reads = over_chart(studio, lamp, None, False)
    assert np.median(far) > 8
    assert all(r.balanced_by is None and r.sureness < 0.6 for r in reads)
    assert all({words.CAST, words.BARE} & set(r.warnings) for r in reads)


@pytest.mark.parametrize("pixels", [1, 2, 3])
def test_a_cluster_of_very_few_pixels_has_a_colour(pixels: int) -> None:
    lab = np.array([[40.0, 1, 2], [60, 3, 4], [50, 5, 6]])[:pixels]
    assert np.isfinite(clusters._lit(lab)).all()


def test_a_chart_is_read_back(studio: Any) -> None:
    """The maker's values of the 24 patches (after November 2014, xyY under D50), on a pale blue table.

    The white patch is what the picture is balanced by, so 23 are left to read.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    printed = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    white = colour.xy_to_XYZ(printed.illuminant)
    xyz = colour.xyY_to_XYZ(np.array(list(printed.data.values())))
    xyz = colour.adaptation.chromatic_adaptation_VonKries(xyz, white, WHITE_XYZ, transform="Bradford")
    scene = np.broadcast_to(lab_to_xyz([85.0, -5, -20]), (360, 480, 3)).copy()
    for number, patch in enumerate(xyz):
        y, x = 25 + number // 6 * 80, 30 + number % 6 * 72
        scene[y : y + 64, x : x + 58] = patch
    read = read_photo(studio.developed(scene, studio.lamps["daylight"]), most=24)
    wanted = xyz_to_lab(np.delete(xyz, 18, axis=0))
    far = nearest(read, wanted)
    assert read.balanced_by == "white paper"
    assert np.median(far) <= 1.5
    assert np.max(far) <= 5.0
    assert len(read.colours) == 23
    assert [c.share for c in read.colours] == pytest.approx([1 / 23] * 23, abs=0.01)


def test_blurred_edges_give_no_colours_of_their_own(studio: Any) -> None:
    """Red and blue out of focus on white: no purple and no pink."""
    chart = studio.chart()
    scene = studio.plate([chart["red"], chart["blue"]], "D65", 3)
    read = read_photo(studio.developed(scene, studio.lamps["daylight"], 3, blur=3.0))
    assert len(read.colours) == 2
    assert nearest(read, [studio.true_lab(chart[n]) for n in ("red", "blue")]).max() <= 6


def test_poor_photos_are_told_what_to_do(studio: Any) -> None:
    chart = studio.chart()
    scene = studio.plate([chart["red"], chart["blue"], chart["yellow"]], "D65", 4)
    good = read_photo(studio.developed(scene, studio.lamps["daylight"], 4))
    assert good.warnings == ()
    blurred = read_photo(studio.developed(scene, studio.lamps["daylight"], 4, blur=7.0))
    assert words.BLURRED in blurred.warnings
    glaring = read_photo(studio.developed(scene * 1.8, studio.lamps["daylight"], 4))
    assert words.BLOWN in glaring.warnings
    dark = read_photo(studio.developed(scene * 0.08, studio.lamps["daylight"], 4))
    assert words.DARK in dark.warnings
    assert all(poor.sureness < good.sureness for poor in (blurred, glaring, dark))


def test_white_on_white_is_said_to_be_no_sure_thing(studio: Any) -> None:
    """Of white beads on paper only the shade is seen; on a dark plate, or of other colours, all is as usual."""
    white = next(values for name, values in studio.chart().items() if "white" in name)
    black = next(values for name, values in studio.chart().items() if "black" in name)
    lamp = studio.lamps["daylight"]
    on_paper = read_photo(studio.developed(studio.plate([white], "D65"), lamp))
    assert words.PALE in on_paper.warnings
    assert on_paper.sureness <= 0.5
    dark = studio.developed(studio.plate([white], "D65", backdrop=black), lamp)
    assert words.PALE not in read_photo(dark).warnings
    for names in (["red"], ["red", "blue", "green"], ["yellow"]):
        beads = studio.plate([studio.chart()[name] for name in names], "D65")
        assert words.PALE not in read_photo(studio.developed(beads, lamp)).warnings
