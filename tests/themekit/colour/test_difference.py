"""CIEDE2000 against the published table and against colour-science."""

import csv
from itertools import permutations
from pathlib import Path

import colour
import numpy as np
import pytest

from themekit.colour.difference import delta_e_76, delta_e_2000, palette_distance
from themekit.colour.space import rgb_to_xyz, xyz_to_lab

REFERENCE = Path(__file__).parents[2] / "reference"


def sharma_pairs():
    """Sharma, Wu and Dalal (2005), Table 1; see ciede2000.source.txt."""
    with (REFERENCE / "ciede2000.csv").open() as file:
        return [
            (
                int(row["pair"]),
                [float(row[c]) for c in ("L1", "a1", "b1")],
                [float(row[c]) for c in ("L2", "a2", "b2")],
                float(row["delta_e"]),
            )
            for row in csv.DictReader(file)
        ]


def random_labs(count, seed):
    """Colours that sRGB can show."""
    return xyz_to_lab(rgb_to_xyz(np.random.default_rng(seed).random((count, 3))))


def test_the_table_is_whole():
    assert [pair for pair, *_ in sharma_pairs()] == list(range(1, 35))


@pytest.mark.parametrize(("pair", "lab1", "lab2", "expected"), sharma_pairs())
def test_published_pairs_to_four_decimals(pair, lab1, lab2, expected):
    assert delta_e_2000(lab1, lab2) == pytest.approx(expected, abs=5.1e-5)
    assert delta_e_2000(lab2, lab1) == pytest.approx(expected, abs=5.1e-5)


def test_the_table_agrees_with_the_copy_that_colour_science_carries():
    """Every number of our file but pair 14's result stands in their source, in this order."""
    source = Path(colour.__file__).with_name("difference") / "tests" / "test_delta_e.py"
    source = source.read_text(encoding="utf-8")
    source = source[source.index("Lab_1 = np.array(", source.index("_Sharma2004")) :]
    at = 0
    for side in (1, 2):
        for pair in sharma_pairs():
            row = "[" + ", ".join(f"{v:.4f}" for v in pair[side]) + "]"
            at = source.index(row, at) + len(row)
    for *_, expected in sharma_pairs():
        at = source.index(f"{expected:.4f},", at) + 1


def test_hues_exactly_opposite_take_the_published_branch():
    """Pair 14, nudged by less than rounding either way, keeps its published value."""
    pair = sharma_pairs()[13]
    for nudge in (-1e-15, 0, 1e-15):
        lab1 = np.add(pair[1], [0, nudge, 0])
        assert delta_e_2000(lab1, pair[2]) == pytest.approx(4.8045, abs=5.1e-5)


def test_ten_thousand_random_pairs_agree_with_colour_science():
    lab1, lab2 = random_labs(12_000, 1), random_labs(12_000, 2)
    ours = delta_e_2000(lab1, lab2)
    theirs = colour.difference.delta_E_CIE2000(lab1, lab2)
    np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-9)
    np.testing.assert_allclose(delta_e_76(lab1, lab2), colour.difference.delta_E_CIE1976(lab1, lab2), atol=1e-9)


def test_near_pairs_agree_with_colour_science():
    """Small differences, where the square root is most sensitive."""
    lab1 = random_labs(10_000, 3)
    lab2 = lab1 + np.random.default_rng(4).normal(0, 0.3, lab1.shape)
    theirs = colour.difference.delta_E_CIE2000(lab1, lab2)
    np.testing.assert_allclose(delta_e_2000(lab1, lab2), theirs, rtol=0, atol=1e-7)


def test_it_is_symmetric_zero_for_equals_and_broadcasts():
    lab1, lab2 = random_labs(500, 5), random_labs(500, 6)
    np.testing.assert_allclose(delta_e_2000(lab1, lab2), delta_e_2000(lab2, lab1), atol=1e-12)
    assert np.all(delta_e_2000(lab1, lab1) == 0)
    table = delta_e_2000(lab1[:7, None], lab2[None, :5])
    assert table.shape == (7, 5)
    assert table[3, 4] == delta_e_2000(lab1[3], lab2[4])


def test_palette_distance_is_that_of_the_best_matching():
    first = random_labs(3, 7)
    for order in permutations(range(3)):
        assert palette_distance(first, first[list(order)]) == 0
    second = np.add(first, [[10, 0, 0], [0, 0, 0], [0, 0, 0]])
    assert palette_distance(first, second) == pytest.approx(float(delta_e_2000(first[0], second[0])) / 3)
