"""The icing of a batch: white icing made once and divided, its tints, its flow, and whether it covers the cookies.

Masses are grams of the whole batch. Of each colour so much is made as its bags hold plus
the allowance for waste; the gels and the water that thins it are part of that, the white
icing is the rest. The recipe of the white icing is scaled to their sum.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from themekit.errors import Problem, raise_all
from themekit.make.cautions import RAW_EGG
from themekit.make.consistency import Consistency, consistency
from themekit.make.coverage import Coverage, coverage
from themekit.make.doses import (
    GelDose,
    GelTotal,
    known_gels,
    measured,
    mixing_order,
    natural_names,
    totals,
)
from themekit.make.kit import Order
from themekit.make.settings.icing import Icing
from themekit.make.units import mass, spoonfuls
from themekit.suggest.weights import VERY_DARK_L
from themekit.values import Gel, Lab

#: More sugar than this by weight, and a frosting may stand at room temperature at a fair: Kansas State
#: University Extension, Food Safety of Frostings and Fillings, MF3544.
SUGAR_SHARE = 0.65

ORDER_REASON = (
    "Light colours first, so that bowl and spoon need not be washed between them; natural colours before very "
    "dark ones, because a trace of a strong gel shows in them (common practice)."
)
HALVES = (
    "Of each gel stir in the first amount, compare with the swatch, wait a few minutes, then add the rest: more "
    "can be added, none taken out."
)
NOT_KNOWN = (
    "Colours deepen while the icing stands, for 1 to 24 hours, and dry to another shade; the swatch is the fresh "
    "icing as worked out (common practice).",
    "Gels of one name differ in strength: compare with a swatch of your own.",
)


@dataclass(frozen=True, slots=True)
class Colour:
    """One tint of the batch.

    name, hex        the tint that is wanted.
    bags             icing bags of it in the batch, one in each kit.
    grams            icing of it, with the allowance for waste.
    white_g          white icing to weigh out for it; with exact doses and water it adds up to `grams`.
    thinning_g       water to stir in for the wanted seconds; None where not known.
    doses            its gels, largest first; empty for plain white.
    predicted_lab, predicted_hex, delta_e   the colour by the rounded doses, and its CIEDE2000 to the tint
                     wanted; None where a gel is not known.
    told             plain sentences about this colour.
    """

    name: str
    hex: str
    bags: int
    grams: float
    white_g: float
    thinning_g: float | None
    doses: tuple[GelDose, ...]
    predicted_lab: Lab | None
    predicted_hex: str | None
    delta_e: float | None
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class IcingPlan:
    """All of a batch's icing.

    colours          in the kit's order; `mix_order` gives their positions as they are best mixed, and why.
    white_g          white icing, made once and divided.
    recipe           ingredient → g of the white icing; adds up to `white_g`.
    recipe_told      the same in words, g and spoons.
    thinning_g       water for the wanted seconds, over all colours; None where not known.
    gels             each gel's total, the most first.
    sugar_share      sugar by mass of the white icing; `finished_share` the least of any colour, with its
                     gels and the water that is known.
    above_65         whether `finished_share` is above the extension service's 65 %.
    keeping          how long and how, with cautions.
    not_known        what the model leaves out.
    told             other plain sentences, among them those of each colour.
    missing          what is not known and would change the figures.
    """

    kits: int
    colours: tuple[Colour, ...]
    mix_order: tuple[int, ...]
    mix_reason: str
    white_g: float
    recipe: Mapping[str, float]
    recipe_told: tuple[str, ...]
    thinning_g: float | None
    gels: tuple[GelTotal, ...]
    consistency: Consistency
    coverage: Coverage
    sugar_share: float
    finished_share: float
    above_65: bool
    keeping: tuple[str, ...]
    not_known: tuple[str, ...]
    told: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def ingredients(self) -> Mapping[str, float]:
        """Ingredient → g with the thinning water that is known, without gels: for cost, shopping and label."""
        out = dict(self.recipe)
        if self.thinning_g:
            out["water"] = out.get("water", 0.0) + self.thinning_g
        return MappingProxyType(out)


def icing_plan(order: Order, gels: Sequence[Gel], areas_mm2: Mapping[int, float]) -> IcingPlan:
    """The batch's icing worked out.

    Parameters
    ----------
    order      the kit, how many of it, and the settings.
    gels       her gels, and the kitchen staples where tints use them.
    areas_mm2  face of one cookie by cutter id, mm²; a cutter without one is told as not known.

    Raises `InvalidValue`, every problem at once, for a kit without tints, kits below 1, and
    areas that are not above 0.
    """
    _check(order, areas_mm2)
    icing, known = order.settings.icing, known_gels(gels)
    tints = order.kit.tints
    flow = _flow(icing)
    grams = order.kits * order.settings.contents.icing_g_per_bag * (1 + icing.waste_share)
    colours: list[Colour] = []
    missing: list[str] = []
    for tint in tints:
        added = math.fsum(dose.g_per_100g for dose in tint.recipe) + (flow.water_g_per_100 or 0.0)
        white = grams / (1 + added / 100)
        made = measured(tint, white, order.kits, known, icing)
        thinning = None if flow.water_g_per_100 is None else flow.water_g_per_100 * white / 100
        colours.append(
            Colour(
                tint.name or tint.hex, tint.hex, order.kits, grams, white, thinning,
                made.doses, made.lab, made.hex, made.delta_e, made.told,
            )
        )  # fmt: skip
        missing += made.missing
    white_g = math.fsum(colour.white_g for colour in colours)
    recipe = white_recipe(icing, white_g)
    thinning_g = None if flow.water_g_per_100 is None else flow.water_g_per_100 * white_g / 100
    gel_totals = totals([colour.doses for colour in colours], known, icing.drop_g)
    told = [text for colour in colours for text in colour.told]
    told += [
        f"{total.gel}: {mass(total.grams)} for the batch, {mass(total.short_g)} more than is on the shelf."
        for total in gel_totals
        if total.short_g
    ]
    cover = coverage(order.kit, order.settings.contents.icing_g_per_bag, icing, areas_mm2)
    if cover.unknown:
        missing.append(cover.told)
    sugar = recipe["confectioners' sugar"] / white_g
    finished = min(sugar * colour.white_g / _finished(colour) for colour in colours)
    return IcingPlan(
        kits=order.kits,
        colours=tuple(colours),
        mix_order=mixing_order(tints, known, VERY_DARK_L),
        mix_reason=ORDER_REASON,
        white_g=white_g,
        recipe=recipe,
        recipe_told=tuple(_ingredient(name, amount) for name, amount in recipe.items()),
        thinning_g=thinning_g,
        gels=gel_totals,
        consistency=flow,
        coverage=cover,
        sugar_share=sugar,
        finished_share=finished,
        above_65=finished > SUGAR_SHARE,
        keeping=_keeping(icing, sugar, finished),
        not_known=_not_known(icing, natural_names(tints, known)),
        told=(*([HALVES] if gel_totals else []), *told),
        missing=tuple(dict.fromkeys(missing)),
    )


def white_recipe(icing: Icing, grams: float) -> Mapping[str, float]:
    """Ingredient → g of so much white icing, by the settings; they add up to `grams`."""
    parts = {"confectioners' sugar": 100.0}
    if icing.recipe == "buttercream":
        parts |= {"butter": icing.butter_per_100, "milk": icing.milk_per_100}
    elif icing.recipe == "pasteurised whites":
        parts["pasteurised egg white"] = icing.whites_per_100
    else:
        parts |= {"meringue powder": icing.meringue_powder_per_100, "water": icing.water_per_100}
    whole = math.fsum(parts.values())
    return MappingProxyType({name: grams * part / whole for name, part in parts.items() if part > 0})


def _check(order: Order, areas_mm2: Mapping[int, float]) -> None:
    problems = []
    if order.kits < 1:
        problems.append(Problem("kits", order.kits, "1 or more", "Say how many kits are made."))
    if not order.kit.tints:
        problems.append(Problem("kit.tints", "none", "at least one tint", "Choose the colours first."))
    for cutter, area in areas_mm2.items():
        if not 0 < area < math.inf:
            problems.append(
                Problem(f"areas_mm2.{cutter}", str(area), "more than 0 mm²", "Leave the area out where not known.")
            )
    raise_all(problems, "The icing cannot be worked out.")


def _flow(icing: Icing) -> Consistency:
    """Water for the wanted seconds; buttercream is not counted in seconds."""
    if icing.recipe == "buttercream":
        told = (
            "Buttercream does not level by itself, so seconds are not counted: soften it with milk, a teaspoon at "
            "a time, until it pipes (common practice).",
        )
        return Consistency(icing.wanted_seconds, None, None, told)
    return consistency(icing.points, icing.wanted_seconds)


def _finished(colour: Colour) -> float:
    """The colour's mass as mixed, with the water that is known."""
    return colour.white_g + (colour.thinning_g or 0.0) + math.fsum(dose.grams for dose in colour.doses)


def _ingredient(name: str, grams: float) -> str:
    told = spoonfuls(name, grams)
    return f"{mass(grams)} {name}" + (f" (about {told})" if told else "")


def _keeping(icing: Icing, sugar: float, finished: float) -> tuple[str, ...]:
    if finished > SUGAR_SHARE:
        room = 100 * (sugar / SUGAR_SHARE - 1)
        share = (
            f"Sugar is {100 * finished:.0f} % by weight or more with the water worked out here, above the 65 % "
            "asked of frostings that stand at room temperature (Kansas State University Extension, MF3544); "
            f"{room:.0f} g of water and gel in 100 g of white icing would bring it down to that."
        )
    else:
        share = (
            f"Sugar is only {100 * finished:.0f} % by weight, not above the 65 % asked of frostings that stand at "
            "room temperature (Kansas State University Extension, MF3544): keep it refrigerated, and ask your "
            "local food authority before it is sold in a kit."
        )
    days = f"Sealed icing is given {icing.keeps_days} days by the settings; confirm it by a test of your own. "
    if icing.recipe == "buttercream":
        days += "It holds butter and milk: keep it cold."
        return share, days, "This is one check of several: your local code decides what a home kitchen may sell."
    if icing.recipe == "pasteurised whites":
        days += "With whites, recipe pages keep it refrigerated, for 2 to 7 days."
    else:
        days += "Recipe pages differ, from a week to a month at room temperature."
    return (
        share,
        days,
        "Syrup may part after about a week: knead the bag, or stir again.",
        RAW_EGG,
        "This is one check of several: your local code decides what a home kitchen may sell.",
    )


def _not_known(icing: Icing, natural: str) -> tuple[str, ...]:
    out = list(NOT_KNOWN)
    if natural:
        out.append(
            f"{natural[0].upper()}{natural[1:]}: natural colours and kitchen powders turn with acidity and fade "
            "in light, and powders thicken the icing."
        )
    if icing.recipe == "buttercream":
        out.append(
            "Colours are worked out in white royal icing: butter makes them yellower and cloudier, and whipped "
            "buttercream is lighter than the density set for flowing icing."
        )
    return tuple(out)
