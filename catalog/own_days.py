"""A day as people note it in a sheet, as YYYY-MM-DD; of two possible days neither is chosen."""

from __future__ import annotations

import calendar
import re
from datetime import date
from typing import Literal

from themekit.errors import InvalidValue, Problem

Order = Literal["day first", "month first"]
ORDERS: tuple[Order, ...] = ("day first", "month first")

_ALLOWED = "a day as YYYY-MM-DD, or such as 31 March 2027"
_MONTHS = {name.lower(): n for n, name in enumerate(calendar.month_name) if name}
_MONTHS |= {name[:3]: n for name, n in _MONTHS.items()} | {"sept": 9}
_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?:[T ]\d{1,2}:\d{2}.*)?", re.ASCII)
_FIGURES = re.compile(r"(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})", re.ASCII)
_MONTH_YEAR = re.compile(r"(\d{1,2})[-/.](\d{4})|(\d{4})[-/.](\d{1,2})", re.ASCII)
_DAY_WORD = re.compile(r"(?:[a-z]+day )?(\d{1,2})(?:st|nd|rd|th)?(?: of)? ([a-z]+) (\d{4}|\d{2})", re.ASCII)
_WORD_DAY = re.compile(r"(?:[a-z]+day )?([a-z]+) (\d{1,2})(?:st|nd|rd|th)? (\d{4})", re.ASCII)
_WORD_YEAR = re.compile(r"(?:end (?:of )?)?([a-z]+) (\d{4})", re.ASCII)
_SERIAL = re.compile(r"[45]\d{4}(?:\.0)?", re.ASCII)


def readings(cell: str) -> dict[Order, str]:
    """The days that figures such as 03/04/2027 may mean, by what comes first; empty where one at most is possible.

    Never raises.
    """
    found = _FIGURES.fullmatch(cell.strip())
    if found is None or found[2] == ".":
        return {}
    first, second, year = int(found[1]), int(found[3]), _year(found[4])
    if first == second or max(first, second) > 12:
        return {}
    try:
        return {
            "day first": date(year, second, first).isoformat(),
            "month first": date(year, first, second).isoformat(),
        }
    except ValueError:
        return {}


def day_of(cell: str, order: Order | None = None, month_end: bool = True) -> str:
    """The day in a cell as YYYY-MM-DD.

    Parameters
    ----------
    order      settles 03/04/2027; without it both days are told. Figures with points are day first,
               as wherever they are used.
    month_end  whether a month alone is its last day, as "best before end" means it (Regulation (EU)
               1169/2011, Annex X 1(b))

    Raises `InvalidValue`, and nothing else.
    """
    plain = cell.strip()
    words = " ".join(re.sub(r"[\s,.\-]+", " ", plain.casefold()).split())
    if found := _ISO.fullmatch(plain):
        return _day(cell, int(found[1]), int(found[3]), int(found[4]))
    if found := _FIGURES.fullmatch(plain):
        return _figures(cell, found, order)
    if found := _MONTH_YEAR.fullmatch(plain):
        year, month = (found[2], found[1]) if found[2] else (found[3], found[4])
        return _end(cell, int(year), int(month), month_end)
    if (found := _DAY_WORD.fullmatch(words)) and found[2] in _MONTHS:
        return _day(cell, _year(found[3]), _MONTHS[found[2]], int(found[1]))
    if (found := _WORD_DAY.fullmatch(words)) and found[1] in _MONTHS:
        return _day(cell, _year(found[3]), _MONTHS[found[1]], int(found[2]))
    if (found := _WORD_YEAR.fullmatch(words)) and found[1] in _MONTHS:
        return _end(cell, int(found[2]), _MONTHS[found[1]], month_end)
    if _SERIAL.fullmatch(plain):
        hint = "It looks like a spreadsheet's own number of a day: give the column the format of a date."
        raise _wrong(cell, hint)
    raise _wrong(cell, "Write the day with its year.")


def _figures(cell: str, found: re.Match[str], order: Order | None) -> str:
    first, second, year = int(found[1]), int(found[3]), _year(found[4])
    both = readings(cell)
    if both and order is None:
        told = " or ".join(f"{day} ({way})" for way, day in both.items())
        raise _wrong(
            cell, f"It may be {told}: say which comes first in this file, or write the one that is meant."
        )
    if found[2] == ".":
        order = "day first"
    if order is None:
        order = "month first" if second > 12 else "day first"
    day, month = (first, second) if order == "day first" else (second, first)
    return _day(cell, year, month, day, f"There is no such day with the {order}.")


def _day(cell: str, year: int, month: int, day: int, hint: str = "There is no such day.") -> str:
    try:
        return date(year, month, day).isoformat()
    except ValueError as error:
        raise _wrong(cell, hint) from error


def _end(cell: str, year: int, month: int, month_end: bool) -> str:
    if not 1 <= month <= 12 or not 1 <= year <= 9999:
        raise _wrong(cell, "There is no such month.")
    if not month_end:
        raise _wrong(cell, "Write the day, not only the month.")
    return _day(cell, year, month, calendar.monthrange(year, month)[1])


def _year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _wrong(cell: str, hint: str) -> InvalidValue:
    safe = cell[:200].encode("utf-8", "replace").decode("utf-8")
    return InvalidValue("The day is unclear.", [Problem("day", safe, _ALLOWED, hint)])
