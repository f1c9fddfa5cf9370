"""Text for people: wrapped to the terminal, with colour chips where it can show them."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TextIO

NARROWEST, WIDEST = 40, 100
#: Colours of one thing that are shown, as chips or as hex.
MOST_CHIPS = 6
_CHIP = "  "


@dataclass(frozen=True, slots=True)
class Paper:
    """How wide lines may be, in characters, and whether colours can be shown."""

    width: int = 80
    colours: bool = False

    def wrapped(self, text: str, indent: str = "", hanging: str | None = None) -> list[str]:
        """A paragraph as lines; `hanging` begins all but the first."""
        return textwrap.wrap(
            text,
            max(self.width, NARROWEST),
            initial_indent=indent,
            subsequent_indent=indent if hanging is None else hanging,
            break_on_hyphens=False,
            # A path or an address can only be copied whole.
            break_long_words=False,
        )

    def heading(self, text: str) -> list[str]:
        """A line that stands out where the terminal can, after an empty one."""
        lines = self.wrapped(text, hanging="  ")
        return ["", *(f"\x1b[1m{line}\x1b[0m" for line in lines)] if self.colours else ["", *lines]

    def coloured(
        self,
        hexes: Sequence[str],
        text: str,
        indent: str = "    ",
        hanging: str | None = None,
        codes: bool = True,
    ) -> list[str]:
        """A paragraph behind chips of its colours; without chips their hex stands at its end, if `codes`.

        `hanging` begins all lines but the first; `indent` and two spaces where it is left out.
        """
        hanging = indent + "  " if hanging is None else hanging
        if not self.colours:
            return self.wrapped(f"{text}  {_hexes(hexes)}" if codes else text, indent, hanging)
        shown = hexes[:MOST_CHIPS]
        blank = _CHIP * len(shown)
        told = f"{text}  {_hexes(hexes)}" if codes and len(hexes) == 1 else text
        lines = self.wrapped(told, f"{indent}{blank} ", f"{hanging}{blank} ")
        return [indent + self.chips(shown) + lines[0][len(indent) + len(blank) :], *lines[1:]]

    def chips(self, hexes: Sequence[str]) -> str:
        """Blocks of colour, two characters each, or nothing where they cannot be shown."""
        return "".join(_chip(colour) for colour in hexes) if self.colours else ""


def _hexes(hexes: Sequence[str]) -> str:
    more = f" and {len(hexes) - MOST_CHIPS} more" if len(hexes) > MOST_CHIPS else ""
    return " ".join(hexes[:MOST_CHIPS]) + more


def _chip(colour: str) -> str:
    red, green, blue = bytes.fromhex(colour[1:])
    return f"\x1b[48;2;{red};{green};{blue}m{_CHIP}\x1b[0m"


def shows_colours(stream: TextIO, environment: Mapping[str, str]) -> bool:
    """Whether a stream is a true-colour terminal whose user wants colours."""
    if environment.get("NO_COLOR") or environment.get("TERM") == "dumb":
        return False
    return stream.isatty() and environment.get("COLORTERM") in ("truecolor", "24bit")


def paper() -> Paper:
    """The paper that stdout is."""
    columns = shutil.get_terminal_size((80, 24)).columns
    return Paper(max(NARROWEST, min(columns, WIDEST)), shows_colours(sys.stdout, os.environ))
