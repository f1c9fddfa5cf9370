"""Two kits told apart, and what another cutter does, on hand-made kits: every difference once, none invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from themekit.suggest.apart import Side, apart
from themekit.suggest.changes import cutter_change
from themekit.suggest.cutters import Chosen
from themekit.values import Cutter, Tint

TEAL, GOLD, RED = (
    Tint((52, -30, -8), "#1d8a8a", "teal", ()),
    Tint((72, 5, 60), "#d9a93b", "gold", ()),
    Tint((45, 60, 35), "#d7263d", "red", ()),
)
NAVY = Tint((15, 5, -30), "#101a40", "navy", ())
FIRST = Side(
    "the first", (TEAL, GOLD, RED), ("pearls", "sugar", "stars"), (("owl", 5), ("leaf", 3)), False,
    Decimal("6.06"), False, "EUR", 11, ("Contains milk.",),
)  # fmt: skip


def test_the_same_kit_has_no_differences() -> None:
    told = apart(FIRST, replace(FIRST, name="the second"))
    assert told == [
        "The same icing, toppings and cutters lie in both.",
        "Both cost 6.06 EUR a kit.",
        "What is on the shelf makes 11 of either.",
        "The same cautions go for both.",
    ]


def test_every_difference_is_told_once() -> None:
    other = replace(
        FIRST, name="the second", tints=(TEAL, GOLD, NAVY), jars=("pearls", "sugar", "chips"),
        cutters=(("owl", 4), ("moon", 3)), mixed=True, cost=Decimal("5.50"), at_least=True, makes=4,
        cautions=("Contains milk.", "Contains soy."),
    )  # fmt: skip
    assert apart(FIRST, other) == [
        "Both have teal and gold icing; only the first has red, the second navy.",
        "The second has the wider step from dark to light, so lines show better on it.",
        "Pearls and sugar in both; stars only in the first, chips only in the second.",
        "The second has its toppings as one mix, the first in three cups.",
        "Only the first has 3 leaf.",
        "Only the second has 3 moon.",
        "Owl: 5 in the first, 4 in the second.",
        "The first has 8 cookies, the second 7.",
        "The second costs 0.56 EUR less a kit: 5.50 EUR against 6.06 EUR, so far as prices are entered.",
        "What is on the shelf makes 11 of the first and 4 of the second.",
        "Take care only with the second: Contains soy.",
    ]


def test_what_is_not_known_is_said_to_be_unknown() -> None:
    told = apart(replace(FIRST, makes=None), replace(FIRST, name="the second"))
    assert "How many kits the jars make is not known of the first; the second makes 11." in told


def test_another_cutter_is_told_by_what_it_shows_its_size_and_its_thin_parts() -> None:
    owl = Chosen(Cutter(1, "owl", width_mm=80, height_mm=80), 4, "owl", 0.9)
    moon = Chosen(Cutter(2, "moon", width_mm=40, height_mm=50, thin_parts=True), 4, "", 0.1, "")
    assert cutter_change(owl, moon) == "says nothing of the theme, smaller, thin parts that may break"
    assert cutter_change(moon, owl) == "shows the theme’s owl, larger, no thin parts"
    assert cutter_change(owl, replace(owl, how="near")) == "near the theme’s owl"
