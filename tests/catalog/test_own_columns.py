"""Titles of columns as people write them: what each is taken for, surely or by likeness, and its unit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.cells import COLUMNS
from catalog.own_columns import PRICE_OF_FULL, choice_problems, fields_of_sheet, match


def taken(what: str, *titles: str) -> list[tuple[str | None, str | None]]:
    return [(c.field, c.unit) for c in match(titles, what)]


@pytest.mark.parametrize("what", COLUMNS)
def test_our_own_names_are_themselves(what: str) -> None:
    columns = match(COLUMNS[what], what)
    assert [(c.field, c.how) for c in columns] == [(name, "our name") for name in COLUMNS[what]]
    assert not any(c.proposed for c in columns)


@pytest.mark.parametrize(
    ("what", "title", "field", "unit"),
    [
        ("jars", "Sprinkle", "name", None), ("jars", "Amt left (oz)", "on_hand_g", "oz"),
        ("jars", "Grams left", "on_hand_g", "g"), ("jars", "Stock in grams", "on_hand_g", "g"),
        ("jars", "oz", "on_hand_g", "oz"), ("jars", "How full (%)", "on_hand_g", "%"),
        ("jars", "Jars left", "on_hand_g", "jar"), ("jars", "BBD", "best_before", None),
        ("jars", "Exp. date", "best_before", None), ("jars", "expiraton", "best_before", None),
        ("jars", "Price/lb", "price_per_kg", "1 lb"), ("jars", "Cost per 100 g", "price_per_kg", "100 g"),
        ("jars", "Price (€)", PRICE_OF_FULL, None), ("jars", "Price per jar", PRICE_OF_FULL, "1 jar"),
        ("jars", "g per tbsp", "density_g_per_ml", "g/tbsp"), ("jars", "Net wt, oz", "full_g", "oz"),
        ("jars", "Allergans", "allergens", None), ("jars", "Lot #", "lot", None),
        ("jars", "bestBefore", "best_before", None), ("jars", "Colour(s)", "colours", None),
        ("cutters", "Width (in)", "width_mm", "in"), ("cutters", "Height in", "height_mm", "in"),
        ("cutters", "thicknes mm", "thickness_mm", "mm"), ("cutters", "Fragile?", "thin_parts", None),
        ("gels", "Hex", "swatch", None), ("boxes", "L (cm)", "length_mm", "cm"),
        ("boxes", "How many", "on_hand", None),
        ("supplies", "Ingredient", "name", None), ("themes", "Occasion", "name", None),
    ],
)  # fmt: skip
def test_usual_titles_are_known(what: str, title: str, field: str, unit: str | None) -> None:
    assert taken(what, title) == [(field, unit)]
    assert match([title], what)[0].proposed


@pytest.mark.parametrize("title", ["Notes", "Where it stands", "Bought from", "Rating", "Farbe", "☆", "123", "."])
def test_what_is_like_nothing_is_left_out(title: str) -> None:
    (column,) = match([title], "jars")
    assert (column.field, column.how) == (None, "left out")
    assert column.proposed


def test_no_field_is_taken_twice() -> None:
    columns = match(["Stock", "On hand", "Amount", "on_hand_g"], "jars")
    assert [c.field for c in columns] == [None, None, None, "on_hand_g"]


def test_of_several_fields_that_are_alike_the_likeliest_is_taken() -> None:
    (column,) = match(["weight of full jar"], "jars")
    assert (column.field, column.how) == ("full_g", "likeness")


def test_a_choice_overrules_and_may_name_a_unit() -> None:
    columns = match(["Amount", "Notes", "Type"], "jars", {"AMOUNT": "full_g lb", "notes": "lot", "type": ""})
    assert [(c.field, c.unit, c.how) for c in columns] == [
        ("full_g", "lb", "chosen"), ("lot", None, "chosen"), (None, None, "chosen"),
    ]  # fmt: skip
    assert not any(c.proposed for c in columns)


def test_wrong_choices_are_told_at_once() -> None:
    chosen = {"a": "colour", "b": "on_hand_g stone", "c": "lot", "d": "lot", "elsewhere": "nonsense"}
    problems = choice_problems("list, row 1", ["a", "b", "c", "d"], "jars", chosen)
    assert [p.got for p in problems] == ["colour", "stone", "lot"]


@given(st.lists(st.text(max_size=40), max_size=8), st.sampled_from(sorted(COLUMNS)))
def test_any_titles_are_matched_or_left_out(titles: list[str], what: str) -> None:
    columns = match(titles, what)
    assert [c.title for c in columns] == titles
    found = [c.field for c in columns if c.field]
    assert len(set(found)) == len(found)
    assert set(found) <= set(fields_of_sheet(what))
