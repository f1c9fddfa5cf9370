"""The packed box from above as plain shapes with numbers, a layer beside the other."""

from __future__ import annotations

from collections.abc import Sequence

from api.prints.job import Json
from themekit.make.arrange import Laid
from themekit.make.layout_words import levels

_HEADS = ("on the floor", "on these", "on top")
_FILLS = {
    "cookie bag": "#f3dfc1",
    "cookies": "#f3dfc1",
    "icing bag": "#dce9f5",
    "cup": "#f6d9e2",
    "card": "#f4f4ee",
}
_PLAIN = "#e3e8dc"


def layers(laid: Sequence[Laid], inner_mm: tuple[float, float, float]) -> tuple[list[Json], str]:
    """Layers from the floor up, in parts of the box's length and width, and what each number is."""
    length, width, _ = inner_mm
    layered = levels(laid)
    number = {id(piece): n for n, piece in enumerate((p for layer in layered for p in layer), 1)}

    def shape(piece: Laid) -> Json:
        return {
            "x": piece.x_mm / length,
            # The box's front is at the bottom.
            "y": 1 - (piece.y_mm + piece.width_mm) / width,
            "wide": piece.length_mm / length,
            "high": piece.width_mm / width,
            "round": piece.kind == "cup",
            "fill": _FILLS.get(piece.kind, _PLAIN),
            "number": str(number[id(piece)]),
        }

    shown = [
        {
            "head": _HEADS[min(at, 2)],
            "pieces": [shape(piece) for piece in layer],
            "below": [shape(piece) for piece in layered[at - 1]] if at else [],
            "ratio": width / length,
        }
        for at, layer in enumerate(layered)
    ]
    return shown, "; ".join(f"{number[id(p)]}: {p.name}" for layer in layered for p in layer)
