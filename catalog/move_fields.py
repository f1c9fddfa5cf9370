"""Reading one move as it is entered: what of, what happened, and how much, by scale, spoon or eye."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.convert import UNITS_KEPT
from catalog.fields import MOST_GRAMS, Checks
from catalog.lookup import LARGEST_ID
from catalog.stock_tables import STOCKED, MoveTable
from catalog.tables import TABLES, JarTable, Owned, SupplyTable
from themekit.errors import InvalidValue, Problem, raise_all

ENTERED = ("bought", "counted", "used", "given away", "spoiled")
#: Share of a full jar by eye, and how far that may be off; common practice, no source.
LEVELS = {
    "full": (1.0, 0.05),
    "three quarters": (0.75, 0.12),
    "half": (0.5, 0.12),
    "low": (0.15, 0.1),
    "empty": (0.0, 0.02),
}
_OF = {"jar": "jars", "gel": "gels", "box": "boxes", "supply": "supplies"}
_AMOUNTS = ("grams", "pieces", "amount", "gross_g", "level")
_FIELDS = (*_OF, "kind", *_AMOUNTS, "full_g", "note")
#: The least that a full jar may hold, g.
_LEAST_FULL = 0.001


@dataclass(frozen=True, slots=True)
class Entered:
    """A move as entered, checked as far as it can be without the item's row."""

    resource: str
    id: int
    kind: str
    amount_field: str
    amount: float
    level: str | None
    note: str | None
    full_g: float | None = None

    def change(self, resource: str, row: Owned, before: int | None) -> tuple[int, int, str | None]:
        """By how much the amount on hand changes, how unsure that is, and what was assumed.

        In the item's whole unit; what a full jar holds goes into its row.
        Raises `InvalidValue` where the row does not tell enough.
        """
        scale, _ = UNITS_KEPT[resource]
        uncertain, told = 0, None
        if self.full_g is not None and isinstance(row, JarTable):
            row.full_mg = round(self.full_g * scale)
        if self.level is not None:
            full = _full(row)
            share, off = LEVELS[self.level]
            amount, uncertain = round(full * share), round(full * off)
            told = f"by eye: {self.level}"
        elif self.amount_field == "gross_g":
            empty = row.empty_jar_mg if isinstance(row, JarTable) else None
            if empty is None:
                hint = "Enter empty_jar_g of the jar, or send grams without the jar."
                raise _wrong(Problem("gross_g", self.amount, "a jar whose empty_jar_g is known", hint))
            amount = round(self.amount * scale) - empty
            if amount < 0:
                raise _wrong(Problem("gross_g", self.amount, f"at least the empty jar's {empty / scale:g} g"))
            told = f"{self.amount:g} g with the jar"
        else:
            amount = self._in_its_unit(row, scale)
        if self.kind == "counted":
            return amount - (before or 0), uncertain, told
        return (amount if self.kind == "bought" else -amount), uncertain, told

    def _in_its_unit(self, row: Owned, scale: int) -> int:
        """The amount in the row's whole unit; grams or pieces of a supply only where those are its unit."""
        if isinstance(row, SupplyTable) and self.amount_field != "amount":
            unit = {"grams": "g", "pieces": "piece"}[self.amount_field]
            if row.unit != unit:
                hint = f"Send amount, in {row.unit}." if row.unit else "Send amount, or enter the supply's unit."
                raise _wrong(Problem(self.amount_field, self.amount, f"a supply whose unit is {unit}", hint))
        return round(self.amount * scale)


def _full(row: Owned) -> int:
    full = row.full_mg if isinstance(row, JarTable) else None
    if full is None:
        hint = "Send full_g beside level, and it is kept with the jar; or send grams."
        raise _wrong(Problem("full_g", None, "how much is in a full one, in g", hint))
    return full


def field_named(name: Any) -> str:
    """A field's name as it came, short and fit to print."""
    return str(name)[:60].encode("utf-8", "replace").decode()


def _wrong(*problems: Problem) -> InvalidValue:
    return InvalidValue("This move cannot be entered.", list(problems))


def check_move(body: Any) -> Entered:
    """Read {"jar": 3, "kind": "used", "grams": 20}; raises `InvalidValue` with every problem.

    One of jar, gel, box or supply names the item. The amount is grams (jars, gels),
    pieces (boxes), amount (in a supply's unit), or of a counted jar gross_g (with the
    jar) or level (by eye), with full_g where it is not
    known yet what a full one holds. It is never negative: the kind tells which way it goes.
    """
    if not isinstance(body, Mapping):
        problem = Problem("move", type(body).__name__, "an object with " + ", ".join(_FIELDS), "Send an object.")
        raise _wrong(problem)
    checks = Checks()
    for name in body:
        if name not in _FIELDS:
            checks.wrong(field_named(name), body[name], "one of " + ", ".join(_FIELDS), "Leave it out.")
    named = [word for word in _OF if body.get(word) is not None]
    if len(named) != 1:
        checks.wrong("jar", ", ".join(named) or None, "exactly one of jar, gel, box and supply", "Name the item.")
    word = named[0] if named else "jar"
    id = checks.whole(word, body.get(word), least=1, most=LARGEST_ID)
    kind = checks.choice("kind", body.get("kind"), ENTERED)
    if body.get("kind") is None:
        checks.wrong("kind", None, "one of " + ", ".join(ENTERED), "Tell what happened.")
    allowed = _allowed(word, kind)
    given = [field for field in _AMOUNTS if body.get(field) is not None]
    field = given[0] if given else allowed[0]
    if len(given) != 1 or field not in allowed:
        checks.wrong(field, body.get(field), f"exactly one amount: {' or '.join(allowed)}", "Send one amount.")
    level: str | None = None
    amount: float | None = None
    if field == "level":
        level = checks.choice("level", body.get("level"), tuple(LEVELS))
    elif field == "pieces" or word == "box":
        amount = checks.whole(field, body.get(field), least=0, most=int(MOST_GRAMS))
    else:
        amount = checks.number(
            field, body.get(field), most=MOST_GRAMS, unit="g" if field != "amount" else "of its unit"
        )
    if amount == 0 and kind != "counted":
        checks.wrong(field, 0, "more than 0", "Only a count may be 0.")
    note = checks.text("note", body.get("note"), longest=500)
    full_g = checks.number("full_g", body.get("full_g"), least=_LEAST_FULL, most=MOST_GRAMS, unit="g")
    if full_g is not None and (word, kind) != ("jar", "counted"):
        checks.wrong("full_g", full_g, "the full weight of a counted jar", "Leave it out.")
    raise_all(checks.problems, "This move cannot be entered.")
    return Entered(_OF[word], int(id or 0), str(kind), field, float(amount or 0), level, note, full_g)


def _allowed(word: str, kind: str | None) -> tuple[str, ...]:
    if word in ("jar", "gel"):
        return ("grams", "gross_g", "level") if (word, kind) == ("jar", "counted") else ("grams",)
    return ("pieces", "amount") if word == "box" else ("amount", "grams", "pieces")


def item_names(session: Session, shelf_id: int, moves: Iterable[MoveTable]) -> dict[tuple[str, int], str]:
    """Names of the items that some moves are of, archived ones too."""
    names: dict[tuple[str, int], str] = {}
    moves = list(moves)
    for resource, column in STOCKED.items():
        ids = {getattr(m, column) for m in moves} - {None}
        if ids:
            table = TABLES[resource]
            found = session.execute(
                select(table.id, table.name).where(table.shelf_id == shelf_id, table.id.in_(ids))
            )
            names |= {(resource, id): name for id, name in found}
    return names
