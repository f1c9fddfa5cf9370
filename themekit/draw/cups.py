"""A cup of grains and a piping bag, each seen from above, in mm."""

from __future__ import annotations

from collections.abc import Sequence

from themekit.draw.grains import PLAIN_MM, Sort, definitions, ground, heap, seed_of, size_of, sorts_of
from themekit.draw.svg import checked_prefix, hex_of, picture, shade
from themekit.draw.trace import number
from themekit.suggest.words import listed
from themekit.values import Jar, Lab, Tint

#: Outer radius of a cup and of its rim, mm: a portion cup of 50 mm, common practice, no source.
CUP_R, RIM = 25.0, 1.8
#: Length and width of a filled piping bag, mm, common practice, no source.
BAG_LONG, BAG_WIDE = 104.0, 46.0
_PAPER, _PAPER_EDGE = "#fbf7ef", "#c9bda6"


def described(jar: Jar) -> str:
    """One sentence on a jar's grains: form, size, finish and colours with their shares."""
    form = jar.texture.form or "grains whose form is not known, drawn as dots"
    size = (
        f"{number(size_of(jar))} mm" if jar.texture.grain_mm else f"size not known, drawn at {number(PLAIN_MM)} mm"
    )
    colours = listed([f"{hex_of(c.lab)} {100 * c.share:.0f} %" for c in jar.colours]) or "colour not known"
    finish = f", {jar.texture.finish}" if jar.texture.finish else ""
    return f"{jar.name}: {form}, {size}{finish}; {colours}."


def cup(sorts: Sequence[Sort], ident: str, jars: Sequence[Jar]) -> tuple[str, str]:
    """A cup of these grains about (0, 0): what it needs in the defs, and the cup."""
    inner = CUP_R - RIM
    needed, grains = heap(sorts, inner, ident, "|".join(map(seed_of, jars)))
    parts = [
        f'<circle cx=".8" cy="1.2" r="{number(CUP_R)}" fill="#000" fill-opacity=".14"/>',
        f'<circle r="{number(CUP_R)}" fill="{_PAPER}" stroke="{_PAPER_EDGE}" stroke-width=".4"/>',
        f'<circle r="{number(inner)}" fill="{ground(jars)}"/>',
        grains,
        f'<circle r="{number(inner)}" fill="none" stroke="{_PAPER_EDGE}" stroke-width=".5"/>',
    ]
    return needed, "".join(parts)


def bag(lab: Lab) -> str:
    """A filled and tied piping bag lying about (0, 0), its tip at the bottom."""
    tint, dark = hex_of(lab), shade(lab, -16)
    h, w = BAG_LONG / 2, BAG_WIDE / 2
    filled = (
        f"M{-w} -22C{-w} -6 -12 24 -3 {h}L3 {h}C12 24 {w} -6 {w} -22"
        f"C{w} -31 12 -34 4 -36L-4 -36C-12 -34 {-w} -31 {-w} -22Z"
    )
    tail = "M-4 -38C-8 -44 -14 -48 -15 -52L-6 -50L0 -52L6 -50L15 -52C14 -48 8 -44 4 -38Z"
    folds = "M-10 -30C-12 -10 -6 20 -2 46M10 -30C12 -12 9 8 5 24"
    return "".join(
        [
            f'<path d="{filled}" fill="#000" fill-opacity=".14" transform="translate(.8 1.4)"/>',
            f'<path d="{tail}" fill="{_PAPER}" fill-opacity=".85" stroke="{_PAPER_EDGE}" stroke-width=".6"/>',
            f'<path d="{filled}" fill="{tint}" stroke="{dark}" stroke-width=".7"/>',
            f'<path d="{folds}" fill="none" stroke="#fff" stroke-opacity=".4" stroke-width="1.6" ',
            'stroke-linecap="round"/>',
            '<rect x="-5" y="-38.5" width="10" height="3" rx="1.5" fill="#8a7a66"/>',
        ]
    )


def cup_picture(jar: Jar, prefix: str = "cup") -> str:
    """One jar's grains in a cup from above, to scale, 54 × 54 mm.

    Ids begin with `prefix`; raises `InvalidValue` where that cannot begin an id.
    """
    checked_prefix(prefix)
    sorts = sorts_of(jar, f"{prefix}-g")
    needed, body = cup(sorts, f"{prefix}-h", [jar])
    side = 2 * CUP_R + 4
    middle = number(side / 2)
    parts = [
        f"<defs>{definitions(sorts)}{needed}</defs>",
        f'<g transform="translate({middle} {middle})">',
        body,
        "</g>",
    ]
    return picture(side, side, f"Cup of {jar.name}", described(jar), parts, prefix)


def bag_picture(tint: Tint, prefix: str = "bag") -> str:
    """One piping bag in its tint, 50 × 108 mm."""
    checked_prefix(prefix)
    width, height = BAG_WIDE + 4, BAG_LONG + 4
    body = [f'<g transform="translate({number(width / 2)} {number(height / 2)})">', bag(tint.lab), "</g>"]
    return picture(width, height, f"Piping bag, {tint.name}", tinted(tint), body, prefix)


def tinted(tint: Tint) -> str:
    """One sentence on a tint: name, hex and lightness."""
    return f"Icing {tint.name}: {hex_of(tint.lab)}, lightness {tint.lab[0]:.0f} of 100."


def mixed(jars: Sequence[tuple[Jar, float]], prefix: str) -> tuple[Sort, ...]:
    """All sorts of several jars with their shares, as one mix."""
    return tuple(s for i, (jar, share) in enumerate(jars) for s in sorts_of(jar, f"{prefix}{i}", share))
