"""`themekit import` of lists with column names of her own: shown, asked, settled by options, brought in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

HERS = (
    "Sprinkle,Type,Colour,Amt left (oz),Best by,Notes\n"
    "evening sky,nonpareils,#223355,8,03/04/2027,top\n"
    "ink,jimmies,black,half a jar,,\n"
)


@pytest.fixture
def hers(tmp_path: Path) -> Path:
    """Her list, with a day that may be two and a jar whose full weight is not known."""
    path = tmp_path / "sprinkles.csv"
    path.write_text(HERS, encoding="utf-8")
    return path


def test_trying_out_tells_everything_and_makes_nothing(anew, hers) -> None:
    done = anew("import", hers, "--try")
    assert done.code == 0
    told = " ".join(done.out.split())
    for words in (
        "nothing was changed", "“Amt left (oz)” → on_hand_g in oz (likeness)", "“Notes” → left out",
        "2027-04-03", "2027-03-04",
        '--days "day first" or --days "month first"', "row 3, Amt left (oz): half a jar",
        "what a full jar holds",
    ):  # fmt: skip
        assert words in told
    assert anew("idle").code == 2, "there is no shelf yet"


def test_titles_of_her_own_want_a_look_first(anew, hers) -> None:
    hers.write_text(HERS.replace("half a jar", "3 tbsp"), "utf-8")
    asked = ("import", hers, "--days", "day first", "--json")
    done = anew(*asked)
    assert done.code == 2
    error = json.loads(done.out)["error"]
    assert error["code"] == "not_as_shown"
    (problem,) = error["problems"]
    assert problem["field"] == "--yes"
    assert "Amt left (oz): on_hand_g" in problem["got"]
    assert "through a pipe" in problem["hint"]
    answer = json.loads(anew(*asked, "--yes").out)
    assert (answer["imported"], answer["made"], answer["rows"]["jars"]["created"]) == (True, True, 2)
    again = json.loads(anew(*asked, "--try").out)
    assert (again["imported"], again["rows"]["jars"]) == (False, {"created": 0, "changed": 0, "kept": 2})


def test_choices_for_all_columns_need_no_asking(anew, hers) -> None:
    hers.write_text(HERS.replace("half a jar", "100 g"), "utf-8")
    fields = (
        "Sprinkle=name", "Type=kind", "Colour=colours", "Amt left (oz)=on_hand_g g", "Best by=best_before",
        "Notes=lot",
    )  # fmt: skip
    columns = [part for field in fields for part in ("--columns", field)]
    answer = json.loads(anew("import", hers, *columns, "--days", "month first", "--json").out)
    assert answer["imported"]
    cells = {f["field"]: f["new"] for f in answer["changes"][0]["fields"]}
    assert (cells["on_hand_g"], cells["best_before"], cells["lot"]) == ("8", "2027-03-04", "top")


@pytest.mark.parametrize(
    ("options", "field"),
    [
        (["--columns", "Sprinkle"], "--columns"), (["--sheet", "sprinkles.csv"], "--sheet"),
        (["--days", "sometimes"], "ways.days"), (["--decimal", "dot"], "ways.decimal"),
        (["--columns", "Type=sort"], "sprinkles.csv, row 1, Type"),
        (["--sheet", "sprinkles.csv=spoons"], "ways.sheets.sprinkles.csv"),
    ],
)  # fmt: skip
def test_choices_that_are_none_are_refused(anew, hers, options, field) -> None:
    done = anew("import", hers, *options, "--json", "--yes")
    assert done.code == 2
    assert field in [p["field"] for p in json.loads(done.out)["error"]["problems"]]


def test_a_workbook_goes_out_and_comes_back_without_asking(anew, tmp_path) -> None:
    out = tmp_path / "shelf.xlsx"
    anew("demo")
    assert anew("export", out, "--shelf", "demo").code == 0
    answer = json.loads(anew("import", out, "--shelf", "copy", "--json").out)
    assert answer["rows"]["jars"]["created"] > 60
    assert answer["notes"] == []


def test_columns_chosen_at_the_first_import_are_told_at_the_next(anew, hers) -> None:
    hers.write_text(HERS.replace("half a jar", "100 g"), "utf-8")
    asked = ("import", hers, "--days", "day first", "--yes")
    assert anew(*asked, "--columns", "Notes=lot", "--columns", "Best by=").code == 0
    told = " ".join(anew("import", hers, "--try").out.split())
    assert "“Notes” → lot (as you chose last time)" in told
    assert "“Best by” → left out (as you chose last time)" in told
