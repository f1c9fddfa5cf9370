"""From the points of a drawing to smooth curves, and from curves to path data, points and areas.

A drawing is written as points in the order of the pencil: "12,4" is passed smoothly,
"12,4!" is a corner. Between two corners the line is straight; elsewhere the curve
leaves each point along the circle through it and its neighbours, so that three points
of a circle give that circle's arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
#: A point and whether it is a corner.
Node = tuple[float, float, bool]
#: Two points of a straight line, or the four points of a cubic Bézier curve.
Curve = tuple[Point, ...]
Points = NDArray[np.float64]


def nodes(text: str) -> list[Node]:
    """The points of a drawing as it is written down."""
    found = []
    for word in text.split():
        x, y = word.rstrip("!").split(",")
        found.append((float(x), float(y), word.endswith("!")))
    return found


def mirrored(half: Sequence[Node]) -> list[Node]:
    """The right half of a drawing, top to bottom at x ≥ 0, and its mirror image on the left."""
    left = [(-x, y, corner) for x, y, corner in reversed(half) if x]
    return [*half, *left]


def around(x: float, y: float, radius: float, count: int = 8) -> list[Node]:
    """Smooth nodes on a circle."""
    turns = [2 * math.pi * i / count for i in range(count)]
    return [(x + radius * math.sin(t), y - radius * math.cos(t), False) for t in turns]


def closed(drawn: Sequence[Node]) -> list[Curve]:
    """The curves of a closed outline through its nodes."""
    n = len(drawn)
    tangents = [_tangent(drawn[i - 1], drawn[i], drawn[(i + 1) % n]) for i in range(n)]
    return [_curve(drawn[i], drawn[(i + 1) % n], tangents[i], tangents[(i + 1) % n]) for i in range(n)]


def opened(drawn: Sequence[Node]) -> list[Curve]:
    """The curves of an open line; its ends are corners, a single node is a dot."""
    if len(drawn) == 1:
        x, y, _ = drawn[0]
        return [((x, y), (x + 0.1, y))]
    ends = [(*drawn[0][:2], True), *drawn[1:-1], (*drawn[-1][:2], True)]
    tangents: list[Point | None] = [None]
    tangents += [_tangent(a, b, c) for a, b, c in zip(ends, ends[1:], ends[2:], strict=False)]
    tangents.append(None)
    return [_curve(ends[i], ends[i + 1], tangents[i], tangents[i + 1]) for i in range(len(ends) - 1)]


def _tangent(before: Node, here: Node, after: Node) -> Point | None:
    """Unit tangent at a smooth node of the circle through it and its neighbours."""
    if here[2]:
        return None
    ax, ay = here[0] - before[0], here[1] - before[1]
    bx, by = after[0] - here[0], after[1] - here[1]
    a, b = ax * ax + ay * ay, bx * bx + by * by
    tx, ty = ax / a + bx / b, ay / a + by / b
    length = math.hypot(tx, ty)
    return (tx / length, ty / length) if length > 1e-12 else None


def _curve(start: Node, end: Node, leaving: Point | None, arriving: Point | None) -> Curve:
    p, q = start[:2], end[:2]
    chord = (q[0] - p[0], q[1] - p[1])
    length = math.hypot(*chord)
    if length == 0 or (leaving is None and arriving is None):
        return (p, q)
    unit = (chord[0] / length, chord[1] / length)
    out = leaving or _reflected(arriving, unit)
    into = arriving or _reflected(leaving, unit)
    a, b = _handle(out, unit) * length, _handle(into, unit) * length
    return (p, (p[0] + out[0] * a, p[1] + out[1] * a), (q[0] - into[0] * b, q[1] - into[1] * b), q)


def _reflected(tangent: Point | None, unit: Point) -> Point:
    """The tangent at the other end of a circular arc over the same chord."""
    tx, ty = tangent or unit
    along = 2 * (tx * unit[0] + ty * unit[1])
    return (along * unit[0] - tx, along * unit[1] - ty)


def _handle(tangent: Point, unit: Point) -> float:
    """Handle length per chord: that of a circular arc, held back where the turn is sharp."""
    cosine = max(-0.5, tangent[0] * unit[0] + tangent[1] * unit[1])
    return min(0.6, 2 / (3 * (1 + cosine)))


def moved(curves: Iterable[Curve], scale: Point, shift: Point) -> list[Curve]:
    """Curves scaled, then shifted, along x and y."""
    return [tuple((x * scale[0] + shift[0], y * scale[1] + shift[1]) for x, y in c) for c in curves]


def sampled(curves: Iterable[Curve], per_curve: int = 16) -> Points:
    """Points along curves without their last one, shape (n, 2); lines give their start only."""
    t = np.arange(per_curve)[:, None] / per_curve
    bernstein = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    parts: list[Points] = []
    for curve in curves:
        given = np.asarray(curve, float)
        if len(curve) == 2:
            parts.append(given[:1])
        else:
            parts.append(sum((b * p for b, p in zip(bernstein, given, strict=True)), np.zeros((1, 2))))
    return np.concatenate(parts)


def dense(curves: Iterable[Curve], step: float) -> Points:
    """Points along curves at most about `step` apart, both ends included, shape (n, 2)."""
    parts = []
    for curve in curves:
        given = np.asarray(curve, float)
        length = float(np.hypot(*np.diff(given, axis=0).T).sum())
        t = np.linspace(0, 1, 2 + int(length / step))[:, None]
        if len(curve) == 2:
            parts.append((1 - t) * given[0] + t * given[1])
        else:
            a, b, c, d = given
            parts.append((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)
    return np.concatenate(parts)


def area_of(points: Points) -> float:
    """Area inside a closed polygon, by the shoelace formula."""
    x, y = points[:, 0], points[:, 1]
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def number(value: float, digits: int = 1) -> str:
    """A coordinate as short text."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def path_data(runs: Iterable[Sequence[Curve]], close: bool = True, digits: int = 1) -> str:
    """Path data with the commands M, L, C and Z only; one sub-path per run of curves."""
    parts = []
    for curves in runs:
        parts.append("M" + _pair(curves[0][0], digits))
        for curve in curves:
            command = "L" if len(curve) == 2 else "C"
            parts.append(command + " ".join(_pair(p, digits) for p in curve[1:]))
        if close:
            parts.append("Z")
    return "".join(parts)


def _pair(point: Point, digits: int) -> str:
    return f"{number(point[0], digits)} {number(point[1], digits)}"
