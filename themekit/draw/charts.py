"""Small plain charts: colours on the a*b* plane with their lightness, score parts, swatches."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from string import ascii_uppercase

from themekit.draw.svg import checked_prefix, hex_of, picture, shade, words
from themekit.draw.trace import number
from themekit.values import Jar, Lab, Tint

#: Middle of the plane and pixels per unit of a* and b*, which run from −_REACH to _REACH.
_MIDDLE, _UNIT, _REACH = 138.0, 1.15, 100
#: Left edge, top and length of the lightness bar, px.
_BAR_X, _BAR_TOP, _BAR_LONG = 318.0, 23.0, 230.0
_WIDTH, _LEGEND_TOP, _LINE = 380.0, 290.0, 20.0


def swatch(lab: Lab, size: float, label: str, prefix: str = "swatch") -> str:
    """One colour as a square of `size` px, named by `label`, its hex and its lightness."""
    checked_prefix(prefix)
    side = number(size - 1)
    square = f'<rect x=".5" y=".5" width="{side}" height="{side}" rx="{number(size * 0.16)}"'
    body = [f'{square} fill="{hex_of(lab)}" stroke="currentColor" stroke-opacity=".35"/>']
    return picture(size, size, label, _numbers(lab), body, prefix, "px")


def _numbers(lab: Lab) -> str:
    return f"{hex_of(lab)}, lightness {_whole(lab[0])} of 100, a* {_whole(lab[1])}, b* {_whole(lab[2])}"


def _whole(value: float) -> str:
    """A number without decimals, with a true minus sign and no minus nought."""
    return number(value, 0).replace("-", "−")


def palette_chart(tints: Sequence[Tint], jars: Sequence[Jar], prefix: str = "plane") -> str:
    """Tints (circles, lettered) and jars (squares, numbered) on the a*b* plane, with a lightness bar.

    A jar has a square for each of its colours, the larger the greater its share. Colours
    further out than 100 units are set at the edge; the legend gives their numbers.
    """
    checked_prefix(prefix)
    marks = [(ascii_uppercase[i % 26], tint.name, tint.lab, 1.0, True) for i, tint in enumerate(tints)]
    for i, jar in enumerate(jars, 1):
        marks += [(str(i), jar.name, c.lab, c.share, False) for c in jar.colours]
    # Large squares first, so that small ones stay in sight; tints on top.
    order = sorted(range(len(marks)), key=lambda k: (marks[k][4], -marks[k][3], k))
    body = [_plane(), _lightness(prefix)]
    for k in order:
        sign, _, lab, share, is_tint = marks[k]
        body += [_on_plane(sign, lab, share, is_tint), _on_bar(sign, lab, is_tint)]
    body += [_legend(i, *mark) for i, mark in enumerate(marks)]
    height = _LEGEND_TOP + _LINE * len(marks) + 6
    told = [f"{sign} {name}: {_numbers(lab)}." for sign, name, lab, _, _ in marks]
    desc = "Circles are icing tints, squares are jar colours. " + " ".join(told)
    return picture(_WIDTH, height, "Colours on the a*b* plane and their lightness", desc, body, prefix, "px")


def _plane() -> str:
    m, edge = number(_MIDDLE), _REACH * _UNIT
    low, high = number(_MIDDLE - edge), number(_MIDDLE + edge)
    rings = "".join(f'<circle cx="{m}" cy="{m}" r="{number(c * _UNIT)}"/>' for c in (25, 50, 75, 100))
    axes = f'<path d="M{low} {m}L{high} {m}M{m} {low}L{m} {high}"/>'
    lines = f'<g fill="none" stroke="currentColor" stroke-opacity=".25">{rings}{axes}</g>'
    names = [
        words(_MIDDLE, 14, "yellow, b* +", 11, ' text-anchor="middle"'),
        words(_MIDDLE, _MIDDLE + edge + 16, "blue, b* −", 11, ' text-anchor="middle"'),
        words(2, _MIDDLE - 5, "green, a* −", 11),
        words(_MIDDLE + edge, _MIDDLE - 5, "a* +, red", 11, ' text-anchor="end"'),
    ]
    return lines + "".join(names)


def _lightness(prefix: str) -> str:
    stops = "".join(
        f'<stop offset="{100 - level}%" stop-color="{hex_of((float(level), 0.0, 0.0))}"/>'
        for level in range(100, -1, -20)
    )
    gradient = f'<linearGradient id="{prefix}-l" x1="0" y1="0" x2="0" y2="1">{stops}</linearGradient>'
    x, y = number(_BAR_X), number(_BAR_TOP)
    bar = f'<rect x="{x}" y="{y}" width="14" height="{number(_BAR_LONG)}" fill="url(#{prefix}-l)"'
    bar += ' stroke="currentColor" stroke-opacity=".35"/>'
    ticks = [
        words(_BAR_X + 7, _BAR_TOP - 8, "L* 100", 11, ' text-anchor="middle"'),
        words(_BAR_X + 7, _BAR_TOP + _BAR_LONG + 15, "L* 0", 11, ' text-anchor="middle"'),
    ]
    return f"<defs>{gradient}</defs>{bar}{''.join(ticks)}"


def _place(lab: Lab) -> tuple[float, float]:
    chroma = math.hypot(lab[1], lab[2])
    held = min(1.0, _REACH / chroma) if chroma else 1.0
    return _MIDDLE + lab[1] * held * _UNIT, _MIDDLE - lab[2] * held * _UNIT


def _mark(x: float, y: float, half: float, lab: Lab, is_tint: bool) -> str:
    look = f'fill="{hex_of(lab)}" stroke="{shade(lab, -35 if lab[0] > 55 else 40)}" stroke-width="1.2"'
    if is_tint:
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(half)}" {look}/>'
    side = number(2 * half)
    return f'<rect x="{number(x - half)}" y="{number(y - half)}" width="{side}" height="{side}" {look}/>'


def _sign(x: float, y: float, sign: str, lab: Lab) -> str:
    """A letter or number on a mark, in black or white by the mark's lightness."""
    ink = "#000" if lab[0] > 55 else "#fff"
    text = f'<text x="{number(x)}" y="{number(y + 3.6)}" font-size="10" font-family="sans-serif"'
    return f'{text} text-anchor="middle" fill="{ink}">{sign}</text>'


def _on_plane(sign: str, lab: Lab, share: float, is_tint: bool) -> str:
    x, y = _place(lab)
    half = 9.0 if is_tint else 4.5 + 4 * math.sqrt(min(1.0, max(0.0, share)))
    return _mark(x, y, half, lab, is_tint) + (_sign(x, y, sign, lab) if half > 6 else "")


def _on_bar(sign: str, lab: Lab, is_tint: bool) -> str:
    y = _BAR_TOP + (1 - min(100.0, max(0.0, lab[0])) / 100) * _BAR_LONG
    x = _BAR_X - 10 if is_tint else _BAR_X + 24
    return _mark(x, y, 7.0, lab, is_tint) + _sign(x, y, sign, lab)


def _legend(row: int, sign: str, name: str, lab: Lab, share: float, is_tint: bool) -> str:
    y = _LEGEND_TOP + _LINE * row
    part = "" if is_tint or share > 0.995 else f", {100 * share:.0f} %"
    kept = name if len(name) <= 34 else name[:33] + "…"
    text = f"{kept}{part} · L* {_whole(lab[0])}, a* {_whole(lab[1])}, b* {_whole(lab[2])}"
    return _mark(16, y, 8.0, lab, is_tint) + _sign(16, y, sign, lab) + words(32, y + 4, text, 12)


def parts_bars(parts: Mapping[str, float], prefix: str = "parts", title: str = "Parts of the score") -> str:
    """Score parts, each 0–1 (1 is best), as bars with their names and values; 320 px wide."""
    checked_prefix(prefix)
    body = []
    for i, (name, value) in enumerate(parts.items()):
        y = 8 + 22 * i
        full = min(1.0, max(0.0, value))
        body += [
            words(0, y + 10, name, 12),
            f'<rect x="130" y="{y}" width="150" height="12" rx="3" fill="currentColor" fill-opacity=".14"/>',
            f'<rect x="130" y="{y}" width="{number(150 * full)}" height="12" rx="3" fill="#3f7d86"/>',
            words(288, y + 10, f"{value:.2f}", 12),
        ]
    told = "; ".join(f"{name} {value:.2f}" for name, value in parts.items())
    desc = f"From 0 to 1, 1 is best: {told}." if told else "No parts."
    return picture(320, 22 * max(1, len(parts)) + 10, title, desc, body, prefix, "px")
