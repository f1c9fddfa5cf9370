"""What each sheet of a baker's file holds and what its columns stand for: found out, shown, open to choice."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath
from types import MappingProxyType
from typing import Literal

from catalog.cells import COLUMNS
from catalog.fields import shown
from catalog.own_columns import DAYS, Column, choice_problems, fit, match
from catalog.own_days import day_of, readings
from catalog.sheet_files import Sheet
from catalog.ways import EVERY, Ways
from themekit.errors import InvalidValue, Problem

#: By what a sheet holds, its titles and what was chosen for each of them at an earlier import.
Remembered = Mapping[str, Mapping[str, str]]
NOTHING: Remembered = MappingProxyType({})

Found = Literal["its name", "its columns", "chosen", "left out", "not known"]
#: Words in the names of sheets (common practice, no source).
_NAMED: dict[str, tuple[str, ...]] = {
    "jars": ("jar", "jars", "sprinkle", "sprinkles", "topping", "toppings", "nonpareils", "jimmies"),
    "cutters": ("cutter", "cutters", "shapes"),
    "gels": ("gel", "gels", "dyes", "colouring", "colourings", "coloring", "colorings"),
    "boxes": ("box", "boxes", "cartons"),
    "supplies": ("supply", "supplies", "ingredient", "ingredients", "pantry", "packaging"),
    "themes": ("theme", "themes", "occasions"),
    "recipes": ("recipe", "recipes"),
}
#: So many of the first rows may be the header.
_TOP = 12
#: A sheet is taken for what its columns fit best from here on, and by so much better than anything else.
_ENOUGH, _CLEARLY = 2.0, 0.5


@dataclass(frozen=True, slots=True)
class Understood:
    """A sheet with its header, what it holds (None: not known, or left out), and its columns."""

    sheet: Sheet
    what: str | None
    how: Found
    columns: tuple[Column, ...] = ()


def understood(sheet: Sheet, ways: Ways, what: str | None = None, remembered: Remembered = NOTHING) -> Understood:
    """One sheet, by what was chosen for it, its name, or its columns; `what` overrules them.

    Columns of which nothing is chosen are taken as `remembered` of an earlier file.
    """
    chosen = ways.sheets.get(sheet.file, ways.sheets.get(EVERY, what))
    titles = _Titles(ways.of_sheet(sheet.file), remembered)
    if chosen == "":
        return Understood(_headed(sheet, tuple(COLUMNS), titles), None, "left out")
    if chosen:
        return _matched(_headed(sheet, (chosen,), titles), chosen, "chosen", titles)
    named = _named(sheet.file)
    if named:
        return _matched(_headed(sheet, (named,), titles), named, "its name", titles)
    headed = _headed(sheet, tuple(COLUMNS), titles)
    fits = sorted(
        ((fit(titles.match(headed.titles, thing)), -number, thing) for number, thing in enumerate(COLUMNS)),
        reverse=True,
    )
    best, _, thing = fits[0]
    if best >= _ENOUGH and best - fits[1][0] >= _CLEARLY:
        return _matched(headed, thing, "its columns", titles)
    return Understood(headed, None, "not known", tuple(Column(t, None, "left out") for t in headed.titles))


@dataclass(frozen=True, slots=True)
class _Titles:
    """What was chosen for titles, for this file and for earlier ones."""

    chosen: Mapping[str, str]
    remembered: Remembered

    def match(self, titles: Sequence[str], what: str, alike: bool = True) -> list[Column]:
        return match(titles, what, self.chosen, alike, self.remembered.get(what))


def problems_of(one: Understood, ways: Ways) -> list[Problem]:
    """What is wrong with a sheet before its rows are read."""
    where = f"{one.sheet.file}, row {one.sheet.header_row}"
    if one.how == "left out":
        return []
    if one.what is None:
        hint = "Say what the sheet holds, or leave it out."
        allowed = "the columns of one of " + ", ".join(COLUMNS)
        return [Problem(where, ", ".join(one.sheet.titles)[:200], allowed, hint)]
    problems = [
        Problem(where, shown(title), "each title once", "Give one of the columns another title.")
        for title in dict.fromkeys(t for t in one.sheet.titles if t)
        if one.sheet.titles.count(title) > 1
    ]
    problems += choice_problems(where, one.sheet.titles, one.what, ways.of_sheet(one.sheet.file))
    if not any(c.field == "name" for c in one.columns):
        hint = "Say which column holds the name."
        allowed = "a column with the name of each of the " + one.what
        problems.append(Problem(where, ", ".join(one.sheet.titles)[:200], allowed, hint))
    return problems


def notes_of(one: Understood) -> list[str]:
    """What is told of a sheet: rows above its header, columns that are left out."""
    name, told = one.sheet.file, list(one.sheet.notes)
    if one.how == "left out":
        return [*told, f"{name} is left out."]
    if one.sheet.header_at:
        above = ", ".join(str(n) for n, _ in one.sheet.lines[: one.sheet.header_at])
        told.append(f"{name}: row {above} stands above the titles and is not read.")
    last = [f"“{shown(c.title)}”" for c in one.columns if c.how == "as you chose last time"]
    if last:
        told.append(f"{name}: taken as you chose last time: {', '.join(last)}. Choose anew what is no longer so.")
    left = [c.title for n, c in enumerate(one.columns) if c.field is None and (c.title or _filled(one.sheet, n))]
    if left and one.what:
        titles = ", ".join(f"“{shown(t)}”" if t else "a column without a title" for t in left)
        told.append(f"{name}: not brought in: {titles}.")
    days = [
        c.title for n, c in enumerate(one.columns) if c.how == "left out" and c.title and _holds_days(one.sheet, n)
    ]
    kept = [field for field in DAYS if one.what and field in COLUMNS[one.what]]
    if days and kept:
        titles = " and ".join(f"“{shown(t)}”" for t in days)
        told.append(
            f"{name}: {titles} holds days. The days kept of {one.what} are {' and '.join(kept)}; others, such as "
            "when a thing was bought or opened, have no place. If it is one of the two, choose that for it."
        )
    return told


def _holds_days(sheet: Sheet, column: int) -> bool:
    """Whether more than half of what stands in a column are days."""
    cells = [row[column].strip() for _, row in sheet.rows if len(row) > column and row[column].strip()]
    return sum(_is_day(cell) for cell in cells) * 2 > len(cells)


def _is_day(cell: str) -> bool:
    try:
        day_of(cell, "day first" if readings(cell) else None)
    except InvalidValue:
        return False
    return not cell.replace(".", "", 1).isdigit()


def _filled(sheet: Sheet, column: int) -> bool:
    return any(len(row) > column and row[column].strip() for _, row in sheet.rows)


def _matched(sheet: Sheet, what: str, how: Found, titles: _Titles) -> Understood:
    return Understood(sheet, what, how, tuple(titles.match(sheet.titles, what)))


def _named(file: str) -> str | None:
    """What a sheet's name says: "Jars (2)", "sprinkles-2027" and "Cookie cutters" do."""
    words = set(re.findall(r"[a-z]+", PurePath(file).stem.lower()))
    found = [what for what, names in _NAMED.items() if words & set(names)]
    return found[0] if len(found) == 1 else None


def _headed(sheet: Sheet, things: Sequence[str], titles: _Titles) -> Sheet:
    """The sheet headed by that of its first rows which surely names the most columns; the first of several."""
    best, at = 0, 0
    for number, (_, cells) in enumerate(sheet.lines[:_TOP]):
        for what in things:
            found = titles.match(cells, what, alike=False)
            sure = sum(c.field is not None for c in found)
            if sure > best and (sure > 1 or number == 0):
                best, at = sure, number
    return replace(sheet, header_at=at)
