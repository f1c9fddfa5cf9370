"""The requests of a bulk run: JSON lines or a CSV, checked as far as one can without a shelf."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from api.bodies import NEEDS, number_in
from api.questions import FIELDS
from api.reading import Unreadable, read_json
from themekit.errors import InvalidValue, Problem, raise_all

Json = dict[str, Any]
#: The shelf's name, and what `POST /api/v1/ideas` takes.
ALLOWED = ("shelf", *FIELDS["ideas"])
_NEED = "needs."
COLUMNS = (*(name for name in ALLOWED if name != "needs"), *(_NEED + name for name in NEEDS))
_NUMBERS = ("count", "kits", "cookies", "needs.youngest_age")
_LISTS = tuple(_NEED + name for name in NEEDS if name not in ("youngest_age", "diet", "in_stock_only"))
_SEPARATOR = "|"
#: More problems than anyone mends at one go are not told.
_MOST_TOLD = 50


@dataclass(frozen=True, slots=True)
class Request:
    """One request: its number in the file, from 1, the shelf's name, the question, and a hash of both."""

    number: int
    shelf: str
    body: Json
    hash: str


def read_requests(file: str | Path, usual: str | None = None) -> list[Request]:
    """All requests of a file, in its order. Raises `InvalidValue` with the problems of all lines.

    `usual` is the shelf of requests that name none. A CSV has the columns `COLUMNS`, of which
    only theme and, without `usual`, shelf must be there; lists are separated by "|". Blank
    lines are passed over and have no number.
    """
    path = Path(file)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        problem = Problem("path", str(file), "a file of JSON lines or a CSV", "Check the path and its name.")
        raise InvalidValue("The file cannot be read.", [problem]) from error
    except UnicodeDecodeError as error:
        problem = Problem("path", str(file), "text in UTF-8", "Save it as UTF-8.")
        raise InvalidValue("The file is not UTF-8.", [problem]) from error
    problems: list[Problem] = []
    lines = _of_csv(text, problems) if path.suffix.lower() == ".csv" else _of_json(text, problems)
    found = []
    for where, given in lines:
        if usual and isinstance(given, dict) and given.get("shelf") is None:
            given = {**given, "shelf": usual}
        wrong = _wrong(where, given)
        problems += wrong
        if not wrong:
            shelf = str(given["shelf"]).strip()
            body = {name: value for name, value in given.items() if name != "shelf" and value is not None}
            found.append(Request(len(found) + 1, shelf, body, content_hash(shelf, body)))
    if not found and not problems:
        problems.append(Problem("path", str(file), "at least one request", 'A line is {"shelf": …, "theme": …}.'))
    raise_all(problems[:_MOST_TOLD], "These requests cannot be used; none was asked.")
    return found


def content_hash(shelf: str, body: Json) -> str:
    """SHA-256, in hex, of what is asked; the same whatever the order of its fields."""
    canonical = json.dumps([shelf, body], sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _of_json(text: str, problems: list[Problem]) -> Iterator[tuple[str, Any]]:
    # JSON may hold other line ends within a text, so only these split.
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            yield f"line {number}", read_json(line.encode("utf-8", "replace"))
        except Unreadable as error:
            problems.append(Problem(f"line {number}", error.problems[0].got, "one JSON object a line"))


def _of_csv(text: str, problems: list[Problem]) -> Iterator[tuple[str, Any]]:
    rows = csv.reader(io.StringIO(text, newline=""))
    header = [name.strip().casefold() for name in next(rows, [])]
    allowed = "the columns " + ", ".join(COLUMNS)
    unknown = [name for name in header if name not in COLUMNS]
    problems += [Problem(f"columns.{name}", name, allowed, "Rename it, or leave it out.") for name in unknown]
    if len(set(header)) < len(header):
        problems.append(Problem("columns", header, "each column once", "Leave out what is there twice."))
    if problems:
        return
    for cells in rows:
        if any(cell.strip() for cell in cells):
            where = f"line {rows.line_num}"
            if len(cells) > len(header):
                problems.append(Problem(where, f"{len(cells)} cells", f"at most {len(header)}"))
                continue
            yield where, _row(dict(zip(header, (cell.strip() for cell in cells), strict=False)))


def _row(cells: dict[str, str]) -> Json:
    """A CSV's row as the object that it stands for."""
    row: Json = {}
    needs: Json = {}
    for name, cell in cells.items():
        if not cell:
            continue
        value: Any = number_in(cell) if name in _NUMBERS else cell
        if name in _LISTS:
            value = [number_in(part) if name.endswith("_jars") else part for part in _parts(cell)]
        elif name == "needs.in_stock_only":
            value = {"yes": True, "true": True, "no": False, "false": False}.get(cell.casefold(), cell)
        (needs if name.startswith(_NEED) else row)[name.removeprefix(_NEED)] = value
    return row | ({"needs": needs} if needs else {})


def _parts(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(_SEPARATOR) if part.strip()]


def _wrong(where: str, given: Any) -> list[Problem]:
    """What is wrong with a request before anyone looks at its shelf."""
    if not isinstance(given, dict):
        return [Problem(where, given, 'an object such as {"shelf": "home", "theme": "owl party"}')]
    allowed = "one of the fields " + ", ".join(ALLOWED)
    wrong = [Problem(f"{where}, {name}", given[name], allowed) for name in given if name not in ALLOWED]
    for name in ("shelf", "theme"):
        if not isinstance(given.get(name), str) or not given[name].strip():
            wrong.append(Problem(f"{where}, {name}", given.get(name), "a text that is not blank"))
    return wrong
