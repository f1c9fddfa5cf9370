"""The page as people with a colour-vision deficiency see it: a choice that is remembered, and what it hides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from flask import request

from themekit.colour.space import hex_to_lab, lab_to_hex
from themekit.colour.vision import HARDLY, Alike, Colours, Deficiency, Vision, alike, seen_svg
from themekit.make.kit import Kit
from themekit.suggest.words import listed
from themekit.values import Lab

COOKIE = "eyes"
_WORDS: Mapping[Deficiency, tuple[str, str]] = {
    "protan": ("red-blind", "red-weak"),
    "deutan": ("green-blind", "green-weak"),
    "tritan": ("blue-blind", "blue-weak"),
}
_STEPS = {"10": 1.0, "5": 0.5}
#: What can be chosen, by the value that is remembered.
VISIONS: Mapping[str, Vision] = {
    f"{deficiency}-{step}": Vision(deficiency, severity)
    for deficiency in _WORDS
    for step, severity in _STEPS.items()
}


def words_of(vision: Vision) -> str:
    """A vision as people say it, with the trade's word and its severity."""
    word = _WORDS[vision.deficiency][0 if vision.severity == 1 else 1]
    return f"{word} ({vision.deficiency}, severity {vision.severity:.1f})"


def choices() -> list[tuple[str, str]]:
    """Every choice: its value and its words."""
    return [(value, words_of(vision)) for value, vision in VISIONS.items()]


def chosen() -> str:
    """The reader's choice; blank is the usual view."""
    value = request.cookies.get(COOKIE, "")
    return value if value in VISIONS else ""


def seen(markup: str) -> str:
    """A page or a picture as the reader chose to see it."""
    vision = VISIONS.get(chosen())
    return markup if vision is None else seen_svg(markup, vision)


def of_answer(
    tints: Iterable[Mapping[str, Any]], jars: Iterable[Mapping[str, Any]]
) -> tuple[list[str], list[str]]:
    """What can hardly be told apart among tints, and among jars, as the API gives them.

    First as the reader sees it now, then as complete deficiencies make it while most eyes
    tell it apart.
    """
    groups = (
        [(t["name"], [(_lab(t["hex"]), 1.0)]) for t in tints],
        [(j["name"], [(_lab(c["hex"]), c["share"]) for c in j["colours"]]) for j in jars],
    )
    vision = VISIONS.get(chosen())
    now = [] if vision is None else [line for things in groups for line in _told(things, vision)]
    others = [v for v in VISIONS.values() if v.severity == 1 and v != vision]
    return now, [line for v in others for things in groups for line in _told(things, v, HARDLY)]


def of_kit(kit: Kit) -> tuple[list[str], list[str]]:
    """The same of a kit as it lies on the table."""
    jars = [
        {"name": t.jar.name, "colours": [{"hex": lab_to_hex(c.lab), "share": c.share} for c in t.jar.colours]}
        for t in kit.toppings
    ]
    return of_answer([{"name": t.name, "hex": t.hex} for t in kit.tints], jars)


@lru_cache(maxsize=4096)
def _lab(hex_: str) -> Lab:
    L, a, b = hex_to_lab(hex_).tolist()
    return (L, a, b)


def _told(things: list[tuple[str, Colours]], vision: Vision, usual: float = 0.0) -> list[str]:
    pairs = [one for one in alike(things, vision) if one.usual >= usual]
    return [f"To {words_of(vision)} eyes, {listed([_pair(p) for p in pairs])}."] if pairs else []


def _pair(one: Alike) -> str:
    return f"{one.names[0]} and {one.names[1]} can hardly be told apart by colour (ΔE00 {one.seen:.1f})"
