"""Colour words in a phrase: plain, modified ("pastel", "dark") and hex."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, hex_to_lab, to_gamut
from themekit.values import Lab

#: Words that mean a colour and nothing else, or a colour first of all.
PLAIN = frozenset(
    "red orange yellow green blue purple violet pink brown black white grey gray gold silver teal turquoise "
    "navy cream beige maroon lilac magenta cyan crimson scarlet burgundy khaki tan indigo mauve fuchsia "
    "aqua ivory copper bronze charcoal blush".split()
)

#: The basic colour terms of English (Berlin and Kay, Basic Color Terms, 1969).
BASIC = "black white red green yellow blue brown purple pink orange grey".split()
#: CIEDE2000 between two sorts of one colour that stand for themselves, and of a sort from the other
#: basic colours; judged on a shelf of 75 jars, no outside source.
SORTS_APART, SORTS_FROM_OTHERS = 8.0, 24.0
_ISH = re.compile(r"(ish|y|ey)\b")


def _toward_white(part: float) -> Callable[[Floats], Floats]:
    return lambda lab: lab + part * (np.array([98.0, 0.0, 0.0]) - lab)


def _shift(lightness: float, chroma: float) -> Callable[[Floats], Floats]:
    return lambda lab: np.array([np.clip(lab[0] + lightness, 4, 97), lab[1] * chroma, lab[2] * chroma])


#: What a shade word does to a colour; judged by eye on icing, no outside source.
MODIFIERS: dict[str, Callable[[Floats], Floats]] = {
    "pastel": _toward_white(0.55),
    "pale": _toward_white(0.6),
    "baby": _toward_white(0.5),
    "light": _shift(15, 0.85),
    "soft": _toward_white(0.4),
    "dark": _shift(-20, 0.85),
    "deep": _shift(-14, 1.0),
    "bright": _shift(4, 1.2),
    "vivid": _shift(0, 1.25),
    "neon": _shift(8, 1.35),
    "dusty": _shift(4, 0.55),
    "muted": _shift(0, 0.6),
    "warm": lambda lab: lab + np.array([0.0, 4.0, 8.0]),
    "cool": lambda lab: lab + np.array([0.0, -4.0, -8.0]),
}


def modified(lab: Lab, modifier: str) -> Lab:
    """`lab` under a shade word, kept within the sRGB gamut."""
    out = to_gamut(MODIFIERS[modifier](np.array(lab, float)))
    return (float(out[0]), float(out[1]), float(out[2]))


def sorts(name: str, lab: Lab, known: Mapping[str, Lab]) -> list[Lab]:
    """A plain colour and every known sort of it, thinned: who wants no pink wants no hot pink.

    Sorts are the known colours whose name ends in it, names no other plain colour, and which
    lie apart from all other basic colours: the palest pink is nearly white. Of those nearer
    to each other than CIEDE2000 `SORTS_APART` one stands for both. Any other colour stands
    for itself.
    """
    kept = [lab]
    basics = np.array([known[b] for b in BASIC if b != name and b in known])
    if name in BASIC and len(basics):
        for other in sorted(known):
            first, _, last = other.rpartition(" ")
            if last == name and first and PLAIN.isdisjoint(first.split()) and not _ISH.search(first):
                own = np.array(known[other])
                alone = float(delta_e_2000(own, basics).min()) >= SORTS_FROM_OTHERS
                if alone and float(delta_e_2000(own, np.array(kept)).min()) >= SORTS_APART:
                    kept.append(known[other])
    return kept


def hex_lab(token: str) -> Lab:
    """CIELAB of a "#rgb" or "#rrggbb" token."""
    lab = hex_to_lab(token)
    return (float(lab[0]), float(lab[1]), float(lab[2]))
