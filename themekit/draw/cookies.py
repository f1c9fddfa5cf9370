"""A cookie in its cutter's outline: baked dough, icing in a tint inset, grains strewn on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from themekit.draw.cups import described, tinted
from themekit.draw.dice import Dice
from themekit.draw.grains import Sort, definitions, drawn_from, seed_of, show, sorts_of
from themekit.draw.outlines import Outline, curves_of, outline_of
from themekit.draw.svg import checked_prefix, hex_of, picture, shade
from themekit.draw.trace import Curve, Points, area_of, around, closed, dense, moved, number, path_data, sampled
from themekit.values import Cutter, Jar, Tint

#: Size drawn for a cutter that has none entered, mm; common practice, no source.
USUAL_MM = 80.0
#: Dough left bare round the icing, mm, and the width of a piped line, mm; common practice, no source.
BARE, LINE = 3.2, 2.0
_DOUGH, _BAKED = "#e7c48d", "#b98448"
#: Part of the iced area that strewn grains cover, and their fewest and most.
_COVER, _FEWEST, _MOST = 0.10, 6, 16
#: Grains smaller than _SMALL mm are strewn by the pinch of so many.
_SMALL, _PINCH = 2.5, 18
#: Golden-ratio steps in the plane: points that stay evenly apart however many are taken.
_STEP = (0.7548776662466927, 0.5698402909980532)
#: How many such points are tried.
_FIELD = 360


@dataclass(frozen=True, slots=True)
class Cookie:
    """One cutter's cookie in mm about (0, 0), outline and piped lines as curves."""

    name: str
    width: float
    height: float
    curves: tuple[Curve, ...]
    lines: tuple[tuple[Curve, ...], ...]
    known: bool


def size_of_cutter(cutter: Cutter, outline: Outline | None) -> tuple[float, float]:
    """Width and height drawn, mm; a side not known follows the outline's own proportions."""
    aspect = outline.aspect if outline else 1.0
    width, height = cutter.width_mm, cutter.height_mm
    if width is None and height is None:
        longer = USUAL_MM
        return (longer, longer / aspect) if aspect >= 1 else (longer * aspect, longer)
    if width is None:
        return (height or USUAL_MM) * aspect, height or USUAL_MM
    return width, height if height is not None else width / aspect


@lru_cache(maxsize=256)
def cookie_of(cutter: Cutter) -> Cookie:
    """The cookie that a cutter cuts; a plain rounded form where no outline answers to its words."""
    outline = outline_of(cutter)
    width, height = size_of_cutter(cutter, outline)
    known = outline is not None
    if outline is None:
        return Cookie(cutter.name, width, height, tuple(_plain(width, height)), (), known)
    curves, lines = curves_of(outline.name)
    points = sampled(curves, 24)
    low, high = points.min(axis=0), points.max(axis=0)
    scale = (width / float(high[0] - low[0]), height / float(high[1] - low[1]))
    shift = (-scale[0] * float(high[0] + low[0]) / 2, -scale[1] * float(high[1] + low[1]) / 2)
    placed = tuple(tuple(moved(run, scale, shift)) for run in lines)
    return Cookie(cutter.name, width, height, tuple(moved(curves, scale, shift)), placed, known)


def _plain(width: float, height: float) -> list[Curve]:
    """A rectangle with well-rounded corners."""
    r = 0.3 * min(width, height)
    x, y = width / 2 - r, height / 2 - r
    turn = around(0, 0, r, 8)
    nodes = []
    for k, (dx, dy) in enumerate(((x, -y), (x, y), (-x, y), (-x, -y))):
        corner = [turn[(2 * k + i) % 8] for i in range(3)]
        nodes += [(px + dx, py + dy, i != 1) for i, (px, py, _) in enumerate(corner)]
    return closed(nodes)


def definition(cookie: Cookie, ident: str) -> str:
    """The outline, its clip and its piped lines, for the defs of a picture."""
    text = f'<path id="{ident}" d="{path_data([cookie.curves])}"/>'
    text += f'<clipPath id="{ident}k"><use href="#{ident}"/></clipPath>'
    if cookie.lines:
        look = f'fill="none" stroke-width="{number(LINE)}" stroke-linecap="round" stroke-linejoin="round"'
        text += f'<path id="{ident}l" d="{path_data(cookie.lines, close=False)}" {look}/>'
    return text


def iced(cookie: Cookie, ident: str, tint: Tint, piped: Tint | None) -> str:
    """Dough, icing in `tint` and lines in `piped`, about (0, 0); `ident` is that of the definition."""
    colour, rim = hex_of(tint.lab), shade(tint.lab, -9)
    parts = [
        f'<use href="#{ident}" x=".8" y="1.3" fill="#000" fill-opacity=".16"/>',
        f'<g clip-path="url(#{ident}k)">',
        f'<use href="#{ident}" fill="{colour}" stroke="{rim}" stroke-width="{number(2 * BARE + 1.6)}"/>',
        f'<use href="#{ident}l" stroke="{hex_of(piped.lab)}"/>' if cookie.lines and piped else "",
        # The bare dough goes over the ends of the lines, which stay on the icing.
        f'<g fill="none"><use href="#{ident}" stroke="{_DOUGH}" stroke-width="{number(2 * BARE)}"/>',
        f'<use href="#{ident}" stroke="{_BAKED}" stroke-width="1.8"/></g></g>',
    ]
    return "".join(parts)


def sprinkled(cookie: Cookie, sorts: Sequence[Sort], seed: str) -> str:
    """A pinch of grains on the icing, clear of its rim and, where there is room, of piped lines."""
    if not sorts:
        return ""
    pinched = _pinched(sorts)
    dice = Dice(seed)
    places = _places(cookie, pinched, dice)
    if not places:
        # Too narrow for a pinch: single grains.
        pinched = [s for s in sorts if s.form != "pinch"]
        places = _places(cookie, pinched, dice)
    grains = zip(drawn_from(pinched, len(places), dice), places, strict=True)
    return "".join(show(s, x, y, dice) for s, (x, y) in grains)


def pinch_of(sorts: Sequence[Sort], ident: str, seed: str) -> tuple[Sort, ...]:
    """The sorts, and for those too small to be strewn one by one a pinch of them as one more sort."""
    small = [s for s in sorts if s.size < _SMALL]
    if not small:
        return tuple(sorts)
    dice = Dice(f"{seed}/pinch")
    span = 2.5 + 3.5 * max(s.size for s in small)
    shown = []
    for k, sort in enumerate(drawn_from(small, _PINCH, dice)):
        # Fermat's spiral keeps them apart (golden angle), a little shaken.
        turn = 2.39996 * k + dice.between(0, 0.5)
        reach = (span / 2 - sort.size / 2) * math.sqrt((k + 0.5) / _PINCH)
        shown.append(show(sort, reach * math.cos(turn), reach * math.sin(turn), dice))
    drawn = f'<g id="{ident}">{"".join(shown)}</g>'
    return (*sorts, Sort(ident, "pinch", span, sum(s.share for s in small), drawn))


def _pinched(sorts: Sequence[Sort]) -> Sequence[Sort]:
    """What is strewn: the pinch in place of the small sorts that it holds."""
    if not any(s.form == "pinch" for s in sorts):
        return sorts
    return [s for s in sorts if s.size >= _SMALL]


@lru_cache(maxsize=256)
def _field(cookie: Cookie) -> tuple[Points, Points, Points, float]:
    """Points spread over a cookie, their distances to its rim and to its lines, and its area."""
    edge = dense(cookie.curves, 1.5)
    found = np.arange(1, _FIELD + 1)[:, None] * np.array(_STEP)
    found = (found % 1.0 - 0.5) * np.array([cookie.width, cookie.height])
    found = found[_inside(found, edge)]
    lines = [c for run in cookie.lines for c in run]
    clear = _distance(found, dense(lines, 1.5)) if lines else np.full(len(found), np.inf)
    return found, _distance(found, edge), clear, area_of(edge)


def _distance(points: Points, others: Points) -> Points:
    """Distance from each point to the nearest of the others."""
    apart = points[:, None, :] - others[None, :, :]
    return np.asarray(np.sqrt((apart**2).sum(axis=2).min(axis=1)))


def _places(cookie: Cookie, sorts: Sequence[Sort], dice: Dice) -> list[tuple[float, float]]:
    """Places for a few grains of these sorts, apart from each other, from the rim and from lines."""
    found, away, clear, area = _field(cookie)
    size = max(s.size for s in sorts)
    total = sum(s.share for s in sorts) or 1.0
    usual = sum(s.share * s.size for s in sorts) / total
    count = int(min(_MOST, max(_FEWEST, _COVER * 0.8 * area / (0.6 * usual * usual))))
    fits = away >= BARE + 0.5 * size
    off = fits & (clear >= 0.5 * size + 0.5 * LINE)
    chosen = np.flatnonzero(off if off.sum() >= _FEWEST else fits)
    # Chance says where in the even spread of points to begin.
    chosen = np.roll(chosen, -int(dice.roll() * len(chosen)))
    taken: list[tuple[float, float]] = []
    apart = max(1.15 * usual, 0.62 * math.sqrt(cookie.width * cookie.height / count))
    for x, y in found[chosen].tolist():
        if len(taken) < count and all(math.hypot(x - a, y - b) >= apart for a, b in taken):
            taken.append((x, y))
    return taken


def _inside(points: Points, polygon: Points) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether each point lies in a polygon: an odd number of its sides to the right."""
    ax, ay = polygon[:, 0], polygon[:, 1]
    bx, by = np.roll(ax, -1), np.roll(ay, -1)
    x, y = points[:, :1], points[:, 1:]
    spans = (ay > y) != (by > y)
    rise = np.where(by == ay, 1.0, by - ay)
    crossed = spans & (x < ax + (y - ay) * (bx - ax) / rise)
    return np.asarray(crossed.sum(axis=1) % 2 == 1)


def cookie_picture(
    cutter: Cutter, tint: Tint, jars: Sequence[Jar] = (), prefix: str = "cookie", piped: Tint | None = None
) -> str:
    """One cookie, iced in `tint`, its lines piped in `piped`, strewn with `jars`; in mm, to scale.

    Ids begin with `prefix`; raises `InvalidValue` where that cannot begin an id.
    """
    checked_prefix(prefix)
    cookie = cookie_of(cutter)
    seed = "|".join([*map(seed_of, jars), str(cutter.id), cutter.name])
    plain = [s for i, jar in enumerate(jars) for s in sorts_of(jar, f"{prefix}-g{i}", 1 / len(jars))]
    sorts = pinch_of(plain, f"{prefix}-p", seed)
    width, height = cookie.width + 4, cookie.height + 4
    body = [
        f"<defs>{definition(cookie, prefix + '-c')}{definitions(sorts)}</defs>",
        f'<g transform="translate({number(width / 2)} {number(height / 2)})">',
        iced(cookie, f"{prefix}-c", tint, piped),
        sprinkled(cookie, sorts, seed),
        "</g>",
    ]
    desc = " ".join([said(cutter, cookie), tinted(tint), *(described(jar) for jar in jars)])
    return picture(width, height, f"Cookie: {cutter.name}", desc, body, prefix)


def said(cutter: Cutter, cookie: Cookie) -> str:
    """One sentence on a cookie: its size, and what of it is not known."""
    size = f"{cutter.name}, {number(cookie.width)} × {number(cookie.height)} mm"
    doubts = []
    if cutter.width_mm is None or cutter.height_mm is None:
        doubts.append("size not known, drawn at a usual one")
    if not cookie.known:
        doubts.append("no outline known, drawn as a plain form")
    return f"{size} ({'; '.join(doubts)})." if doubts else f"{size}."
