"""A drawing as it is noted down: an outline, lines to pipe on it, and the words it answers to."""

from __future__ import annotations

import math
from dataclasses import dataclass

from themekit.draw.trace import Curve, Node, around, closed, mirrored, nodes, opened


@dataclass(frozen=True, slots=True)
class Shape:
    """One drawing, not yet worked out.

    outline  nodes as text; of a half drawing only the right half, axis at x = 0
    lines    lines a baker might pipe, apart by ";": nodes as text, or "o x,y r" for a
             ring; one node is a dot
    pairs    such lines of a half drawing that are mirrored as well
    words    further names of the same thing
    """

    outline: str | tuple[Node, ...]
    lines: str = ""
    pairs: str = ""
    words: tuple[str, ...] = ()
    half: bool = False

    def curves(self) -> list[Curve]:
        """The closed outline."""
        drawn = nodes(self.outline) if isinstance(self.outline, str) else list(self.outline)
        return closed(mirrored(drawn) if self.half else drawn)

    def piped(self) -> list[list[Curve]]:
        """The lines, each a run of curves."""
        runs = [_line(text, 1) for text in self.lines.split(";") if text.strip()]
        for side in (1, -1):
            runs += [_line(text, side) for text in self.pairs.split(";") if text.strip()]
        return runs


def _line(text: str, side: int) -> list[Curve]:
    if text.strip().startswith("o "):
        centre, radius = text.split()[1:]
        x, y = (float(v) for v in centre.split(","))
        return closed(around(side * x, y, float(radius), 4))
    return opened([(side * x, y, corner) for x, y, corner in nodes(text)])


def half(outline: str, lines: str = "", pairs: str = "", words: str = "") -> Shape:
    """A drawing that is the same left and right; `words` apart by "|"."""
    return Shape(outline, lines, pairs, _words(words), half=True)


def whole(outline: str | list[Node], lines: str = "", words: str = "") -> Shape:
    """A drawing by its full outline; `words` apart by "|"."""
    drawn = outline if isinstance(outline, str) else tuple(outline)
    return Shape(drawn, lines, "", _words(words))


def _words(text: str) -> tuple[str, ...]:
    return tuple(w for w in text.split("|") if w)


def polar(radius: float, turn: float, corner: bool = False) -> Node:
    """A node at a distance from the middle (0, 0) and a clockwise turn in degrees from the top."""
    angle = math.radians(turn)
    return (radius * math.sin(angle), -radius * math.cos(angle), corner)


def star(points: int, inner: float) -> list[Node]:
    """A pointed star; `inner` is the radius of its notches, the points being at 50."""
    step = 180 / points
    return [polar(inner if i % 2 else 50, i * step, True) for i in range(2 * points)]


def polygon(corners: int, turn: float = 0.0) -> list[Node]:
    """A regular polygon, first corner at `turn` degrees from the top."""
    return [polar(50, turn + 360 * i / corners, True) for i in range(corners)]


def bumps(count: int, inner: float, outer: float = 50.0, turn: float = 0.0) -> list[Node]:
    """Round bumps or petals about a middle; notches at `inner`, tops at `outer`."""
    step = 360 / count
    found = []
    for i in range(count):
        at = turn + i * step
        side = (inner + outer) / 2
        found += [polar(inner, at - step / 2, True), polar(side, at - step * 0.36)]
        found += [polar(outer, at), polar(side, at + step * 0.36)]
    return found
