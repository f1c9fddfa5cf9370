"""Harmony against values worked from the published formulae and the papers' principles.

Values: formulae of Ou and Luo, Color Research and Application 31(3), 2006, 191–204
(doi:10.1002/col.20208), worked through by hand-checked independent programs to four
decimals; three colours: Ou, Chong, Luo and Minchew, same journal 36(5), 2011, 355–372
(doi:10.1002/col.20624).
"""

import math

import numpy as np
import pytest

from themekit.colour import harmony
from themekit.colour.space import lch_to_lab

# Lab 1, Lab 2, CH, HC, HLsum, HdL, HH, dC
PAIRS = [
    ((50, 0, 0), (50, 0, 0), 0.2514, 0.3919, -0.1267, -0.0046, -0.0093, 0),
    ((80, 0, 0), (30, 0, 0), 0.6298, 0.3919, -0.0429, 0.2900, -0.0093, 0),
    ((60, 40, 40), (60, 40, 40), 0.0232, 0.3919, 0.0748, -0.0046, -0.4389, 0),
    ((60, 40, 30), (60, -40, -30), -0.6183, -0.4894, 0.0748, -0.0046, -0.1992, 100),
    ((80, 5, 70), (35, 20, -50), -0.1214, -0.4899, 0.0117, 0.2900, 0.0667, 120.3474),
    ((85, -5, 60), (85, 5, 60), 1.1013, 0.2183, 0.7022, -0.0046, 0.1855, 10),
    ((70, 30, 10), (50, 30, 10), 0.2190, 0.3919, 0.0748, 0.2846, -0.5324, 0),
    ((70, -25, -20), (90, 10, -5), 0.4745, -0.3033, 0.6262, 0.2846, -0.1329, 34.9220),
    ((95, 0, 2), (55, 60, -10), 0.1970, -0.3960, 0.5166, 0.2900, -0.2136, 43.6672),
]
# three Labs, CH of pairs 12, 13, 23, and of all three
TRIPLES = [
    ((80, 5, 70), (35, 20, -50), (95, 0, 2), -0.1214, 0.6425, 0.1760, 0.2324),
    ((85, 10, 5), (75, 25, 5), (95, 2, 2), 0.4424, 0.8781, 0.7429, 0.6878),
    ((55, 60, 35), (55, -50, 30), (40, 20, -55), -0.8572, -0.6229, -0.4384, -0.6395),
]
HUES = np.arange(0, 360, 1.0)


def plain_harmony(lab1, lab2):
    """The formulae as printed, one pair, with hue angles: what the fast form must equal."""
    (L1, a1, b1), (L2, a2, b2) = lab1, lab2
    C1, C2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = math.degrees(math.atan2(b1, a1)) % 360, math.degrees(math.atan2(b2, a2)) % 360
    dH = 2 * math.sqrt(C1 * C2) * abs(math.sin(math.radians(h1 - h2) / 2))
    dC = math.sqrt(dH**2 + ((C1 - C2) / 1.46) ** 2)
    ch = 0.04 + 0.53 * math.tanh(0.8 - 0.045 * dC)
    ch += 0.28 + 0.54 * math.tanh(-3.88 + 0.029 * (L1 + L2))
    ch += 0.14 + 0.15 * math.tanh(-2 + 0.2 * abs(L1 - L2))
    for L, C, h in ((L1, C1, h1), (L2, C2, h2)):
        EC = 0.5 + 0.5 * math.tanh(-2 + 0.5 * C)
        HS = -0.08 - 0.14 * math.sin(math.radians(h + 50)) - 0.07 * math.sin(math.radians(2 * h + 90))
        x = (90 - h) / 10
        ch += EC * (HS + (0.22 * L - 12.8) / 10 * math.exp(x - math.exp(x)))
    return ch


def averaged_over_hue(first, second):
    """Mean harmony of (L, C, hue shift) and (L, C, hue shift) over the whole hue circle."""
    labs = [
        lch_to_lab(np.stack([np.full(360, L), np.full(360, C), (HUES + shift) % 360], axis=-1))
        for L, C, shift in (first, second)
    ]
    return float(harmony.harmony(*labs).mean())


@pytest.mark.parametrize("row", PAIRS)
def test_pairs_have_their_published_harmony_and_parts(row):
    found = harmony.parts(row[0], row[1])
    expected = row[2:]
    got = (found.CH, found.HC, found.HLsum, found.HdL, found.HH, found.dC)
    assert [float(x) for x in got] == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize("row", TRIPLES)
def test_three_colours_have_the_mean_of_their_pairs(row):
    one, two, third, ch12, ch13, ch23, ch3 = row
    pairs = [float(harmony.harmony(*p)) for p in ((one, two), (one, third), (two, third))]
    assert pairs == pytest.approx([ch12, ch13, ch23], abs=6e-5)
    assert float(harmony.three(one, two, third)) == pytest.approx(ch3, abs=6e-5)


def test_arrays_equal_the_printed_formulae_pair_by_pair():
    rng = np.random.default_rng(1)
    lab1, lab2 = (np.column_stack([rng.uniform(0, 100, 500), rng.uniform(-90, 90, (500, 2))]) for _ in range(2))
    expected = [plain_harmony(p, q) for p, q in zip(lab1, lab2, strict=True)]
    assert harmony.harmony(lab1, lab2) == pytest.approx(np.array(expected), abs=1e-12)


def test_order_of_the_two_colours_does_not_matter():
    rng = np.random.default_rng(2)
    lab = np.column_stack([rng.uniform(0, 100, 60), rng.uniform(-80, 80, (60, 2))])
    table = harmony.harmony(lab[:, None], lab[None])
    assert table.shape == (60, 60)
    assert table == pytest.approx(table.T, abs=1e-14)


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        # hue difference at L 70 and 60, C 40
        ([((70, 40, 0), (60, 40, d)) for d in (0, 10, 30, 60, 120, 180)],
         [0.6011, 0.4883, 0.1797, -0.1545, -0.2706, -0.2769]),
        # chroma difference at L 70 and 60, mean C 30
        ([((70, 30 + d / 2, 0), (60, 30 - d / 2, 0)) for d in (0, 10, 20, 40)],
         [0.6011, 0.4907, 0.3454, 0.0333]),
    ],
)  # fmt: skip
def test_harmony_falls_with_difference_of_hue_and_of_chroma(seconds, expected):
    got = [averaged_over_hue(*pair) for pair in seconds]
    assert got == sorted(got, reverse=True)
    assert got == pytest.approx(expected, abs=6e-5)


def test_harmony_rises_with_lightness_gap_and_sum():
    gaps = [averaged_over_hue((60 + d / 2, 40, 0), (60 - d / 2, 40, 0)) for d in (0, 5, 10, 20, 40)]
    sums = [averaged_over_hue((s / 2 + 5, 40, 0), (s / 2 - 5, 40, 0)) for s in (60, 100, 140, 180)]
    assert gaps == sorted(gaps)
    assert gaps == pytest.approx([0.3044, 0.3348, 0.4490, 0.5936, 0.5990], abs=6e-5)
    assert sums == sorted(sums)
    assert sums == pytest.approx([0.0922, 0.2353, 0.7625, 1.1615], abs=6e-5)


def test_hue_part_is_best_at_blue_and_worst_at_red_and_yellow_turns_at_l_58():
    # L of 12.8 / 0.22 leaves EY at 0, full chroma leaves EC at 1: HSY is then HS alone.
    level = 12.8 / 0.22
    assert level == pytest.approx(58.18, abs=0.005)
    hs = harmony.hsy(lch_to_lab(np.stack([np.full(360, level), np.full(360, 90.0), HUES], axis=-1)))
    assert HUES[hs.argmax()] == 253
    assert HUES[hs.argmin()] == 13
    assert [hs.max(), hs.min()] == pytest.approx([0.0954, -0.2677], abs=6e-5)
    light, dark = (
        harmony.hsy(lch_to_lab(np.stack([np.full(360, L), np.full(360, 90.0), HUES], axis=-1))) - hs
        for L in (level + 20, level - 20)
    )
    assert HUES[np.abs(light).argmax()] == 90
    assert light[90] > 0 > dark[90]


def test_scaled_maps_the_published_range_to_one_and_clips():
    got = harmony.scaled([-2.0, -1.24, 0.075, 1.39, 1.5])
    assert got == pytest.approx([0, 0, 0.5, 1, 1])
