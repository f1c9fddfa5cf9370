"""Sentences of labels in a cell, as bakers copy them: what is in, what may be in, and what is asked.

The sentences are common practice (no source); all foods in them are of the laws' lists.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.composition import allergen
from catalog.lexicon import kinds
from catalog.own_allergens import of_either, parts
from catalog.own_cells import Reading, translated
from catalog.own_columns import match
from themekit.errors import InvalidValue, Problem

BOTH = [
    ("may contain wheat", [], ["wheat"]),
    ("May Contain: wheat.", [], ["wheat"]),
    ("contains milk; may contain nuts", ["milk"], ["nuts"]),
    ("Contains milk. May contain traces of nuts and soy.", ["milk"], ["nuts", "soy"]),
    ("milk, soy; may contain traces of wheat", ["milk", "soy"], ["wheat"]),
    ("milk and soy, may also contain egg, wheat", ["milk", "soy"], ["egg", "wheat"]),
    ("traces of soy", [], ["soy"]),
    ("contains traces of soy & milk", [], ["soy", "milk"]),
    ("Traces: soy", [], ["soy"]),
    ("soy traces, milk", ["milk"], ["soy"]),
    ("wheat (may contain), milk", ["milk"], ["wheat"]),
    ("milk (traces)", [], ["milk"]),
    ("milk\nmay contain egg", ["milk"], ["egg"]),
    ("milk - might contain small amounts of egg", ["milk"], ["egg"]),
    ("may contain egg; contains milk", ["milk"], ["egg"]),
    ("possible cross-contact with sesame", [], ["sesame"]),
    ("milk. Made in a facility that also handles peanuts and wheat", ["milk"], ["peanuts", "wheat"]),
    ("Manufactured on shared equipment with milk", [], ["milk"]),
    ("milk, packed on a line that uses nuts", ["milk"], ["nuts"]),
    ("milk|soy", ["milk", "soy"], []),
    ("tree nuts (almonds, pecans) / milk", ["tree nuts", "almonds", "pecans", "milk"], []),
    ("none; may contain nuts", [], ["nuts"]),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "contains", "may"), BOTH)
def test_what_may_be_in_it_is_kept_from_what_is(cell: str, contains: list[str], may: list[str]) -> None:
    found = parts(cell, "allergens")
    assert (found.get("allergens", []), found.get("may_contain", [])) == (contains, may)


def test_none_and_silence_differ() -> None:
    assert parts("none", "allergens") == {"allergens": []}
    assert parts("none; may contain nuts", "allergens")["allergens"] == []
    assert "allergens" not in parts("may contain wheat", "allergens")
    assert parts("", "allergens") == {}


def test_each_column_has_its_own_part() -> None:
    assert parts("wheat; nuts", "may_contain") == {"may_contain": ["wheat", "nuts"]}
    assert parts("contains milk, may contain egg", "may_contain") == {
        "allergens": ["milk"],
        "may_contain": ["egg"],
    }


@pytest.mark.parametrize(
    ("cell", "hint"),
    [
        *((cell, "free of an allergen") for cell in (
            "nut free", "nut-free", "dairy free", "gluten-free, contains milk", "free from nuts", "no nuts",
            "does not contain milk", "doesn’t contain milk", "contains no egg", "without soy", "non-dairy",
            "allergen free", "no known allergens", "none known", "made in a nut-free facility", "milk, not soy",
        )),
        ("may contain", "may contain"),
        ("contains: ", "contains"),
        ("wheat - may contain", "may contain"),
        ("contains milk; may contain nuts. soy", "before each part"),
        ("milk and soy traces", "before each part"),
        ("none, milk", "not both"),
    ],
)  # fmt: skip
def test_free_from_and_what_may_be_either_is_asked(cell: str, hint: str) -> None:
    with pytest.raises(InvalidValue) as caught:
        parts(cell, "allergens")
    (problem,) = caught.value.problems
    assert hint in problem.hint
    assert problem.got == cell


def test_a_column_of_both_parts_takes_no_bare_word() -> None:
    assert of_either("Contains / may contain")
    assert of_either("Allergens & traces")
    assert not any(map(of_either, ("Allergens", "Contains", "May contain", "Traces", "May contain / traces")))
    assert parts("contains milk, traces of soy", "may_contain", both=True)["allergens"] == ["milk"]
    with pytest.raises(InvalidValue):
        parts("milk", "may_contain", both=True)


def row(titles: list[str], cells: list[str]) -> tuple[dict[str, str], list[Problem]]:
    from catalog.cells import Numbers

    reading = Reading("jars", match(titles, "jars"), Numbers.of([], ","), None, None, kinds())
    return translated(cells, reading, None)


def test_two_columns_add_up_and_are_not_set_against_each_other() -> None:
    titles = ["Name", "Allergens", "May contain"]
    made, problems = row(titles, ["a", "milk; may contain wheat", "egg"])
    assert not problems
    assert made["allergens"] == "milk"
    assert sorted(made["may_contain"].split("|")) == ["egg", "wheat"]
    made, problems = row(titles, ["a", "milk; may contain wheat", ""])
    assert (made["may_contain"], problems) == ("wheat", [])
    _, problems = row(titles, ["a", "milk; may contain wheat", "none"])
    assert [p.got for p in problems] == ["none"]
    made, _ = row(["Name", "Allergens"], ["a", "milk"])
    assert "may_contain" not in made, "what the shelf knows of it stays"


_WORDS = ("milk", "egg", "soy", "tree nut", "sesame", "wheat")
_BITS = st.sampled_from(
    [
        *_WORDS,
        "contains",
        "may contain",
        "traces of",
        "traces",
        "free",
        "none",
        "no",
        ",",
        ";",
        ".",
        "and",
        "(",
        ")",
    ]
)


@given(st.lists(_BITS, max_size=9).map(" ".join), st.sampled_from(["allergens", "may_contain"]), st.booleans())
def test_no_allergen_is_ever_dropped(cell: str, own, both: bool) -> None:
    try:
        found = parts(cell, own, both)
    except InvalidValue:
        return
    kept = " ".join(word for words in found.values() for word in words)
    assert sorted(re.findall("|".join(_WORDS), cell)) == sorted(re.findall("|".join(_WORDS), kept))
    if (
        cell.startswith(("may contain", "traces of"))
        and "contains" not in cell
        and own == "allergens"
        and not both
    ):
        sure = [w for w in found.get("allergens", []) if allergen(w)]
        assert not sure
