"""Colours in a terminal that shows them, hex where it does not, and lines that fit."""

from __future__ import annotations

import io
import re

import pytest

from api.commands.paper import WIDEST, Paper, paper, shows_colours

RAINBOW = ["#d93a44", "#f29a35", "#f5dc54", "#53ad57", "#3f84cc", "#8a5bb0", "#ffffff", "#000000"]


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("value", ["truecolor", "24bit"])
def test_chips_need_a_true_colour_terminal(value: str) -> None:
    """COLORTERM names one; a pipe, NO_COLOR (no-color.org) or a dumb terminal have none."""
    told = {"COLORTERM": value, "TERM": "xterm"}
    assert shows_colours(_Terminal(), told)
    assert not shows_colours(io.StringIO(), told)
    assert not shows_colours(_Terminal(), told | {"NO_COLOR": "1"})
    assert shows_colours(_Terminal(), told | {"NO_COLOR": ""})
    assert not shows_colours(_Terminal(), told | {"TERM": "dumb"})
    assert not shows_colours(_Terminal(), {"COLORTERM": "256", "TERM": "xterm"})
    assert not shows_colours(_Terminal(), {})


def test_a_chip_is_a_block_of_the_colour() -> None:
    """By the terminal's 24-bit background colour (ISO 8613-6, direct colour in RGB)."""
    (line,) = Paper(80, True).coloured(["#1d8a8a"], "teal")
    assert "\x1b[48;2;29;138;138m" in line
    assert line.endswith("teal  #1d8a8a")
    (plain,) = Paper(80, False).coloured(["#1d8a8a"], "teal")
    assert plain == "    teal  #1d8a8a"


def test_many_colours_are_told_briefly() -> None:
    """At most six chips or hexes, and how many more there are."""
    assert Paper(100, True).coloured(RAINBOW, "mix")[0].count("\x1b[48;2;") == 6
    told = " ".join(Paper(100, False).coloured(RAINBOW, "mix"))
    assert len(re.findall("#[0-9a-f]{6}", told)) == 6
    assert told.endswith("and 2 more")


@pytest.mark.parametrize("colours", [True, False])
def test_lines_fit_the_width(colours: bool) -> None:
    """Counting what is seen, not the codes of colours."""
    sheet = Paper(44, colours)
    words = "a rather long name of a jar that no one would ever write on a label: 13.3 g"
    lines = [*sheet.coloured(RAINBOW[:3], words), *sheet.wrapped(words * 2, "  ! ", "    "), *sheet.heading(words)]
    seen = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert max(map(len, seen)) <= 44
    assert words in " ".join(" ".join(seen[:3]).split())


def test_the_width_is_the_terminals_within_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    """Very wide lines are hard to read, and very narrow ones hold no name."""
    for columns, width in (("72", 72), ("500", WIDEST), ("7", 40)):
        monkeypatch.setenv("COLUMNS", columns)
        assert paper().width == width
