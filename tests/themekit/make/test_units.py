"""Units against NIST, a reference library and each other; amounts read back from their text."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
import scipy.constants
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.units import (
    CUP_ML,
    FL_OZ_ML,
    INCH_MM,
    LB_G,
    OZ_G,
    TBSP_G,
    TBSP_ML,
    TSP_ML,
    UNITS,
    celsius,
    convert,
    length,
    mass,
    spoonfuls,
    spoons,
    temperature,
    volume,
)

steady = settings(derandomize=True, deadline=None, max_examples=300)
amounts = st.floats(0, 50_000, allow_nan=False)


def test_exact_factors() -> None:
    """NIST Handbook 44, Appendix C: inch 2.54 cm, pound 453.59237 g, gallon 231 cubic inches, all exact."""
    gallon = Fraction(231) * Fraction("2.54") ** 3
    assert gallon == Fraction("3785.411784")
    assert pytest.approx(float(gallon / 16), rel=1e-15) == CUP_ML
    assert pytest.approx(29.5735295625, rel=1e-15) == FL_OZ_ML
    assert pytest.approx(14.78676478125, rel=1e-15) == TBSP_ML
    assert pytest.approx(4.92892159375, rel=1e-15) == TSP_ML
    assert pytest.approx(28.349523125, rel=1e-15) == OZ_G
    assert LB_G == 453.59237


def test_factors_of_a_reference_library() -> None:
    """scipy.constants, in kg, m and m³."""
    assert scipy.constants.inch * 1000 == pytest.approx(INCH_MM, rel=1e-12)
    assert scipy.constants.pound * 1000 == pytest.approx(LB_G, rel=1e-12)
    assert scipy.constants.oz * 1000 == pytest.approx(OZ_G, rel=1e-12)
    assert scipy.constants.fluid_ounce * 1e6 == pytest.approx(FL_OZ_ML, rel=1e-12)
    assert scipy.constants.gallon * 1e6 == pytest.approx(16 * CUP_ML, rel=1e-12)


@pytest.mark.parametrize(("unit", "printed"), [("tsp", "4.9"), ("tbsp", "15"), ("fl oz", "30"), ("cup", "237")])
def test_kitchen_table(unit: str, printed: str) -> None:
    """NIST SP 430 as printed at nist.gov/pml/owm/metric-household, to the figures shown there."""
    places = len(printed.partition(".")[2])
    assert f"{convert(1, unit, 'ml'):.{places}f}" == printed


@pytest.mark.parametrize(
    ("many", "unit", "one"),
    [(3, "tsp", "tbsp"), (16, "tbsp", "cup"), (2, "tbsp", "fl oz"), (8, "fl oz", "cup"), (16, "oz", "lb")],
)
def test_kitchen_table_whole_numbers(many: int, unit: str, one: str) -> None:
    """NIST SP 430: these rows are exact."""
    assert convert(many, unit, one) == pytest.approx(1, rel=1e-14)


def test_label_units_are_a_set_of_their_own() -> None:
    """21 CFR 101.9(b)(5)(viii): teaspoon 5 mL, tablespoon 15, cup 240, fluid ounce 30, ounce 28 g."""
    wanted = {"label tsp": 5, "label tbsp": 15, "label cup": 240, "label fl oz": 30, "label oz": 28}
    assert {name: factor for name, (_, factor) in UNITS.items() if name.startswith("label")} == wanted
    assert convert(1, "label tsp", "tsp") == pytest.approx(1.0144, abs=5e-5)


def test_temperatures() -> None:
    """°C = (°F − 32) / 1.8: the four usual ovens."""
    assert [round(celsius(f), 1) for f in (325, 350, 375, 400)] == [162.8, 176.7, 190.6, 204.4]
    assert temperature(177) == "177 °C"
    assert [temperature(celsius(f), "US") for f in (325, 350, 375, 400)] == [
        "325 °F", "350 °F", "375 °F", "400 °F",
    ]  # fmt: skip


def test_cup_and_spoon_weights_agree_within_seven_percent() -> None:
    """USDA Release 28: a tablespoon of confectioners' sugar 8.0 g, of butter 14.2; a cup of egg white 243.

    The database's own cup and spoon rows differ by 6.5 % for the sugar, so nothing closer is asked.
    """
    assert TBSP_G["confectioners' sugar"] == pytest.approx(8.0, rel=0.07)
    assert TBSP_G["butter"] == pytest.approx(14.2, rel=0.07)
    assert TBSP_G["pasteurised egg white"] == pytest.approx(243 / 16, rel=0.07)
    # A gram of water in each mL at 4 °C; USDA Release 28 gives whole milk 244 g a cup (from memory).
    assert TBSP_G["water"] == pytest.approx(TBSP_ML, rel=0.01)
    assert TBSP_G["milk"] == pytest.approx(244 / 16, rel=0.07)


def test_spoonfuls() -> None:
    """The usual recipe's own pair: 3 tablespoons of meringue powder weigh about 30 g."""
    assert spoonfuls("meringue powder", 31.5) == "3 tbsp"
    assert spoonfuls("confectioners' sugar", 480) == "4 cups"
    assert spoonfuls("flour", 480) is None


@pytest.mark.parametrize(
    ("grams", "metric", "us"),
    [
        (340, "340 g", "12 oz"),
        (0, "0 g", "0 oz"),
        (0.002, "under 0.01 g", "under 1/4 oz"),
        (0.35, "0.35 g", "under 1/4 oz"),
        (7.5, "7.5 g", "1/4 oz"),
        (99.96, "100 g", "3 1/2 oz"),
        (453.59237, "454 g", "1 lb"),
        (453.0, "453 g", "1 lb"),
        (580, "580 g", "1 lb 4 1/2 oz"),
        (999.6, "1 kg", "2 lb 3 1/2 oz"),
        (1250, "1.25 kg", "2 lb 12 oz"),
        (12000, "12 kg", "26 lb 7 oz"),
    ],
)
def test_masses_as_written(grams: float, metric: str, us: str) -> None:
    assert mass(grams) == metric
    assert mass(grams, "US") == us


@pytest.mark.parametrize(
    ("tsp", "told"),
    [
        (0, "0 tsp"),
        (0.1, "under 1/4 tsp"),
        (0.25, "1/4 tsp"),
        (1.5, "1 1/2 tsp"),
        (2.9, "1 tbsp"),
        (6.5, "2 tbsp 1/2 tsp"),
        (11.9, "1/4 cup"),
        (48, "1 cup"),
        (63, "1 1/4 cups 1 tbsp"),
        (48 * 5.2, "5 1/4 cups"),
    ],
)
def test_spoons_as_written(tsp: float, told: str) -> None:
    assert spoons(tsp * TSP_ML) == told
    assert volume(tsp * TSP_ML, "US") == told


def test_lengths_and_metric_volumes_as_written() -> None:
    assert [length(v) for v in (76.2, 6.35, 0)] == ["76 mm", "6.4 mm", "0 mm"]
    assert [length(v, "US") for v in (76.2, 79.4, 25.4 / 4, 1, 0)] == [
        "3 in", "3 1/8 in", "1/4 in", "under 1/8 in", "0 in",
    ]  # fmt: skip
    assert volume(237) == "237 ml"


def read_back(text: str) -> float:
    """The base amount of a text such as "1 lb 4 1/2 oz", by the units named in it."""
    plain = text.replace("cups", "cup")
    total = 0.0
    for number, unit in re.findall(r"([0-9][0-9/. ]*) (kg|g|lb|oz|tsp|tbsp|cup|ml|l)\b", plain):
        total += float(sum(Fraction(part) for part in number.split())) * UNITS[unit][1]
    return total


@steady
@given(amounts)
def test_written_amounts_are_within_half_a_step(amount: float) -> None:
    tiny = 1e-9 * (1 + amount)
    us = read_back(mass(amount, "US").replace("under 1/4", "0"))
    step = OZ_G / 4 if amount < LB_G else OZ_G / 2 if amount < 10 * LB_G else OZ_G
    assert abs(us - amount) <= step / 2 + tiny
    metric = read_back(mass(amount).replace("under 0.01", "0"))
    step = 0.01 if amount < 0.995 else 0.1 if amount < 99.95 else 1 if amount < 999.5 else 10
    assert abs(metric - amount) <= step / 2 + tiny
    spoon = read_back(spoons(amount).replace("under 1/4", "0"))
    four_cups = 4 * CUP_ML - TBSP_ML / 2
    step = TSP_ML / 4 if amount < 11 / 4 * TSP_ML else TSP_ML / 2 if amount < 11.5 * TSP_ML else TBSP_ML
    step = step if amount < four_cups else CUP_ML / 4
    assert abs(spoon - amount) <= step / 2 + tiny


@steady
@given(amounts, st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_there_and_back(amount: float, unit: str, to: str) -> None:
    if UNITS[unit][0] != UNITS[to][0]:
        with pytest.raises(InvalidValue, match="density"):
            convert(amount, unit, to)
    else:
        assert convert(convert(amount, unit, to), to, unit) == pytest.approx(amount, rel=1e-12)


def test_what_cannot_be_converted() -> None:
    with pytest.raises(InvalidValue) as caught:
        convert(float("nan"), "stone", "pinch")
    assert [p.field for p in caught.value.problems] == ["unit", "to", "amount"]
    assert "tbsp" in caught.value.problems[0].allowed
    for told in (mass, volume, spoons, length):
        with pytest.raises(InvalidValue, match="0 or more"):
            told(-1)
