"""SVG as text: escaped words, short numbers, shades of a colour, and the frame of a picture."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from themekit.colour.space import lab_to_hex
from themekit.draw.trace import number
from themekit.errors import Problem, raise_all
from themekit.values import Lab

_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")
#: What XML 1.0 does not allow in a document (W3C XML 1.0, production 2 "Char").
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
#: Words longer than this are cut in a picture; the page has them whole.
_LONGEST = 200


def escaped(text: str) -> str:
    """`text` for use between tags and inside quoted attributes."""
    clean = _NOT_XML.sub("", text)
    if len(clean) > _LONGEST:
        clean = clean[: _LONGEST - 1] + "…"
    for plain, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        clean = clean.replace(plain, entity)
    return clean


def checked_prefix(prefix: str) -> str:
    """`prefix` as it came. Raises `InvalidValue` where it cannot begin an id."""
    if not (isinstance(prefix, str) and _PREFIX.fullmatch(prefix)):
        raise_all(
            [
                Problem(
                    "prefix",
                    prefix,
                    "a letter, then at most 39 letters, digits, - or _",
                    "Give each picture of a page its own prefix, such as idea1.",
                )
            ]
        )
    return prefix


@lru_cache(maxsize=4096)
def hex_of(lab: Lab) -> str:
    """Hex of a colour, kept for the many pieces that share it."""
    return lab_to_hex(lab)


@lru_cache(maxsize=4096)
def shade(lab: Lab, lightness: float) -> str:
    """Hex of a colour made lighter (above 0) or darker (below 0) by so many L* units.

    Darker is what less light makes of it: X, Y and Z fall alike, so a* and b* fall as L* + 16
    does (CIE 15, the cube roots of CIELAB). With them unchanged a shaded red would turn raspberry.
    """
    to = min(100.0, max(0.0, lab[0] + lightness))
    less = min(1.0, (to + 16) / (lab[0] + 16))
    return lab_to_hex((to, less * lab[1], less * lab[2]))


def at(x: float, y: float, turn: float = 0.0, digits: int = 1) -> str:
    """The transform attribute that sets a piece at a place, turned clockwise by degrees."""
    text = f"translate({number(x, digits)} {number(y, digits)})"
    return f'transform="{text}rotate({turn:.0f})"' if round(turn) else f'transform="{text}"'


def use(ident: str, x: float, y: float, turn: float = 0.0) -> str:
    """One more showing of the piece `ident`, set at a place and turned."""
    if round(turn):
        return f'<use href="#{ident}" {at(x, y, turn)}/>'
    return f'<use href="#{ident}" x="{number(x)}" y="{number(y)}"/>'


def words(x: float, y: float, text: str, size: float, more: str = "") -> str:
    """A line of text in the reader's own text colour."""
    place = f'x="{number(x)}" y="{number(y)}" font-size="{number(size)}"'
    return f'<text {place} font-family="sans-serif" fill="currentColor"{more}>{escaped(text)}</text>'


def picture(
    width: float,
    height: float,
    title: str,
    desc: str,
    body: Iterable[str],
    prefix: str,
    unit: str = "mm",
    role: str = "img",
) -> str:
    """A whole picture of `width` × `height` in `unit` (mm or px), named for those who cannot see it.

    With links in it its `role` is "group": what is in an "img" is not offered to anyone.
    """
    w, h = number(width), number(height)
    return "".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}{unit}" height="{h}{unit}" ',
            f'role="{role}" aria-labelledby="{prefix}-t {prefix}-d">',
            f'<title id="{prefix}-t">{escaped(title)}</title><desc id="{prefix}-d">{escaped_long(desc)}</desc>',
            *body,
            "</svg>",
        ]
    )


def escaped_long(text: str) -> str:
    """`text` escaped, sentence by sentence, so that only overlong words are cut."""
    return " ".join(escaped(part) for part in text.split(" "))
