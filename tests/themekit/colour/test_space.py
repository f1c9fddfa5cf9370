"""Hex, sRGB, CIELAB and LCh against colour-science."""

import colour
import numpy as np
import pytest

from themekit.colour import space
from themekit.errors import InvalidValue

RANDOM = np.random.default_rng(11).random((12_000, 3))
GREYS = [f"#{v:02x}{v:02x}{v:02x}" for v in range(256)]


def test_srgb_to_lab_agrees_with_colour_science():
    theirs = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(RANDOM))
    np.testing.assert_allclose(space.xyz_to_lab(space.rgb_to_xyz(RANDOM)), theirs, atol=1e-9)


def test_lab_to_srgb_agrees_with_colour_science():
    labs = space.xyz_to_lab(space.rgb_to_xyz(RANDOM))
    theirs = colour.XYZ_to_sRGB(colour.Lab_to_XYZ(labs))
    ours = space.xyz_to_rgb(space.lab_to_xyz(labs))
    np.testing.assert_allclose(ours, theirs, atol=1e-9)
    # IEC 61966-2-1 rounds both matrices, so even there and back is only good to 4 decimals.
    np.testing.assert_allclose(ours, RANDOM, atol=1e-3)


def test_lab_out_of_gamut_agrees_with_colour_science():
    labs = np.random.default_rng(12).uniform([1, -110, -110], [99, 110, 110], (5_000, 3))
    np.testing.assert_allclose(space.lab_to_xyz(labs), colour.Lab_to_XYZ(labs), atol=1e-12)
    np.testing.assert_allclose(space.xyz_to_lab(space.lab_to_xyz(labs)), labs, atol=1e-9)


def test_lch_agrees_with_colour_science_and_goes_back():
    labs = space.xyz_to_lab(space.rgb_to_xyz(RANDOM))
    lch = space.lab_to_lch(labs)
    np.testing.assert_allclose(lch, colour.models.Lab_to_LCHab(labs), atol=1e-9)
    np.testing.assert_allclose(space.lch_to_lab(lch), labs, atol=1e-9)
    assert lch[:, 2].min() >= 0
    assert lch[:, 2].max() < 360


def test_primaries_have_their_known_lab():
    """CIELAB of the sRGB primaries, D65, widely published (from memory).

    Published values differ by up to 0.03 with the digits given to the white point.
    """
    known = {
        "#ff0000": (53.24, 80.09, 67.20),
        "#00ff00": (87.73, -86.18, 83.18),
        "#0000ff": (32.30, 79.19, -107.86),
    }
    for text, lab in known.items():
        np.testing.assert_allclose(space.hex_to_lab(text), lab, atol=0.04)
    np.testing.assert_allclose(space.hex_to_lab("#ffffff"), (100, 0, 0), atol=0.01)


def test_every_grey_comes_back_from_lab():
    assert space.labs_to_hex(space.hex_to_lab(GREYS)) == GREYS


def test_random_hex_come_back_from_lab():
    values = np.random.default_rng(13).integers(0, 256, (4_000, 3), dtype=np.uint8)
    texts = ["#" + bytes(row).hex() for row in values]
    assert space.labs_to_hex(space.hex_to_lab(texts)) == texts


def test_gamut_mapping_keeps_lightness_and_hue_and_lands_in_gamut():
    labs = np.random.default_rng(14).uniform([2, -120, -120], [98, 120, 120], (4_000, 3))
    mapped = space.to_gamut(labs)
    assert np.all(space.in_gamut(mapped))
    before, after = space.lab_to_lch(labs), space.lab_to_lch(mapped)
    np.testing.assert_allclose(after[:, 0], before[:, 0], atol=1e-9)
    coloured = after[:, 1] > 0.01
    turn = np.abs((after[coloured, 2] - before[coloured, 2] + 180) % 360 - 180)
    assert turn.max() < 1e-6
    assert np.all(after[:, 1] <= before[:, 1] + 1e-9)
    assert np.any(after[:, 1] < before[:, 1] - 10)


def test_gamut_mapping_gives_away_no_more_chroma_than_it_must():
    labs = np.random.default_rng(15).uniform([5, -120, -120], [95, 120, 120], (2_000, 3))
    outside = labs[~space.in_gamut(labs)]
    mapped = space.to_gamut(outside)
    more = mapped * [1, 1.01, 1.01] + np.where(np.abs(mapped[:, 1:]).max(axis=1) < 0.5, 1, 0)[:, None] * [
        0,
        1,
        1,
    ]
    assert not np.any(space.in_gamut(more, tolerance=1e-4))


def test_colours_in_gamut_are_left_alone():
    labs = space.xyz_to_lab(space.rgb_to_xyz(RANDOM[:500]))
    assert np.array_equal(space.to_gamut(labs), labs)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("#2A9D8F", "#2a9d8f"), ("2a9d8f", "#2a9d8f"), (" #2a9d8f ", "#2a9d8f"), ("#abc", "#aabbcc")],
)
def test_hex_is_read_as_people_write_it(text, expected):
    assert space.parse_hex(text) == expected


@pytest.mark.parametrize("text", ["", "#12345", "#gggggg", "teal", None, 123456, "#2a9d8f0", "＃2a9d8f"])
def test_what_is_not_hex_is_refused_by_name(text):
    with pytest.raises(InvalidValue) as caught:
        space.parse_hex(text, "swatch")
    (problem,) = caught.value.problems
    assert problem.field == "swatch"
    assert problem.got == text
    assert "six hex digits" in problem.allowed
    assert problem.hint
