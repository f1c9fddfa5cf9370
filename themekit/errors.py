"""One base error and its few children, each carrying every problem at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, told so that a person can mend it.

    field    where it is, as a dotted path ("needs.youngest_age", "row 7, colours")
    got      the value received, as it came
    allowed  what would have been accepted
    hint     what to do next
    """

    field: str
    got: Any
    allowed: str
    hint: str = ""

    def sentence(self) -> str:
        """The problem as one line of plain text."""
        got = "nothing" if self.got is None else repr(self.got)
        if len(got) > 80:
            got = got[:77] + "…'"
        text = f"{self.field}: got {got}; allowed: {self.allowed}"
        return f"{text}. {self.hint}" if self.hint else text


class ThemekitError(Exception):
    """Base of every error that themekit raises on purpose.

    `code` is the stable machine-readable name, `message` one plain sentence,
    `problems` all that is wrong, never only the first.
    """

    code = "error"

    def __init__(self, message: str, problems: Iterable[Problem] = ()) -> None:
        self.message = message
        self.problems = tuple(problems)
        super().__init__(message)

    def __str__(self) -> str:
        lines = [self.message, *(f"  {p.sentence()}" for p in self.problems)]
        return "\n".join(lines)


class InvalidValue(ThemekitError, ValueError):
    """A value that cannot be used: wrong type, form or range."""

    code = "invalid_value"


class ThemeNotUnderstood(ThemekitError, ValueError):
    """A phrase in which nothing was recognised; colours are asked for instead."""

    code = "theme_not_understood"


class TooFewCandidates(ThemekitError, ValueError):
    """Fewer than three tints or jars are left to choose from."""

    code = "too_few_candidates"


class NeedConflict(ThemekitError, ValueError):
    """Needs that contradict each other, such as using and skipping one jar."""

    code = "need_conflict"


def raise_all(problems: Iterable[Problem], message: str = "Some values cannot be used.") -> None:
    """Raise `InvalidValue` with every problem, or return when there is none."""
    found = tuple(problems)
    if found:
        raise InvalidValue(message, found)
