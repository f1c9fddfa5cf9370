"""A layout in plain words, layer by layer."""

from __future__ import annotations

from collections.abc import Sequence

from themekit.make.arrange import Laid, Measure
from themekit.suggest.words import listed

#: How a piece lies, by what it is and which of its own measures points up.
_POSES: dict[tuple[str, Measure], str] = {
    ("cookie bag", "height"): "lying",
    ("cookie bag", "width"): "lying on its side",
    ("cookie bag", "length"): "standing",
    ("cup", "height"): "upright",
    ("icing bag", "height"): "flat",
    ("utensil", "width"): "on edge",
    ("card", "height"): "flat",
    ("card", "width"): "standing along a wall",
    ("card", "length"): "standing along a wall",
}


def levels(laid: Sequence[Laid]) -> list[list[Laid]]:
    """The pieces by level from the floor up, each from the front left corner on."""
    found: dict[int, list[Laid]] = {}
    for piece in laid:
        found.setdefault(piece.level, []).append(piece)
    return [sorted(found[n], key=lambda p: (p.y_mm, p.x_mm, p.name)) for n in sorted(found)]


def in_words(laid: Sequence[Laid], inner_mm: tuple[float, float, float]) -> tuple[str, ...]:
    """One sentence for each level, seen from above with the box's length from left to right."""
    heads = ("On the floor", "On these")
    out = []
    for number, level in enumerate(levels(laid)):
        pieces = [_piece(p, inner_mm) for p in level]
        out.append(f"{heads[min(number, 1)]}: {'; '.join(pieces)}.")
    bedded = [p.name for p in laid if p.bedded]
    if bedded:
        out.append(f"Put filling under {listed(bedded)}: less than half rests on anything.")
    cookies = [p for p in laid if p.kind in ("cookie bag", "cookies")]
    heavy = [p.name for p in laid if p not in cookies and p.kind != "card" and any(_over(p, c) for c in cookies)]
    if heavy:
        out.append(f"The cookies carry {listed(heavy)}: put filling between.")
    return tuple(out)


def _over(piece: Laid, under: Laid) -> bool:
    """Whether one piece lies above another."""
    return (
        piece.z_mm >= under.z_mm + under.height_mm
        and piece.x_mm < under.x_mm + under.length_mm
        and under.x_mm < piece.x_mm + piece.length_mm
        and piece.y_mm < under.y_mm + under.width_mm
        and under.y_mm < piece.y_mm + piece.width_mm
    )


def _piece(piece: Laid, inner_mm: tuple[float, float, float]) -> str:
    pose = _POSES.get((piece.kind, piece.up), "")
    way = ""
    if abs(piece.length_mm - piece.width_mm) >= 1:
        way = "along the length" if piece.length_mm > piece.width_mm else "across"
    across = _third(piece.x_mm + piece.length_mm / 2, inner_mm[0], ("left", "middle", "right"))
    along = _third(piece.y_mm + piece.width_mm / 2, inner_mm[1], ("front", "middle", "back"))
    place = "in the middle" if across == along else f"{along} {across}"
    return ", ".join(word for word in (piece.name, pose, way, place) if word)


def _third(at: float, whole: float, words: tuple[str, str, str]) -> str:
    return words[min(2, int(3 * at / whole))]
