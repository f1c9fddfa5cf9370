"""What is given and what the text says are joined: lists unite, the stricter wins, sources are kept."""

from __future__ import annotations

import pytest

from catalog.lexicon import lexicon
from themekit.errors import InvalidValue, ThemeNotUnderstood
from themekit.suggest.asked import Asked, ask, require_theme
from themekit.values import Needs, Shelf

EMPTY = Shelf(1, "empty")


def put(text: str, needs: Needs | None = None, kits: int | None = None, cookies: int | None = None) -> Asked:
    return ask(text, EMPTY, lexicon(), needs, kits, cookies)


@pytest.mark.parametrize(("given", "age"), [(5, 3), (2, 2), (None, 3)])
def test_the_lowest_age_wins(given: int | None, age: int) -> None:
    assert put("owls, one child is three", Needs(youngest_age=given)).needs.youngest_age == age


@pytest.mark.parametrize(
    ("text", "given", "diet"),
    [
        ("vegan owls", "vegetarian", "vegan"),
        ("vegetarian owls", "vegan", "vegan"),
        ("owls", "vegetarian", "vegetarian"),
    ],
)
def test_the_strictest_diet_wins(text: str, given: str, diet: str) -> None:
    assert put(text, Needs(diet=given)).needs.diet == diet  # type: ignore[arg-type]


def test_lists_unite_and_tell_their_source() -> None:
    needs = put("owls, no milk, no red", Needs(avoid_allergens=("egg", "milk"), avoid_colours=("#00F",))).needs
    assert needs.avoid_allergens == ("egg", "milk")
    assert needs.avoid_colours[:2] == ("#0000ff", "#e50000")
    assert needs.sources["avoid_allergens: egg"] == "given"
    assert needs.sources["avoid_allergens: milk"] == "given"
    assert {needs.sources[f"avoid_colours: {c}"] for c in needs.avoid_colours[1:]} == {"no red"}


def test_numbers_given_win_over_the_text() -> None:
    said = put("owls, 12 kits, 6 cookies each")
    assert (said.kits, said.cookies) == (12, 6)
    given = put("owls, 12 kits, 6 cookies each", kits=3, cookies=9)
    assert (given.kits, given.cookies) == (3, 9)
    assert (put("owls").kits, put("owls").cookies) == (1, 8)


def test_everything_out_of_range_is_told_at_once() -> None:
    with pytest.raises(InvalidValue) as caught:
        put("o" * 2001, kits=0, cookies=101)
    assert [p.field for p in caught.value.problems] == ["theme", "kits", "cookies"]


def test_included_colours_are_theme_enough() -> None:
    asked = put("qzx", Needs(include_colours=("#2a9d8f",)))
    require_theme(asked)
    assert [a.source for a in asked.reading.anchors] == ["#2a9d8f"]


def test_a_near_miss_is_offered() -> None:
    with pytest.raises(ThemeNotUnderstood) as caught:
        require_theme(put("hallowqueen"))
    assert "halloween" in caught.value.problems[0].hint


def test_words_of_needs_stand_as_they_were_written() -> None:
    asked = ask("owls for a 3-year-old, nut-free", Shelf(id=1, name="own"), lexicon())
    words = [u.words for u in asked.reading.understood if u.taken_as == "need"]
    assert words[0] == "3-year-old"
    assert "nut-free" in words
    assert "3-year-old" in asked.needs.sources.values()
