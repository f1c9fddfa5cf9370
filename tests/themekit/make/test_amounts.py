"""Amounts as people write them, against published units, and whatever else may stand in a cell.

NIST Handbook 44 (Appendix C, General Tables of Units of Measurement): 1 avoirdupois pound =
453.592 37 g exactly, 1 avoirdupois ounce = 28.349 523 125 g exactly, 1 gallon = 231 cubic
inches, 1 gallon = 16 cups = 256 tablespoons = 768 teaspoons. NIST SP 811, Appendix B.8:
cup (U.S.) 2.365 882 E-04 m³, tablespoon 1.478 676 E-05 m³, teaspoon 4.928 922 E-06 m³, ounce (avoirdupois)
2.834 952 E-02 kg, inch 2.54 E-02 m. The figures are written from memory of these tables.
"""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.amounts import (
    Jarful,
    density,
    figure,
    grams,
    measured,
    millimetres,
    per_kg,
    pieces,
    price,
    unit_of,
)

LB, OZ = Fraction("453.59237"), Fraction("28.349523125")
#: Of water-like stuff, so that millilitres can be read off as grams.
ONE = Jarful(1.0, 200.0)
JAR = Jarful(0.85, 240.0)


@pytest.mark.parametrize(
    ("text", "exact"),
    [
        ("1 lb", LB), ("1 oz", OZ), ("1 lb 4 oz", LB + 4 * OZ), ("2 lbs", 2 * LB), ("8oz.", 8 * OZ),
        ("2 x 8 oz", 16 * OZ), ("1/2 lb", LB / 2), ("1½ lb", LB * Fraction(3, 2)), ("0,5 kg", Fraction(500)),
        ("16 ounces", LB), ("half a pound", LB / 2), ("250", Fraction(250)), ("about 250 g", Fraction(250)),
    ],
)  # fmt: skip
def test_masses_are_those_of_handbook_44(text: str, exact: Fraction) -> None:
    assert grams(text) == pytest.approx(float(exact), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "ml"),
    [("1 cup", 236.5882), ("1 tbsp", 14.78676), ("1 tsp", 4.928922), ("3 tablespoons", 44.36028),
     ("16 tbsp", 236.5882)],
)  # fmt: skip
def test_spoons_and_cups_are_those_of_sp_811(text: str, ml: float) -> None:
    assert grams(text, ONE) == pytest.approx(ml, rel=1e-6)
    assert grams(text, Jarful(0.5)) == pytest.approx(ml / 2, rel=1e-6)


def test_spoons_are_whole_parts_of_the_gallon() -> None:
    gallon_ml = 231 * Fraction("2.54") ** 3
    for unit, parts in (("cup", 16), ("tbsp", 256), ("tsp", 768), ("fl oz", 128)):
        assert grams(f"{parts} {unit}", ONE) == pytest.approx(float(gallon_ml), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("half a jar", 0.5), ("½ jar", 0.5), ("3/4 full", 0.75), ("75 %", 0.75), ("75% full", 0.75), ("full", 1),
        ("a full jar", 1), ("empty", 0), ("none left", 0), ("three quarters", 0.75), ("two-thirds full", 2 / 3),
        ("a quarter jar", 0.25), ("2 jars and a half", 2.5), ("1 1/2 jars", 1.5), ("2 tubs", 2),
        ("half full", 0.5), ("Half A Jar left", 0.5),
    ],
)  # fmt: skip
def test_parts_of_a_jar(text: str, share: float) -> None:
    assert grams(text, JAR) == pytest.approx(240 * share)
    if share:
        with pytest.raises(InvalidValue) as caught:
            grams(text)
        assert "full_g" in caught.value.problems[0].hint


def test_jars_that_hold_something_told() -> None:
    assert grams("2 jars of 8 oz") == pytest.approx(float(16 * OZ))
    assert grams("1 jar + 20 g", JAR) == pytest.approx(260)


@pytest.mark.parametrize(
    ("text", "ounces"),
    [
        ("half a 4 oz jar", 2), ("half of an 8 oz jar", 4), ("3/4 of a 4 oz jar", 3), ("75% of 8 oz", 6),
        ("half of 8 oz", 4), ("half of a four ounce jar", 2), ("bought 8 oz, half left", 4),
        ("8 oz, half left", 4),
        ("8 oz (about 3/4 full)", 6), ("8 oz, 25% used", 6), ("bought 8 oz, used up", None), ("8 oz, all gone", 0),
        ("Bought: 8 oz, 3 oz left", 3), ("8 oz, 3 oz used", 5), ("8 oz - none left", 0),
        ("1 lb, 4 oz, half left", 10),
    ],
)  # fmt: skip
def test_what_is_left_of_what_there_was(text: str, ounces: float | None) -> None:
    if ounces is None:
        with pytest.raises(InvalidValue):
            grams(text, JAR)
    else:
        assert grams(text, JAR) == pytest.approx(float(ounces * OZ))


def test_what_is_left_of_one_jar() -> None:
    assert grams("one jar, half left", JAR) == pytest.approx(120)


@pytest.mark.parametrize(
    "text",
    ["2 jars, half full", "2 x 8 oz, half left", "8 oz, 3 oz left", "8 oz, half", "had 8 oz, 9 oz left",
     "8 oz, 2 left"],
)  # fmt: skip
def test_what_may_be_a_part_of_one_thing_or_another_is_refused(text: str) -> None:
    with pytest.raises(InvalidValue) as caught:
        grams(text, JAR)
    assert (caught.value.problems[0].got, bool(caught.value.problems[0].hint)) == (text, True)


@pytest.mark.parametrize(
    ("text", "unit", "wanted"), [("8", "oz", 8 * OZ), ("1/2", "lb", LB / 2), ("0.5", "jar", 120), ("75", "%", 180)]
)
def test_a_bare_figure_has_the_unit_of_its_column(text: str, unit: str, wanted: float) -> None:
    assert grams(text, JAR, unit) == pytest.approx(float(wanted))


@pytest.mark.parametrize(
    "text",
    [
        "1,250 g", "1/2", "3-4 tbsp", "nearly empty", "a dab", "-5 g", "1/0 jar", "", " ", "8 oz 3", "5 m", "g",
        "2 jars of 8", "٣ g", "²", "1e999", "3 1/2/2 oz", "9" * 90, "12 dozen", "NaN", "inf",
    ],
)  # fmt: skip
def test_what_is_doubtful_is_refused_and_shown(text: str) -> None:
    with pytest.raises(InvalidValue) as caught:
        grams(text, JAR)
    (problem,) = caught.value.problems
    assert problem.allowed
    assert problem.got == text[:200]


def test_spoons_ask_for_a_density() -> None:
    with pytest.raises(InvalidValue) as caught:
        grams("3 tbsp")
    assert "density" in caught.value.problems[0].hint


@pytest.mark.parametrize(
    ("text", "mm"), [("3 in", 76.2), ('3 1/2"', 88.9), ("7.5cm", 75), ("75", 75), ("½ inch", 12.7), ("80 mm", 80)]
)
def test_lengths(text: str, mm: float) -> None:
    assert millimetres(text) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "count"), [("12", 12), ("12 pcs", 12), ("2 dozen", 24), ("a dozen", 12), ("none", 0)]
)
def test_counts(text: str, count: float) -> None:
    assert pieces(text) == count


@pytest.mark.parametrize(
    ("text", "unit", "wanted"),
    [("2 kg", "g", 2000), ("1.5 l", "ml", 1500), ("3", "piece", 3), ("250 cm", "m", 2.5)],
)
def test_amounts_in_a_supplys_own_unit(text: str, unit: str, wanted: float) -> None:
    assert measured(text, unit) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("text", "unit", "wanted"),
    [("0.85", "g/ml", 0.85), ("0,85 g/ml", "g/ml", 0.85), ("14.78676478 g per tbsp", "g/ml", 1),
     ("12", "g/tbsp", 0.8115)],
)  # fmt: skip
def test_densities(text: str, unit: str, wanted: float) -> None:
    assert density(text, unit) == pytest.approx(wanted, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "currency", "kilo"),
    [
        ("$12.50", None, 12.5), ("12,50 €", "EUR", 12.5), ("EUR 12", "EUR", 12), ("£3 per 100g", "GBP", 30),
        ("5/lb", None, 5 * 1000 / 453.59237), ("$4.99 / 8 oz", None, 4.99 / (8 * 28.349523125) * 1000),
        ("$4.99 for 3.8 oz", None, 4.99 / (3.8 * 28.349523125) * 1000), ("4.99 per 100g", None, 49.9),
        ("4 oz for $5", None, 5 / (4 * 28.349523125) * 1000), ("€5 (100 g)", "EUR", 50), ("$6 a jar", None, 25),
        ("$4.99/3.8oz", None, 4.99 / (3.8 * 28.349523125) * 1000), ("$5 for a 100 g jar", None, 50),
        ("4.99 a kg", None, 4.99), ("$6 per jar", None, 25), ("12.50 USD", "USD", 12.5),
    ],
)  # fmt: skip
def test_prices(text: str, currency: str | None, kilo: float) -> None:
    paid = price(text)
    assert paid.currency == currency
    assert per_kg(paid, JAR) == pytest.approx(kilo)


@pytest.mark.parametrize(
    "text", ["5 lb", "$1,250", "cheap", "$", "-3", "5 per", "5 / 0 kg", "3 per spoon", "2 for $5"]
)
def test_prices_that_say_too_little(text: str) -> None:
    with pytest.raises(InvalidValue):
        price(text)


_UNITS = st.sampled_from(["g", "kg", "oz", "lb", "ml", "tsp", "tbsp", "cup", "jars"])
_WORDS = st.sampled_from(
    "1 2 1/2 ½ , . / x - + ( ) % half a jar full of oz lb tbsp about two each 8 per $ € in dozen left".split()
)


@given(
    st.one_of(
        st.text(max_size=90), st.lists(_WORDS, max_size=9).map(" ".join), st.lists(_WORDS, max_size=9).map("".join)
    )
)
def test_no_text_raises_anything_else(text: str) -> None:
    """Every reader gives a finite number of at least 0, or `InvalidValue`."""
    readers = (
        figure, lambda t: grams(t, JAR), grams, millimetres, pieces, density, lambda t: price(t).amount,
        lambda t: measured(t, "g"), lambda t: measured(t, "m"), lambda t: per_kg(price(t), JAR),
    )  # fmt: skip
    for read in readers:
        with suppress(InvalidValue):
            assert 0 <= read(text) < float("inf")
    unit_of(text)


@given(st.integers(0, 10**6), _UNITS, st.integers(0, 10**6), _UNITS)
def test_a_sum_is_the_sum_of_its_parts(one: int, unit: str, other: int, second: str) -> None:
    total = grams(f"{one} {unit} + {other} {second}", JAR)
    assert total == pytest.approx(grams(f"{one} {unit}", JAR) + grams(f"{other} {second}", JAR))
