"""Workbooks: a shelf comes back equal, cells are text, and what is no workbook is refused."""

from __future__ import annotations

import zipfile
from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from catalog.demo import create_demo
from catalog.sheets import read_sheets, write_sheets
from catalog.store import Store
from themekit.errors import InvalidValue


def import_sheets(store: Store, shelf: int, path: Path, what: str | None = None) -> dict[str, Any]:
    """Load the records of sheets with our own columns."""
    return store.load(shelf, read_sheets(path, what, store.kinds))


@pytest.fixture
def demo(tmp_path: Path) -> Store:
    store = Store(f"sqlite:///{tmp_path / 'demo.db'}")
    create_demo(store, datetime(2026, 11, 25).date())
    return store


def test_a_shelf_goes_out_and_comes_back_equal(demo: Store, tmp_path: Path) -> None:
    shelf = demo.shelf_named("demo").id
    file = tmp_path / "shelf.xlsx"
    write_sheets(demo, shelf, file)
    other = demo.create_shelf("again").id
    import_sheets(demo, other, file)
    assert demo.records(other) == demo.records(shelf)
    demo.close()


def test_no_cell_is_a_formula(sqlite_store: Store, tmp_path: Path) -> None:
    shelf = sqlite_store.create_shelf("Home").id
    sqlite_store.create(shelf, "cutters", {"name": "=1+2"})
    file = tmp_path / "shelf.xlsx"
    write_sheets(sqlite_store, shelf, file, "cutters")
    book = openpyxl.load_workbook(file)
    assert all(cell.data_type != "f" for sheet in book for row in sheet for cell in row)
    other = sqlite_store.create_shelf("again").id
    import_sheets(sqlite_store, other, file, "cutters")
    assert sqlite_store.list(other, "cutters")[0][0]["name"] == "=1+2"


def test_numbers_days_and_truths_of_a_spreadsheet_are_read(sqlite_store: Store, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Jars"
    sheet.append(["Name", "Kind", "Colours", "On hand g", "Best before", "Melts in heat"])
    sheet.append(["evening blue", "nonpareils", "#223355", 120.5, datetime(2027, 3, 1), True])
    file = tmp_path / "mine.xlsx"
    book.save(file)
    shelf = sqlite_store.create_shelf("Home").id
    import_sheets(sqlite_store, shelf, file)
    row = sqlite_store.list(shelf, "jars")[0][0]
    assert (row["on_hand_g"], row["best_before"], row["melts_in_heat"]) == (120.5, "2027-03-01", True)


def test_mistakes_are_told_by_sheet_and_row_and_nothing_is_imported(sqlite_store: Store, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "jars"
    sheet.append(["name", "kind", "colours"])
    sheet.append(["a", "moon dust", "#223355"])
    sheet.append(["b", "nonpareils", "bluish"])
    file = tmp_path / "mine.xlsx"
    book.save(file)
    shelf = sqlite_store.create_shelf("Home").id
    with pytest.raises(InvalidValue) as caught:
        import_sheets(sqlite_store, shelf, file)
    assert {p.field.split(", ")[1] for p in caught.value.problems} == {"row 2", "row 3"}
    assert sqlite_store.list(shelf, "jars")[1] == 0


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 no more", b"a,b\n1,2\n"])
def test_what_is_no_workbook_is_refused(tmp_path: Path, sqlite_store: Store, content: bytes) -> None:
    file = tmp_path / "bad.xlsx"
    file.write_bytes(content)
    shelf = sqlite_store.create_shelf("Home").id
    with pytest.raises(InvalidValue):
        import_sheets(sqlite_store, shelf, file)


def test_a_workbook_that_unpacks_into_very_much_is_refused(tmp_path: Path, sqlite_store: Store) -> None:
    file = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 70_000_000)
    shelf = sqlite_store.create_shelf("Home").id
    with pytest.raises(InvalidValue) as caught:
        import_sheets(sqlite_store, shelf, file)
    assert "MB" in caught.value.problems[0].allowed
