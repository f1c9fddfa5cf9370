"""Sheets: what goes out comes back, all problems are told by place, nothing is half done."""

from __future__ import annotations

import io
import itertools
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalog.cells import guarded, unguarded
from catalog.fields import name_key
from catalog.rows import FIELDS
from catalog.sheets import read_sheets, write_sheets
from catalog.store import Store
from themekit.errors import InvalidValue, Problem
from themekit.values import ALLERGENS, FORMS


def import_sheets(store: Store, shelf: int, path: Path, what: str | None = None) -> dict[str, Any]:
    """Load the records of sheets with our own columns."""
    return store.load(shelf, read_sheets(path, what, store.kinds))


JARS = "name,kind,colours"


@pytest.fixture
def sheet(tmp_path: Path) -> Any:
    """Writes a file of the given name and content and returns its path."""

    def write(content: str | bytes, name: str = "jars.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def problems(path: Path, kinds: Any, what: str | None = None) -> list[Problem]:
    with pytest.raises(InvalidValue) as caught:
        read_sheets(path, what, kinds)
    assert all(p.allowed for p in caught.value.problems)
    return list(caught.value.problems)


def told(path: Path, kinds: Any, what: str | None = None) -> list[tuple[str, Any]]:
    return [(p.field, p.got) for p in problems(path, kinds, what)]


# What is written comes back

TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
text = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"], exclude_characters=TURNING),
    min_size=1,
    max_size=30,
).filter(lambda t: t.strip())
names = text | st.sampled_from(
    ["=1+2", "'=1", "-x", "+3", "@a", "'", "''=", "NA", "null", "none", "a,b;c", '"', "＝1"]
)
words = st.lists(
    text.filter(lambda t: "|" not in t and t.strip().casefold() not in {"none", "unknown"}), max_size=3
)
entered = st.none() | words
allergens = st.none() | st.lists(st.sampled_from(ALLERGENS), max_size=3)
grams = st.none() | st.floats(0, 1_000_000)
mm = st.none() | st.floats(0.001, 1000)
money = st.none() | st.floats(0, 1_000_000)
yes_no = st.none() | st.booleans()
days = st.none() | st.dates().map(str)
hexes = st.integers(0, 0xFFFFFF).map(lambda n: {"hex": f"#{n:06x}"})
labs = st.tuples(st.floats(0, 100), st.floats(-150, 150), st.floats(-150, 150)).map(lambda lab: {"lab": list(lab)})
colour = hexes | labs


@st.composite
def shared(draw: st.DrawFn, part: str) -> list[dict[str, Any]]:
    colours = draw(st.lists(colour, min_size=1, max_size=5))
    weights = draw(st.lists(st.integers(1, 50), min_size=len(colours), max_size=len(colours)))
    return [{**c, part: w / sum(weights)} for c, w in zip(colours, weights, strict=True)]


composition = {
    "allergens": allergens, "may_contain": allergens, "additives": entered,
    "diet": st.sampled_from([None, "vegan", "vegetarian", "neither"]),
}  # fmt: skip
_ANIMAL = {"milk", "egg", "fish", "crustacean", "mollusc"}


def honest(record: dict[str, Any]) -> dict[str, Any]:
    """A record whose diet may hold its allergens; another is refused."""
    return {**record, "diet": "neither"} if _ANIMAL & set(record["allergens"] or ()) else record


RECORDS = {
    "jars": st.fixed_dictionaries({
        "name": names, "kind": st.sampled_from(["nonpareils", "dragées"]), "colours": shared("share"),
        "texture": st.fixed_dictionaries({"form": st.sampled_from([None, *FORMS]), "grain_mm": mm}),
        "density_g_per_ml": st.none() | st.floats(0.01, 5), "on_hand_g": grams, "best_before": days,
        "last_used": days, "price_per_kg": money, **composition, "motifs": words,
        "hard_small_pieces": yes_no, "melts_in_heat": yes_no, "lot": st.none() | names,
    }).map(honest),
    "cutters": st.fixed_dictionaries({
        "name": names, "motifs": words, "colours": st.lists(colour, max_size=4), "width_mm": mm,
        "height_mm": mm, "thickness_mm": mm, "thin_parts": yes_no,
    }),
    "gels": st.fixed_dictionaries({
        "name": names, "swatch": st.sampled_from([{"hex": "#d8474f"}, {"lab": [60.5, 20.25, -30]}]),
        "dose_g_per_100g": st.floats(0.01, 50), "max_g_per_100g": st.none() | st.floats(0.01, 50),
        **composition, "natural": yes_no, "on_hand_g": grams, "price_per_kg": money,
    }).map(honest),
    "boxes": st.fixed_dictionaries({
        "name": names, "length_mm": mm, "width_mm": mm, "height_mm": mm, "window": yes_no,
        "on_hand": st.none() | st.integers(0, 1_000_000), "price": money,
    }),
    "supplies": st.fixed_dictionaries({
        "name": names, "kind": st.none() | names, "unit": st.sampled_from([None, "g", "ml", "piece", "m"]),
        "on_hand": grams, "pack_size": st.none() | st.floats(0.001, 1_000_000), "pack_price": money,
        "allergens": allergens, "may_contain": allergens,
    }),
    "themes": st.fixed_dictionaries({
        "name": names, "aliases": words, "anchors": shared("weight"), "motifs": words,
        "months": st.lists(st.integers(1, 12), max_size=4),
    }),
}  # fmt: skip
shelves = st.fixed_dictionaries({
    resource: st.lists(record, max_size=3, unique_by=lambda r: name_key(r["name"].strip()))
    for resource, record in RECORDS.items()
}).flatmap(lambda rows: st.fixed_dictionaries(composition).map(honest).map(
    lambda recipe: {**rows, "recipes": [{"name": "dough", **recipe}]}
))  # fmt: skip
_numbers = itertools.count(1)


@pytest.fixture(scope="module")
def long_store(tmp_path_factory: pytest.TempPathFactory, kinds: Any) -> Iterator[Store]:
    opened = Store(f"sqlite:///{tmp_path_factory.mktemp('sheets') / 'shelf.db'}", kinds)
    yield opened
    opened.close()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(records=shelves, suffix=st.sampled_from(["", ".zip"]))
def test_export_then_import_gives_an_equal_shelf(
    long_store: Store, tmp_path_factory: pytest.TempPathFactory, records: Any, suffix: str
) -> None:
    number = next(_numbers)
    first = long_store.create_shelf(f"first {number}", records=records).id
    path = tmp_path_factory.mktemp("out") / f"sheets{suffix}"
    write_sheets(long_store, first, path)
    second = long_store.create_shelf(f"second {number}").id
    if not any(rows for name, rows in records.items() if name != "recipes"):
        # An export always holds the two recipes, so it is never without a row.
        assert long_store.records(first)["jars"] == []
    import_sheets(long_store, second, path)
    assert long_store.records(second) == long_store.records(first)
    again = tmp_path_factory.mktemp("out") / f"sheets{suffix}"
    write_sheets(long_store, second, again)
    for one in [path] if suffix else sorted(path.iterdir()):
        other = again if suffix else again / one.name
        assert other.read_bytes() == one.read_bytes()


def test_what_a_kind_filled_is_left_blank(sqlite_store: Store, tmp_path: Path) -> None:
    jar = {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}], "density_g_per_ml": 0.8}
    shelf = sqlite_store.create_shelf("Home", records={"jars": [jar]}).id
    write_sheets(sqlite_store, shelf, tmp_path / "jars.csv")
    row = pd.read_csv(tmp_path / "jars.csv", dtype=str, keep_default_na=False).iloc[0]
    assert (row["form"], row["density_g_per_ml"], row["allergens"]) == ("", "0.8", "")


@pytest.mark.parametrize("text", ["=1+2", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1", "'=1", "''@x"])
def test_a_cell_that_would_run_gets_an_apostrophe(text: str) -> None:
    # The starting signs are those of the OWASP page "CSV Injection".
    assert guarded(text) == "'" + text
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", ["plain", "'tis", "'", "''", "#ff0000", "1=1", ""])
def test_a_plain_cell_is_left_alone(text: str) -> None:
    assert guarded(text) == unguarded(text) == text


def test_no_exported_cell_starts_as_a_formula(sqlite_store: Store, tmp_path: Path) -> None:
    nasty = {"name": "=HYPERLINK(1)", "kind": "nonpareils", "colours": [{"hex": "#fff"}], "lot": "@now",
             "motifs": ["-1+1", "x"], "additives": ["+dye"]}  # fmt: skip
    shelf = sqlite_store.create_shelf("Home", records={"jars": [nasty]}).id
    write_sheets(sqlite_store, shelf, tmp_path / "out")
    for file in (tmp_path / "out").iterdir():
        cells = pd.read_csv(file, dtype=str, keep_default_na=False).to_numpy().ravel()
        assert not [c for c in cells if c[:1] in tuple("=+-@\t\r")]


def test_a_single_csv_holds_one_resource(sqlite_store: Store, tmp_path: Path) -> None:
    shelf = sqlite_store.create_shelf("Home", records={"cutters": [{"name": "owl"}]}).id
    write_sheets(sqlite_store, shelf, tmp_path / "mine.csv", "cutters")
    assert read_sheets(tmp_path / "mine.csv")["cutters"][0]["name"] == "owl"
    with pytest.raises(InvalidValue, match="one kind"):
        write_sheets(sqlite_store, shelf, tmp_path / "mine2.csv")
    with pytest.raises(InvalidValue):
        write_sheets(sqlite_store, shelf, tmp_path / "x.csv", "spoons")
    assert not list(tmp_path.glob("mine2*")) + list(tmp_path.glob("*.part"))


# Ways in which spreadsheets write CSV

DIALECT_ROW = {"name": "sea, mix", "kind": "nonpareils", "density_g_per_ml": 0.85, "on_hand_g": 1234.5}


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "BOM"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("name,kind,colours,density_g_per_ml,on_hand_g", '"sea, mix",nonpareils,#2a9d8f,0.85,1234.5'),
        ("name;kind;colours;density_g_per_ml;on_hand_g", "sea, mix;nonpareils;#2a9d8f;0,85;1234,5"),
        ("name\tkind\tcolours\tdensity_g_per_ml\ton_hand_g", "sea, mix\tnonpareils\t#2a9d8f\t0,85\t1234.5"),
        ("Name,Kind,Colours,Density g per ml,On hand g,,", '"sea, mix",nonpareils,#2A9D8F,"0,85","1234,5",,'),
    ],
    ids=["commas", "semicolons", "tabs", "spaced header"],
)
def test_every_usual_sort_of_csv_is_read(
    sheet: Any, kinds: Any, header: str, row: str, ends: str, mark: bytes
) -> None:
    path = sheet(mark + ends.join([header, row, ""]).encode())
    (record,) = read_sheets(path, kinds=kinds)["jars"]
    assert {f: record[f] for f in DIALECT_ROW} == DIALECT_ROW
    assert [(c["hex"], c["share"]) for c in record["colours"]] == [("#2a9d8f", 1.0)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,1e3\n", 1000.0),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,1.234\n", 1.234),
        (f'{JARS},on_hand_g\nw,nonpareils,#fff,"0,125"\n', 0.125),
        ("name;kind;colours;on_hand_g\nw;nonpareils;#fff;1,234\n", 1.234),
        ("name;kind;colours;on_hand_g\nw;nonpareils;#fff;1.234\n", 1.234),
        ("name;kind;colours;on_hand_g;density_g_per_ml\nw;nonpareils;#fff;250;0,9\n", 250.0),
    ],
)
def test_numbers_that_mean_one_thing(sheet: Any, kinds: Any, text: str, value: float) -> None:
    assert read_sheets(sheet(text), kinds=kinds)["jars"][0]["on_hand_g"] == value


@pytest.mark.parametrize(
    ("text", "got"),
    [
        # A thousand grams, or a gram and a bit? A guess could be a thousand times off.
        (f'{JARS},on_hand_g\nw,nonpareils,#fff,"1,234"\n', "1,234"),
        ("name;kind;colours;on_hand_g;density_g_per_ml\nw;nonpareils;#fff;1.234;0,9\n", "1.234"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,12 g\n", "12 g"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,€5\n", "€5"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,1.234.567\n", "1.234.567"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,nan\n", "nan"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,inf\n", "inf"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,1e999\n", "inf"),
        (f"{JARS},on_hand_g\nw,nonpareils,#fff,-5\n", -5.0),
    ],
)
def test_numbers_that_are_refused(sheet: Any, kinds: Any, text: str, got: Any) -> None:
    assert told(sheet(text), kinds) == [("jars.csv, row 2, on_hand_g", got)]


def test_blank_is_unknown_and_none_is_none(sheet: Any, kinds: Any) -> None:
    text = f"{JARS},allergens,may_contain,additives,motifs\nw,nonpareils,#fff,none,,unknown,\n"
    (record,) = read_sheets(sheet(text), kinds=kinds)["jars"]
    assert (record["allergens"], record["may_contain"], record["additives"]) == ([], None, None)
    assert record["motifs"] == []


def test_colours_by_hex_lab_ratio_and_share(sheet: Any, kinds: Any) -> None:
    rows = ["#f00 0.6|#00f 0.4", "#f00 3|#00f 2", "#f00 60|#00f 40", "53.23 80.11 67.22 3|#00f 2"]
    text = "\n".join([JARS, *(f"j{i},nonpareils,{cell}" for i, cell in enumerate(rows))])
    for record in read_sheets(sheet(text), kinds=kinds)["jars"]:
        assert [(c["hex"], c["share"]) for c in record["colours"]] == [("#ff0000", 0.6), ("#0000ff", 0.4)]


def test_only_the_columns_of_the_file_are_changed(sqlite_store: Store, sheet: Any) -> None:
    shelf = sqlite_store.create_shelf("Home").id
    full = f"{JARS},lot,grain_mm,finish\nw,nonpareils,#fff,L1,3,pearl\n"
    import_sheets(sqlite_store, shelf, sheet(full))
    counts = import_sheets(sqlite_store, shelf, sheet(f"{JARS},grain_mm\nW,nonpareils,#fff,2\n"))
    assert counts["jars"].changed == 1
    row = sqlite_store.get(shelf, "jars", 1)
    assert (row["name"], row["lot"], row["texture"]["grain_mm"], row["texture"]["finish"]) == (
        "W", "L1", 2, "pearl",
    )  # fmt: skip
    import_sheets(sqlite_store, shelf, sheet(f"{JARS},lot\nw,nonpareils,#fff,\n"))
    assert sqlite_store.get(shelf, "jars", 1)["lot"] is None


@pytest.mark.parametrize(
    ("name", "header", "resource"),
    [
        ("Jars (2).csv", "name,kind,colours", "jars"),
        ("gels-2027.csv", "name,swatch,dose_g_per_100g", "gels"),
        ("mine.csv", "name,kind,colours,lot", "jars"),
        ("mine.csv", "name,swatch,dose_g_per_100g", "gels"),
        ("mine.csv", "name,motifs,colours,width_mm", "cutters"),
        ("mine.csv", "name,length_mm,window", "boxes"),
        ("mine.csv", "name,unit,pack_size", "supplies"),
        ("mine.csv", "name,anchors", "themes"),
        ("mine.csv", "name,allergens,may_contain,additives,diet", "recipes"),
    ],
)
def test_what_a_file_holds_is_found(sheet: Any, kinds: Any, name: str, header: str, resource: str) -> None:
    cells = {"name": "dough", "kind": "nonpareils", "colours": "#fff", "swatch": "#f00",
             "dose_g_per_100g": "1", "anchors": "#00f"}  # fmt: skip
    row = ",".join(cells.get(column, "") for column in header.split(","))
    assert list(read_sheets(sheet(f"{header}\n{row}\n", name), kinds=kinds)) == [resource]


# All problems at once, by place


def test_all_problems_of_all_files_are_told_by_row_and_column(
    sqlite_store: Store, tmp_path: Path, kinds: Any
) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "jars.csv").write_text(
        f"{JARS},form,on_hand_g,best_before,allergens,hard_small_pieces\n"
        "good,nonpareils,#ffffff,,,,,\n"
        "\n"
        "bad,nonparels,#gg0000,blob,much,31/12/2027,milc,maybe\n"
        "GOOD,nonpareils,#fff 0.5|#000 0.2,,-1,,,\n"
        ",nonpareils,#fff,,,,,,extra\n",
        encoding="utf-8",
    )
    (folder / "boxes.csv").write_text("name,hight_mm\nbox,5\n", encoding="utf-8")
    (folder / "cutters.csv").write_bytes(b"%PDF-1.7 ...")
    (folder / "themes.csv").write_text("name\nsea\n", encoding="utf-8")
    (folder / "unknown.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    shelf = sqlite_store.create_shelf("Home").id
    with pytest.raises(InvalidValue) as caught:
        import_sheets(sqlite_store, shelf, folder)
    places = [p.field for p in caught.value.problems]
    assert sorted(places) == sorted([
        "cutters.csv",
        "boxes.csv, row 1",
        "jars.csv, row 4, kind", "jars.csv, row 4, colours", "jars.csv, row 4, form",
        "jars.csv, row 4, on_hand_g", "jars.csv, row 4, best_before", "jars.csv, row 4, allergens",
        "jars.csv, row 4, hard_small_pieces",
        "jars.csv, row 5, colours", "jars.csv, row 5, on_hand_g", "jars.csv, row 5, name",
        "jars.csv, row 6", "jars.csv, row 6, name",
        "themes.csv, row 1",
        "unknown.csv, row 1",
    ])  # fmt: skip
    by_place = {p.field: p for p in caught.value.problems}
    assert "row 2" in by_place["jars.csv, row 5, name"].hint
    assert "height_mm" in by_place["boxes.csv, row 1"].hint
    assert all(sqlite_store.list(shelf, resource)[1] == 0 for resource in ("jars", "boxes", "themes"))
    assert sqlite_store.revision(shelf) == 1


def test_an_unreadable_cell_is_told_once(sheet: Any, kinds: Any) -> None:
    path = sheet("name,swatch,dose_g_per_100g\nred,#f00,a dab\n", "gels.csv")
    assert told(path, kinds) == [("gels.csv, row 2, dose_g_per_100g", "a dab")]


def test_one_bad_cell_leaves_the_shelf_as_it_was(store: Store, sheet: Any) -> None:
    shelf = store.create_shelf("Home", records={"cutters": [{"name": "owl"}]}).id
    revision = store.revision(shelf)
    before = store.records(shelf)
    with pytest.raises(InvalidValue):
        import_sheets(store, shelf, sheet("name,width_mm\nowl,80\nfox,wide\n", "cutters.csv"))
    assert (store.records(shelf), store.revision(shelf)) == (before, revision)


def test_a_name_twice_in_two_files_is_told(tmp_path: Path, kinds: Any) -> None:
    path = tmp_path / "all.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mine/cutters-1.csv", "name\nowl\n")
        archive.writestr("mine/cutters-2.csv", "name\nfox\nOWL\n")
        archive.writestr("__MACOSX/cutters.csv", b"\0\0")
        archive.writestr("readme.txt", "hello")
    (problem,) = problems(path, kinds)
    assert (problem.field, problem.got) == ("cutters-2.csv, row 3, name", "OWL")
    assert "cutters-1.csv, row 2" in problem.hint


@pytest.mark.parametrize(
    ("header", "place", "hint"),
    [
        ("name,kind", "jars.csv, row 1", "colours"),
        ("name,kind,colours,colours", "jars.csv, row 1", "Remove"),
        ("name,kind,colours,allergen", "jars.csv, row 1", "allergens"),
        ("\n,,\nname,kind", "jars.csv, row 3", "colours"),
    ],
)
def test_a_wrong_header_is_told(sheet: Any, kinds: Any, header: str, place: str, hint: str) -> None:
    found = problems(sheet(f"{header}\nw,nonpareils,#fff,#fff\n"), kinds)
    assert [p.field for p in found] == [place]
    assert hint in found[0].hint


# Files that are no CSV


def zipped(**files: bytes) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name.replace("_", "."), data)
    return packed.getvalue()


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"", "jars.csv"),
        (b"\xef\xbb\xbf", "jars.csv"),
        (b"  \r\n \n", "jars.csv"),
        (b"name,kind,colours\n", "jars.csv"),
        (b"name,kind,colours\n,,\n", "jars.csv"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "jars.csv"),
        (b"%PDF-1.4\nname,kind,colours\nw,nonpareils,#fff\n", "jars.csv"),
        (zipped(xl_xml=b"<x/>"), "jars.csv"),
        (zipped(xl_xml=b"<x/>"), "jars.zip"),
        (b"not a zip", "jars.zip"),
        ("name,kind,colours\nw,nonpareils,#fff\n".encode("utf-16"), "jars.csv"),
        ("name,kind,colours\ncaf\u00e9,nonpareils,#fff\n".encode("cp1252"), "jars.csv"),
        (b'name,kind,colours\n"w,nonpareils,#fff\n', "jars.csv"),
        (b"Dear Sir or Madam,\nhow are you?\n", "letter.csv"),
        (b"{}", "mine.csv"),
        (b"name," + b"," * 300 + b"\n", "jars.csv"),
        (b"name,kind,colours\n" + b"x" * 5_000_001, "jars.csv"),
        (zipped(jars_csv=b"name,kind,colours\n" + b"x" * 5_000_001), "jars.zip"),
        (b"name\n" + b"".join(b"c%d\n" % i for i in range(20_001)), "cutters.csv"),
    ],
)  # fmt: skip
def test_what_is_no_csv_is_refused_in_words(sheet: Any, kinds: Any, content: bytes, name: str) -> None:
    (problem,) = problems(sheet(content, name), kinds)
    assert problem.field.startswith(name.split(".")[0])
    assert len(str(problem.got)) < 250


def test_a_letter_that_is_not_utf8_is_told_by_line(sheet: Any, kinds: Any) -> None:
    path = sheet(b"name,kind,colours\nw,nonpareils,#fff\ncaf\xe9,nonpareils,#fff\n")
    assert problems(path, kinds)[0].field == "jars.csv, line 3"


@pytest.mark.parametrize("name", ["missing.csv", "missing.zip", "missing", "nul\0.csv"])
def test_a_path_that_is_not_there_is_told(tmp_path: Path, kinds: Any, name: str) -> None:
    assert problems(tmp_path / name, kinds)[0].got == "nothing that can be read"


def test_a_folder_without_csv_is_told(tmp_path: Path, kinds: Any) -> None:
    (tmp_path / "readme.md").write_text("x")
    (tmp_path / ".jars.csv").write_text("x")
    assert problems(tmp_path, kinds)[0].got == "no CSV file in it"


def test_twenty_thousand_rows_are_taken(sqlite_store: Store, sheet: Any) -> None:
    shelf = sqlite_store.create_shelf("Home").id
    path = sheet("name\n" + "".join(f"c{i}\n" for i in range(20_000)), "cutters.csv")
    assert import_sheets(sqlite_store, shelf, path)["cutters"].created == 20_000


def test_an_unknown_resource_is_told_before_reading(tmp_path: Path) -> None:
    with pytest.raises(InvalidValue) as caught:
        read_sheets(tmp_path / "missing.csv", "spoons")
    assert caught.value.problems[0].field == "resource"


def test_every_field_has_a_column() -> None:
    from catalog.cells import COLUMNS

    for resource, fields in FIELDS.items():
        assert set(fields) - {"texture"} <= set(COLUMNS[resource])
