"""Reads the dated rules of labels from the tables in the folder of the same name.

Where each row is from stands in its `source`; SOURCES.md tells how they were read.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from functools import cache
from importlib.resources import files
from io import StringIO
from typing import Any, cast

from themekit.errors import InvalidValue, Problem
from themekit.make.label_rules import (
    JURISDICTIONS,
    AdditiveRule,
    AllergenRule,
    LabelRules,
    Status,
    WarningRule,
    WordingRule,
)

_HERE = files("catalog.lexicon")


@cache
def label_rules(jurisdiction: str) -> LabelRules:
    """The rules of "US", "EU", "GB" or "CA"; raises `InvalidValue` for any other word."""
    if jurisdiction not in JURISDICTIONS:
        problem = Problem(
            "settings.label.jurisdiction",
            jurisdiction,
            "one of " + ", ".join(JURISDICTIONS),
            "Choose the nearest, and check the local code.",
        )
        raise InvalidValue("No label rules are held for this jurisdiction.", [problem])
    return LabelRules(
        jurisdiction,
        tuple(
            AllergenRule(
                word=row["word"],
                prints=row["prints"],
                kinds=_split(row["kinds"]),
                words=_split(row["words"]),
                not_counted=_split(row["not_counted"]),
                **_origin(row),
            )
            for row in _rows("allergens", jurisdiction)
        ),
        tuple(
            AdditiveRule(
                code=row["code"],
                names=_split(row["names"]),
                colour=row["colour"] == "yes",
                barred=row["barred"] == "yes",
                not_permitted_from=_date(row["not_permitted_from"]),
                note=row["note"],
                **_origin(row),
            )
            for row in _rows("additives", jurisdiction)
        ),
        tuple(
            WarningRule(_split(row["codes"]), row["text"], **_origin(row))
            for row in _rows("warnings", jurisdiction)
        ),
        tuple(WordingRule(row["key"], row["value"], **_origin(row)) for row in _rows("wording", jurisdiction)),
        tuple(row["what"] for row in _rows("checks", jurisdiction)),
    )


def _rows(table: str, jurisdiction: str) -> Iterator[dict[str, str]]:
    text = _HERE.joinpath("label_rules", f"{table}.csv").read_text("utf-8")
    return (row for row in csv.DictReader(StringIO(text)) if row["jurisdiction"] == jurisdiction)


def _origin(row: dict[str, str]) -> dict[str, Any]:
    return {"source": row["source"], "as_of": _date(row["as_of"]), "status": cast(Status, row["status"])}


def _date(cell: str) -> date | None:
    return date.fromisoformat(cell) if cell else None


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split("|") if part.strip())
