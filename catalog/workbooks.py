"""Spreadsheet workbooks (XLSX) in and out: each sheet of one is a sheet of a shelf, as text cells."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from catalog.fields import shown
from themekit.errors import InvalidValue, Problem

ENDING = ".xlsx"
#: Bytes of a workbook, of all in it but pictures once it is unpacked, and of its styles: what can be read
#: within five seconds and 512 MB; more is no stock list.
MOST_PACKED, MOST_UNPACKED, MOST_STYLES = 20_000_000, 4_000_000, 1_000_000
MOST_SHEETS, MOST_ROWS, MOST_COLUMNS = 50, 20_001, 200
_MOST_TOLD = 20
_ALLOWED = "a workbook in XLSX"


@dataclass(frozen=True)
class Tab:
    """One sheet of a workbook as text cells, what is told of it, and what cannot be read in it."""

    title: str
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]
    problems: tuple[Problem, ...]


def workbook_tabs(path: Path) -> Iterator[Tab]:
    """Each sheet that is not empty.

    Formulas count by the values that were last worked out; one that never was is a problem, as is
    a cell with an error in it, or one that was merged over several rows. Hidden sheets, rows and
    columns are read like others and told. Raises `InvalidValue` for what is no workbook, or is far
    too large.
    """
    import openpyxl

    try:
        size = path.stat().st_size
        if size > MOST_PACKED:
            allowed = f"at most {MOST_PACKED // 1_000_000} MB"
            raise _unusable(path.name, f"{size:,} bytes", allowed, "Leave out pictures, or split the workbook.")
        # In memory, since the library leaves a file open that it cannot read.
        data = io.BytesIO(path.read_bytes())
        with zipfile.ZipFile(data) as archive:
            # Pictures are not unpacked, so they do not count.
            parts = {one.filename: one.file_size for one in archive.infolist() if not _picture(one.filename)}
        styles = sum(size for name, size in parts.items() if name.endswith("styles.xml"))
        if sum(parts.values()) > MOST_UNPACKED or styles > MOST_STYLES:
            allowed = (
                f"at most {MOST_UNPACKED // 1_000_000} MB unpacked, {MOST_STYLES // 1_000_000} MB of it styles"
            )
            got = f"{sum(parts.values()):,} bytes"
            raise _unusable(path.name, got, allowed, "Split the workbook, or save it as CSV.")
        with warnings.catch_warnings():
            # The library warns of drawings, checks of entries and other things that no cell holds.
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(data, read_only=True, data_only=True)
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
            found = _tab(path.name, sheet)
            if any(any(row) for row in found.rows):
                yield found
    finally:
        book.close()


def _picture(name: str) -> bool:
    return not name.endswith((".xml", ".rels", ".vml"))


def _tab(file: str, sheet: Any) -> Tab:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            marks = _Marks.of(sheet)
            table, problems = _table(file, sheet)
    except InvalidValue:
        raise
    except Exception as error:
        hint = "Save it again as XLSX or CSV."
        raise _unusable(f"{file}, sheet {sheet.title}", "a damaged sheet", _ALLOWED, hint) from error
    notes = [f"The sheet {sheet.title} is hidden in the workbook."] if sheet.sheet_state != "visible" else []
    notes += marks.notes(sheet.title)
    return Tab(sheet.title, tuple(map(tuple, table)), tuple(notes), (*problems, *marks.problems(sheet.title)))


@dataclass
class _Marks:
    """What a sheet's file says besides its values; rows are counted as the spreadsheet counts them."""

    merged: list[str]
    hidden_rows: int
    hidden_columns: list[str]
    never_worked_out: list[str]

    @classmethod
    def of(cls, sheet: Any) -> _Marks:
        """Read in one pass, element by element, so that a large sheet takes little memory."""
        from xml.etree.ElementTree import iterparse

        from openpyxl.utils import get_column_letter

        marks = cls([], 0, [], [])
        with sheet._get_source() as source:
            for _, element in iterparse(source):
                name = element.tag.rpartition("}")[2]
                if name == "mergeCell":
                    marks.merged.append(element.get("ref", ""))
                elif name == "col" and element.get("hidden") in ("1", "true"):
                    first = int(element.get("min", "1"))
                    # Spreadsheets hide all that is right of a table in one go; that is no column of hers.
                    last = min(int(element.get("max", "1")), first + 25)
                    marks.hidden_columns += [get_column_letter(n) for n in range(first, last + 1)]
                elif name == "row":
                    marks.hidden_rows += element.get("hidden") in ("1", "true") and len(element) > 0
                    element.clear()
                elif name == "c":
                    children = {child.tag.rpartition("}")[2]: child for child in element}
                    empty = "v" not in children or not children["v"].text
                    if "f" in children and empty and len(marks.never_worked_out) < _MOST_TOLD:
                        marks.never_worked_out.append(element.get("r", ""))
        return marks

    def notes(self, title: str) -> list[str]:
        """What is told: it changes nothing."""
        told = []
        if self.hidden_rows:
            told.append(f"{title}: {self.hidden_rows} hidden rows are read like the others.")
        if self.hidden_columns:
            told.append(
                f"{title}: hidden columns are read like the others: {', '.join(self.hidden_columns[:26])}."
            )
        across = [ref for ref in self.merged if not _rows_of(ref)]
        if across:
            told.append(
                f"{title}: of cells that are merged, the value counts for the first: {', '.join(across[:10])}."
            )
        return told

    def problems(self, title: str) -> list[Problem]:
        """What has to be mended in the spreadsheet."""
        hint = "Open it in the spreadsheet, save it there, and bring it in again."
        found = [
            Problem(f"{title}, cell {ref}", "a formula", "its value, worked out", hint)
            for ref in self.never_worked_out
        ]
        for ref in self.merged[:_MOST_TOLD]:
            if rows := _rows_of(ref):
                hint = "Part them, and write the value into each row that it is for."
                allowed = "a cell for each row"
                found.append(Problem(f"{title}, row {rows[0]}", f"cells {ref} merged", allowed, hint))
        return found


def _rows_of(ref: str) -> tuple[int, int] | None:
    """First and last row of a merged range that spans several."""
    found = re.fullmatch(r"[A-Z]+(\d+):[A-Z]+(\d+)", ref)
    return (int(found[1]), int(found[2])) if found and found[1] != found[2] else None


def _table(file: str, sheet: Any) -> tuple[list[list[str]], list[Problem]]:
    from openpyxl.utils import get_column_letter

    table: list[list[str]] = []
    problems: list[Problem] = []
    for number, row in enumerate(sheet.iter_rows(), start=1):
        cells = ["" if cell.value is None else _text(cell.value, cell.number_format) for cell in row]
        while cells and not cells[-1].strip():
            cells.pop()
        where = f"{file}, sheet {sheet.title}"
        if len(cells) > MOST_COLUMNS:
            raise _unusable(where, f"{len(cells)} columns", f"at most {MOST_COLUMNS} columns", "Split it.")
        problems += [
            Problem(
                f"{sheet.title}, cell {get_column_letter(n)}{number}", cell.value, "a value", "Mend its formula."
            )
            for n, cell in enumerate(row, start=1)
            if cell.data_type == "e" and len(problems) < _MOST_TOLD
        ]
        # Rows that are only painted are no rows; the list is as long as its last full one.
        if cells and number > MOST_ROWS:
            raise _unusable(where, f"over {MOST_ROWS - 1:,} rows", f"at most {MOST_ROWS - 1:,} rows", "Split it.")
        if number <= MOST_ROWS:
            table.append(cells)
        elif number > 20 * MOST_ROWS:
            break
    return table, problems


def _text(cell: Any, form: str = "General") -> str:
    """A cell as it stands in the spreadsheet, with points in its numbers and its unit or percent sign."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if not isinstance(cell, int | float):
        return str(cell)
    first = re.sub(r"\[(?!\$)[^\]]*\]", "", form or "General").split(";")[0]
    if "%" in re.sub(r'"[^"]*"', "", first):
        return f"{_number(cell * 100)}%"
    before, after = _signs(first)
    return f"{before}{_number(cell)}{after}"


def _number(cell: float) -> str:
    if isinstance(cell, int):
        return str(cell)
    text = f"{cell:.10g}" if "e" not in f"{cell:.10g}" else f"{cell:.6f}"
    # With three decimals a number could be taken for thousands.
    return text + "0" if re.fullmatch(r"-?\d{1,3}\.\d{3}", text) else text


def _signs(form: str) -> tuple[str, str]:
    """Units and currency signs that a format writes before and after the number."""
    place = re.search(r"[0#?]", re.sub(r'"[^"]*"', lambda m: "x" * len(m[0]), form))
    at = place.start() if place else 0
    told = ["", ""]
    for found in re.finditer(r'"([^"]*)"|\[\$([^\]\-]*)[^\]]*\]|([$€£])', form):
        sign = (found[1] or found[2] or found[3] or "").strip()
        if sign and len(sign) <= 12:
            told[found.start() > at] += f" {sign} "
    return told[0].lstrip(), told[1].rstrip()


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
