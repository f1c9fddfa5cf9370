"""How one setting is declared: its default, unit, range and source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

PRACTICE = "common practice, no source"
OWN = "the baker's own figure"


@dataclass(frozen=True, slots=True)
class Rule:
    """What a setting may be; `choices` where it is one of several words."""

    unit: str
    least: float | None
    most: float | None
    source: str
    about: str
    choices: tuple[str, ...] = ()


def setting(
    default: Any,
    about: str,
    *,
    unit: str = "",
    least: float | None = None,
    most: float | None = None,
    source: str = PRACTICE,
    choices: Sequence[str] = (),
) -> Any:
    """A dataclass field with a default that the baker can change.

    Parameters
    ----------
    default     a number, a word, yes or no, a `Decimal` for money, or None for not known.
    about       what it is, in plain words.
    unit        the unit of a number, "" where it has none.
    least, most the range of a number, both allowed; of a text the most characters.
    source      where the default comes from.
    choices     the words allowed.
    """
    rule = Rule(unit, least, most, source, about, tuple(choices))
    return field(default=default, metadata={"rule": rule})
