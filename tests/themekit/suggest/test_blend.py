"""Blends: the declared aim tried on the whole grid again, and properties that need no constants.

The aim is the docstring's: the blend's mean colour near the theme's (a difference of 20 counts
1), the grains near half fine, a third middle and the rest showpiece (each unit away counts 1.2).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from themekit.colour.space import hex_to_lab
from themekit.suggest.blend import grams_per_kit, shares
from themekit.values import Jar, Texture

Make = Callable[..., Jar]
pytestmark = pytest.mark.filterwarnings("ignore::Warning")  # colour-science tells what it lacks
GRID = [(i, j, 20 - i - j) for i in range(2, 17) for j in range(2, 17) if 20 - i - j >= 2]


def mean_of(jar: Jar) -> list[float]:
    return [sum(c.share * c.lab[axis] for c in jar.colours) for axis in range(3)]


def blend_of(jars: Sequence[Jar], split: Sequence[float]) -> list[float]:
    return [sum(s * mean_of(j)[axis] for s, j in zip(split, jars, strict=True)) for axis in range(3)]


def differ(one: Sequence[float], two: Sequence[float]) -> float:
    from colour.difference import delta_E_CIE2000

    return float(delta_E_CIE2000(np.array(one), np.array(two)))


def aim(jars: Sequence[Jar], split: Sequence[float], theme: Sequence[float] | None) -> float:
    """What the declared aim costs; the lower the better."""
    fine_first = sorted(range(3), key=lambda i: jars[i].texture.grain_mm or 2.5)
    wished = dict(zip(fine_first, (0.50, 0.32, 0.18), strict=True))
    cost = 1.2 * sum(abs(split[i] - wished[i]) for i in range(3))
    return cost if theme is None else cost + differ(blend_of(jars, split), theme) / 20


def draw_jars(jar: Make, seed: int) -> list[Jar]:
    draw = np.random.default_rng(seed)
    made = []
    for number in range(3):
        colours = ["#" + bytes(c).hex() for c in draw.integers(0, 256, (int(draw.integers(1, 4)), 3)).tolist()]
        size = float(draw.choice([0.7, 1.5, 4.0, 6.0, 8.0, 11.0])) + 0.01 * number
        made.append(jar(number, *colours, texture=Texture("sphere", size)))
    return made


@pytest.mark.parametrize("seed", range(40))
def test_no_split_of_the_grid_does_better(jar: Make, seed: int) -> None:
    jars = draw_jars(jar, seed)
    draw = np.random.default_rng(1000 + seed)
    anchors = hex_to_lab(["#" + bytes(c).hex() for c in draw.integers(0, 256, (3, 3)).tolist()])
    weights = np.array([0.5, 0.3, 0.2])
    theme = (weights @ anchors).tolist()
    chosen = shares(jars, anchors, weights)
    assert tuple(round(20 * s) for s in chosen) in GRID
    assert sum(chosen) == pytest.approx(1)
    least = min(aim(jars, [s / 20 for s in split], theme) for split in GRID)
    assert aim(jars, chosen, theme) == pytest.approx(least, abs=1e-4)


@pytest.mark.parametrize("seed", range(40))
def test_the_blend_lies_nearer_the_theme_than_its_grains_alone_would(jar: Make, seed: int) -> None:
    """Of two-coloured themes. No constant of the aim is used: colour never makes a blend worse in colour."""
    jars = draw_jars(jar, seed)
    anchors = np.array([mean_of(jars[0]), mean_of(jars[1])])
    by_grain = shares(jars, np.zeros((0, 3)), np.zeros(0))
    for first in (0.2, 0.5, 0.8):
        theme = (first * anchors[0] + (1 - first) * anchors[1]).tolist()
        by_theme = shares(jars, anchors, np.array([first, 1 - first]))
        assert differ(blend_of(jars, by_theme), theme) <= differ(blend_of(jars, by_grain), theme) + 1e-6


def test_of_equal_grains_the_blend_comes_nearer_the_theme_than_equal_shares(jar: Make) -> None:
    """Two anchors, a jar of each and one far off: the stranger gets the least there is."""
    nearer = 0
    for seed in range(30):
        draw = np.random.default_rng(seed)
        hue = float(draw.uniform(0, 2 * math.pi))
        labs = [(60.0, 45 * math.cos(hue + turn), 45 * math.sin(hue + turn)) for turn in (0.0, 0.5, math.pi)]
        jars = [
            replace(j, colours=(replace(j.colours[0], lab=lab),))
            for j, lab in zip((jar(i, texture=Texture("sphere", 3.0)) for i in range(3)), labs, strict=True)
        ]
        anchors = np.array(labs[:2])
        theme = anchors.mean(axis=0).tolist()
        chosen = shares(jars, anchors, np.array([0.5, 0.5]))
        assert chosen[2] == min(chosen)
        nearer += differ(blend_of(jars, chosen), theme) < differ(blend_of(jars, (1 / 3, 1 / 3, 1 / 3)), theme)
    assert nearer == 30


@pytest.mark.parametrize("order", list(itertools.permutations(range(3))))
def test_without_a_theme_the_finest_is_the_ground(jar: Make, order: tuple[int, ...]) -> None:
    """Half fine, a third middle, the rest showpiece in steps of a twentieth, wherever the jars stand."""
    sizes = (1.0, 4.0, 9.0)
    jars = [jar(i, texture=Texture("sphere", sizes[i])) for i in order]
    chosen = shares(jars, np.zeros((0, 3)), np.zeros(0))
    assert [chosen[order.index(i)] for i in range(3)] == pytest.approx([0.50, 0.30, 0.20])


def test_glitter_is_the_accent_however_fine(jar: Make) -> None:
    jars = [
        jar(1, kind="edible glitter flakes", texture=Texture("flake", 0.5)),
        jar(2, texture=Texture("sphere", 1.5)),
        jar(3, texture=Texture("sphere", 8.0)),
    ]
    chosen = shares(jars, np.zeros((0, 3)), np.zeros(0))
    assert chosen[0] == min(chosen) < chosen[2] < chosen[1]


def test_grams_of_a_share(jar: Make) -> None:
    """Three US tablespoons of 14.787 mL a kit (NIST): the exact gallon of 231 cubic inches over 256."""
    spoon_ml = 231 * 2.54**3 / 256
    assert grams_per_kit(jar(1, density_g_per_ml=0.9), 0.5) == pytest.approx(3 * 0.5 * 0.9 * spoon_ml)
    assert grams_per_kit(jar(1, density_g_per_ml=None), 0.5) is None
