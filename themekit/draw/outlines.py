"""The outline that a cutter cuts: found by its words, normalised, with its share of the box."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from themekit.draw.outlines_animals import ANIMALS
from themekit.draw.outlines_feast import FEASTS, PLAIN
from themekit.draw.outlines_nature import PLANTS, SKY
from themekit.draw.outlines_table import FOOD, HOME
from themekit.draw.outlines_travel import TRAVEL
from themekit.draw.shape import Shape
from themekit.draw.trace import Curve, area_of, moved, path_data, sampled
from themekit.suggest.words import key_of
from themekit.values import Cutter

#: Every drawing by its name; of two that answer to one word the earlier keeps it.
SHAPES: Mapping[str, Shape] = PLAIN | ANIMALS | PLANTS | SKY | FOOD | HOME | TRAVEL | FEASTS

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """What one cutter cuts, in a box of 100 × 100.

    path        closed path data (M, L, C, Z); its longer side runs from 0 to 100, to the
                tenth, and the shorter one is centred
    area_share  area inside the outline per area of its own bounding box, 0–1
    lines       open path data of lines that may be piped on it; "" for none
    aspect      width of the bounding box per its height
    """

    name: str
    path: str
    area_share: float
    lines: str = ""
    aspect: float = 1.0


@cache
def _keys() -> Mapping[Key, str]:
    """The name of a drawing for every key it answers to; names go before further words."""
    found: dict[Key, str] = {}
    for name in SHAPES:
        found.setdefault(key_of(name), name)
    for name, shape in SHAPES.items():
        for word in shape.words:
            found.setdefault(key_of(word), name)
    return found


def names() -> tuple[str, ...]:
    """The names of all drawings."""
    return tuple(SHAPES)


def _placed(shape: Shape) -> tuple[list[Curve], list[list[Curve]]]:
    """Outline and lines of a drawing, moved and scaled into the box of 100 × 100."""
    curves = shape.curves()
    points = sampled(curves, 48)
    low, high = points.min(axis=0), points.max(axis=0)
    scale = 100 / float((high - low).max())
    shift = (100 - (high - low) * scale) / 2 - low * scale
    at = (float(shift[0]), float(shift[1]))
    return moved(curves, (scale, scale), at), [moved(run, (scale, scale), at) for run in shape.piped()]


@lru_cache(maxsize=512)
def curves_of(name: str) -> tuple[tuple[Curve, ...], tuple[tuple[Curve, ...], ...]]:
    """Outline and lines of the drawing `name` as curves. Raises KeyError for no such name."""
    curves, lines = _placed(SHAPES[name])
    return tuple(curves), tuple(tuple(run) for run in lines)


@lru_cache(maxsize=512)
def outline(name: str) -> Outline:
    """The outline with this name, one of `names()`. Raises KeyError for any other."""
    curves, lines = curves_of(name)
    points = sampled(curves, 48)
    width, height = np.ptp(points, axis=0)
    share = area_of(points) / float(width * height)
    text = path_data(lines, close=False) if lines else ""
    return Outline(name, path_data([curves]), round(share, 4), text, round(float(width / height), 4))


def outline_for(words: Iterable[str]) -> Outline | None:
    """The outline of the first of these words that has one, or None.

    A word that is a special sort of another ("maple leaf" of "leaf") goes before it.
    """
    given = list(words)
    keys = _keys()
    for word in given:
        special = [w for w in given if w.endswith(" " + word)]
        for candidate in (*special, word):
            name = keys.get(key_of(candidate))
            if name is not None:
                return outline(name)
    return None


def outline_of(cutter: Cutter) -> Outline | None:
    """The outline of a cutter, or None where no drawing answers to its words.

    Its whole name goes first, then its motifs in order, then the longest run of words
    of its name that has a drawing, the later run of two equal ones.
    """
    keys = _keys()
    key = key_of(cutter.name)
    if key in keys:
        return outline(keys[key])
    found = outline_for(cutter.motifs)
    if found is not None:
        return found
    for length in range(len(key) - 1, 0, -1):
        for start in range(len(key) - length, -1, -1):
            name = keys.get(key[start : start + length])
            if name is not None:
                return outline(name)
    return None
