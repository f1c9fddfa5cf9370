"""Cookies of an order: grams by cutter, the dough and its recipe, trays and oven loads.

A cookie is its outline's area × the rolled thickness × the density of raw dough; in baking
it loses a share of its mass. The recipe is the baker's percentages of 100 parts of flour.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from themekit.draw.outlines import outline_of
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.make.kit import Order
from themekit.make.quantities import check_order, whole
from themekit.make.settings import Settings
from themekit.make.settings.dough import Dough
from themekit.make.trays import Baking, Grid, baking, grid_of
from themekit.suggest.words import listed
from themekit.values import Cutter

Basis = Literal["drawn outline", "fill factor"]
#: Share of the bounding box that a cutter's drawn outline fills, None where none is drawn.
AreaShare = Callable[[Cutter], float | None]

BREAKS = "thin parts, likely to break: bake spares, chill before baking, lift only when set, handle warm"
FLOUR, BUTTER, SUGAR, EGG, MILK, POWDER = "wheat flour", "butter", "sugar", "egg", "milk", "baking powder"


@dataclass(frozen=True, slots=True)
class Face:
    """The area of a cut cookie seen from above, mm², and what it was worked out from."""

    mm2: float
    basis: Basis


@dataclass(frozen=True, slots=True)
class Ingredient:
    """So many whole grams of one ingredient."""

    name: str
    g: int


@dataclass(frozen=True, slots=True)
class DoughLine:
    """The cookies of one cutter.

    cookies       packed, in all kits; `per_kit` of them in each.
    to_cut        with the spares that breakage asks for.
    raw_g, baked_g of one cookie; None, like `face` and `grid`, where the size is not known.
    grid          how the cookie lies on the tray; `grid.per_tray` 0 where it does not fit.
    note          what to heed with this cutter, "" for nothing.
    """

    cutter: Cutter
    per_kit: int
    cookies: int
    to_cut: int
    thickness_mm: float
    face: Face | None
    raw_g: float | None
    baked_g: float | None
    grid: Grid | None
    note: str


@dataclass(frozen=True, slots=True)
class DoughPlan:
    """What to mix, roll and bake for an order.

    dough_g           raw dough to mix, whole grams; the ingredients add up to it exactly.
    eggs              whole eggs to take; their grams are those of the ingredient.
    first_roll_cookies cookies that the first rolling gives, the rest comes from re-rolls.
    baked_g_per_kit   the cookies of one kit, None where no size is known.
    at_least          some cutter's size is not known: grams and trays are at least these.
    """

    lines: tuple[DoughLine, ...]
    cookies: int
    to_cut: int
    dough_g: int
    ingredients: tuple[Ingredient, ...]
    eggs: int
    first_roll_cookies: int
    baked_g_per_kit: float | None
    baking: Baking
    at_least: bool
    notes: tuple[str, ...]
    missing: tuple[str, ...]
    problems: tuple[Problem, ...]


def drawn_share(cutter: Cutter) -> float | None:
    """Share of its bounding box that the outline drawn for a cutter fills, None where none is drawn."""
    found = outline_of(cutter)
    return None if found is None else found.area_share


def face_of(cutter: Cutter, settings: Settings, area_share: AreaShare = drawn_share) -> Face | None:
    """Area of the cut cookie: width × height × the share of that box which the outline fills.

    The share is that of the cutter's drawn outline where there is one, else the setting
    `dough.fill_factor`. None where width or height is not known.
    """
    if cutter.width_mm is None or cutter.height_mm is None:
        return None
    box = cutter.width_mm * cutter.height_mm
    share = area_share(cutter)
    if share is None:
        return Face(box * settings.dough.fill_factor, "fill factor")
    return Face(box * share, "drawn outline")


def outline_area_mm2(cutter: Cutter, settings: Settings, area_share: AreaShare = drawn_share) -> float | None:
    """`face_of` as a bare number of mm², None where the size is not known."""
    face = face_of(cutter, settings, area_share)
    return None if face is None else face.mm2


def whole_grams(total: int, parts: Mapping[str, float]) -> tuple[Ingredient, ...]:
    """`total` shared out by `parts` in whole grams that add up to it exactly.

    Largest remainder: every part is rounded down, then the grams left go to the largest
    fractions, of equal ones to the first. Parts of 0 are left out; nothing is shared out as nothing.
    """
    if total == 0:
        return ()
    exact = {name: Fraction(part) for name, part in parts.items() if part > 0}
    whole = sum(exact.values())
    due = {name: total * part / whole for name, part in exact.items()}
    grams = {name: math.floor(g) for name, g in due.items()}
    left = total - sum(grams.values())
    for name in sorted(due, key=lambda name: grams[name] - due[name])[:left]:
        grams[name] += 1
    return tuple(Ingredient(name, g) for name, g in grams.items())


def parts_of(dough: Dough) -> dict[str, float]:
    """The recipe as parts by weight to 100 parts of flour, heaviest first by the usual recipe."""
    return {
        FLOUR: 100.0,
        SUGAR: dough.sugar_per_100,
        BUTTER: dough.butter_per_100,
        EGG: dough.egg_per_100,
        MILK: dough.milk_per_100,
        POWDER: dough.baking_powder_per_100,
    }


def recipe_for(dough_g: int, dough: Dough) -> tuple[Ingredient, ...]:
    """The ingredients of so much raw dough, whole grams that add up to it exactly."""
    return whole_grams(dough_g, parts_of(dough))


def eggs_in(ingredients: Iterable[Ingredient], dough: Dough) -> int:
    """Whole eggs to take for the grams of egg in a recipe."""
    return math.ceil(sum(i.g for i in ingredients if i.name == EGG) / dough.egg_g)


def dough_plan(order: Order, area_share: AreaShare = drawn_share) -> DoughPlan:
    """Cookies, dough, recipe and oven loads of an order.

    Cookies to cut are kits × cookies, with `contents.spare_cookies_share` more, rounded up
    for each cutter. The dough is what they weigh raw, over the share that is not lost after
    the last re-roll. Cutters of unknown size are told in `missing` and make the figures "at
    least"; a cookie too big for the tray is told in `problems`.

    Raises `InvalidValue` as `check_order` does, and for sizes that are no sizes, all at once.
    """
    raise_all(_unusable(order), "The dough cannot be worked out.")
    dough = order.settings.dough
    lines = tuple(
        _line(cut.cutter, cut.cookies, order.kits, order.settings, area_share)
        for cut in order.kit.cuts
        if cut.cookies
    )
    known = [line for line in lines if line.raw_g is not None]
    raw = sum(line.to_cut * (line.raw_g or 0) for line in known)
    dough_g = whole(raw / (1 - dough.scrap_share))
    ingredients = recipe_for(dough_g, dough)
    missing = _missing(lines)
    in_oven = baked_together(lines, dough)
    eggs = eggs_in(ingredients, dough)
    rolled_first = min(1.0, dough.first_roll_share / (1 - dough.scrap_share))
    first = math.floor(sum(line.to_cut for line in known) * rolled_first)
    return DoughPlan(
        lines=lines,
        cookies=sum(line.cookies for line in lines),
        to_cut=sum(line.to_cut for line in lines),
        dough_g=dough_g,
        ingredients=ingredients,
        eggs=eggs,
        first_roll_cookies=first,
        baked_g_per_kit=sum(line.per_kit * (line.baked_g or 0) for line in known) if known else None,
        baking=in_oven,
        at_least=bool(missing),
        notes=_notes(lines, ingredients, eggs, first, dough),
        missing=missing,
        problems=tuple(_too_big(line, dough) for line in lines if line.grid and not line.grid.per_tray),
    )


def baked_together(lines: Sequence[DoughLine], dough: Dough) -> Baking:
    """Trays and oven loads of these cookies, baked in one session."""
    return baking(((line.grid, line.to_cut) for line in lines if line.grid), dough)


def _line(cutter: Cutter, per_kit: int, kits: int, settings: Settings, area_share: AreaShare) -> DoughLine:
    """The cookies of one cutter in all kits."""
    dough = settings.dough
    thickness = dough.thickness_mm if cutter.thickness_mm is None else cutter.thickness_mm
    face = face_of(cutter, settings, area_share)
    raw = None if face is None else face.mm2 * thickness / 1000 * dough.density_g_per_ml
    cookies = kits * per_kit
    grid = None
    if cutter.width_mm is not None and cutter.height_mm is not None:
        grid = grid_of(cutter.width_mm, cutter.height_mm, dough)
    return DoughLine(
        cutter=cutter,
        per_kit=per_kit,
        cookies=cookies,
        to_cut=whole(cookies * (1 + settings.contents.spare_cookies_share)),
        thickness_mm=thickness,
        face=face,
        raw_g=raw,
        baked_g=None if raw is None else raw * (1 - dough.bake_loss_share),
        grid=grid,
        note=BREAKS if cutter.thin_parts else "",
    )


def _unusable(order: Order) -> list[Problem]:
    """All that keeps an order from being worked out, and sizes that are no sizes."""
    found: list[Problem] = []
    try:
        check_order(order)
    except InvalidValue as error:
        found += error.problems
    for cut in order.kit.cuts:
        for name in ("width_mm", "height_mm", "thickness_mm"):
            size = getattr(cut.cutter, name)
            if size is not None and not 0 < size < math.inf:
                field, hint = f"cutter {cut.cutter.name}, {name}", "Measure it, or leave it out."
                found.append(Problem(field, str(size), "a number above 0", hint))
    return found


def _too_big(line: DoughLine, dough: Dough) -> Problem:
    free = (
        f"{dough.tray_length_mm - 2 * dough.tray_edge_mm:.0f} × {dough.tray_width_mm - 2 * dough.tray_edge_mm:.0f}"
    )
    grow = 1 + dough.spread_share
    width, height = (line.cutter.width_mm or 0) * grow, (line.cutter.height_mm or 0) * grow
    return Problem(
        f"cutter {line.cutter.name}",
        f"{width:.0f} × {height:.0f} mm when baked",
        f"at most {free} mm, the tray within its free edge",
        "Take a smaller cutter or enter a larger tray (dough.tray_length_mm, dough.tray_width_mm).",
    )


def _missing(lines: Sequence[DoughLine]) -> tuple[str, ...]:
    if not lines:
        return ("No cutter is chosen, so there are no cookies to bake.",)
    unknown = list(dict.fromkeys(line.cutter.name for line in lines if line.face is None))
    if not unknown:
        return ()
    return (
        f"Width or height is not known of {listed(unknown)}: their dough, trays and weight are not counted. "
        "Measure the cutter.",
    )


def _notes(
    lines: Sequence[DoughLine], ingredients: Sequence[Ingredient], eggs: int, first: int, dough: Dough
) -> tuple[str, ...]:
    """What the figures rest on, in plain words."""
    out = []
    if eggs:
        grams = next(i.g for i in ingredients if i.name == EGG)
        out.append(f"Beat {eggs} {'egg' if eggs == 1 else 'eggs'} of {dough.egg_g:g} g and weigh out {grams} g.")
    if ingredients:
        out.append(
            f"The first rolling gives about {first} cookies; gather the scraps, chill and roll again for "
            f"the rest. {dough.scrap_share:.0%} of the dough is counted as lost."
        )
    guessed = list(dict.fromkeys(x.cutter.name for x in lines if x.face and x.face.basis == "fill factor"))
    if guessed:
        out.append(
            f"{listed(guessed)}: weight from width × height × {dough.fill_factor:g}, a default; "
            "weigh one to be sure."
        )
    thick = sorted({x.thickness_mm for x in lines})
    if len(thick) > 1:
        out.append(f"Roll to {listed([f'{t:g} mm' for t in thick])}; thin and small cookies are done sooner.")
    return tuple(out)
