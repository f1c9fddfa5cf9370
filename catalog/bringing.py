"""A baker's own file onto a shelf: first what it would do, then all of it or nothing, tied to what was shown."""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from catalog.cells import COLUMNS, unguarded, write_cell
from catalog.errors import NotAsShown
from catalog.own_columns import plain
from catalog.own_days import Order
from catalog.own_rows import Line, Read, by_name, read_rows, record_of, settled, told_once
from catalog.own_sheets import NOTHING, Remembered, Understood, notes_of, problems_of, understood
from catalog.places import decimal_of, order_of
from catalog.remembered import remember_within, remembered_columns
from catalog.rows import Record, fields_of
from catalog.sheet_files import Sheet, open_sheets
from catalog.ways import DECIMALS, REPEATS, Ways
from themekit.errors import Problem, raise_all
from themekit.values import Kind

if TYPE_CHECKING:
    from catalog.store import ShelfRow, Store

Becomes = Literal["added", "changed", "as it is"]
Json = dict[str, Any]
_NOT_IMPORTED = "Nothing was imported, because some of it cannot be used."
_MOST_EXAMPLES = 6
#: Told so many rows are done of so many.
Tell = Callable[[int, int], None]
_TOLD_EVERY = 20


@dataclass(frozen=True, slots=True)
class Change:
    """One row of the file and what becomes of its thing; `fields` are (field, old, new) as cells."""

    sheet: str
    row: int
    what: str
    name: str
    becomes: Becomes
    fields: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """What is doubtful in the file and is settled by one choice: `ways.days` and so on.

    cells  some of the cells in doubt: place, what stands there, and what each choice makes of it
    """

    about: str
    text: str
    choices: tuple[str, ...]
    count: int
    cells: tuple[tuple[str, str, dict[str, str]], ...]


@dataclass(frozen=True)
class Opened:
    """A file's sheets, and what is wrong with those that cannot be read."""

    name: str
    sheets: tuple[Sheet, ...]
    problems: tuple[Problem, ...]

    @property
    def digest(self) -> str:
        """The same for the same cells, whatever the file is called."""
        cells = [(s.file, s.delimiter, s.lines) for s in self.sheets]
        return hashlib.sha256(repr(cells).encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True)
class Plan:
    """What bringing a file in would do to a shelf. With problems nothing can be brought in."""

    opened: Opened
    ways: Ways
    sheets: tuple[Understood, ...]
    records: Mapping[str, Sequence[Record]]
    changes: tuple[Change, ...]
    questions: tuple[Question, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]

    @property
    def proposed(self) -> bool:
        """Whether a title was taken for a field, or left out, by other than its name or a choice."""
        return any(column.proposed for sheet in self.sheets if sheet.what for column in sheet.columns)

    def chosen(self) -> Remembered:
        """What was chosen for the columns there are, by what their sheet holds."""
        found: dict[str, dict[str, str]] = {}
        for one in self.sheets:
            given = {plain(title): choice for title, choice in self.ways.of_sheet(one.sheet.file).items()}
            for title in (plain(column.title) for column in one.columns) if one.what else ():
                if title and title in given:
                    found.setdefault(one.what or "", {})[title] = given[title]
        return found

    @property
    def shown(self) -> str:
        """What ties an import to this plan: the file, the choices, and what would be done."""
        done = [(c.sheet, c.row, c.what, c.name, c.becomes, c.fields) for c in self.changes]
        parts = (self.opened.digest, _digest(self.ways.record()), _digest(done))
        return ".".join(part[:20] for part in parts)


def open_file(path: str | Path, name: str | None = None) -> Opened:
    """The sheets of a CSV, a folder or .zip of CSVs, or a workbook called `name`. Raises `InvalidValue`."""
    sheets, problems = open_sheets(path)
    return Opened(name or Path(path).name, tuple(sheets), tuple(problems))


def planned(
    opened: Opened,
    ways: Ways,
    kinds: Sequence[Kind],
    old: Mapping[str, Sequence[Record]],
    shelf: ShelfRow | None = None,
    what: str | None = None,
    remembered: Remembered = NOTHING,
    tell: Tell | None = None,
) -> Plan:
    """What the file would do to a shelf that holds `old`, as `Store.records` gives it.

    `what` is what every sheet holds, where that is known; `remembered` are the choices of earlier files.
    `tell` is told now and then how many rows are done of how many; what it raises ends the work.
    Whatever is wrong with the file is in the plan; `InvalidValue` is raised for a `what` that there is not.
    """
    if what is not None:
        fields_of(what)
    sheets = tuple(understood(sheet, ways, what, remembered) for sheet in opened.sheets if sheet.lines)
    read = Read(problems=list(opened.problems))
    if tell is not None:
        read.row_done = _counted(tell, sum(len(one.sheet.rows) for one in sheets if one.what is not None))
    there = by_name(old)
    order, decimal, days_by, decimal_by = _settled_by_place(ways, shelf)
    for one in sheets:
        read.notes += notes_of(one)
        read.problems += one.sheet.problems if one.how != "left out" else ()
        wrong = problems_of(one, ways)
        read.problems += wrong
        if one.what is not None and not wrong:
            currency = shelf.currency if shelf else None
            read_rows(one, decimal, order, currency, kinds, there, read)
    lines = settled(read, ways.repeats, there)
    records, changes = _changes(lines, kinds, read)
    said = [told for told, doubts in ((days_by, read.two_days), (decimal_by, read.two_numbers)) if told and doubts]
    notes = [*said, *read.notes, *_unused(ways, sheets)]
    if not read.problems and not lines:
        hint = "Add a row below the titles."
        read.problems.append(Problem(opened.name, "titles and no rows", "at least one row", hint))
    return Plan(
        opened,
        ways,
        sheets,
        records,
        tuple(changes),
        _questions(read, order, ways),
        tuple(told_once(read.problems)),
        tuple(notes),
    )


def _counted(tell: Tell, rows: int) -> Callable[[], None]:
    """Tell of every so many rows; each is done twice, read and checked."""
    steps = itertools.count(1)

    def row_done() -> None:
        if (step := next(steps)) % _TOLD_EVERY == 1:
            tell(min(step // 2, rows), rows)

    return row_done


def try_out(
    store: Store, shelf_id: int, opened: Opened, ways: Ways, what: str | None = None, tell: Tell | None = None
) -> Plan:
    """What bringing the file in would do to that shelf now. Raises `NotFound`."""
    old, shelf, remembered = store.records(shelf_id), store.shelf(shelf_id), remembered_columns(store, shelf_id)
    return planned(opened, ways, store.kinds, old, shelf, what, remembered, tell)


def bring(
    store: Store,
    shelf_id: int,
    opened: Opened,
    ways: Ways,
    shown: str | None = None,
    what: str | None = None,
    tell: Tell | None = None,
) -> Plan:
    """Bring the file in, all or nothing, and return what was done.

    `shown` is `Plan.shown` of the plan that was agreed to; only a file whose every title is one of our
    names, or was chosen, may do without. Raises `NotAsShown` when the file, the choices or what would
    be done are others by now, and `InvalidValue` with every problem.
    """
    shelf, remembered = store.shelf(shelf_id), remembered_columns(store, shelf_id)
    made: list[Plan] = []

    def choose(old: Mapping[str, Sequence[Record]]) -> Mapping[str, Sequence[Record]]:
        plan = planned(opened, ways, store.kinds, old, shelf, what, remembered, tell)
        if shown is not None:
            _check_shown(shown, plan)
        raise_all(plan.problems, _NOT_IMPORTED)
        if shown is None and plan.proposed:
            titles = ", ".join(c.title for one in plan.sheets for c in one.columns if c.proposed)
            hint = "Try it out first, look at what each column is taken for, then say that it is right."
            problem = Problem("shown", titles[:200], "our own names of fields, or choices for the columns", hint)
            raise NotAsShown("Some columns have names of your own; they want to be looked at first.", [problem])
        made[:] = [plan]
        return plan.records

    store.load_by(shelf_id, choose, lambda session: remember_within(session, shelf_id, made[0].chosen()))
    return made[0]


def remember(store: Store, shelf_id: int, plan: Plan) -> None:
    """Keep a plan's choices of columns for the next file, where it was carried out by other means than `bring`."""
    with store.writing(shelf_id) as (session, _):
        remember_within(session, shelf_id, plan.chosen())


def _check_shown(shown: str, plan: Plan) -> None:
    names = ("file", "ways", "shelf")
    told = {
        "file": ("the file that was tried out", "This is another file, or it was changed. Try it out again."),
        "ways": ("the choices that were tried out", "Other choices were made since. Try it out again."),
        "shelf": ("the shelf as it was shown", "The shelf was changed since. Look at what would be done now."),
    }
    parts = shown.split(".")
    if len(parts) != len(names):
        problem = Problem("shown", shown[:80], "what a try-out gave as “shown”", "Try it out first.")
        raise NotAsShown("This was not tried out.", [problem])
    other = [n for n, one, now in zip(names, parts, plan.shown.split("."), strict=True) if one != now]
    # With another file or other choices, what would be done is another too.
    other = [n for n in other if n != "shelf"] or other
    if other:
        problems = [Problem(name, "something else", *told[name]) for name in other]
        raise NotAsShown("Nothing was imported, because it is not what was shown.", problems)


def _changes(
    lines: Sequence[Line], kinds: Sequence[Kind], read: Read
) -> tuple[dict[str, list[Record]], list[Change]]:
    records: dict[str, list[Record]] = {}
    changes = []
    for line in lines:
        read.row_done()
        record, full, wrong = record_of(line, kinds)
        read.problems += wrong
        if wrong or line.unread:
            continue
        records.setdefault(line.what, []).append(record)
        before = {c: _cell(line.what, c, line.old) for c in COLUMNS[line.what]}
        after = {c: _cell(line.what, c, full) for c in COLUMNS[line.what]}
        fields = tuple((c, before[c], after[c]) for c in COLUMNS[line.what] if before[c] != after[c])
        becomes: Becomes = "added" if line.old is None else "changed" if fields else "as it is"
        changes.append(Change(line.sheet, line.row, line.what, str(full["name"]), becomes, fields))
    return records, changes


def _cell(what: str, column: str, record: Record | None) -> str:
    return unguarded(write_cell(what, column, record)) if record else ""


def _settled_by_place(ways: Ways, shelf: ShelfRow | None) -> tuple[Order | None, Ways, str, str]:
    """What the shelf's place settles where nothing was chosen, and how that is told."""
    order, decimal = ways.days, ways.decimal
    days_by = decimal_by = ""
    for place in [p for p in (shelf.locale, shelf.region) if p] if shelf else []:
        if order is None and (order := order_of(place)):
            days_by = (
                f"Days such as 03/04/2027 are read with the {order}, as is usual for {place}, the shelf's place."
            )
        if decimal is None and (decimal := decimal_of(place)):
            sign = "comma" if decimal == "comma" else "point"
            decimal_by = (
                f"Numbers such as 1,234 and 1.234 are read with a decimal {sign}, as is usual for {place}."
            )
    return order, replace(ways, decimal=decimal), days_by, decimal_by


def _unused(ways: Ways, sheets: Sequence[Understood]) -> list[str]:
    """Choices that nothing in the file is of."""
    titles = {plain(t) for one in sheets for t in one.sheet.titles}
    names = {one.sheet.file for one in sheets}
    told = [
        f"There is no sheet {name}; the choice for it was not used."
        for name in ways.sheets
        if name not in {*names, "*"}
    ]
    told += [
        f"There is no column “{title}”; the choice for it was not used."
        for chosen in ways.columns.values()
        for title in chosen
        if plain(title) not in titles
    ]
    return told


def _questions(read: Read, order: Order | None, ways: Ways) -> tuple[Question, ...]:
    found = []
    if read.two_days and order is None:
        text = "Some days may be two days. What comes first in this file?"
        cells = tuple(
            (place, cell, {str(way): day for way, day in both.items()})
            for place, cell, both in read.two_days[:_MOST_EXAMPLES]
        )
        found.append(Question("days", text, ("day first", "month first"), len(read.two_days), cells))
    if read.two_numbers and ways.decimal is None:
        text = "Some numbers may be two numbers. Which is the decimal sign in this file?"
        examples = tuple(
            (place, cell, {str(way): _number_read(cell, way) for way in DECIMALS})
            for place, cell in read.two_numbers[:_MOST_EXAMPLES]
        )
        found.append(Question("decimal", text, DECIMALS, len(read.two_numbers), examples))
    if read.repeats and ways.repeats is None:
        text = (
            "Some names stand in several rows. Are they one thing, to be added up, or several, to be kept apart?"
        )
        rows = tuple((one, "", dict[str, str]()) for one in read.repeats[:_MOST_EXAMPLES])
        found.append(Question("repeats", text, REPEATS, len(read.repeats), rows))
    return tuple(found)


def _number_read(cell: str, way: str) -> str:
    thousands, point = (",", ".") if way == "point" else (".", ",")
    return cell.replace(thousands, "").replace(point, ".")


def _digest(value: Any) -> str:
    return hashlib.sha256(json.dumps(value, ensure_ascii=True, sort_keys=True).encode()).hexdigest()


def plan_json(plan: Plan) -> Json:
    """A plan as the API and the command line give it."""
    counts: dict[str, dict[str, int]] = {}
    words = {"added": "created", "changed": "changed", "as it is": "kept"}
    for change in plan.changes:
        counts.setdefault(change.what, {"created": 0, "changed": 0, "kept": 0})[words[change.becomes]] += 1
    return {
        "file": plan.opened.name,
        "sheets": [_sheet_json(one) for one in plan.sheets],
        "questions": [
            {
                "about": q.about,
                "text": q.text,
                "choices": list(q.choices),
                "count": q.count,
                "cells": [{"place": p, "cell": c, "readings": dict(r)} for p, c, r in q.cells],
            }
            for q in plan.questions
        ],
        "rows": counts,
        "changes": [
            {
                "sheet": c.sheet,
                "row": c.row,
                "what": c.what,
                "name": c.name,
                "becomes": c.becomes,
                "fields": [{"field": f, "old": old, "new": new} for f, old, new in c.fields],
            }
            for c in plan.changes
        ],
        "notes": list(plan.notes),
        "ways": plan.ways.record(),
        "shown": None if plan.problems else plan.shown,
    }


def _sheet_json(one: Understood) -> Json:
    samples = [
        [row[n].strip()[:60] for _, row in one.sheet.rows if n < len(row) and row[n].strip()][:3]
        for n in range(len(one.columns))
    ]
    return {
        "sheet": one.sheet.file,
        "what": one.what,
        "how": one.how,
        "titles_row": one.sheet.header_row,
        "rows": len(one.sheet.rows),
        "columns": [
            {"title": c.title, "field": c.field, "how": c.how, "unit": c.unit, "samples": sample}
            for c, sample in zip(one.columns, samples, strict=True)
        ],
    }
