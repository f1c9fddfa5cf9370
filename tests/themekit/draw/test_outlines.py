"""Outlines: whole and simple, in their box, with the area that shapely measures."""

from __future__ import annotations

import csv
import re
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import Polygon

from themekit.draw.outlines import names, outline, outline_for, outline_of
from themekit.draw.trace import area_of, closed, nodes, opened, sampled
from themekit.values import Cutter

NUMBER = r"-?\d+(?:\.\d+)?"


def polygon_of(path: str, steps: int = 60) -> Polygon:
    """The path as a polygon, read and cut up here by de Casteljau's rule, apart from the code under test."""
    found: list[np.ndarray] = []
    for command, text in re.findall(r"([MLC])([^MLCZ]*)", path):
        numbers = np.array([float(n) for n in re.findall(NUMBER, text)]).reshape(-1, 2)
        if command != "C":
            found.append(numbers[0])
            continue
        points = [found[-1], *numbers]
        for t in np.linspace(0, 1, steps)[1:]:
            row = points
            while len(row) > 1:
                row = [(1 - t) * a + t * b for a, b in pairwise(row)]
            found.append(row[0])
    return Polygon(found)


def demo_cutters() -> list[Cutter]:
    text = files("catalog").joinpath("demo", "cutters.csv").read_text(encoding="utf-8")
    return [
        Cutter(i, row["name"], tuple(m for m in row["motifs"].split("|") if m))
        for i, row in enumerate(csv.DictReader(text.splitlines()), 1)
    ]


def test_there_are_at_least_sixty_outlines_and_no_two_alike():
    paths = {outline(name).path for name in names()}
    # The plain ball and the doughnut cut the same circle.
    assert len(names()) >= 60
    assert len(paths) >= len(names()) - 2


@pytest.mark.parametrize("name", names())
def test_outline_is_one_simple_piece_in_its_box_with_the_area_shapely_measures(name):
    found = outline(name)
    assert re.fullmatch(rf"M{NUMBER} {NUMBER}(?:[LC][-\d. ]+)*Z", found.path)
    polygon = polygon_of(found.path)
    assert polygon.is_valid
    left, top, right, bottom = polygon.bounds
    width, height = right - left, bottom - top
    assert max(width, height) == pytest.approx(100, abs=0.15)
    assert min(left, top) == pytest.approx(0, abs=0.1)
    assert (left + right, top + bottom) == pytest.approx((100, 100), abs=0.2)
    assert found.area_share == pytest.approx(polygon.area / (width * height), rel=0.005)
    assert found.aspect == pytest.approx(width / height, rel=0.005)


def test_known_areas():
    """Circle π/4, heart and square by plain geometry."""
    assert outline("circle").area_share == pytest.approx(np.pi / 4, rel=0.001)
    assert outline("square").area_share == pytest.approx(1)
    assert outline("triangle").area_share == pytest.approx(0.5, rel=0.001)
    # A regular hexagon across its flats and corners fills 3/4 of its box.
    assert outline("hexagon").area_share == pytest.approx(0.75, rel=0.001)


def test_three_points_of_a_circle_give_its_arc():
    points = sampled(closed(nodes("0,-10 10,0 0,10 -10,0")), 32)
    assert np.hypot(points[:, 0], points[:, 1]) == pytest.approx(10, abs=0.005)
    assert area_of(points) == pytest.approx(100 * np.pi, rel=0.003)
    assert opened(nodes("3,4")) == [((3, 4), (3.1, 4))]


@pytest.mark.parametrize("cutter", demo_cutters(), ids=lambda c: c.name)
def test_every_cutter_of_the_demo_shelf_has_an_outline(cutter):
    assert outline_of(cutter) is not None


@pytest.mark.parametrize(
    ("name", "motifs", "drawing"),
    [
        ("scalloped round", ("circle",), "scalloped round"),
        ("autumn no. 3", ("leaf", "maple leaf"), "maple leaf"),
        ("big one", ("animal", "Kitten"), "cat"),
        ("Large OWLS", (), "owl"),
        ("circle, 75 mm", (), "circle"),
        ("grandfather's dog bone", (), "bone"),
        ("Star of David", (), "star of six points"),
        ("mini hearts", (), "heart"),
        ("robots", ("robot",), "robot"),
        ("thing", ("gizmo",), None),
        ("", (), None),
    ],
)
def test_outline_is_found_by_words(name, motifs, drawing):
    found = outline_of(Cutter(1, name, motifs))
    assert (found and found.name) == drawing


def test_outline_for_words_alone():
    assert outline_for(["nothing such", "stars"]).name == "star"
    assert outline_for([]) is None
