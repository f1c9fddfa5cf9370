"""Spreadsheet workbooks (XLSX) in and out: each sheet of one is a sheet of a shelf, as text cells."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from catalog.fields import shown
from themekit.errors import InvalidValue, Problem

ENDING = ".xlsx"
#: Unpacked, a workbook may be this large; more is no stock list.
MOST_UNPACKED = 60_000_000
MOST_SHEETS, MOST_ROWS, MOST_COLUMNS = 50, 20_001, 200
_ALLOWED = "a workbook in XLSX"


def workbook_files(path: Path) -> Iterator[tuple[str, bytes]]:
    """Each sheet that is not empty as the CSV it would be saved as, named after the sheet.

    Formulas count by the values that were last worked out. Raises `InvalidValue` for what
    is no workbook, or is far too large.
    """
    import openpyxl

    try:
        with zipfile.ZipFile(path) as archive:
            size = sum(one.file_size for one in archive.infolist())
        if size > MOST_UNPACKED:
            allowed = f"at most {MOST_UNPACKED // 1_000_000} MB unpacked"
            raise _unusable(path.name, f"{size:,} bytes", allowed, "Split the workbook.")
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except InvalidValue:
        raise
    except Exception as error:
        # The library raises whatever its parts raise at a damaged file.
        raise _unusable(
            path.name, "what cannot be read as XLSX", _ALLOWED, "Save it again as XLSX or CSV."
        ) from error
    try:
        if len(book.sheetnames) > MOST_SHEETS:
            raise _unusable(path.name, f"{len(book.sheetnames)} sheets", f"at most {MOST_SHEETS} sheets")
        for sheet in book.worksheets:
            table = _table(path.name, sheet)
            if any(any(row) for row in table):
                yield f"{sheet.title}.csv", _csv(table)
    finally:
        book.close()


def _table(file: str, sheet: Any) -> list[list[str]]:
    table: list[list[str]] = []
    try:
        for row in sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS):
            if len(table) >= MOST_ROWS:
                where = f"{file}, sheet {sheet.title}"
                raise _unusable(
                    where, f"over {MOST_ROWS - 1:,} rows", f"at most {MOST_ROWS - 1:,} rows", "Split it."
                )
            table.append([_text(cell) for cell in row])
    except InvalidValue:
        raise
    except Exception as error:
        hint = "Save it again as XLSX or CSV."
        raise _unusable(f"{file}, sheet {sheet.title}", "a damaged sheet", _ALLOWED, hint) from error
    # Spreadsheets keep empty cells to the right of what was typed.
    width = max((n for row in table for n, cell in enumerate(row, start=1) if cell.strip()), default=0)
    return [row[:width] for row in table]


def _text(cell: Any) -> str:
    """A cell as it would stand in a CSV with points in its numbers."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float):
        return f"{cell:.10g}" if "e" not in f"{cell:.10g}" else f"{cell:.6f}"
    return str(cell)


def _csv(table: Sequence[Sequence[str]]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(table)
    return out.getvalue().encode("utf-8", "replace")


def workbook_bytes(texts: Mapping[str, Sequence[Sequence[str]]]) -> bytes:
    """A workbook with a sheet for each table, header first; every cell is text, so that none is run."""
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    book = openpyxl.Workbook(write_only=True)
    for name, table in texts.items():
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "B2"
        for number, row in enumerate(table):
            cells = []
            for text in row:
                cell = WriteOnlyCell(sheet, value=text or None)
                if text:
                    cell.data_type = "s"
                if number == 0:
                    cell.font = Font(bold=True)
                cells.append(cell)
            sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _unusable(file: str, got: Any, allowed: str, hint: str = "") -> InvalidValue:
    return InvalidValue("The file cannot be used.", [Problem(file, shown(got), allowed, hint)])
