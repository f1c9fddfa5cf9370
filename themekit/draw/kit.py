"""The kit from above: cookies in a grid, cups of toppings and piping bags in an open box."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from themekit.draw.cookies import Cookie, cookie_of, definition, iced, pinch_of, said, sprinkled
from themekit.draw.cups import BAG_LONG, BAG_WIDE, CUP_R, bag, cup, described, mixed, tinted
from themekit.draw.grains import Sort, definitions, seed_of, sorts_of
from themekit.draw.svg import at, checked_prefix, escaped, picture
from themekit.draw.trace import number
from themekit.make.kit import Kit
from themekit.values import Cutter

#: Room between pieces and from the box's wall, mm, and the most cookies that are drawn.
_GAP, _WALL, _MOST_COOKIES = 6.0, 9.0, 24
_CARD, _CARD_EDGE, _LINING = "#d8c3a1", "#a58a63", "#f3ead9"


@dataclass(frozen=True, slots=True)
class Touch:
    """What a tap on a part of the picture leads to, said in words, and whether the part is held."""

    address: str
    label: str
    held: bool = False


def kit_picture(
    kit: Kit, prefix: str = "kit", title: str | None = None, touch: Mapping[str, Touch] | None = None
) -> str:
    """A kit from above in an open box, everything to one scale in mm.

    Cookies are shown as they may turn out: iced in the kit's tints by turns, lines piped
    in the next tint, each strewn with one topping (or the mix). Up to 24 cookies are
    drawn; the description says how many there are. Ids begin with `prefix`; raises
    `InvalidValue` where that cannot begin an id.

    With `touch` parts can be tapped and held ones wear a pin: "t0" is the first bag, "j0"
    the first cup (not of a mix), "c0" the cookies of the first cut.
    """
    checked_prefix(prefix)
    touch = touch or {}
    cookies = {cut.cutter.id: cookie_of(cut.cutter) for cut in kit.cuts}
    served, toppings = _toppings(kit, prefix)
    baked = [cut.cutter for cut in kit.cuts for _ in range(cut.cookies)]
    grid, width, grid_height = _cookies(kit, baked[:_MOST_COOKIES], cookies, served, prefix, touch)
    below, needed, row_height, row_width = _row(kit, served, prefix, width, touch)
    width = max(width, row_width)
    height = grid_height + row_height + 2 * _WALL + (_GAP if grid_height and row_height else 0)
    parts = [
        "<defs>",
        *(definition(cookies[c.id], f"{prefix}-c{c.id}") for c in dict.fromkeys(baked)),
        definitions(toppings),
        needed,
        "</defs>",
        _box(width + 2 * _WALL, height),
        f"<g {at(_WALL, _WALL)}>{grid}</g>",
        f"<g {at(_WALL, _WALL + grid_height + (_GAP if grid_height else 0))}>{below}</g>",
    ]
    name = title if title is not None else f"Kit: {kit.theme}"
    role = "group" if touch else "img"
    return picture(width + 2 * _WALL, height, name, _told(kit, cookies), parts, prefix, role=role)


def _touched(drawn: str, ident: str, touch: Touch | None, high: float, first: bool = True) -> str:
    """A piece that can be tapped; the keyboard comes to the first of several alike."""
    if touch is None:
        return drawn
    order = f' id="{ident}"' if first else ' tabindex="-1"'
    pin = ""
    if touch.held:
        pin = (
            f'<g {at(0, -high / 2)}><circle r="5.4" fill="#fff" stroke="#2c2620" stroke-width="1.2"/>'
            '<circle r="2.6" fill="#b3261e"/></g>'
        )
    return (
        f'<a href="{escape(touch.address)}" aria-label="{escaped(touch.label)}" class="touch"{order}>'
        f"{drawn}{pin}</a>"
    )


def _toppings(kit: Kit, prefix: str) -> tuple[list[Sequence[Sort]], list[Sort]]:
    """What is in each cup, and every sort there is."""
    if not kit.toppings:
        return [], []
    if kit.serve == "mixed":
        seed = "|".join(seed_of(t.jar) for t in kit.toppings)
        mix = pinch_of(mixed([(t.jar, t.share) for t in kit.toppings], f"{prefix}-g"), f"{prefix}-n", seed)
        return [mix] * len(kit.toppings), list(mix)
    each: list[Sequence[Sort]] = [
        pinch_of(sorts_of(t.jar, f"{prefix}-g{i}"), f"{prefix}-n{i}", seed_of(t.jar))
        for i, t in enumerate(kit.toppings)
    ]
    return each, [s for sorts in each for s in sorts]


def _box(width: float, height: float) -> str:
    w, h = number(width), number(height)
    inner = f'width="{number(width - 5)}" height="{number(height - 5)}"'
    return (
        f'<rect width="{w}" height="{h}" rx="4" fill="{_CARD}"/>'
        f'<rect x="2.5" y="2.5" {inner} rx="2.5" fill="{_LINING}" stroke="{_CARD_EDGE}" stroke-width=".8"/>'
    )


def _cookies(
    kit: Kit,
    baked: Sequence[Cutter],
    cookies: dict[int, Cookie],
    served: Sequence[Sequence[Sort]],
    prefix: str,
    touch: Mapping[str, Touch],
) -> tuple[str, float, float]:
    """The grid of cookies with its width and height; every row is as high as its highest."""
    if not baked or not kit.tints:
        return "", 0.0, 0.0
    columns = min(len(baked), max(3, math.ceil(math.sqrt(1.8 * len(baked)))))
    rows = [baked[i : i + columns] for i in range(0, len(baked), columns)]
    widths = [sum(cookies[c.id].width for c in row) + _GAP * (len(row) - 1) for row in rows]
    total, parts, y, n = max(widths), [], 0.0, 0
    places = {cut.cutter.id: f"c{i}" for i, cut in enumerate(kit.cuts)}
    seen: set[int] = set()
    for row, wide in zip(rows, widths, strict=True):
        high = max(cookies[c.id].height for c in row)
        spare = (total - wide) / (len(row) + 1)
        x = spare
        for cutter in row:
            cookie = cookies[cutter.id]
            tint, piped = kit.tints[n % len(kit.tints)], kit.tints[(n + 1) % len(kit.tints)]
            parts.append(f"<g {at(x + cookie.width / 2, y + high / 2)}>")
            drawn = iced(cookie, f"{prefix}-c{cutter.id}", tint, piped)
            if served:
                k = n % len(served)
                drawn += sprinkled(cookie, served[k], f"{seed_of(kit.toppings[k].jar)}/{cutter.id}/{n}")
            first, place = cutter.id not in seen, places[cutter.id]
            parts.append(_touched(drawn, f"{prefix}-{place}", touch.get(place), cookie.height, first))
            seen.add(cutter.id)
            parts.append("</g>")
            x += cookie.width + _GAP + spare
            n += 1
        y += high + _GAP
    return "".join(parts), total, y - _GAP


def _row(
    kit: Kit, served: Sequence[Sequence[Sort]], prefix: str, width: float, touch: Mapping[str, Touch]
) -> tuple[str, str, float, float]:
    """Cups to the left and bags to the right: the row, what it needs, its height and least width."""
    pieces: list[tuple[float, float, str]] = []
    needed = []
    for i, sorts in enumerate(served):
        jars = [t.jar for t in kit.toppings] if kit.serve == "mixed" else [kit.toppings[i].jar]
        if kit.serve == "mixed" and i:
            pieces.append((2 * CUP_R, 2 * CUP_R, f'<use href="#{prefix}-p"/>'))
            continue
        grains = [s for s in sorts if s.form != "pinch"]
        extra, drawn = cup(grains, f"{prefix}-h{i}", jars)
        needed.append(extra)
        if kit.serve == "mixed":
            drawn = f'<g id="{prefix}-p">{drawn}</g>'
        else:
            drawn = _touched(drawn, f"{prefix}-j{i}", touch.get(f"j{i}"), 1.5 * CUP_R)
        pieces.append((2 * CUP_R, 2 * CUP_R, drawn))
    pieces += [
        (BAG_WIDE, BAG_LONG, _touched(bag(tint.lab), f"{prefix}-t{i}", touch.get(f"t{i}"), 0.5 * BAG_LONG))
        for i, tint in enumerate(kit.tints)
    ]
    if not pieces:
        return "", "", 0.0, 0.0
    least = sum(w for w, _, _ in pieces) + _GAP * (len(pieces) - 1)
    spare = max(0.0, width - least) / (len(pieces) + 1)
    high = max(h for _, h, _ in pieces)
    parts, x = [], spare
    for wide, _, drawn in pieces:
        parts.append(f"<g {at(x + wide / 2, high / 2)}>{drawn}</g>")
        x += wide + _GAP + spare
    return "".join(parts), "".join(needed), high, least


def _told(kit: Kit, cookies: dict[int, Cookie]) -> str:
    """The kit in words, for those who cannot see it."""
    cuts = [f"{cut.cookies} × {said(cut.cutter, cookies[cut.cutter.id])}" for cut in kit.cuts]
    shown = f" The first {_MOST_COOKIES} are drawn." if kit.cookies > _MOST_COOKIES else ""
    served = "Toppings mixed in each cup:" if kit.serve == "mixed" else "Toppings, each in its own cup:"
    parts = [f"{kit.cookies} cookies, shown as they may turn out.{shown}", *cuts]
    parts += [tinted(tint) for tint in kit.tints]
    if kit.toppings:
        parts += [served, *(described(t.jar) for t in kit.toppings)]
    return " ".join(parts)
