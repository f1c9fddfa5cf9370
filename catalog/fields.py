"""Checks of single values, which gather problems instead of stopping at the first."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from themekit.errors import Problem

LONGEST_NAME = 120
LONGEST_WORD = 60
MOST_WORDS = 60
# Grams and mm beyond these are typing slips, and whole mg and µm of them fit every database.
MOST_GRAMS = 1_000_000
MOST_MM = 1_000
MOST_MONEY = 1_000_000
MOST_PIECES = 1_000_000
# Line and paragraph separators, controls, lone surrogates, and marks that turn text around.
_REFUSED_CATEGORIES = {"Cc", "Cs", "Zl", "Zp"}
_TURNING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def in_lines(text: str) -> str:
    """Trimmed NFC text of several lines, whichever way they were ended; tabs are spaces."""
    for end in ("\r\n", "\r", "\u2028", "\u2029"):
        text = text.replace(end, "\n")
    return unicodedata.normalize("NFC", text.replace("\t", " ").strip())


def shown(value: Any) -> Any:
    """`value` in a form that is short, finite and safe to print and to send as JSON."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int):
        return value if abs(value) < 10**15 else "a whole number of more than 15 digits"
    if isinstance(value, float):
        return value if math.isfinite(value) else str(value)
    if isinstance(value, str):
        safe = value.encode("utf-8", "replace").decode("utf-8")
        return safe if len(safe) <= 200 else safe[:199] + "…"
    if isinstance(value, Decimal | date):
        return str(value)[:200]
    return f"a {type(value).__name__}" if not isinstance(value, list | dict) else _outline(value)


def _outline(value: list[Any] | dict[str, Any]) -> str:
    return f"a list of {len(value)}" if isinstance(value, list) else f"an object of {len(value)} fields"


def name_key(name: str) -> str:
    """The form under which names are compared: NFC, case-folded."""
    folded = unicodedata.normalize("NFC", name).casefold()
    return unicodedata.normalize("NFC", folded)


class Checks:
    """One record's checks: each returns a clean value or notes a problem and returns None."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def wrong(self, field: str, got: Any, allowed: str, hint: str = "") -> None:
        """Note that `field` cannot be used as it is."""
        self.problems.append(Problem(field, shown(got), allowed, hint))

    def text(
        self,
        field: str,
        value: Any,
        *,
        longest: int = LONGEST_NAME,
        required: bool = False,
        lines: bool = False,
    ) -> str | None:
        """Trimmed NFC text without control characters; blank counts as absent.

        With `lines` it may have several, as a letter does; they are kept with a plain line feed.
        """
        allowed = f"text of 1 to {longest} characters"
        if value is None or (isinstance(value, str) and not value.strip()):
            if required:
                self.wrong(field, value, allowed, "Fill it in.")
            return None
        if not isinstance(value, str):
            self.wrong(field, value, allowed, "Send it as text.")
            return None
        clean = in_lines(value) if lines else unicodedata.normalize("NFC", value.strip())
        odd = set(clean) - {"\n"} if lines else set(clean)
        if any(unicodedata.category(c) in _REFUSED_CATEGORIES or c in _TURNING for c in odd):
            self.wrong(field, value, f"{allowed}, without control characters", "Type it again by hand.")
            return None
        if len(clean) > longest:
            self.wrong(field, value, allowed, f"Shorten it: it has {len(clean)} characters.")
            return None
        return clean

    def number(
        self,
        field: str,
        value: Any,
        *,
        most: int,
        unit: str,
        least: float = 0,
        decimals: int = 3,
        required: bool = False,
    ) -> float | None:
        """A finite number from `least` to `most`, rounded to what the database keeps."""
        unit = f" {unit}" if unit else ""
        allowed = f"a number from {least:g} to {most:,}{unit}"
        if value is None:
            if required:
                self.wrong(field, value, allowed, "Fill it in.")
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong(field, value, allowed, "Send it as a number.")
            return None
        # Comparing before converting keeps huge whole numbers from overflowing; NaN fails both.
        if not least <= value <= most:
            self.wrong(field, value, allowed, "Check the unit and the decimal point.")
            return None
        return round(float(value), decimals)

    def whole(self, field: str, value: Any, *, most: int, least: int = 0) -> int | None:
        """A whole number from `least` to `most`; 3.0 counts as 3."""
        if value is None:
            return None
        allowed = f"a whole number from {least} to {most:,}"
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.wrong(field, value, allowed, "Count whole pieces.")
            return None
        return value

    def money(self, field: str, value: Any) -> float | None:
        """An amount of money of at most six decimals, never negative."""
        if value is None:
            return None
        allowed = f"an amount from 0 to {MOST_MONEY:,} with a decimal point, no currency sign"
        if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
            self.wrong(field, value, allowed, "Send it as a number.")
            return None
        try:
            amount = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
        except (InvalidOperation, ValueError):
            amount = Decimal("NaN")
        if not amount.is_finite() or not 0 <= amount <= MOST_MONEY:
            self.wrong(field, value, allowed, "Check the amount.")
            return None
        return float(round(amount, 6))

    def yes_no(self, field: str, value: Any) -> bool | None:
        """True, False, or None where it is not known."""
        if value is None or isinstance(value, bool):
            return value
        self.wrong(field, value, "true, false, or null where it is not known")
        return None

    def day(self, field: str, value: Any) -> str | None:
        """A calendar day as YYYY-MM-DD."""
        if value is None:
            return None
        try:
            if isinstance(value, str) and len(value.strip()) == 10:
                return date.fromisoformat(value.strip()).isoformat()
            if type(value) is date:
                return value.isoformat()
        except ValueError:
            pass
        self.wrong(field, value, "a day as YYYY-MM-DD, such as 2027-03-31")
        return None

    def choice(self, field: str, value: Any, allowed: Sequence[str]) -> str | None:
        """One of the allowed words, in any case."""
        if value is None:
            return None
        word = value.strip().casefold() if isinstance(value, str) else None
        if word in allowed:
            return word
        self.wrong(field, value, "one of " + ", ".join(allowed), "Leave it blank where it is not known.")
        return None

    def words(self, field: str, value: Any, *, lower: bool = False) -> list[str] | None:
        """A list of short plain words without repeats, in their order; None stays None."""
        if value is None:
            return None
        allowed = f"a list of at most {MOST_WORDS} words of 1 to {LONGEST_WORD} characters"
        if not isinstance(value, list | tuple) or len(value) > MOST_WORDS:
            self.wrong(field, value, allowed, "Send a list, [] for none.")
            return None
        found: dict[str, str] = {}
        for number, given in enumerate(value):
            word = self.text(f"{field}.{number}", given, longest=LONGEST_WORD, required=True)
            if word is None:
                continue
            word = word.lower() if lower else word
            if "|" in word or word.casefold() in {"none", "unknown"}:
                hint = "Send [] for none and null for unknown."
                self.wrong(f"{field}.{number}", given, "a plain word, without the sign |", hint)
                continue
            found.setdefault(name_key(word), word)
        return list(found.values())
