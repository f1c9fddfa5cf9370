"""A layout from above as an SVG: plain shapes with numbers and a list of names.

Levels stand side by side, the floor first; what lies below shows as a dashed outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

from themekit.make.arrange import Laid
from themekit.make.layout_words import in_words, levels

_GAP, _LINE = 16.0, 12.0
_LETTER = 0.56  # of the type size: an average letter's width
_FILLS = {
    "cookie bag": "#f3dfc1",
    "cookies": "#f3dfc1",
    "icing bag": "#dce9f5",
    "cup": "#f6d9e2",
    "card": "#f4f4ee",
}
_PLAIN = "#e3e8dc"


def layout_svg(laid: Sequence[Laid], inner_mm: tuple[float, float, float], title: str) -> str:
    """The layout in a box of these inner sizes in mm as an SVG text, 1 unit to the mm.

    The same layout gives the same text. `title` and the names are escaped; there are no scripts,
    styles from outside or links. Title and description are for screen readers.
    """
    length, width, _ = inner_mm
    layers = levels(laid)
    number = {id(p): n for n, p in enumerate((p for layer in layers for p in layer), 1)}
    panels = max(1, len(layers))
    names = [f"{number[id(p)]}: {p.name}" for layer in layers for p in layer]
    total = max(
        panels * length + (panels + 1) * _GAP, max((len(n) for n in names), default=0) * 10 * _LETTER + 2 * _GAP
    )
    high = width + 3 * _GAP + _LINE * (len(names) + 1)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(total)} {_n(high)}" role="img" '
        'font-family="sans-serif" font-size="10" fill="#222222">',
        f"<title>{_text(title)}</title>",
        f"<desc>{_text(' '.join(in_words(laid, inner_mm)) or 'Nothing is laid.')}</desc>",
    ]
    for at, layer in enumerate(layers or [[]]):
        left, top = _GAP + at * (length + _GAP), 2 * _GAP
        head = ("floor", "on the floor's pieces", "on top")[min(at, 2)]
        out.append(f'<text x="{_n(left)}" y="{_n(top - 5)}">{_text(f"Layer {at + 1}, {head}")}</text>')
        out.append(
            f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(length)}" height="{_n(width)}" '
            f'fill="#ffffff" stroke="#222222" stroke-width="1.5"/>'
        )
        for below in layers[at - 1] if at else []:
            out.append(_shape(below, left, top, width, 'fill="none" stroke="#999999" stroke-dasharray="3 3"'))
        for piece in layer:
            fill = _FILLS.get(piece.kind, _PLAIN)
            out.append(_shape(piece, left, top, width, f'fill="{fill}" stroke="#444444"'))
            out.append(_label(piece, number[id(piece)], left, top, width))
    for line, name in enumerate(names, 1):
        out.append(f'<text x="{_n(_GAP)}" y="{_n(width + 2 * _GAP + _LINE * line + 4)}">{_text(name)}</text>')
    return "\n".join([*out, "</svg>"]) + "\n"


def _shape(piece: Laid, left: float, top: float, width: float, style: str) -> str:
    """A round cup as a circle, all else as a rectangle; the box's front is at the bottom."""
    x, y = left + piece.x_mm, top + width - piece.y_mm - piece.width_mm
    if piece.kind == "cup":
        r = min(piece.length_mm, piece.width_mm) / 2
        return (
            f'<circle cx="{_n(x + piece.length_mm / 2)}" cy="{_n(y + piece.width_mm / 2)}" r="{_n(r)}" {style}/>'
        )
    size = f'width="{_n(piece.length_mm)}" height="{_n(piece.width_mm)}"'
    return f'<rect x="{_n(x)}" y="{_n(y)}" {size} rx="1" {style}/>'


def _label(piece: Laid, number: int, left: float, top: float, width: float) -> str:
    """The number, with the name where it goes in."""
    words = f"{number}: {piece.name}"
    if len(words) * 10 * _LETTER > piece.length_mm - 4 or piece.width_mm < 12:
        words = str(number)
    x = left + piece.x_mm + piece.length_mm / 2
    y = top + width - piece.y_mm - piece.width_mm / 2 + 3.5
    return f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="middle">{_text(words)}</text>'


def _text(words: str) -> str:
    """Text without characters that XML forbids, escaped."""
    return escape("".join(c if c.isprintable() else " " for c in words))


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
