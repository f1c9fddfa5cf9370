"""A customer's sentence is read for kits, ages, needs and dates; the rest is the theme's."""

from __future__ import annotations

from typing import Any

import pytest

from catalog.lexicon import kinds, lexicon
from themekit.suggest.lookup import lookup_for
from themekit.suggest.request import SYNTHETIC, Request, read_request
from themekit.suggest.when import Day


def read(text: str) -> Request:
    return read_request(text, lookup_for(lexicon()), kinds())


def rest(request: Request) -> str:
    return " ".join(t.fold for t in request.rest if t.is_word)


@pytest.mark.parametrize(
    ("text", "field", "values"),
    [
        ("owls, 12 kits", "kits", [12]),
        ("twelve kits of owls", "kits", [12]),
        ("a dozen kits please", "kits", [12]),
        ("two dozen boxes", "kits", [24]),
        ("for twenty-four children", "kits", [24]),
        ("we are 30 kids", "kits", [30]),
        ("for 18 guests", "kits", [18]),
        ("one hundred kits", "kits", [100]),
        ("6 cookies each", "cookies", [6]),
        ("with ten cookies", "cookies", [10]),
        ("one child is three", "youngest_age", [3]),
        ("my son is 4", "youngest_age", [4]),
        ("she is turning 5", "youngest_age", [5]),
        ("for a two year old", "youngest_age", [2]),
        ("3-year-olds will eat them", "youngest_age", [3]),
        ("children aged 6 to 9", "youngest_age", [6]),
        ("ages 3 and up", "youngest_age", [3]),
        ("there are toddlers", "youngest_age", [2]),
        ("no milk", "avoid_allergens", ["milk"]),
        ("without dairy", "avoid_allergens", ["milk"]),
        ("dairy-free", "avoid_allergens", ["milk"]),
        ("dairy free please", "avoid_allergens", ["milk"]),
        ("lactose intolerant", "avoid_allergens", ["milk"]),
        ("nut-free", "avoid_allergens", ["peanut", "tree nut"]),
        ("no nuts", "avoid_allergens", ["peanut", "tree nut"]),
        ("nut allergy", "avoid_allergens", ["peanut", "tree nut"]),
        ("allergic to peanuts", "avoid_allergens", ["peanut"]),
        ("he is allergic to eggs", "avoid_allergens", ["egg"]),
        ("she can't have soy", "avoid_allergens", ["soy"]),
        ("they cannot eat sesame", "avoid_allergens", ["sesame"]),
        ("free of wheat", "avoid_allergens", ["wheat"]),
        ("gluten free", "avoid_allergens", ["gluten", "wheat"]),
        ("my daughter is coeliac", "avoid_allergens", ["gluten", "wheat"]),
        ("no milk or eggs", "avoid_allergens", ["milk", "egg"]),
        ("no milk, no egg, no soya", "avoid_allergens", ["milk", "egg", "soy"]),
        ("no milk and nuts", "avoid_allergens", ["milk", "peanut", "tree nut"]),
        ("avoid almonds", "avoid_allergens", ["tree nut"]),
        ("vegan", "diet", ["vegan"]),
        ("all vegetarian", "diet", ["vegetarian"]),
        ("plant-based", "diet", ["vegan"]),
        ("plant based kit", "diet", ["vegan"]),
        ("no E129", "avoid_additives", ["E129"]),
        ("without red 40", "avoid_additives", ["E129"]),
        ("no tartrazine", "avoid_additives", ["E102"]),
        ("no titanium dioxide", "avoid_additives", ["E171"]),
        ("no carmine", "avoid_additives", ["E120"]),
        ("no artificial colours", "avoid_additives", list(SYNTHETIC)),
        ("no synthetic food dyes", "avoid_additives", list(SYNTHETIC)),
        ("no dyes", "avoid_additives", list(SYNTHETIC)),
        ("on 5 December", "date", [Day(12, 5)]),
        ("on the 5th of December", "date", [Day(12, 5)]),
        ("December 5th", "date", [Day(12, 5)]),
        ("by 14 Feb", "date", [Day(2, 14)]),
        ("before March 1", "date", [Day(3, 1)]),
        ("no skulls", "avoid_motifs", ["skull"]),
        ("without spiders", "avoid_motifs", ["spider"]),
        ("without dragées", "avoid_kinds", ["metallic dragées"]),
        ("no nonpareils", "avoid_kinds", ["nonpareils"]),
    ],
)
def test_what_is_said_is_read(text: str, field: str, values: list[Any]) -> None:
    request = read(text)
    found = request.values(field)
    if field == "avoid_kinds":
        # The kind's exact name is the table's; only that one of it was meant is fixed here.
        assert len(found) == 1
        assert values[0].split()[-1] in found[0]
    else:
        assert found == values
    assert not request.not_understood


@pytest.mark.parametrize(
    ("text", "colours"),
    [
        ("no red", ["red"]),
        ("without red or orange", ["red", "orange"]),
        ("no red and blue please", ["red", "blue"]),
        ("she hates pink", ["pink"]),
        ("everything except yellow", ["yellow"]),
    ],
)
def test_avoided_colours(text: str, colours: list[str]) -> None:
    assert [name for name, _ in read(text).values("avoid_colours")] == colours


def test_glitter_is_avoided_as_a_kind() -> None:
    kinds_avoided = read("without glitter").values("avoid_kinds")
    assert len(kinds_avoided) == 1
    assert "glitter" in kinds_avoided[0]


@pytest.mark.parametrize("text", ["4th of july", "fourth of july party", "5th of november"])
def test_a_holiday_with_a_number_stays_a_theme(text: str) -> None:
    request = read(text)
    assert not request.values("date")
    assert rest(request).startswith(text.split()[0])


@pytest.mark.parametrize("text", ["without flurbs", "no qzxv", "not the vrrk thing"])
def test_a_need_that_is_not_understood_is_listed(text: str) -> None:
    request = read(text)
    assert len(request.not_understood) == 1
    assert request.not_understood[0].split()[-1] in text
    assert not request.said


def test_and_after_an_allergen_does_not_swallow_the_theme() -> None:
    request = read("no milk and gold owls")
    assert request.values("avoid_allergens") == ["milk"]
    assert not request.values("avoid_colours")
    assert "gold owls" in rest(request)


def test_a_whole_message_is_taken_apart() -> None:
    request = read("Owl party on 5 December, twelve kits, no milk, one child is three, loves purple")
    told = {s.field: s.value for s in request.said}
    assert told == {"date": Day(12, 5), "kits": 12, "avoid_allergens": "milk", "youngest_age": 3}
    assert [t for t in rest(request).split() if t in ("owl", "purple")] == ["owl", "purple"]
