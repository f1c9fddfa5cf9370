"""Which shelf a command works on; the demo; sheets in and out."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from catalog.store import Store

JARS = "name,kind,colours,on_hand_g\nsea foam,sanding sugar,#9fd8cb,120\nink,jimmies,#22223a,\n"
WRONG = (
    "name,kind,colours,on_hand_g\nsea foam,sanding sugar,#9fd8cb,-5\nink,unheard of,blueish,3\n,jimmies,#222,1\n"
)


def _shelf(done) -> str:
    """The shelf that an import, an export or the demo names."""
    assert done.code == 0, done.err
    return json.loads(done.out)["shelf"]


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A sheet of two jars."""
    path = tmp_path / "jars.csv"
    path.write_text(JARS, encoding="utf-8")
    return path


def test_without_any_shelf_there_is_advice(anew) -> None:
    """Nothing is made by asking; the demo is made when it is named."""
    done = anew("ideas", "owl", "--json")
    assert done.code == 2
    assert json.loads(done.out)["error"]["code"] == "not_found"
    assert "use the shelf demo" in " ".join(done.err.split())
    assert anew("ideas", "owl", "--count", 1, "--shelf", " Demo ").code == 0
    assert anew("ideas", "owl", "--count", 1).code == 0


def test_the_demo_is_made_once(anew) -> None:
    """Asking again changes nothing."""
    first = anew("demo", "--json")
    assert json.loads(first.out)["rows"]["jars"] > 60
    assert anew("demo", "--json").out == first.out
    assert "invented" in anew("demo").out


def test_the_only_own_shelf_is_the_default(anew, sheet, tmp_path) -> None:
    """Beside the demo too; with several, one has to be named, and the error names them."""
    anew("demo")
    assert _shelf(anew("import", sheet, "--shelf", "Anna's", "--json")) == "Anna's"
    out = tmp_path / "out.zip"
    assert _shelf(anew("export", out, "--json")) == "Anna's"
    assert _shelf(anew("import", sheet, "--shelf", "club", "--json")) == "club"
    for command in (["ideas", "owl"], ["idle"], ["export", str(out)], ["import", str(sheet)], ["serve"]):
        done = anew(*command)
        assert (done.code, done.out) == (2, "")
        assert "There are several shelves." in done.err
        assert "demo, Anna's, club" in " ".join(done.err.split())
    assert _shelf(anew("export", out, "--shelf", "CLUB", "--json")) == "club"


def test_the_shelf_may_come_from_the_environment(anew, sheet, tmp_path, monkeypatch) -> None:
    """THEMEKIT_SHELF names it where no option does."""
    for name in ("one", "two"):
        anew("import", sheet, "--shelf", name)
    monkeypatch.setenv("THEMEKIT_SHELF", "two")
    out = tmp_path / "out.zip"
    assert _shelf(anew("export", out, "--json")) == "two"
    assert _shelf(anew("export", out, "--shelf", "one", "--json")) == "one"


def test_a_first_import_makes_a_shelf_of_her_own(anew, sheet) -> None:
    """Never the demo, whose things are invented; a second import goes to the same shelf."""
    anew("demo")
    done = anew("import", sheet, "--json")
    rows = {"jars": {"created": 2, "changed": 0, "kept": 0}}
    answer = json.loads(done.out)
    assert (answer["shelf"], answer["made"], answer["rows"]) == ("home", True, rows)
    sheet.write_text(JARS.replace("120", "90"), encoding="utf-8")
    again = json.loads(anew("import", sheet, "--json").out)
    rows = {"jars": {"created": 0, "changed": 1, "kept": 1}}
    assert (again["shelf"], again["made"], again["rows"]) == ("home", False, rows)
    assert "jars: 0 new, 0 changed, 2 as they were" in anew("import", sheet).out


@pytest.mark.parametrize("command", [[], ["--shelf", "new one"]])
def test_an_import_with_mistakes_changes_nothing(anew, unchanged, sheet, tmp_path, command) -> None:
    """Every mistake is listed by row and column, and no shelf is made for it."""
    anew("demo")
    sheet.write_text(WRONG, encoding="utf-8")
    there = Store(f"sqlite:///{tmp_path / 'new' / 'shelf.db'}")
    try:
        with unchanged(there):
            done = anew("import", sheet, *command, "--json")
    finally:
        there.close()
    assert done.code == 2
    fields = [p["field"] for p in json.loads(done.out)["error"]["problems"]]
    assert sorted(fields) == [
        "jars.csv, row 2, on_hand_g",
        "jars.csv, row 3, colours",
        "jars.csv, row 3, kind",
        "jars.csv, row 4, name",
    ]
    assert all(field in " ".join(done.err.split()) for field in fields)


@pytest.mark.parametrize("name", ["sheets", "sheets.zip"])
def test_a_shelf_goes_out_and_comes_in_equal(anew, tmp_path, name) -> None:
    """As a folder or as one archive, onto a new shelf; its sheets are then the same."""
    out, back = tmp_path / name, tmp_path / f"back-{name}"
    anew("demo")
    assert _shelf(anew("export", out, "--json")) == "demo"
    assert _shelf(anew("import", out, "--shelf", "copy", "--json")) == "copy"
    assert "Wrote the shelf copy" in anew("export", back, "--shelf", "copy").out
    if out.is_dir():
        assert len(list(out.iterdir())) == 7
        for one in out.iterdir():
            assert one.read_bytes() == (back / one.name).read_bytes()
    else:
        assert out.read_bytes() == back.read_bytes()


def test_one_sheet_may_be_named_by_what_it_holds(anew, tmp_path) -> None:
    """--what decides where the file's name does not tell."""
    anew("demo")
    out = tmp_path / "mine.csv"
    assert anew("export", out).code == 2
    assert anew("export", out, "--what", "cutters").code == 0
    done = anew("import", out, "--what", "cutters", "--shelf", "new", "--json")
    assert list(json.loads(done.out)["rows"]) == ["cutters"]
    refused = anew("import", out, "--what", "spoons", "--shelf", "new")
    assert refused.code == 2
    assert "--what (resource): got 'spoons'" in refused.err


@pytest.mark.parametrize(
    ("content", "told"), [(b"%PDF-1.7", "This is a PDF"), (b"", "an empty file"), (None, "read")]
)
def test_a_file_that_is_no_sheet(anew, tmp_path, content, told) -> None:
    """Told by name, with what would do."""
    path = tmp_path / "jars.csv"
    if content is not None:
        path.write_bytes(content)
    done = anew("import", path)
    assert done.code == 2
    assert told in done.err
    assert "jars.csv" in done.err
    assert "There is no shelf yet" in anew("idle").err
