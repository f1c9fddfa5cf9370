"""Whether a stack of cookies goes into the cookie bag, and how large the filled bag is.

A bag is told as W × G × L: lay-flat width, whole depth of the gusset, length. Opened it is
a tube of girth 2 (W + G); so it holds any stack whose cross-section a × b has a + b ≤ W + G,
and holds it without pulling the fold open where also a ≤ W and b ≤ G. The closed bottom
takes half the depth from the length, the tie its own part. A flat bag has G = 0.
The notation and its usable depth are common practice without a source; the girth is geometry.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations

from themekit.make.settings.packing import Packing

_MOST_STACKS = 6
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Cookie:
    """A baked cookie as a box in mm, and the cutter's name."""

    cutter: str
    width_mm: float
    height_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Filled:
    """A bag with its cookies, in mm: across its width, in its depth and along it without the
    neck; `stacks` side by side; `snug` where the gusset's fold is pulled open."""

    across_mm: float
    deep_mm: float
    along_mm: float
    stacks: int
    snug: bool


def filled(cookies: Sequence[Cookie], packing: Packing) -> Filled | None:
    """How the cookies go into one bag, in the fewest stacks, or None where they do not.

    Cookies may be turned, stacked along the bag, across it or in its depth. Of ways with
    equally many stacks one within the folds is taken, then the one of the least girth.
    """
    width, gusset = packing.cookie_bag_width_mm, packing.cookie_bag_gusset_mm
    usable = packing.cookie_bag_length_mm - packing.cookie_bag_tie_mm
    for stacks in range(1, min(len(cookies), _MOST_STACKS) + 1):
        ways = []
        for block in _blocks(cookies, stacks):
            for across, deep, along in permutations(block):
                goes_in = across + deep <= width + gusset + _HAIR and along + deep / 2 <= usable + _HAIR
                if goes_in:
                    snug = gusset > 0 and (across > width + _HAIR or deep > gusset + _HAIR)
                    ways.append((snug, across + deep, deep, across, along))
        if ways:
            snug, _, deep, across, along = min(ways)
            return Filled(across, deep, along, stacks, snug)
    return None


def bagged(cookies: Sequence[Cookie], bags: int) -> list[list[Cookie]]:
    """Cookies over bags as evenly as whole cookies go, one cutter after another; no empty bags."""
    bags = min(bags, len(cookies))
    cuts = [round(i * len(cookies) / bags) for i in range(bags + 1)] if bags else [0]
    return [list(cookies[a:b]) for a, b in pairwise(cuts)]


def bags_needed(cookies: Sequence[Cookie], packing: Packing) -> int | None:
    """The fewest bags that hold the cookies, None where some cookie goes into no bag alone."""
    for bags in range(1, len(cookies) + 1):
        if all(filled(group, packing) for group in bagged(cookies, bags)):
            return bags
    return None


def block(cookies: Sequence[Cookie]) -> tuple[float, float, float]:
    """One stack of the cookies: longer and shorter side of the face, height."""
    return _blocks(cookies, 1)[0]


def _blocks(cookies: Sequence[Cookie], stacks: int) -> list[tuple[float, float, float]]:
    """Stacks in a row, side by side along either side of the cookies' faces."""
    long = max(max(c.width_mm, c.height_mm) for c in cookies)
    short = max(min(c.width_mm, c.height_mm) for c in cookies)
    each = math.ceil(len(cookies) / stacks)
    tall = max(sum(c.thickness_mm for c in cookies[i : i + each]) for i in range(0, len(cookies), each))
    if stacks == 1:
        return [(long, short, tall)]
    return [(long * stacks, short, tall), (long, short * stacks, tall)]
