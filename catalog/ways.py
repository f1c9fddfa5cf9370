"""How a baker's file is to be read: what each sheet and column holds, and how days and numbers are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, cast

from catalog.fields import Checks, shown
from catalog.own_days import ORDERS, Order
from catalog.rows import FIELDS
from themekit.errors import raise_all

Decimal = Literal["point", "comma"]
Repeats = Literal["add", "apart"]
Blanks = Literal["keep", "unknown"]
DECIMALS: tuple[Decimal, ...] = ("point", "comma")
REPEATS: tuple[Repeats, ...] = ("add", "apart")
BLANKS: tuple[Blanks, ...] = ("keep", "unknown")
#: The name under which choices count for every sheet.
EVERY = "*"
_MOST = 400


@dataclass(frozen=True, slots=True)
class Ways:
    """Choices for one file; what is not chosen is found out, or asked where it is doubtful.

    sheets   what a sheet holds, by its name: one of the resources, or "" to leave it out
    columns  by a sheet's name or "*": a title to the field that it stands for, "" to leave the column
             out; a unit of bare figures may follow, "on_hand_g oz"
    days     what comes first in 03/04/2027
    decimal  the decimal sign of numbers
    repeats  several rows of one name: amounts are added up, or each is a thing of its own
    blanks   a blank cell keeps what is known, or makes it unknown; of none it makes it unknown only in
             sheets whose every title is a field's name, as in our own
    """

    sheets: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    days: Order | None = None
    decimal: Decimal | None = None
    repeats: Repeats | None = None
    blanks: Blanks | None = None

    def of_sheet(self, name: str) -> dict[str, str]:
        """The choices of columns for one sheet."""
        return {**self.columns.get(EVERY, {}), **self.columns.get(name, {})}

    def record(self) -> dict[str, Any]:
        """The choices as JSON, for `read_ways` and for comparing."""
        return {
            "sheets": dict(sorted(self.sheets.items())),
            "columns": {name: dict(sorted(c.items())) for name, c in sorted(self.columns.items())},
            "days": self.days,
            "decimal": self.decimal,
            "repeats": self.repeats,
            "blanks": self.blanks,
        }


def read_ways(given: Any) -> Ways:
    """Choices from JSON as of `Ways.record`; each may be left out. Raises `InvalidValue` with all problems."""
    checks = Checks()
    known = ("sheets", "columns", "days", "decimal", "repeats", "blanks")
    if given is None:
        given = {}
    if not isinstance(given, Mapping):
        checks.wrong("ways", given, "an object with " + ", ".join(known), "Send an object.")
        given = {}
    for name in given:
        if name not in known:
            path = f"ways.{str(name)[:60]}".encode("utf-8", "replace").decode()
            checks.wrong(path, given[name], "one of " + ", ".join(known), "Leave it out.")
    sheets = _texts(checks, "ways.sheets", given.get("sheets"))
    for name, what in sheets.items():
        if what and what not in FIELDS:
            path = f"ways.sheets.{shown(name)}"
            checks.wrong(path, what, "one of " + ", ".join(FIELDS) + ', or ""', "Choose what the sheet holds.")
    columns: dict[str, dict[str, str]] = {}
    given_columns = given.get("columns")
    if given_columns is not None and (not isinstance(given_columns, Mapping) or len(given_columns) > _MOST):
        checks.wrong(
            "ways.columns", given_columns, "an object of sheets, each an object of titles", "Send an object."
        )
    elif given_columns is not None:
        columns = {str(n): _texts(checks, f"ways.columns.{shown(str(n))}", c) for n, c in given_columns.items()}
    found = {
        name: checks.choice(f"ways.{name}", given.get(name), allowed)
        for name, allowed in (("days", ORDERS), ("decimal", DECIMALS), ("repeats", REPEATS), ("blanks", BLANKS))
    }
    raise_all(checks.problems, "These choices cannot be used.")
    return Ways(
        sheets,
        columns,
        cast("Order | None", found["days"]),
        cast("Decimal | None", found["decimal"]),
        cast("Repeats | None", found["repeats"]),
        cast("Blanks | None", found["blanks"]),
    )


def _texts(checks: Checks, path: str, given: Any) -> dict[str, str]:
    allowed = f"an object of at most {_MOST} texts"
    if given is None:
        return {}
    if not isinstance(given, Mapping) or len(given) > _MOST:
        checks.wrong(path, given, allowed, "Send an object.")
        return {}
    found = {}
    for name, value in given.items():
        if not isinstance(value, str) or len(value) > 60 or len(str(name)) > 200:
            checks.wrong(f"{path}.{shown(str(name))}", value, "a text", "Send a field's name, or an empty text.")
        else:
            found[str(name)] = value.strip()
    return found
