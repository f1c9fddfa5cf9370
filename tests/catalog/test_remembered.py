"""Choices of columns are kept with the shelf, and the next list starts from them."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog import remembered
from catalog.bringing import Plan, bring, open_file, try_out
from catalog.errors import NotAsShown
from catalog.remembered import remembered_columns
from catalog.store import Store
from catalog.ways import Ways
from themekit.errors import InvalidValue

#: Nothing in these titles tells which is the name and which the amount.
FIRST = "Aa,Bb,Cc,Dd\nsnow,nonpareils,#fff,2\n"
CHOSEN = {"Aa": "name", "Bb": "kind", "Cc": "colours", "Dd": "on_hand_g oz"}


@pytest.fixture
def shelf(store: Store) -> int:
    return store.create_shelf("Home").id


def plan_of(store: Store, shelf: int, path: Path, text: str, **columns: str) -> Plan:
    file = path / "jars.csv"
    file.write_text(text, "utf-8")
    return try_out(store, shelf, open_file(file), Ways(columns={"*": columns} if columns else {}))


def taken(plan: Plan) -> list[tuple[str, str | None, str | None, str]]:
    return [(c.title, c.field, c.unit, c.how) for c in plan.sheets[0].columns]


def brought(store: Store, shelf: int, plan: Plan) -> None:
    bring(store, shelf, plan.opened, plan.ways, plan.shown)


def test_the_next_list_starts_from_what_was_chosen(store: Store, shelf: int, tmp_path: Path) -> None:
    plan = plan_of(store, shelf, tmp_path, FIRST, **CHOSEN)
    assert remembered_columns(store, shelf) == {}, "trying out keeps nothing"
    brought(store, shelf, plan)
    again = plan_of(store, shelf, tmp_path, "DD,bb,Aa,Cc,Ee\n3,nonpareils,snow,#fff,x\n")
    assert taken(again) == [
        ("DD", "on_hand_g", "oz", "as you chose last time"),
        ("bb", "kind", None, "as you chose last time"),
        ("Aa", "name", None, "as you chose last time"),
        ("Cc", "colours", None, "as you chose last time"),
        ("Ee", None, None, "left out"),
    ]
    assert "jars.csv: taken as you chose last time: “DD”, “bb”, “Aa”, “Cc”." in " ".join(again.notes)
    with pytest.raises(NotAsShown):
        bring(store, shelf, again.opened, again.ways)
    brought(store, shelf, again)
    assert store.list(shelf, "jars")[0][0]["on_hand_g"] == pytest.approx(3 * 28.349523125, abs=1e-3)


def test_a_choice_made_now_goes_before_and_is_kept_instead(store: Store, shelf: int, tmp_path: Path) -> None:
    brought(store, shelf, plan_of(store, shelf, tmp_path, FIRST, **CHOSEN))
    # What stood for the amount is left out, and the amount stands in a column that had been the colour.
    text = "Aa,Bb,Cc,Dd\nsnow,nonpareils,5,2\n"
    plan = plan_of(store, shelf, tmp_path, text, Cc="on_hand_g")
    assert taken(plan)[2:] == [("Cc", "on_hand_g", None, "chosen"), ("Dd", None, None, "left out")]
    brought(store, shelf, plan_of(store, shelf, tmp_path, text, Cc="on_hand_g", Dd=""))
    plan = plan_of(store, shelf, tmp_path, text)
    assert taken(plan)[2:] == [
        ("Cc", "on_hand_g", None, "as you chose last time"),
        ("Dd", None, None, "as you chose last time"),
    ]


def test_what_was_not_brought_in_and_other_shelves_leave_nothing(store: Store, shelf: int, tmp_path: Path) -> None:
    other = store.create_shelf("Other").id
    brought(store, other, plan_of(store, other, tmp_path, FIRST, **CHOSEN))
    wrong = plan_of(store, shelf, tmp_path, FIRST.replace(",2\n", ",much\n"), **CHOSEN)
    with pytest.raises(InvalidValue):
        brought(store, shelf, wrong)
    assert remembered_columns(store, shelf) == {}
    assert set(remembered_columns(store, other)["jars"]) == {"aa", "bb", "cc", "dd"}


def test_choices_help_to_tell_what_a_sheet_holds(store: Store, shelf: int, tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text(FIRST, "utf-8")
    ways = Ways(sheets={"list.csv": "jars"}, columns={"*": CHOSEN})
    plan = try_out(store, shelf, open_file(file), ways)
    brought(store, shelf, plan)
    (sheet,) = try_out(store, shelf, open_file(file), Ways()).sheets
    assert (sheet.what, sheet.how) == ("jars", "its columns")


def test_only_so_many_choices_are_kept_the_newest(
    store: Store, shelf: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(remembered, "_MOST", 5)
    for first, last in ((0, 4), (4, 8)):
        many = {f"x{n}": "" for n in range(first, last)}
        text = f"Sprinkle,Type,Colour,{','.join(many)}\nsnow,nonpareils,#fff\n"
        brought(store, shelf, plan_of(store, shelf, tmp_path, text, **many))
    assert sorted(remembered_columns(store, shelf)["jars"]) == ["x3", "x4", "x5", "x6", "x7"]
