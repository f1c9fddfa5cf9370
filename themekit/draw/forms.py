"""One grain of each form, drawn in mm about its middle, with the finish of its surface."""

from __future__ import annotations

import math
from dataclasses import dataclass

from themekit.draw.dice import Dice
from themekit.draw.outlines import Outline, curves_of
from themekit.draw.svg import hex_of, shade
from themekit.draw.trace import around, closed, moved, number, path_data
from themekit.values import Lab

#: Forms that look the same however they are turned.
ROUND = frozenset({"sphere", "cone", "eye", "dot"})


@dataclass(frozen=True, slots=True)
class Coat:
    """How a grain is coloured: its fill, its edge, a light for its highlight, how clear it is."""

    fill: str
    edge: str
    light: str
    finish: str


def rod_width(length: float) -> float:
    """Thickness in mm of a rod of this length: common practice, no source."""
    return min(0.9 + 0.07 * length, 0.5 * length)


def strip_width(length: float) -> float:
    """Width in mm of a shred of this length: common practice, no source."""
    return max(0.8, 0.12 * length)


def footprint(form: str, size: float) -> float:
    """About how much table one grain covers, mm²; sets how thickly grains are strewn."""
    if form == "rod":
        return size * rod_width(size)
    if form == "strip":
        return size * strip_width(size) * 1.5
    return {"cylinder": 0.75, "shape": 0.68, "puff": 0.5}.get(form, 0.7) * size * size


def coat(lab: Lab, finish: str, ident: str) -> tuple[Coat, str]:
    """The colours of one grain and the gradient they need ("" for none). `ident` names it."""
    # A dark grain shows by a lighter edge.
    base, edge, light = hex_of(lab), shade(lab, -16 if lab[0] > 32 else 16), shade(lab, 24)
    if finish not in ("pearl", "metallic"):
        return Coat(base, edge, light, finish), ""
    stops: list[tuple[int, str]]
    if finish == "pearl":
        stops = [(0, shade(lab, 40)), (45, base), (100, shade(lab, -14))]
    else:
        stops = [(0, "#ffffff"), (22, shade(lab, 22)), (55, base), (80, shade(lab, -32)), (100, shade(lab, -6))]
    marks = "".join(f'<stop offset="{o}%" stop-color="{c}"/>' for o, c in stops)
    gradient = f'<radialGradient id="{ident}" cx=".36" cy=".32" r=".75">{marks}</radialGradient>'
    return Coat(f"url(#{ident})", edge, light, finish), gradient


def grain(form: str, size: float, painted: Coat, seed: str, outline: Outline | None = None) -> str:
    """SVG of one grain whose longest side is `size` mm, its middle at (0, 0).

    `seed` shapes uneven forms; `outline` is that of a form "shape".
    """
    thin = number(max(0.06, min(0.25, 0.035 * size)), 2)
    look = f'fill="{painted.fill}" stroke="{painted.edge}" stroke-width="{thin}"'
    if painted.finish == "clear":
        look += ' fill-opacity=".82"'
    half = (size - float(thin)) / 2
    dice = Dice(seed)
    if form in ("sphere", "dot", "disc", "cone", "eye"):
        return _round(form, half, look, painted)
    if form == "rod":
        width = rod_width(size) - float(thin)
        return _bar(half, width / 2, width / 2, look) + _glint(half * 0.55, width * 0.22, painted)
    if form == "cylinder":
        return _bar(half, half * 0.72, half * 0.35, look) + _dent(half * 0.62, half * 0.5, painted)
    if form == "strip":
        return _strip(size, dice, painted)
    if form == "shape" and outline is not None:
        return _cut_out(outline, 2 * half, look)
    return _uneven(form, half, dice, look, painted)


def _round(form: str, r: float, look: str, painted: Coat) -> str:
    body = f'<circle r="{number(r, 2)}" {look}/>'
    if form == "disc":
        return body + f'<circle r="{number(r * 0.7, 2)}" fill="{painted.light}" fill-opacity=".35"/>'
    if form == "cone":
        tip = f'<circle cx="{number(-0.1 * r, 2)}" cy="{number(-0.1 * r, 2)}" r="{number(r * 0.5, 2)}"'
        return body + tip + f' fill="{painted.light}" fill-opacity=".3"/>' + _spark(r * 0.16, -0.2 * r, painted)
    if form == "eye":
        return body + f'<circle cy="{number(0.2 * r, 2)}" r="{number(r * 0.5, 2)}" fill="#1f1d1e"/>'
    return body + (_spark(r * 0.24, -0.38 * r, painted) if painted.finish in ("glossy", "clear") else "")


def _spark(r: float, place: float, painted: Coat) -> str:
    if painted.finish not in ("glossy", "clear"):
        return ""
    spot = number(place, 2)
    return f'<circle cx="{spot}" cy="{spot}" r="{number(r, 2)}" fill="#fff" fill-opacity=".7"/>'


def _bar(half_length: float, half_width: float, corner: float, look: str) -> str:
    x, y = number(-half_length, 2), number(-half_width, 2)
    size = f'width="{number(2 * half_length, 2)}" height="{number(2 * half_width, 2)}"'
    return f'<rect x="{x}" y="{y}" {size} rx="{number(corner, 2)}" {look}/>'


def _glint(half_length: float, width: float, painted: Coat) -> str:
    x, y = number(half_length, 2), number(-width, 2)
    line = f'<path d="M-{x} {y}L{x} {y}" stroke="{painted.light}" stroke-width="{number(width, 2)}"'
    return line + ' stroke-linecap="round" stroke-opacity=".7"/>'


def _dent(x: float, height: float, painted: Coat) -> str:
    d = f"M{number(x, 2)} {number(-height, 2)}C{number(x * 0.75, 2)} {number(-height / 3, 2)}"
    d += f" {number(x * 0.75, 2)} {number(height / 3, 2)} {number(x, 2)} {number(height, 2)}"
    return f'<path d="{d}" fill="none" stroke="{painted.edge}" stroke-width=".2" stroke-opacity=".6"/>'


def _strip(size: float, dice: Dice, painted: Coat) -> str:
    """A bent shred: its ends `size` apart, its middle out of line."""
    width = strip_width(size)
    x, bend = (size - width) / 2, size * dice.between(0.12, 0.26)
    d = f"M{number(-x, 2)} 0C{number(-x / 2, 2)} {number(bend, 2)} {number(x / 2, 2)} {number(-bend, 2)}"
    d += f" {number(x, 2)} 0"
    layers = ((painted.edge, width), (painted.fill, width - 0.25))
    return "".join(
        f'<path d="{d}" fill="none" stroke-linecap="round" stroke="{c}" stroke-width="{number(w, 2)}"/>'
        for c, w in layers
    )


def _cut_out(outline: Outline, size: float, look: str) -> str:
    curves = moved(curves_of(outline.name)[0], (size / 100, size / 100), (-size / 2, -size / 2))
    return f'<path d="{path_data([curves], digits=2)}" {look} stroke-linejoin="round"/>'


def _uneven(form: str, r: float, dice: Dice, look: str, painted: Coat) -> str:
    """Crystals and flakes with corners, lumps with rounded ones, puffs that are long and swollen."""
    sides = {"crystal": 6, "flake": 4, "lump": 6, "puff": 8}.get(form, 6)
    flat = {"puff": 0.62, "crystal": 0.82}.get(form, 0.9)
    rounded = form in ("lump", "puff")
    found = []
    for i in range(sides):
        turn = 2 * math.pi * (i + dice.between(-0.22, 0.22)) / sides
        # One corner on each side of the longest axis reaches the full size.
        reach = r if i in (0, sides // 2) else r * dice.between(0.72, 0.98)
        turn = 2 * math.pi * i / sides if i in (0, sides // 2) else turn
        found.append((reach * math.cos(turn), flat * reach * math.sin(turn), not rounded))
    body = f'<path d="{path_data([closed(found)], digits=2)}" {look} stroke-linejoin="round"/>'
    if form == "puff":
        line = f'<path d="M{number(-r * 0.6, 2)} 0L{number(r * 0.5, 2)} {number(r * 0.08, 2)}"'
        return body + line + f' stroke="{painted.edge}" stroke-opacity=".5" stroke-width="{number(r * 0.1, 2)}"/>'
    if painted.finish in ("sparkling", "clear"):
        facet = [(0.0, 0.0, True), found[1], found[2]]
        body += f'<path d="{path_data([closed(facet)], digits=2)}" fill="#fff" fill-opacity=".4"/>'
    return body


def ring(radius: float) -> str:
    """Path data of a circle about (0, 0)."""
    return path_data([closed(around(0, 0, radius))])
