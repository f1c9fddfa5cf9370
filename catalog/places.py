"""How days and numbers are usually written where a shelf is, by the Unicode CLDR as Babel carries it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.own_days import Order
    from catalog.ways import Decimal


def order_of(place: str) -> Order | None:
    """What comes first in days written in figures; None where the year does, or the place is not known.

    `place` is a locale such as "de-DE" or a country or region such as "US-CA".
    """
    pattern = _of(place, "days")
    letters = [c for c in pattern if c in "dMy"]
    if not letters or letters[0] == "y":
        return None
    return "day first" if letters[0] == "d" else "month first"


def decimal_of(place: str) -> Decimal | None:
    """The decimal sign; None where the place is not known or uses another."""
    found: dict[str, Decimal] = {".": "point", ",": "comma"}
    return found.get(_of(place, "decimal"))


def _of(place: str, what: str) -> str:
    from babel import Locale, UnknownLocaleError

    text = re.sub(r"[^A-Za-z]+", "_", place.strip())
    # A country, with or without its region, is spoken of by the language that is most common there.
    name = f"und_{text.split('_')[0]}" if re.fullmatch(r"[A-Z]{2}(_[A-Z]*)?", text) else text
    try:
        locale = Locale.parse(name)
    except (UnknownLocaleError, ValueError, TypeError):
        return ""
    if locale.territory is None:
        # One language is written in several ways: "en" says nothing of days.
        return ""
    if what == "days":
        return str(locale.date_formats["short"].pattern)
    return str(locale.number_symbols.get("latn", {}).get("decimal", ""))
