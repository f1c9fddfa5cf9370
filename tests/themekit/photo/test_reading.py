"""Colours read off rendered photos of known reflectances under known lights.

Source of truth: reflectances, illuminants and observer of colour-science (see conftest.py);
what was rendered is compared in CIEDE2000 with the nearest colour that was read.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.errors import InvalidValue
from themekit.photo import PhotoColours, read_photo

_TRIOS = (
    ("red", "green", "blue"), ("orange", "purplish blue", "moderate red"), ("yellow", "magenta", "cyan"),
    ("orange yellow", "foliage", "purple"),
)  # fmt: skip


def far(studio: Any, read: PhotoColours, names: Sequence[str]) -> list[float]:
    """CIEDE2000 from each rendered colour to the nearest that was read."""
    assert read.colours
    labs = np.array([c.lab for c in read.colours])
    return [float(delta_e_2000(studio.true_lab(studio.chart()[name]), labs).min()) for name in names]


def errors(studio: Any, lamp: str) -> list[float]:
    found: list[float] = []
    for number, names in enumerate(_TRIOS):
        bodies = [studio.chart()[name] for name in names]
        scene = studio.plate(bodies, studio.lamps[lamp].illuminant, number + 1)
        found += far(studio, read_photo(studio.developed(scene, studio.lamps[lamp], number)), names)
    return found


@pytest.fixture(scope="session")
def by_lamp(studio: Any) -> dict[str, list[float]]:
    """CIEDE2000 of twelve colours under each lamp, white paper in every picture."""
    return {lamp: errors(studio, lamp) for lamp in studio.lamps}


def test_with_white_paper_in_the_picture_the_median_is_within_four(by_lamp: dict[str, list[float]]) -> None:
    """Warm, cool and dim light together; under a warm bulb alone it is 4.1, for a bulb lacks blue."""
    assert np.median([far for found in by_lamp.values() for far in found]) <= 4.0
    assert all(np.median(found) <= 5.0 for found in by_lamp.values()), by_lamp


def test_dim_light_makes_it_less_sure(studio: Any) -> None:
    bodies = [studio.chart()[name] for name in _TRIOS[0]]
    scene = studio.plate(bodies, "D65")
    bright, dim = (read_photo(studio.developed(scene, studio.lamps[lamp])) for lamp in ("daylight", "dim"))
    assert dim.sureness < bright.sureness
    black = studio.developed(scene * 0.2, studio.lamps["dim"])
    assert any("dark" in line for line in read_photo(black).warnings)


def test_shares_follow_the_beads(studio: Any) -> None:
    names = ("red", "red", "red", "blue")
    read = read_photo(
        studio.developed(
            studio.plate([studio.chart()[n] for n in names], "D65", count=48), studio.lamps["daylight"]
        )
    )
    labs = np.array([c.lab for c in read.colours])
    reds = delta_e_2000(studio.true_lab(studio.chart()["red"]), labs) < delta_e_2000(
        studio.true_lab(studio.chart()["blue"]), labs
    )
    share = sum(c.share for c, red in zip(read.colours, reds, strict=True) if red)
    assert share == pytest.approx(0.75, abs=0.12)
    assert sum(c.share for c in read.colours) == pytest.approx(1)


def test_the_same_picture_gives_the_same_answer(studio: Any) -> None:
    photo = studio.developed(studio.plate([studio.chart()["green"]], "D65"), studio.lamps["daylight"])
    assert read_photo(photo) == read_photo(photo.copy())


def test_paper_alone_has_no_colours_and_is_not_sure(studio: Any) -> None:
    empty = np.broadcast_to(studio.xyz_under("D65", np.full(31, studio.paper)), (200, 200, 3))
    assert read_photo(studio.developed(empty, studio.lamps["daylight"])).sureness <= 0.6


@pytest.mark.parametrize("shape", [(10, 200, 3), (200, 200), (200, 200, 4)])
def test_what_is_no_photo_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(InvalidValue) as caught:
        read_photo(np.zeros(shape, np.uint8))
    assert caught.value.problems[0].field == "photo"


def test_a_rectangle_beyond_the_picture_is_refused() -> None:
    with pytest.raises(InvalidValue) as caught:
        read_photo(np.zeros((100, 100, 3), np.uint8), (90, 90, 50, 50))
    assert caught.value.problems[0].field == "white"
