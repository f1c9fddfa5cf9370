"""Days, numbers and money as they are written where the shelf is; the words stay English.

The forms are those of the Unicode CLDR, through Babel, which is only loaded for a shelf
that names its locale.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Any

_UNKNOWN = "–"
# A pattern with words of another language in it, such as 'de', or with signs of another script.
_OTHER_WORDS = re.compile(r"'\s*[^\W\d_]|[^\x00-\x7f]|[Gc]")

_MONEY_SIGN = re.compile(r"[£$€¥]\s*(-?[\d.,].*)|(-?[\d.,].*?)\s*[£$€¥]")
_YEAR = re.compile(r"^y+[ ,./-]*|[ ,./-]*y+")


@dataclass(frozen=True, slots=True)
class Local:
    """How one place writes things; `locale` is such as en-US or de-DE, None for plain English."""

    locale: str | None = None

    def day(self, when: date, long: bool = False) -> str:
        """A day such as Sat 5 December 2026, parts in the locale's order; `long` writes the weekday out."""
        pattern = _day_pattern(self.locale)
        if pattern is None:
            return (
                f"{when:%A} {when.day} {when:%B} {when.year}"
                if long
                else f"{when:%a} {when.day} {when:%B} {when.year}"
            )
        from babel.dates import format_date

        # English month names in that order; ccc and EEE are the weekday's short form.
        wanted = pattern if long else pattern.replace("EEEE", "EEE")
        return format_date(when, wanted, locale="en")

    def short_day(self, when: date) -> str:
        """A day without its year, such as Sat 5 Dec, parts in the locale's order."""
        pattern = _day_pattern(self.locale)
        if pattern is None:
            return f"{when:%a} {when.day} {when:%b}"
        from babel.dates import format_date

        wanted = _YEAR.sub("", pattern).replace("EEEE", "EEE").replace("MMMM", "MMM")
        return format_date(when, wanted, locale="en")

    def number(self, value: Any, digits: int | None = None) -> str:
        """A number with the locale's decimal sign; without `digits` as many as it has, up to six figures."""
        text = f"{value:g}" if digits is None else f"{value:.{digits}f}"
        sign = _decimal_sign(self.locale)
        return text if sign == "." or "e" in text else text.replace(".", sign)

    def money(self, amount: Any, currency: str = "") -> str:
        """An amount with its currency; a dash where it is not known, and as it stands where it is no number."""
        if amount is None:
            return _UNKNOWN
        try:
            value = Decimal(str(amount))
        except InvalidOperation:
            return str(amount)
        locale = _parsed(self.locale)
        if locale is None:
            return f"{value:.2f} {currency}".strip()
        from babel.numbers import format_currency, format_decimal

        if not currency:
            return format_decimal(value, "#,##0.00", locale=locale)
        return format_currency(value, currency, locale=locale)

    def read_money(self, text: str) -> str:
        """What was typed with the locale's signs, with a decimal point; left as it is where it is none such.

        One sign of a currency before or after it, such as in £140 or 60 €, is passed over.
        """
        text = _without_sign(text.strip())
        locale = _parsed(self.locale)
        if locale is None or not text:
            return text
        from babel.numbers import NumberFormatError, parse_decimal

        try:
            return str(parse_decimal(text, locale=locale, strict=True))
        except NumberFormatError:
            return text


def _without_sign(text: str) -> str:
    found = _MONEY_SIGN.fullmatch(text)
    return text if found is None else found[1] or found[2]


@lru_cache(maxsize=64)
def _parsed(locale: str | None) -> Any:
    if not locale:
        return None
    from babel import Locale, UnknownLocaleError

    try:
        return Locale.parse(locale.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return None


@lru_cache(maxsize=64)
def _day_pattern(locale: str | None) -> str | None:
    parsed = _parsed(locale)
    if parsed is None:
        return None
    from babel.dates import get_date_format

    pattern = str(get_date_format("full", parsed).pattern)
    return None if _OTHER_WORDS.search(pattern) else pattern


@lru_cache(maxsize=64)
def _decimal_sign(locale: str | None) -> str:
    parsed = _parsed(locale)
    if parsed is None:
        return "."
    from babel.numbers import get_decimal_symbol

    return str(get_decimal_symbol(parsed))
