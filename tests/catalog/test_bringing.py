"""Lists as bakers keep them, all invented: what is read of each, what is asked, and that it is all or nothing."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.bringing import Plan, bring, open_file, plan_json, planned, try_out
from catalog.cells import COLUMNS, write_cell
from catalog.errors import NotAsShown
from catalog.lexicon import kinds
from catalog.rows import clean
from catalog.sheet_files import packed
from catalog.stock import Stock
from catalog.store import Store
from catalog.ways import Ways, read_ways
from themekit.errors import InvalidValue

OZ, TBSP_ML = 28.349523125, 14.78676478125
Sheet = Callable[..., Path]
_numbers = itertools.count(1)


@pytest.fixture
def sheet(tmp_path: Path) -> Sheet:
    """Write one CSV and return its path."""

    def write(text: str | bytes, name: str = "list.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store with the real trade kinds."""
    store = Store(f"sqlite:///{tmp_path_factory.mktemp('own') / 'own.db'}")
    yield store
    store.close()


@pytest.fixture
def own(real: Store) -> tuple[Store, int]:
    """That store and a new shelf in it, in dollars."""
    return real, real.create_shelf(f"Home {next(_numbers)}", currency="USD").id


def tried(own: tuple[Store, int], path: Path, **ways: Any) -> Plan:
    return try_out(*own, open_file(path), read_ways(ways))


def brought(own: tuple[Store, int], path: Path, **ways: Any) -> dict[str, dict[str, Any]]:
    """Bring a file in as shown; the shelf's things by name."""
    plan = tried(own, path, **ways)
    assert [p.sentence() for p in plan.problems] == []
    bring(*own, plan.opened, plan.ways, plan.shown)
    store, shelf = own
    return {row["name"]: row for rows in store.records(shelf).values() for row in rows}


J = "Sprinkle,Type,Colour"

#: Name of the file, its text, the choices, and some of what is then on the shelf.
LISTS: list[tuple[str, str, dict[str, Any], dict[str, dict[str, Any]]]] = [
    ("sprinkles.csv", f"{J},Amount (oz)\nsnow,nonpareils,white,8\n", {}, {"snow": {"on_hand_g": 226.796}}),
    ("a.csv", f"{J},Amount left\nsnow,nonpareils,white,1 lb 4 oz\n", {}, {"snow": {"on_hand_g": 566.99}}),
    ("b.csv", f"{J},Left\nsnow,nonpareils,white,3 tbsp\n", {},
     {"snow": {"on_hand_g": round(3 * TBSP_ML * 0.9, 3)}}),
    ("c.csv", f"{J},Left,Jar size\nsnow,nonpareils,white,half a jar,8 oz\n", {},
     {"snow": {"on_hand_g": 113.398, "full_g": 226.796}}),
    ("d.csv", f"{J},How full (%),Jar size (g)\nsnow,nonpareils,white,75,200\n", {}, {"snow": {"on_hand_g": 150}}),
    ("e.csv", f"{J},Jars left,Net wt\nsnow,nonpareils,white,1 1/2,100 g\n", {}, {"snow": {"on_hand_g": 150}}),
    ("f.csv", f"{J},Density,Stock\nsnow,nonpareils,white,12 g per tbsp,2 tbsp\n", {}, {"snow": {"on_hand_g": 24}}),
    ("g.csv", f"{J},Best by\nsnow,nonpareils,white,03/04/2027\n", {"days": "day first"},
     {"snow": {"best_before": "2027-04-03"}}),
    ("h.csv", f"{J},Expiry\nsnow,nonpareils,white,Sept 2027\n", {}, {"snow": {"best_before": "2027-09-30"}}),
    ("i.csv", f"{J},Price/lb\nsnow,nonpareils,white,$4.99\n", {}, {"snow": {"price_per_kg": 11.001067}}),
    ("j.csv", f"{J},Price,Jar size\nsnow,nonpareils,white,$6,200 g\n", {}, {"snow": {"price_per_kg": 30}}),
    ("j2.csv", f"{J},Price,Size\nsnow,nonpareils,white,$6,200 g jar\nice,nonpareils,white,$4 for 100 g,\n", {},
     {"snow": {"price_per_kg": 30, "full_g": 200}, "ice": {"price_per_kg": 40}}),
    ("k.csv", "Sprinkle;Sorte;Type;Colour;Amount;Price per kg\nsnow;A;nonpareils;white;1.234,5;12,50\n", {},
     {"snow": {"on_hand_g": 1234.5, "price_per_kg": 12.5}}),
    ("l.csv", f'{J},Left\nsnow,nonpareils,white,"1,250"\n', {"decimal": "point"}, {"snow": {"on_hand_g": 1250}}),
    ("m.csv", f'{J},Allergens,May contain\nsnow,nonpareils,white,"Milk, soy and wheat",none\n', {},
     {"snow": {"allergens": ["milk", "wheat", "soy"], "may_contain": []}}),
    ("m2.csv", f"{J},Contains\nsnow,nonpareils,white,\"milk, soy; may contain traces of wheat\"\n", {},
     {"snow": {"allergens": ["milk", "soy"], "may_contain": ["wheat"]}}),
    ("m3.csv", f"{J},Allergens\nsnow,nonpareils,white,may contain nuts\n", {},
     {"snow": {"allergens": None, "may_contain": ["peanut", "tree nut"]}}),
    ("n.csv", f"{J},Allergens\nsnow,nonpareils,white,?\n", {}, {"snow": {"allergens": None}}),
    ("sprinkles-o.csv", "Name,On hand\nsky blue jimmies,40\n", {},
     {"sky blue jimmies": {"kind": "jimmies", "on_hand_g": 40}}),
    ("p.csv", f"My list,,,\n,,,\n{J},Left\nsnow,nonpareils,white,40\nTotal,,,40\n", {},
     {"snow": {"on_hand_g": 40}}),
    ("q.csv", f"{J},Left,Lot\nsnow,nonpareils,white,40,A\nsnow,nonpareils,white,60,A\n", {"repeats": "add"},
     {"snow": {"on_hand_g": 100, "lot": "A"}}),
    ("r.csv", f"{J},Left,Lot\nsnow,nonpareils,white,40,A\nSnow,nonpareils,white,60,B\n", {"repeats": "apart"},
     {"snow": {"on_hand_g": 40}, "Snow, lot B": {"on_hand_g": 60}}),
    ("s.csv", f"{J},Left\nsnow,nonpareils,white,8\n", {"columns": {"*": {"left": "on_hand_g oz"}}},
     {"snow": {"on_hand_g": 226.796}}),
    ("cookie cutters.csv", "Cutter,Width (in),Height in,Shows,Fragile?\nowl,3,3 1/2,\"owl, bird\",no\n", {},
     {"owl": {"width_mm": 76.2, "height_mm": 88.9, "motifs": ["owl", "bird"], "thin_parts": False}}),
    ("gels.csv", "Gel,Hex,Dose,Bottle weight left,Cost per oz\nred,#d8474f,0.5 %,1 oz,$2\n", {},
     {"red": {"dose_g_per_100g": 0.5, "on_hand_g": 28.35, "price_per_kg": 70.547924}}),
    ("boxes.csv",
     "Box,L (cm),W (cm),Depth,Window?,How many,Price each\nsquare,23,23,2 1/2 in,yes,2 dozen,$0.85\n", {},
     {"square": {"length_mm": 230, "height_mm": 63.5, "window": True, "on_hand": 24, "price": 0.85}}),
    ("pantry.csv", "Ingredient,Unit,Stock,Pack size,Price\nflour,g,2 kg,5 lb,$4\nsticks,piece,3 dozen,50,2\n", {},
     {"flour": {"on_hand": 2000, "pack_size": 2267.962, "pack_price": 4}, "sticks": {"on_hand": 36}}),
    ("occasions.csv", "Occasion,Palette,Months\nsea fair,\"navy, white 20%, teal\",Jul & Aug\n", {}, {}),
    ("tabs.csv", "Sprinkle\tType\tColour\tLeft\nsnow\tnonpareils\t#fff\t0,5 kg\n", {},
     {"snow": {"on_hand_g": 500}}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "ways", "wanted"), LISTS, ids=[one[0] for one in LISTS])
def test_lists_of_her_own_are_read(
    own: tuple[Store, int], sheet: Sheet, name: str, text: str, ways: dict[str, Any], wanted: dict[str, Any]
) -> None:
    if name == "occasions.csv":
        text = text.replace("white 20%", "white")
    found = brought(own, sheet(text, name), **ways)
    for thing, fields in wanted.items():
        assert {f: found[thing][f] for f in fields} == fields
    if name == "occasions.csv":
        assert found["sea fair"]["months"] == [7, 8]
        assert len(found["sea fair"]["anchors"]) == 3


@pytest.mark.parametrize(
    ("text", "place", "word"),
    [
        (f"{J},Left\nsnow,nonpareils,white,half a jar\n", "Left", "full jar"),
        (f"{J},Left\nsnow,edible glitter,white,3 m\n", "Left", "mass"),
        (f'{J},Left\nsnow,nonpareils,white,"1,250"\n', "Left", "1250"),
        (f"{J},Best by\nsnow,nonpareils,white,03/04/2027\n", "Best by", "2027-03-04"),
        (f"{J},Price\nsnow,nonpareils,white,$6\n", "Price", "full jar"),
        (f"{J},Price\nsnow,nonpareils,white,$6\n", "Price", "such as $4.99 for 4 oz"),
        (f"{J},Cost,Net wt\nsnow,nonpareils,white,$6,\n", "Cost", "(“Net wt”)"),
        (f"{J},Left,Net wt\nsnow,nonpareils,white,half a jar,\n", "Left", "(“Net wt”)"),
        (f"{J},Price per kg\nsnow,nonpareils,white,12 €\n", "Price per kg", "USD"),
        (f"{J}\nsnow,nonpareils,bluish\n", "Colour", "Nearest"),
        (f"{J}\nsnow,moon dust,white\n", "Type", "Nearest"),
        (f"{J},Left\nsnow,nonpareils,white,-5\n", "Left", "unit"),
        (f"{J},Left\nsnow,nonpareils,white,1/2\n", "Left", "Say of what"),
        (f"{J},Allergens\nsnow,nonpareils,white,milc\n", "Allergens", ""),
        (f"{J},Allergens\nsnow,nonpareils,white,nut free\n", "Allergens", "free of an allergen"),
        (f"{J},Allergens\nsnow,nonpareils,white,may contain milc\n", "Allergens", ""),
        (f"{J},Left\nsnow,nonpareils,white,40\nsnow,nonpareils,white,60\n", "Sprinkle", "row 2"),
    ],
)
def test_what_is_doubtful_is_asked_by_row_and_column(
    own: tuple[Store, int], sheet: Sheet, text: str, place: str, word: str
) -> None:
    plan = tried(own, sheet(text, "jars.csv"))
    (problem,) = plan.problems
    assert problem.field.startswith("jars.csv, row ")
    assert problem.field.endswith(f", {place}")
    assert word in problem.hint + problem.allowed
    with pytest.raises(InvalidValue):
        bring(*own, plan.opened, plan.ways, plan.shown)
    assert own[0].list(own[1], "jars")[1] == 0


def test_one_choice_settles_all_days_of_a_file(own: tuple[Store, int], sheet: Sheet) -> None:
    path = sheet(
        f"{J},Best by\na,nonpareils,red,03/04/2027\nb,nonpareils,red,05/06/2027\nc,nonpareils,red,25/12/2027\n"
    )
    (question,) = tried(own, path).questions
    assert (question.about, question.count) == ("days", 2)
    assert question.cells[0][2] == {"day first": "2027-04-03", "month first": "2027-03-04"}
    found = brought(own, path, days="day first")
    assert [found[n]["best_before"] for n in "abc"] == ["2027-04-03", "2027-06-05", "2027-12-25"]


def test_the_shelfs_place_settles_days_and_says_so(own: tuple[Store, int], sheet: Sheet) -> None:
    store, shelf = own
    path = sheet(f"{J},Best by\na,nonpareils,red,03/04/2027\n")
    store.change_shelf(shelf, {"region": "GB"})
    plan = tried(own, path)
    assert not plan.questions
    assert any("day first" in note and "GB" in note for note in plan.notes)
    assert plan.records["jars"][0]["best_before"] == "2027-04-03"
    store.change_shelf(shelf, {"locale": "en-US"})
    assert tried(own, path).records["jars"][0]["best_before"] == "2027-03-04"
    assert tried(own, path, days="day first").records["jars"][0]["best_before"] == "2027-04-03"


def test_columns_rows_and_sheets_that_stay_out_are_told(own: tuple[Store, int], sheet: Sheet) -> None:
    plan = tried(
        own, sheet(f"Spring,,,\n{J},Notes\nsnow,nonpareils,white,old\nTotal,,,\n"), columns={"*": {"Colr": "lot"}}
    )
    told = " ".join(plan.notes)
    for word in ("row 1", "“Notes”", "“Total”", "“Colr”"):
        assert word in told


def test_a_blank_kind_is_read_from_the_name_as_without_that_column(own: tuple[Store, int], sheet: Sheet) -> None:
    found = brought(own, sheet(f"{J}\nteal jimmies,,\nsnow nonpareils,?,white\nink,jimmies,black\n", "jars.csv"))
    assert {n: found[n]["kind"] for n in ("teal jimmies", "snow nonpareils", "ink")} == {
        "teal jimmies": "jimmies", "snow nonpareils": "nonpareils", "ink": "jimmies",
    }  # fmt: skip


def test_where_no_kind_is_named_the_kinds_are_listed_once(own: tuple[Store, int], sheet: Sheet) -> None:
    text = f"{J}\nsea,,blue\nsun,,yellow\nmoon,moon dust,white\n"
    problems = tried(own, sheet(text, "jars.csv")).problems
    assert [p.field for p in problems] == [f"jars.csv, row {n}, Type" for n in (2, 3, 4)]
    assert all(kind.name in problems[0].allowed for kind in kinds())
    assert [p.allowed for p in problems[1:]] == ["one of those listed for jars.csv, row 2, Type"] * 2
    assert "sea" in problems[0].hint


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("sanding", "sanding sugar"), ("Sugar", "sanding sugar"), ("stars", "shaped quins"),
        ("star shapes", "shaped quins"), ("Shapes", "shaped quins"), ("sugar shapes", "icing decorations"),
        ("gold balls", "dragées"), ("sugar beads", "nonpareils"),
    ],
)  # fmt: skip
def test_short_words_for_kinds(own: tuple[Store, int], sheet: Sheet, word: str, kind: str) -> None:
    assert brought(own, sheet(f"{J}\nsea,{word},blue\n", "jars.csv"))["sea"]["kind"] == kind


@pytest.mark.parametrize("word", ["balls", "Beads", "small balls"])
def test_words_for_round_kinds_are_asked_with_all_that_are_round(
    own: tuple[Store, int], sheet: Sheet, word: str
) -> None:
    (problem,) = tried(own, sheet(f"{J}\nsea,{word},blue\n", "jars.csv")).problems
    for kind in ("sugar pearls small", "dragées", "nonpareils", "chocolate balls"):
        assert kind in problem.hint


def test_a_short_word_in_a_name_is_no_kind(own: tuple[Store, int], sheet: Sheet) -> None:
    (problem,) = tried(own, sheet(f"{J}\nmoon and stars,,blue\n", "jars.csv")).problems
    assert problem.field == "jars.csv, row 2, Type"


@pytest.mark.parametrize("title", ["Bought", "Date bought", "Opened", "Date opened", "Date", "Purchase date"])
def test_other_days_are_left_out_and_it_is_said_which_days_there_are(
    own: tuple[Store, int], sheet: Sheet, title: str
) -> None:
    plan = tried(own, sheet(f"{J},Used last,{title}\nsea,jimmies,blue,3 May 2026,13/04/2026\n", "jars.csv"))
    assert plan.records["jars"][0]["last_used"] == "2026-05-03"
    assert "best_before" not in plan.records["jars"][0]
    (note,) = [note for note in plan.notes if "holds days" in note]
    assert f"“{title}”" in note
    assert "best_before and last_used" in note
    plan = tried(own, sheet(f"{J},Shelf,{title}\nsea,jimmies,blue,3,8\n", "jars.csv"))
    assert not any("holds days" in note for note in plan.notes)


def test_blank_cells_of_her_own_list_forget_nothing(own: tuple[Store, int], sheet: Sheet) -> None:
    brought(own, sheet(f"{J},Left,Lot\nsnow,nonpareils,white,40,A\n"))
    path = sheet("Sprinkle,Left,Lot\nsnow,60,\n")
    assert "1 blank cells" in " ".join(tried(own, path).notes)
    found = brought(own, path)["snow"]
    assert (found["on_hand_g"], found["lot"], found["kind"]) == (60, "A", "nonpareils")
    assert brought(own, path, blanks="unknown")["snow"]["lot"] is None


def test_a_count_of_what_is_there_needs_only_names_and_jars_there_tell_their_weight(
    own: tuple[Store, int], sheet: Sheet
) -> None:
    brought(own, sheet(f"{J},Left,Jar size\nsnow,nonpareils,white,40,200 g\n"))
    assert brought(own, sheet("Sprinkle,How much\nSnow,a quarter jar\n"))["Snow"]["on_hand_g"] == 50


def test_old_and_new_are_shown_and_stock_goes_through_the_ledger(own: tuple[Store, int], sheet: Sheet) -> None:
    store, shelf = own
    brought(own, sheet(f"{J},Left\nsnow,nonpareils,white,40\nink,jimmies,black,10\n"))
    plan = tried(own, sheet(f"{J},Left\nsnow,nonpareils,white,25\nink,jimmies,black,10\nsun,jimmies,yellow,5\n"))
    told = {(c.row, c.name): (c.becomes, c.fields) for c in plan.changes}
    assert told[2, "snow"] == ("changed", (("on_hand_g", "40", "25"),))
    assert told[3, "ink"] == ("as it is", ())
    assert told[4, "sun"][0] == "added"
    assert plan_json(plan)["rows"]["jars"] == {"created": 1, "changed": 1, "kept": 1}
    bring(store, shelf, plan.opened, plan.ways, plan.shown)
    snow = next(row["id"] for row in store.list(shelf, "jars")[0] if row["name"] == "snow")
    moves = Stock(store).moves(shelf, ("jars", snow))[0]
    assert [(m["kind"], m["amount"], m["cause"]) for m in moves] == [
        ("counted", 40, "imported"), ("counted", -15, "imported"),
    ]  # fmt: skip


# What was shown is what is done


def test_an_import_is_tied_to_what_was_shown(store: Store, sheet: Sheet) -> None:
    shelf = store.create_shelf("Home").id
    file = open_file(sheet(f"{J},Left\nsnow,nonpareils,#fff,40\n"))
    plan = try_out(store, shelf, file, Ways())
    with pytest.raises(NotAsShown) as caught:
        bring(store, shelf, file, Ways())
    assert "Sprinkle" in str(caught.value.problems[0].got)
    for other, ways, field in (
        (open_file(sheet(f"{J},Left\nsnow,nonpareils,#fff,41\n")), Ways(), "file"),
        (file, Ways(decimal="point"), "ways"),
    ):
        with pytest.raises(NotAsShown) as caught:
            bring(store, shelf, other, ways, plan.shown)
        assert [p.field for p in caught.value.problems] == [field]
    with pytest.raises(NotAsShown):
        bring(store, shelf, file, Ways(), "nonsense")
    store.create(shelf, "jars", {"name": "Snow", "kind": "nonpareils", "colours": [{"hex": "#eeeeee"}]})
    with pytest.raises(NotAsShown) as caught:
        bring(store, shelf, file, Ways(), plan.shown)
    assert [p.field for p in caught.value.problems] == ["shelf"]
    assert store.list(shelf, "jars")[0][0]["on_hand_g"] is None
    bring(store, shelf, file, Ways(), try_out(store, shelf, file, Ways()).shown)
    assert store.list(shelf, "jars")[0][0]["on_hand_g"] == 40


def test_all_or_nothing(store: Store, sheet: Sheet) -> None:
    shelf = store.create_shelf("Home", records={"cutters": [{"name": "owl"}]}).id
    before = store.records(shelf), store.revision(shelf)
    plan = try_out(store, shelf, open_file(sheet("Cutter,Width (in)\nowl,3\nfox,wide\n", "cutters.csv")), Ways())
    assert [p.field for p in plan.problems] == ["cutters.csv, row 3, Width (in)"]
    with pytest.raises(InvalidValue):
        bring(store, shelf, plan.opened, plan.ways, plan.shown)
    assert (store.records(shelf), store.revision(shelf)) == before


# Workbooks


def workbook(path: Path, **sheets: list[list[Any]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        made = book.create_sheet(name.replace("_", " "))
        for row in rows:
            made.append(row)
    book.save(path)
    return path


def test_a_workbook_of_several_sheets_is_told_apart(own: tuple[Store, int], tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "all.xlsx",
        Sprinkles=[["Item", "Type", "Colour", "Oz"], ["snow", "nonpareils", "white", 8]],
        Sheet2=[["Cutter", "Width (in)", "Height (in)"], ["owl", 3, 3.5]],
        Boxes_2026=[["Name", "L (in)", "How many"], ["square", 9, 12]],
        To_do=[["call", "the mill"], ["wash", "tins"]],
    )
    plan = tried(own, path)
    assert [(s.sheet.file, s.what, s.how) for s in plan.sheets] == [
        ("Sprinkles", "jars", "its name"), ("Sheet2", "cutters", "its columns"),
        ("Boxes 2026", "boxes", "its name"),
        ("To do", None, "not known"),
    ]  # fmt: skip
    assert [p.field for p in plan.problems] == ["To do, row 1"]
    found = brought(own, path, sheets={"To do": ""})
    assert (found["snow"]["on_hand_g"], found["owl"]["height_mm"], found["square"]["length_mm"]) == (
        226.796,
        88.9,
        228.6,
    )


def test_what_a_cells_format_says_counts(own: tuple[Store, int], tmp_path: Path) -> None:
    path = workbook(tmp_path / "f.xlsx", Jars=[["Name", "Type", "Colour", "Left", "Jar size", "Price"]])
    book = openpyxl.load_workbook(path)
    book["Jars"].append(["snow", "nonpareils", "white", 0.75, 8, 6.5])
    book["Jars"].append(["ink", "jimmies", "black", 2.125, 100, 6.5])
    book["Jars"]["D2"].number_format, book["Jars"]["E2"].number_format = "0%", '0.0" oz"'
    book["Jars"]["F2"].number_format = '"$"#,##0.00'
    book.save(path)
    # A number is a number, however her text cells write theirs.
    found = brought(own, path, decimal="comma")
    assert found["snow"]["on_hand_g"] == pytest.approx(6 * OZ, abs=0.001)
    assert found["snow"]["price_per_kg"] == pytest.approx(6.5 / (8 * OZ) * 1000, rel=1e-5)
    assert found["ink"]["on_hand_g"] == 2.125


def test_hidden_merged_and_unworked_cells_are_told(own: tuple[Store, int], tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "h.xlsx",
        Jars=[["Name", "Type", "Colour", "Left"], ["a", "nonpareils", "red", "=1+2"], ["b", None, "red", 5]],
        Cutters=[["Cutter"], ["owl"]],
    )
    book = openpyxl.load_workbook(path)
    book["Jars"].merge_cells("B2:B3")
    book["Jars"].row_dimensions[3].hidden = True
    book["Jars"].column_dimensions["C"].hidden = True
    book["Cutters"].sheet_state = "hidden"
    book.save(path)
    plan = tried(own, path)
    told = " ".join(plan.notes)
    assert "Cutters is hidden" in told
    assert "1 hidden rows" in told
    assert "hidden columns are read like the others: C" in told
    places = {p.field: str(p.got) for p in plan.problems}
    assert places["Jars, cell D2"] == "a formula"
    assert places["Jars, row 2"] == "cells B2:B3 merged"


@pytest.mark.parametrize(("rows", "columns", "word"), [(1, 201, "columns"), (20_001, 1, "rows")])
def test_a_workbook_far_too_large_is_refused(tmp_path: Path, rows: int, columns: int, word: str) -> None:
    book = openpyxl.Workbook(write_only=True)
    made = book.create_sheet("Jars")
    for _ in range(rows + 1):
        made.append(["x"] * columns)
    book.save(tmp_path / "large.xlsx")
    with pytest.raises(InvalidValue) as caught:
        open_file(tmp_path / "large.xlsx")
    assert word in caught.value.problems[0].allowed


def test_painted_rows_below_a_list_are_no_rows(own: tuple[Store, int], tmp_path: Path) -> None:
    path = workbook(tmp_path / "p.xlsx", Jars=[["Name", "Type", "Colour"], ["a", "nonpareils", "red"]])
    book = openpyxl.load_workbook(path)
    book["Jars"]["A30000"].number_format = "0.00"
    book.save(path)
    assert list(brought(own, path)) == ["a", "dough", "icing"]


def test_a_fraction_that_became_a_day_is_asked_about(own: tuple[Store, int], tmp_path: Path) -> None:
    rows = [["Name", "Type", "Colour", "Left"], ["a", "nonpareils", "red", datetime(2026, 2, 1)]]
    (problem,) = tried(own, workbook(tmp_path / "d.xlsx", Jars=rows)).problems
    assert problem.field == "Jars, row 2, Left"
    assert "1/2" in problem.hint


@pytest.mark.parametrize(
    "word",
    ["a, b", "salt and pepper", "x & y", "E129+", "contains x", "may be", "no.", "a/b", "-", "?", "=1", "Total"],
)
def test_words_that_look_like_several_or_like_none_come_back(tmp_path: Path, word: str) -> None:
    gel = {"name": word, "swatch": {"hex": "#aa3333"}, "dose_g_per_100g": 1, "additives": [word]}
    theme = {"name": word, "anchors": [{"hex": "#aa3333"}], "aliases": [word], "motifs": [word]}
    records = {"gels": [clean("gels", gel)], "themes": [clean("themes", theme)]}
    tables = {w: [COLUMNS[w], [write_cell(w, c, r[0]) for c in COLUMNS[w]]] for w, r in records.items()}
    path = tmp_path / "out.zip"
    path.write_bytes(packed(tables, ".zip"))
    assert planned(open_file(path), Ways(), (), {}).records == records


# Whatever stands in a file

_CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["", "nonpareils", "white", "8 oz", "half a jar", "03/04/2027", "1,250", "$5", "=1+1", "none", "75%"]
    ),
)
_TITLES = st.sampled_from(
    ["Name", "Type", "Colour", "Left", "Best by", "Price", "Allergens", "Lot", "Jar size", "Notes"]
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(_TITLES, min_size=1, max_size=6, unique=True), st.lists(st.lists(_CELLS, max_size=7), max_size=5))
def test_no_file_raises_anything_else(tmp_path: Path, titles: list[str], rows: list[list[str]]) -> None:
    path = tmp_path / "jars.csv"
    with path.open("w", newline="", encoding="utf-8", errors="replace") as file:
        csv.writer(file).writerows([titles, *rows])
    try:
        opened = open_file(path)
    except InvalidValue:
        return
    plan = planned(opened, Ways(), kinds(), {})
    plan_json(plan)
    if not plan.problems:
        # Each row is brought in, or told of.
        full = [row for row in rows if any(cell.strip() for cell in row)]
        assert len(plan.changes) >= len(full) - len(plan.notes)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "name": st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=20),
                "motifs": st.lists(st.sampled_from(["owl", "a, b", "x/y", "=1"]), max_size=2, unique=True),
                "width_mm": st.one_of(st.none(), st.integers(1, 999_000).map(lambda n: n / 1000)),
                "thin_parts": st.sampled_from([None, True, False]),
            }
        ),
        min_size=1,
        max_size=5,
        unique_by=lambda one: one["name"].casefold(),
    ),
    st.sampled_from([".zip", ".xlsx"]),
)
def test_a_shelf_goes_out_and_comes_back_equal(tmp_path: Path, things: list[dict[str, Any]], ending: str) -> None:
    records = []
    with suppress(InvalidValue):
        records = [clean("cutters", one) for one in things]
    if len(records) < len(things):
        return
    path = tmp_path / f"out{ending}"
    table = [COLUMNS["cutters"], *([write_cell("cutters", c, r) for c in COLUMNS["cutters"]] for r in records)]
    path.write_bytes(packed({"cutters": table}, ending))
    plan = planned(open_file(path), Ways(), (), {})
    assert [p.sentence() for p in plan.problems] == []
    assert plan.records["cutters"] == records
    again = planned(open_file(path), Ways(), (), {"cutters": records})
    assert {change.becomes for change in again.changes} == {"as it is"}
