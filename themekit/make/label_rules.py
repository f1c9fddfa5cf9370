"""The rules of one jurisdiction that a label follows, as plain values with their source.

Every rule carries `source`, `as_of` (the date of the text that was read, not of today's
law) and `status`: "read" for the law's or an authority's own words, "reported" where
another told them, "practice" where it is custom. `as_of` is None for an undated copy.
What no text was read for is not here, and the label says to check it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

Status = Literal["read", "reported", "practice"]
#: The jurisdictions that a label may follow.
JURISDICTIONS = ("US", "EU", "GB", "CA")


@dataclass(frozen=True, slots=True)
class AllergenRule:
    """One allergen that a label must name.

    word         our own word for it, one of `themekit.values.ALLERGENS`
    prints       the word to print, "soybeans"
    kinds        named kinds, one of which is printed instead or beside it, "almond"
    words        other words by which a list of ingredients names it, "soya"
    not_counted  foods that these rules do not count to it, "coconut"
    """

    word: str
    prints: str
    kinds: tuple[str, ...]
    words: tuple[str, ...]
    not_counted: tuple[str, ...]
    source: str
    as_of: date | None
    status: Status


@dataclass(frozen=True, slots=True)
class AdditiveRule:
    """What one additive is called, and whether it may be used.

    names               the name to print first, then others it may go by
    colour              whether it is a colour
    barred              whether it may not be used at all
    not_permitted_from  the first day on which it may not be used, None where no such day is known
    note                what else to mind, a plain clause
    """

    code: str
    names: tuple[str, ...]
    colour: bool
    barred: bool
    not_permitted_from: date | None
    note: str
    source: str
    as_of: date | None
    status: Status


@dataclass(frozen=True, slots=True)
class WarningRule:
    """Words that a label must carry when one of `codes` is in the food; "{colours}" is their names."""

    codes: tuple[str, ...]
    text: str
    source: str
    as_of: date | None
    status: Status


@dataclass(frozen=True, slots=True)
class WordingRule:
    """One word, form or remark of the label, by key."""

    key: str
    value: str
    source: str
    as_of: date | None
    status: Status


Rule = AllergenRule | AdditiveRule | WarningRule | WordingRule


@dataclass(frozen=True, slots=True)
class LabelRules:
    """All rules of one jurisdiction.

    Wording keys
    ------------
    heading      the word before the list of ingredients
    allergens    "statement" (a line after the list) or "emphasis" (in the list itself)
    contains     the word that begins the statement, or stands where there is no list
    additive     how a colour stands in the list, "colour: {name} ({code})"
    net          "US" or "metric", the form of the net quantity
    best_before  the words before the date; several languages are joined by " / "
    date         "month first" or "day first"; else year, month, day
    bold_titles  "yes" where the words before list and statement stand out
    remark…      sentences for whoever prints or checks the label

    `checks` are what no rule was read for, each as the object of "check locally".
    """

    jurisdiction: str
    allergens: tuple[AllergenRule, ...]
    additives: tuple[AdditiveRule, ...]
    warnings: tuple[WarningRule, ...]
    wordings: tuple[WordingRule, ...]
    checks: tuple[str, ...]

    def wording(self, key: str, otherwise: str = "") -> str:
        """The wording of a key, or `otherwise` where no rule was read for it."""
        return next((w.value for w in self.wordings if w.key == key), otherwise)

    def all_wordings(self, start: str) -> list[str]:
        """The wordings of every key that begins with `start`, in their order."""
        return [w.value for w in self.wordings if w.key.startswith(start)]

    def allergen(self, word: str) -> AllergenRule | None:
        """The rule of one of our allergen words."""
        return next((a for a in self.allergens if a.word == word), None)

    def additive(self, code: str) -> AdditiveRule | None:
        """The rule of an additive by its number, or by its main number: E160b for E160b(ii)."""
        main = code.partition("(")[0]
        found: Sequence[AdditiveRule] = [a for a in self.additives if a.code in (code, main)]
        return max(found, key=lambda a: len(a.code), default=None)

    def sources(self) -> list[tuple[str, date | None, Status]]:
        """Every source with its date and status, once, in order."""
        rules: tuple[Rule, ...] = (*self.allergens, *self.additives, *self.warnings, *self.wordings)
        return list(dict.fromkeys((r.source, r.as_of, r.status) for r in rules))
