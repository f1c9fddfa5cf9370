"""Changes to rows in hand: making, changing and archiving them, one by one or many at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from catalog.absorption import absorption, model_version
from catalog.composition import COMPOSITION, check_composition
from catalog.convert import columns, on_hand_of, record_of
from catalog.fields import Checks, name_key, shown
from catalog.rows import RECIPES, Record, check, merged
from catalog.tables import TABLES, GelTable, Owned, ShelfTable, Stocked
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import Kind


def new_row(shelf_id: int, resource: str, record: Record) -> Owned:
    """A row, not yet kept, of a clean record. Raises `InvalidValue` for a gel that cannot tint."""
    row = TABLES[resource](shelf_id=shelf_id, version=0)
    put(row, resource, record)
    return row


def put(row: Owned, resource: str, record: Record) -> None:
    """Put a clean record into a row, which gets its next version."""
    if isinstance(row, GelTable):
        row.k, row.k_model = absorption(record), model_version()
    for column, value in columns(resource, record).items():
        setattr(row, column, value)
    row.name_key = name_key(record["name"])
    row.version += 1


def archive(row: Owned) -> None:
    """Take a row off its shelf; it stays for what refers to it."""
    row.archived_at = datetime.now(UTC)
    row.version += 1


def shown_recipes(shelf: ShelfTable) -> dict[str, Record]:
    """The standing dough and icing; what was never entered is unknown."""
    unknown: Record = dict.fromkeys(COMPOSITION)
    return {recipe: unknown | (getattr(shelf, recipe) or {}) for recipe in RECIPES}


def check_recipes(given: Any, old: Mapping[str, Record]) -> tuple[dict[str, Record], list[Problem]]:
    """`old` with the given fields of dough and icing over it, and every problem."""
    checks = Checks()
    new = {recipe: dict(old[recipe]) for recipe in RECIPES}
    if not isinstance(given, Mapping):
        checks.wrong("recipes", given, "an object with dough, icing or both", "Send an object.")
        return new, checks.problems
    for recipe, fields in given.items():
        allowed = "an object with " + ", ".join(COMPOSITION)
        if recipe not in RECIPES:
            checks.wrong(str(recipe)[:60], fields, "dough or icing", "Leave it out.")
        elif not isinstance(fields, Mapping):
            checks.wrong(recipe, fields, allowed, "Send an object.")
        else:
            for name in fields:
                if name not in COMPOSITION:
                    checks.wrong(f"{recipe}.{str(name)[:60]}", fields[name], allowed, "Leave it out.")
            new[recipe] = check_composition(checks, new[recipe] | dict(fields), f"{recipe}.")
    return new, checks.problems


@dataclass
class Counts:
    """What became of the rows of one resource."""

    created: int = 0
    changed: int = 0
    kept: int = 0
    removed: int = 0


class Loading:
    """Many records at once: nothing is changed before all of them are found to be right."""

    def __init__(self, shelf: ShelfTable, kinds: Sequence[Kind], replace: bool) -> None:
        self.counts: dict[str, Counts] = {}
        self.made: list[Owned] = []
        #: Rows whose amount on hand was entered anew, with what stood before.
        self.stock: list[tuple[str, Owned, int | None]] = []
        self._shelf, self._kinds, self._replace = shelf, kinds, replace
        self._problems: list[Problem] = []
        self._puts: list[tuple[Owned, str, Record, str]] = []
        self._archived: list[Owned] = []
        self._recipes: dict[str, Record] | None = None

    def rows(self, resource: str, records: Any, old: Iterable[Owned]) -> None:
        """Plan one resource's records against the rows that are there."""
        counts = self.counts[resource] = Counts()
        there = {row.name_key: row for row in old}
        named: set[str] = set()
        for number, record in enumerate(self._list(resource, records)):
            key = _key(record)
            row = there.get(key) if key else None
            before = record_of(resource, row) if row else None
            full = merged(resource, before, record) if before else record
            checked, problems = check(resource, full, self._kinds)
            if key and key in named:
                hint = "Keep one of them, or give one another name."
                problems.append(Problem("name", shown(record["name"]), "each name once", hint))
            self._problems += [_placed(p, f"{resource}.{number}.") for p in problems]
            named.add(key or "")
            if problems or checked == before:
                counts.kept += 1
                continue
            counts.changed += row is not None
            counts.created += row is None
            self._plan(row, resource, checked, f"{resource}.{number}.")
        if self._replace:
            gone = [row for key, row in there.items() if key not in named]
            self._problems += promised_problems(resource, gone)
            counts.removed = len(gone)
            self._archived += gone

    def recipes(self, records: Any) -> None:
        """Plan the records named dough and icing."""
        counts = self.counts["recipes"] = Counts()
        old = shown_recipes(self._shelf)
        new = {recipe: dict(fields) for recipe, fields in old.items()}
        named: set[str] = set()
        for number, record in enumerate(self._list("recipes", records)):
            checked, problems = check("recipes", record)
            name = checked.get("name")
            if name in named:
                problems.append(Problem("name", name, "each recipe once", "Keep one of them."))
            self._problems += [_placed(p, f"recipes.{number}.") for p in problems]
            if name and not problems:
                named.add(name)
                new[name] |= {f: checked[f] for f in COMPOSITION if f in record}
                counts.changed += new[name] != old[name]
                counts.kept += new[name] == old[name]
        if new != old:
            self._recipes = new

    def finish(self) -> bool:
        """Carry the plan out and tell whether anything changed; else raise every problem."""
        if not self._problems:
            for row, resource, record, where in self._puts:
                before = on_hand_of(resource, row)
                try:
                    put(row, resource, record)
                    self.stock.append((resource, row, before))
                except InvalidValue as error:
                    self._problems += [_placed(p, where) for p in error.problems]
        raise_all(self._problems, "Nothing was changed, because some rows cannot be used.")
        for row in self._archived:
            archive(row)
        if self._recipes is not None:
            self._shelf.dough, self._shelf.icing = self._recipes["dough"], self._recipes["icing"]
        return bool(self._puts or self._archived or self._recipes)

    def _plan(self, row: Owned | None, resource: str, record: Record, where: str) -> None:
        if row is None:
            row = TABLES[resource](shelf_id=self._shelf.id, version=0)
            self.made.append(row)
        self._puts.append((row, resource, record, where))

    def _list(self, resource: str, records: Any) -> Sequence[Any]:
        if isinstance(records, list | tuple):
            return records
        self._problems.append(Problem(resource, shown(records), "a list of records", "Send a list."))
        return []


def promised_problems(resource: str, rows: Iterable[Owned]) -> list[Problem]:
    """Rows that cannot be taken off the shelf, because some of them is promised to a batch."""
    hint = "Drop the batch that it is promised to, or swap it there, then take it off."
    return [
        Problem(resource, row.name, "something that is promised to no batch", hint)
        for row in rows
        if isinstance(row, Stocked) and row.reserved
    ]


def _key(record: Any) -> str | None:
    name = record.get("name") if isinstance(record, Mapping) else None
    return name_key(name.strip()) if isinstance(name, str) and name.strip() else None


def _placed(problem: Problem, where: str) -> Problem:
    return Problem(where + problem.field, problem.got, problem.allowed, problem.hint)
