"""Whether the icing of a kit covers its cookies: area × film thickness against what the bags give."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from themekit.make.kit import Kit
from themekit.make.settings.icing import Icing
from themekit.make.units import mass
from themekit.suggest.words import listed


@dataclass(frozen=True, slots=True)
class Coverage:
    """Whether a kit's icing covers its cookies; grams are of one kit.

    area_mm2           faces to be iced, of the cookies whose area is known.
    at_least_g         icing for these; `need_g` is the same, None while an area is not known.
    have_g             in the bags, less what stays in them.
    suffices           None where not known.
    left_g, left_share of what is there, below 0 where it lacks; None where not known.
    unknown            cutters whose area is not known.
    told               one plain sentence.
    rest               where the icing goes that no cookie takes, "" where that is not known.
    """

    area_mm2: float
    at_least_g: float
    need_g: float | None
    have_g: float
    suffices: bool | None
    left_g: float | None
    left_share: float | None
    unknown: tuple[str, ...]
    told: str
    rest: str = ""


def coverage(kit: Kit, g_per_bag: float, icing: Icing, areas_mm2: Mapping[int, float]) -> Coverage:
    """Area × film × (1 + outlines) × density against what a kit's bags give."""
    known = [cut for cut in kit.cuts if cut.cutter.id in areas_mm2]
    unknown = tuple(cut.cutter.name for cut in kit.cuts if cut.cutter.id not in areas_mm2)
    area = math.fsum(cut.cookies * areas_mm2[cut.cutter.id] for cut in known) * icing.covered_share
    film_ml = area * icing.film_mm / 1000
    need = film_ml * (1 + icing.outline_share) * icing.density_g_per_ml
    have = g_per_bag * len(kit.tints) * (1 - icing.holdup_share)
    if not kit.cuts:
        told = "No cookies are chosen, so it is not known whether the icing covers them."
        return Coverage(0.0, 0.0, None, have, None, None, None, (), told)
    if need > have:
        told = f"The icing does not suffice: {mass(have)} a kit for cookies that take {mass(need)}"
        told += f", and the area of {listed(unknown)} is not known." if unknown else "."
    elif unknown:
        told = f"Not known whether the icing suffices: the area of {listed(unknown)} is missing."
    else:
        told = f"The icing suffices: {mass(have)} a kit for cookies that take {mass(need)}"
        told += f", {100 * (1 - need / have):.0f} % left over."
    rest = _rest(g_per_bag, len(kit.tints), need, have, icing) if need <= have and not unknown else ""
    suffices = False if need > have else None if unknown else True
    if unknown:
        return Coverage(area, need, None, have, suffices, None, None, unknown, told)
    return Coverage(area, need, need, have, suffices, have - need, 1 - need / have, (), told, rest)


def _rest(g_per_bag: float, bags: int, need: float, have: float, icing: Icing) -> str:
    """Where the rest goes: what stays in the bags, what is room to pipe, and the least bag that would do."""
    filled = g_per_bag * bags
    least = need / (bags * (1 - icing.holdup_share))
    return (
        f"Of the {mass(filled)} in {bags} bags of {mass(g_per_bag)}, about {mass(filled - have)} stays in them; "
        f"one coat of {icing.film_mm:g} mm takes {mass(need)}. The other {mass(have - need)} is room for thicker "
        "icing, favourite colours that run out first, and mistakes. Smaller bags save it: one coat takes "
        f"{mass(least)} a bag if all colours are used alike (the setting contents.icing_g_per_bag)."
    )
