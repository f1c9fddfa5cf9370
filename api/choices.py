"""All that could stand in a place of a kit: every jar, cutter or named icing, and why some may not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from api.tables import Laid, Spread
from themekit.colour.names import FAR
from themekit.colour.space import hex_to_lab
from themekit.suggest.keep import made_of
from themekit.suggest.why_not import cutters_not_to_take, jars_not_to_take, only_if_meant, tints_not_to_take
from themekit.values import Cutter, Jar, Tint

#: The place of a cutter that joins the others.
FURTHER = "cn"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing for a place; `why_not` are the reasons for which it may not go there, `mind` is told beside it."""

    value: Jar | Cutter | Tint
    why_not: tuple[str, ...] = ()
    mind: str = ""


def choices(on: Spread, place: str) -> list[Choice]:
    """All that could stand in a place such as "t0", "j2" or "c1", by name; what is in the kit is left out.

    Colours are the icings within reach, one for each colour name, in order of hue.
    """
    if place[0] == "j":
        return _jars(on)
    return _cutters(on) if place[0] == "c" else _tints(on)


def why_not(on: Spread, place: str, value: Any) -> tuple[str, ...]:
    """Why a jar or a cutter (by id) or a colour (by hex) may not be taken; () where it may, or is unknown."""
    if place[0] == "j":
        return jars_not_to_take(on.suggester).get(value, ())
    if place[0] == "c":
        return cutters_not_to_take(on.suggester).get(value, ())
    return tints_not_to_take(on.suggester, np.array([made_of(value, on.tints).tint.lab]))[0]


def with_taken(laid: Laid, place: str, value: Any) -> Laid:
    """The kit with another jar or cutter (id) or colour (hex) in a place; a further cutter cuts one cookie."""
    if place == FURTHER:
        return replace(laid, cuts=(*laid.cuts, (value, 1)))
    part, at = {"t": "tints", "j": "jars", "c": "cuts"}[place[0]], int(place[1:])
    parts: list[Any] = list(getattr(laid, part))
    parts[at] = (value, parts[at][1]) if part == "cuts" else value
    return replace(laid, **{part: tuple(parts)})


def _jars(on: Spread) -> list[Choice]:
    refused, nuts = jars_not_to_take(on.suggester), only_if_meant(on.suggester)
    here = {jar.id for jar in on.jars}
    return [
        Choice(jar, refused.get(jar.id, ()), "nuts: only if they are meant" if jar.id in nuts else "")
        for jar in sorted(on.suggester.shelf.jars, key=lambda jar: (jar.name.casefold(), jar.id))
        if jar.id not in here
    ]


def _cutters(on: Spread) -> list[Choice]:
    refused = cutters_not_to_take(on.suggester)
    here = {cutter.id for cutter, _ in on.cuts}
    return [
        Choice(cutter, refused.get(cutter.id, ()))
        for cutter in sorted(on.suggester.shelf.cutters, key=lambda cutter: (cutter.name.casefold(), cutter.id))
        if cutter.id not in here
    ]


def _tints(on: Spread) -> list[Choice]:
    """The icing nearest to each named colour that the gels come near enough to for its name to hold."""
    best: dict[str, tuple[float, int]] = {}
    for row, (name, apart) in enumerate(on.suggester.names.nearest_many(on.tints.lab)):
        if apart <= FAR:
            best[name] = min(best.get(name, (apart, row)), (apart, row))
    rows = [row for _, row in best.values()]
    here = {tint.hex for tint in on.icing}
    found = [
        Choice(made_of(on.tints.hex[row], on.tints).tint, why)
        for row, why in zip(rows, tints_not_to_take(on.suggester, on.tints.lab[rows]), strict=True)
    ]
    named = [
        replace(one, value=replace(one.value, name=name))
        for name, one in zip(best, found, strict=True)  # type: ignore[type-var]
    ]
    return sorted((one for one in named if one.value.hex not in here), key=_hue)  # type: ignore[union-attr]


def _hue(one: Choice) -> tuple[int, float, float]:
    """Greys first, then round the circle of hues, the lighter first."""
    lightness, a, b = hex_to_lab(one.value.hex).tolist()  # type: ignore[union-attr]
    chroma = float(np.hypot(a, b))
    sector = int(np.degrees(np.arctan2(b, a)) % 360 // 30)
    return (0, -lightness, 0.0) if chroma < 8 else (1 + sector, -lightness, chroma)


__all__ = ["FURTHER", "Choice", "choices", "why_not", "with_taken"]
