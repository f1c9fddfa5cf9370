"""A shelf as sheets of our own columns, in and out; `catalog.bringing` reads those of a baker's own."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog.cells import COLUMNS, Numbers, Unreadable, number_cells, read_cell, write_cell
from catalog.fields import name_key, shown
from catalog.rows import TEXTURE, Record, check, fields_of
from catalog.sheet_files import Sheet, open_sheets, save_sheets
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import Kind

if TYPE_CHECKING:
    from catalog.store import Store

_REQUIRED = {
    "jars": {"name", "kind", "colours"},
    "gels": {"name", "swatch", "dose_g_per_100g"},
    "themes": {"name", "anchors"},
}
_NOT_IMPORTED = "Nothing was imported, because some cells cannot be used."


def read_sheets(
    path: str | Path, what: str | None = None, kinds: Sequence[Kind] | None = None
) -> dict[str, list[Record]]:
    """The records of one CSV, or of all CSVs of a folder or .zip, ready for `Store.load`.

    A record has the fields whose columns the file has. `what` names the resource of a
    single file; by default it is found from the file's name and header. Raises
    `InvalidValue` with every problem of all files, by file, row and column.
    """
    if what is not None:
        fields_of(what)
    if kinds is None:
        from catalog.lexicon import kinds as built_in

        kinds = built_in()
    sheets, problems = open_sheets(path)
    records: dict[str, list[Record]] = {}
    places: dict[tuple[str, str], str] = {}
    for sheet in sheets:
        problems += sheet.problems
        resource = what or _resource(sheet)
        if resource is None:
            hint = "Name the file jars.csv, cutters.csv and so on, or say what it holds."
            allowed = "the columns of one of " + ", ".join(COLUMNS)
            problems.append(
                Problem(f"{sheet.file}, row {sheet.header_row}", ", ".join(sheet.header)[:200], allowed, hint)
            )
            continue
        found, wrong = _records(sheet, resource, kinds, places)
        problems += wrong
        records.setdefault(resource, []).extend(found)
    if not problems and not any(records.values()):
        hint = "Add a row below the header."
        problems.append(Problem(Path(path).name, "a header and no rows", "at least one row", hint))
    raise_all(problems, _NOT_IMPORTED)
    return records


def write_sheets(store: Store, shelf_id: int, path: str | Path, what: str | None = None) -> None:
    """Write a shelf as a folder or .zip of CSVs, or one resource as one .csv.

    What a kind's default filled is left blank, as it was entered. The same shelf always
    gives the same bytes. Raises `InvalidValue` when one .csv is to hold everything.
    """
    path = Path(path)
    if what is not None:
        fields_of(what)
    elif path.suffix.lower() == ".csv":
        what = _named(path.stem)
        if what is None:
            allowed = "jars.csv, cutters.csv and so on, a folder or a .zip"
            raise InvalidValue("One CSV holds one kind of thing.", [Problem("path", path.name, allowed)])
    save_sheets(path, tables_of(store, shelf_id, what))


def tables_of(store: Store, shelf_id: int, what: str | None = None) -> dict[str, list[Sequence[str]]]:
    """A shelf, or one resource of it, as tables of cells with the columns first."""
    records = store.records(shelf_id)
    return {
        resource: [COLUMNS[resource], *(_row(resource, record) for record in records[resource])]
        for resource in ([what] if what else COLUMNS)
    }


def _row(resource: str, record: Record) -> list[str]:
    return [write_cell(resource, column, record) for column in COLUMNS[resource]]


def _named(stem: str) -> str | None:
    """The resource that a file is named for: "Jars (2)" and "jars-2027" are jars."""
    word = re.match("[a-z]*", stem.lower())
    return word[0] if word and word[0] in COLUMNS else None


def _resource(sheet: Sheet) -> str | None:
    named = _named(Path(sheet.file).stem)
    if named:
        return named
    columns = set(sheet.header)
    fitting = {
        resource: len(columns & set(known)) - len(columns - set(known))
        for resource, known in COLUMNS.items()
        if _REQUIRED.get(resource, {"name"}) <= columns
    }
    best = max(fitting.values(), default=0)
    likely = [resource for resource, fit in fitting.items() if fit == best]
    return likely[0] if best >= 2 and len(likely) == 1 else None


def _records(
    sheet: Sheet, resource: str, kinds: Sequence[Kind], places: dict[tuple[str, str], str]
) -> tuple[list[Record], list[Problem]]:
    """The records of one sheet and its problems; `places` tells where each name was seen."""
    if not sheet.lines:
        hint = "Export a shelf to see the columns."
        return [], [*sheet.problems, Problem(sheet.file, "a sheet without a line", "a header and rows", hint)]
    problems = _header_problems(sheet, resource)
    if problems:
        return [], problems
    rows = [(number, _cells(sheet, number, row, problems)) for number, row in sheet.rows]
    numbers = Numbers.of(number_cells([cells for _, cells in rows]), sheet.delimiter)
    records = []
    for number, cells in rows:
        where = f"{sheet.file}, row {number}, "
        record, wrong = _record(resource, cells, numbers, kinds)
        problems += [Problem(where + p.field, p.got, p.allowed, p.hint) for p in wrong]
        name = record.get("name")
        if isinstance(name, str):
            seen = places.setdefault((resource, name_key(name)), where.rstrip(", "))
            if seen != where.rstrip(", "):
                hint = f"It stands in {seen} too. Keep one of them."
                problems.append(Problem(where + "name", shown(name), "each name once", hint))
        records.append(record)
    return records, problems


def _header_problems(sheet: Sheet, resource: str) -> list[Problem]:
    where, known = f"{sheet.file}, row {sheet.header_row}", COLUMNS[resource]
    allowed = "the columns " + ", ".join(known)
    problems = []
    for column in dict.fromkeys(sheet.header):
        if sheet.header.count(column) > 1:
            problems.append(Problem(where, shown(column), "each column once", "Remove one of them."))
        elif column not in known:
            near = get_close_matches(column[:60], known, n=1)
            hint = f"Did you mean {near[0]}?" if near else "Remove the column."
            problems.append(Problem(where, shown(column), allowed, hint))
    missing = sorted(_REQUIRED.get(resource, {"name"}) - set(sheet.header))
    if missing:
        hint = f"Add the column {' and '.join(missing)}."
        problems.append(Problem(where, ", ".join(sheet.header)[:200], allowed, hint))
    return problems


def _cells(sheet: Sheet, number: int, row: Sequence[str], problems: list[Problem]) -> Mapping[str, str]:
    width = len(sheet.header)
    if any(cell.strip() for cell in row[width:]):
        hint = "Look for a separator in a text; such a text needs quotation marks around it."
        beyond = " ".join(cell for cell in row[width:] if cell)
        problems.append(Problem(f"{sheet.file}, row {number}", shown(beyond), f"at most {width} cells", hint))
    return dict(zip(sheet.header, row, strict=False))


def _record(
    resource: str, cells: Mapping[str, str], numbers: Numbers, kinds: Sequence[Kind]
) -> tuple[Record, list[Problem]]:
    """One row as a clean record of the columns it has, and its problems by column."""
    given: Record = {}
    problems: list[Problem] = []
    for column, cell in cells.items():
        try:
            value = read_cell(resource, column, cell, numbers)
        except Unreadable as error:
            problems.append(Problem(column, shown(cell), error.allowed, error.hint))
            value = None
        if resource == "jars" and column in TEXTURE:
            given.setdefault("texture", {})[column] = value
        else:
            given[column] = value
    unreadable = {p.field for p in problems}
    checked, wrong = check(resource, given, kinds)
    for problem in wrong:
        column = _column(problem.field)
        # A cell that could not be read was told of already.
        if column not in unreadable:
            problems.append(Problem(column, problem.got, problem.allowed, problem.hint))
    record: dict[str, Any] = {field: checked[field] for field in checked if field in given}
    if "texture" in given:
        record["texture"] = {part: checked["texture"][part] for part in given["texture"]}
    return record, problems


def _column(field: str) -> str:
    first, _, rest = field.partition(".")
    return rest if first == "texture" and rest else first
