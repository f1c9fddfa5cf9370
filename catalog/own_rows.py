"""The rows of a baker's sheet as records: read by its columns, filled from names, and several rows of one name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from catalog.cells import Numbers, Unreadable, read_cell, unguarded
from catalog.fields import name_key, shown
from catalog.own_cells import Reading, colour_within, figures_of, kind_within, translated
from catalog.own_columns import DAYS, PRICE_OF_FULL
from catalog.own_days import Order, readings
from catalog.own_sheets import Understood
from catalog.rows import TEXTURE, Record, check, kinds_allowed, merged
from catalog.ways import Repeats, Ways
from themekit.errors import Problem
from themekit.values import Kind

#: Our cells are written with points, whatever hers were.
_OURS = Numbers(three_after_comma=True, three_after_point=True)
_TOTALS = ("total", "totals", "sum", "grand total", "subtotal")
#: A longer list of what is allowed is not repeated, in signs.
_LONG = 200
_AMOUNTS = ("on_hand_g", "on_hand")


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a sheet as our cells by field, with what stands on the shelf under its name."""

    sheet: str
    row: int
    what: str
    cells: Mapping[str, str]
    titles: Mapping[str, str]
    old: Record | None
    #: Fields whose cell was told of already.
    unread: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        """The thing's name, as it stands."""
        return self.cells.get("name", "").strip()

    @property
    def where(self) -> str:
        """The place for problems."""
        return f"{self.sheet}, row {self.row}"


@dataclass
class Read:
    """What was read of a file, what is doubtful in it and what cannot be used."""

    lines: list[Line] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    #: Cells with a day that may be two days, and with a number that may be two numbers, by place.
    two_days: list[tuple[str, str, dict[Order, str]]] = field(default_factory=list)
    two_numbers: list[tuple[str, str]] = field(default_factory=list)
    repeats: list[str] = field(default_factory=list)
    #: Called for every row that was read, and once more when it was checked; may raise to stop.
    row_done: Callable[[], None] = lambda: None


def read_rows(
    one: Understood,
    ways: Ways,
    order: Order | None,
    currency: str | None,
    kinds: Sequence[Kind],
    old: Mapping[tuple[str, str], Record],
    into: Read,
) -> None:
    """Read the rows of one sheet; `old` is what stands on the shelf, by what it is and the key of its name."""
    assert one.what is not None, "a sheet is read once it is known what it holds"
    sheet, what = one.sheet, one.what
    figures = figures_of(one.columns, (cells for _, cells in sheet.rows))
    numbers = undecided = Numbers.of(figures, sheet.delimiter)
    if ways.decimal is not None:
        numbers = replace(numbers, decimal="." if ways.decimal == "point" else ",")
    reading = Reading(what, one.columns, numbers, order, currency, kinds)
    name_at = next((n for n, c in enumerate(one.columns) if c.field == "name"), 0)
    fields = {c.field for c in one.columns}
    titles = {str(c.field): c.title for c in one.columns if c.field}
    if PRICE_OF_FULL in titles:
        titles.setdefault("price_per_kg", titles[PRICE_OF_FULL])
    # A cell of one of the two may speak of the other too.
    label = next((titles[field] for field in ("allergens", "may_contain") if field in titles), None)
    named = titles | ({f: titles.get(f, label) for f in ("allergens", "may_contain")} if label else {})
    ours = all(c.how == "our name" for c in one.columns if c.title)
    keeping = ways.blanks == "keep" or (ways.blanks is None and not ours)
    kept = 0
    for row, cells in sheet.rows:
        into.row_done()
        where = f"{sheet.file}, row {row}"
        name = unguarded(cells[name_at]).strip() if name_at < len(cells) else ""
        if name.casefold().rstrip(":") in _TOTALS and not ours:
            into.notes.append(f"{where}: “{shown(name)}” is taken for a total and not brought in.")
            continue
        there = old.get((what, name_key(name)))
        made, problems = translated(cells, reading, there)
        beyond = " ".join(cell for cell in cells[len(one.columns) :] if cell.strip())
        if beyond:
            hint = "Look for a separator in a text; such a text needs quotation marks around it."
            problems.append(Problem("", shown(beyond), f"at most {len(one.columns)} cells", hint))
        _doubts(one, cells, undecided, where, into)
        if what == "jars" and there is None:
            _from_name(name, fields, made, kinds, into, where)
        unread = frozenset(f for f in titles if f not in made and f != PRICE_OF_FULL)
        if there is not None and keeping:
            blank = [f for f, cell in made.items() if not cell]
            kept += sum(_known(there, f) for f in blank)
            made = {f: cell for f, cell in made.items() if cell}
        into.problems += [_placed(where, p) for p in problems]
        into.lines.append(Line(sheet.file, row, what, made, named, there, unread))
    if kept:
        into.notes.append(f"{sheet.file}: {kept} blank cells leave what is known as it is.")


def _known(record: Record, column: str) -> bool:
    value = record["texture"][column] if column in TEXTURE and "texture" in record else record.get(column)
    return value not in (None, [])


def _doubts(one: Understood, cells: Sequence[str], numbers: Numbers, where: str, into: Read) -> None:
    """Note what a choice for the file settles, whether or not it was made."""
    for column, cell in zip(one.columns, cells, strict=False):
        if column.field in DAYS and (both := readings(cell)):
            into.two_days.append((f"{where}, {column.title}", cell.strip(), both))
    for figure in figures_of(one.columns, [cells]):
        if numbers.doubtful(figure):
            into.two_numbers.append((where, figure))


def _from_name(
    name: str, fields: set[str | None], made: dict[str, str], kinds: Sequence[Kind], into: Read, where: str
) -> None:
    """Kind and colour of a new jar from its name, where the sheet has no such columns or the cell is blank."""
    told = []
    if ("kind" not in fields or made.get("kind") == "") and (kind := kind_within(name, kinds)):
        made["kind"] = kind.name
        told.append(kind.name)
    if ("colours" not in fields or made.get("colours") == "") and (colour := colour_within(name)):
        made["colours"] = colour
        told.append(colour.replace("|", ", "))
    if told:
        into.notes.append(f"{where}: taken from the name “{shown(name)}”: {' and '.join(told)}.")


def settled(read: Read, repeats: Repeats | None, old: Mapping[tuple[str, str], Record]) -> list[Line]:
    """The lines with each name once: added up or kept apart, as chosen; else a problem for each that repeats."""
    groups: dict[tuple[str, str], list[Line]] = {}
    for line in read.lines:
        groups.setdefault((line.what, name_key(line.name)) if line.name else (line.where, ""), []).append(line)
    kept: list[Line] = []
    taken = {(line.what, name_key(line.name)) for line in read.lines}
    for (_, key), lines in groups.items():
        first = lines[0]
        if len(lines) == 1 or not key:
            kept += lines
        elif repeats == "add":
            kept.append(_added(lines, read))
        elif repeats == "apart":
            kept.append(first)
            kept += [_apart(line, number, taken, old) for number, line in enumerate(lines[1:], start=2)]
        else:
            read.repeats += [f"{line.where}: {shown(line.name)}" for line in lines]
            kept.append(first)
            for line in lines[1:]:
                hint = (
                    f"It stands in {first.where} too. Keep one of them, or say what several rows of one name mean."
                )
                place = f"{line.where}, {line.titles.get('name', 'name')}"
                read.problems.append(Problem(place, shown(line.name), "each name once", hint))
    return kept


def _added(lines: Sequence[Line], read: Read) -> Line:
    """Several rows of one thing: amounts summed, the earliest best-before, the latest use, the rest alike."""
    cells: dict[str, str] = {}
    for column in dict.fromkeys(column for line in lines for column in line.cells):
        told = {line.row: line.cells.get(column, "") for line in lines}
        filled = [cell for cell in told.values() if cell]
        cells[column] = filled[0] if filled else ""
        if column == "name" or (len(set(filled)) < 2 and column not in _AMOUNTS):
            continue
        if column in _AMOUNTS and filled:
            cells[column] = _sum(filled)
        elif column == "best_before":
            cells[column] = min(filled)
        elif column == "last_used":
            cells[column] = max(filled)
        for line in lines:
            odd = (
                not told[line.row]
                if column in _AMOUNTS
                else told[line.row] not in ("", filled[0] if filled else "")
            )
            if odd and filled and column not in DAYS:
                place = f"{line.where}, {line.titles.get(column, column)}"
                allowed = (
                    "an amount in each row" if column in _AMOUNTS else "the same in all rows that are added up"
                )
                hint = f"{lines[0].where} has {filled[0]}. Mend the row, or keep the rows apart."
                read.problems.append(Problem(place, shown(told[line.row]) or None, allowed, hint))
    rows = ", ".join(str(line.row) for line in lines)
    read.notes.append(f"{lines[0].sheet}, rows {rows}: added up as one “{shown(lines[0].name)}”.")
    return replace(lines[0], cells=cells)


def _sum(cells: Sequence[str]) -> str:
    try:
        return f"{sum(float(cell) for cell in cells):.6f}".rstrip("0").rstrip(".")
    except ValueError:
        # One of them is no number, which is told of it later.
        return next(cell for cell in cells if not cell.replace(".", "", 1).isdigit())


def _apart(line: Line, number: int, taken: set[tuple[str, str]], old: Mapping[tuple[str, str], Record]) -> Line:
    lot = line.cells.get("lot", "")
    name = f"{line.name}, lot {lot}" if lot else f"{line.name} ({number})"
    while (line.what, name_key(name)) in taken:
        number += 1
        name = f"{line.name} ({number})"
    taken.add((line.what, name_key(name)))
    return replace(line, cells={**line.cells, "name": name}, old=old.get((line.what, name_key(name))))


def record_of(line: Line, kinds: Sequence[Kind]) -> tuple[Record, Record, list[Problem]]:
    """A line as a record of what it tells, the whole record that it leads to, and what is wrong in it."""
    given: Record = {}
    problems: list[Problem] = []
    for column, cell in line.cells.items():
        try:
            value = read_cell(line.what, column, cell, _OURS)
        except Unreadable as error:
            place = line.titles.get(column, column)
            problems.append(_placed(line.where, Problem(place, shown(cell), error.allowed, error.hint)))
            continue
        if line.what == "jars" and column in TEXTURE:
            given.setdefault("texture", {})[column] = value
        else:
            given[column] = value
    full = merged(line.what, line.old, given) if line.old else given
    checked, wrong = check(line.what, full, kinds)
    told = {p.field for p in problems}
    for problem in wrong:
        first, _, rest = problem.field.partition(".")
        column = rest if first == "texture" and rest else first
        place = f"{line.where}, {line.titles.get(column, column)}"
        if column == "kind" and line.what == "jars" and problem.got is None:
            hint = f"The name “{shown(line.name)}” names none either. Fill the kind in."
            problem = Problem("kind", None, kinds_allowed(kinds), hint)
        if place not in told and column not in line.unread:
            problems.append(Problem(place, problem.got, problem.allowed, problem.hint))
    record: dict[str, Any] = {name: checked[name] for name in checked if name in given}
    if "texture" in given:
        record["texture"] = {part: checked["texture"][part] for part in given["texture"]}
    return record, checked, problems


def told_once(problems: Iterable[Problem]) -> list[Problem]:
    """The problems, with each long list of what is allowed given in full only where it comes first."""
    first: dict[str, str] = {}
    told = []
    for one in problems:
        at = first.setdefault(one.allowed, one.field) if len(one.allowed) > _LONG else one.field
        told.append(
            one if at == one.field else Problem(one.field, one.got, f"one of those listed for {at}", one.hint)
        )
    return told


def _placed(where: str, problem: Problem) -> Problem:
    place = f"{where}, {problem.field}" if problem.field else where
    return Problem(place, problem.got, problem.allowed, problem.hint)


def by_name(records: Mapping[str, Iterable[Record]]) -> dict[tuple[str, str], Record]:
    """Records by what they are and the key of their name."""
    return {(what, name_key(one["name"])): one for what, found in records.items() for one in found}
