"""A day as a message names it, and which day of the calendar that is.

A day without a year is the next such day from today on. "Next Saturday" and days such as
5/12, whose order nobody can know, are taken one way and said to be doubtful.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from themekit.suggest.numbers import number_at
from themekit.suggest.words import Token

MONTHS = ("january february march april may june july august september october november december").split()
WEEKDAYS = "monday tuesday wednesday thursday friday saturday sunday".split()


@dataclass(frozen=True, slots=True)
class Day:
    """What a message says of a day. Parts that it leaves out are None.

    weekday     0 is Monday; `after` then is 1 for "next", 0 for "this" or none.
    ahead       so many days from today ("tomorrow").
    other       the same figures read the other way round, day and month.
    """

    month: int | None = None
    day: int | None = None
    year: int | None = None
    weekday: int | None = None
    after: int = 0
    ahead: int | None = None
    other: tuple[int, int] | None = None

    def told(self) -> str:
        """The day in plain words, as far as it was named."""
        if self.ahead is not None:
            return ("today", "tomorrow")[min(self.ahead, 1)]
        name = "" if self.weekday is None else WEEKDAYS[self.weekday].title()
        if self.month is None:
            return name
        return " ".join(filter(None, (name, f"{self.day} {MONTHS[self.month - 1].title()}", str(self.year or ""))))


@dataclass(frozen=True, slots=True)
class Dated:
    """The day of the calendar, None where there is none, and what is doubtful about it."""

    day: date | None
    doubt: str = ""


def resolved(said: Day, today: date) -> Dated:
    """The day that was meant, seen from `today`."""
    if said.ahead is not None:
        return Dated(today + timedelta(days=said.ahead))
    if said.month is None or said.day is None:
        return _weekday(said, today)
    first = _of(said.month, said.day, said.year, today)
    if said.other is not None:
        second = _of(*said.other, said.year, today)
        if first is None or second is None or first == second:
            return Dated(first or second)
        soon, late = sorted((first, second))
        return Dated(soon, f"It may also be {_plain(late)}: which is the day and which the month is not said.")
    if first is None:
        return Dated(None, "There is no such day.")
    if said.weekday is not None and first.weekday() != said.weekday:
        return Dated(first, f"{_plain(first)} is a {first:%A}, not a {WEEKDAYS[said.weekday].title()}.")
    return Dated(first)


def _weekday(said: Day, today: date) -> Dated:
    if said.weekday is None:
        return Dated(None)
    ahead = (said.weekday - today.weekday()) % 7 or 7
    day = today + timedelta(days=ahead)
    if not said.after:
        return Dated(day)
    later = day + timedelta(days=7)
    return Dated(day, f"“Next {day:%A}” may also be {_plain(later)}.")


def _of(month: int, day: int, year: int | None, today: date) -> date | None:
    for wanted in (year,) if year is not None else range(today.year, today.year + 9):
        try:
            found = date(wanted, month, day)
        except ValueError:
            continue
        if year is not None or found >= today:
            return found
    return None


def _plain(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def day_at(words: Sequence[Token], start: int) -> tuple[Day, int] | None:
    """The day that starts at `start`, and where it ends; None where there is none.

    "on Saturday 5 December", "Dec 5th, 2026", "next Friday", "tomorrow", "2026-12-05",
    "5.12." and "12/5".
    """
    at = start + (start < len(words) and words[start].fold in ("on", "by", "before"))
    fold = [w.fold for w in words[at : at + 6]]
    if not fold:
        return None
    if fold[0] in ("today", "tomorrow"):
        return Day(ahead=int(fold[0] == "tomorrow")), at + 1
    step = int(fold[0] in ("this", "next", "coming"))
    weekday = weekday_of(fold[step]) if len(fold) > step else None
    if weekday is None:
        return _with_month(words, at) or _figures(fold, at)
    stop = at + step + 1
    follow = stop + (stop < len(words) and words[stop].fold == ",")
    full = _with_month(words, follow)
    if full:
        return replace(full[0], weekday=weekday), full[1]
    return Day(weekday=weekday, after=int(fold[0] == "next")), stop


def _with_month(words: Sequence[Token], at: int) -> tuple[Day, int] | None:
    """ "5 December", "the 5th of Dec", "December 5th, 2026"."""
    at += at < len(words) and words[at].fold == "the"
    number = number_at(words, at, ordinals=True)
    if number:
        day, stop = number
        stop += stop < len(words) and words[stop].fold == "of"
        month, stop = _month(words, stop)
    else:
        month, stop = _month(words, at)
        after = number_at(words, stop, ordinals=True) if month else None
        if after is None:
            return None
        day, stop = after
    if month is None or not 1 <= day <= 31:
        return None
    year_at = stop + (stop < len(words) and words[stop].fold == ",")
    year = words[year_at].fold if year_at < len(words) else ""
    if len(year) == 4 and year.isdigit() and 2000 <= int(year) < 2200:
        return Day(month, day, int(year)), year_at + 1
    return Day(month, day), stop


def _month(words: Sequence[Token], at: int) -> tuple[int | None, int]:
    word = words[at].fold if at < len(words) else ""
    for number, name in enumerate(MONTHS, start=1):
        if word == name or (len(word) >= 3 and word in (name[:3], name[:4])):
            return number, at + 1
    return None, at


def weekday_of(word: str) -> int | None:
    """0 for Monday, from the whole name or its first three letters or more."""
    found = [
        i for i, name in enumerate(WEEKDAYS) if len(word) >= 3 and (name == word or word in (name[:3], name[:4]))
    ]
    # "sun", "sat", "wed" and the like are words of their own.
    return found[0] if found and (len(word) > 3 or word in ("mon", "tue", "thu", "fri")) else None


def _figures(fold: Sequence[str], at: int) -> tuple[Day, int] | None:
    if not fold[0].isdigit() or len(fold) < 3:
        return None
    sign = fold[1]
    if sign not in ("-", "/", ".") or not fold[2].isdigit():
        return None
    first, second = int(fold[0]), int(fold[2])
    year, stop = None, 3
    if len(fold) > 4 and fold[3] == sign and fold[4].isdigit() and len(fold[4]) in (1, 2, 4):
        third = int(fold[4])
        stop = 5
        if len(fold[0]) == 4:
            # ISO 8601: year, month, day.
            return (Day(second, third, first), at + 5) if _plausible(second, third) else None
        year = third if third > 99 else 2000 + third
    elif sign == "-" or len(fold[0]) == 4:
        return None
    if sign == "." and len(fold) > stop and fold[stop] == "." and stop == 3:
        stop += 1
    if sign == ".":
        # With points the day comes first wherever that writing is used.
        return (Day(second, first, year), at + stop) if _plausible(second, first) else None
    readings = [(m, d) for m, d in ((first, second), (second, first)) if _plausible(m, d)]
    if not readings:
        return None
    (month, day), *other = readings
    return Day(month, day, year, other=other[0] if other else None), at + stop


def _plausible(month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= day <= 31
