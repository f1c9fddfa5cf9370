"""What one kit holds, and what the whole batch takes with its allowance for waste.

An allowance comes on top of what is packed, packed × (1 + share), with pieces rounded up
to whole ones, once a batch. So do spare cookies, for each cutter. Icing is told as packed;
what is mixed for it is worked out with the icing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from themekit.errors import Problem, raise_all
from themekit.make.kit import Order
from themekit.make.units import TBSP_ML
from themekit.suggest.words import listed
from themekit.values import Cutter, Jar, Tint

MOST_KITS = 1000


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the contents: for one kit, and for the batch with waste. None is not known."""

    what: str
    per_kit: float | None
    total: float | None
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Baked:
    """Cookies of one cutter: in one kit, packed in the batch, and baked with spare ones."""

    cutter: Cutter
    per_kit: int
    packed: int
    to_bake: int


@dataclass(frozen=True, slots=True)
class Icing:
    """One colour's bag of icing: grams in each bag, and packed in the batch."""

    tint: Tint
    g_per_kit: float
    packed_g: float


@dataclass(frozen=True, slots=True)
class Portion:
    """One topping: US tablespoons and grams in one kit, and grams taken out for the batch.

    Grams are None where the jar's density is not known; `usual_density` marks a kind's
    default that a weighed spoonful should replace.
    """

    jar: Jar
    tbsp_per_kit: float
    g_per_kit: float | None
    total_g: float | None
    usual_density: bool = False


@dataclass(frozen=True, slots=True)
class KitContents:
    """Contents of one kit and of the batch. `missing` names what could not be worked out."""

    kits: int
    cookies: tuple[Baked, ...]
    icing: tuple[Icing, ...]
    toppings: tuple[Portion, ...]
    goods: tuple[Line, ...]
    waste_share: float
    missing: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """Everything, as lines for people: cookies, icing, toppings, small goods."""
        return (
            *(_cookie_line(baked) for baked in self.cookies),
            *(
                Line(f"icing, {i.tint.name or i.tint.hex}", i.g_per_kit, i.packed_g, "g", "as packed")
                for i in self.icing
            ),
            *(_topping_line(portion) for portion in self.toppings),
            *self.goods,
        )


def contents(order: Order) -> KitContents:
    """Contents of one kit of `order`, and what the batch takes.

    Toppings apart have `topping_tbsp` US tablespoons each; in a mix each has its share of
    three times that. Grams follow through the jar's bulk density. Counts of 0 leave a line out.

    Raises
    ------
    InvalidValue    kits, cookies or shares out of range, all told at once.
    """
    check_order(order)
    kit, settings = order.kit, order.settings.contents
    toppings = tuple(
        _portion(
            t.jar,
            settings.topping_tbsp * (3 * t.share if kit.serve == "mixed" else 1),
            order.kits,
            settings.waste_share,
        )
        for t in kit.toppings
    )
    unknown = [p.jar.name for p in toppings if p.g_per_kit is None]
    missing: tuple[str, ...] = ()
    if unknown:
        missing = (
            f"Grams of {listed(unknown)} are not known: weigh a level tablespoon and enter the density "
            f"(g in a US tablespoon ÷ {TBSP_ML:.2f}).",
        )
    return KitContents(
        kits=order.kits,
        cookies=tuple(
            Baked(
                cut.cutter,
                cut.cookies,
                cut.cookies * order.kits,
                whole(cut.cookies * order.kits * (1 + settings.spare_cookies_share)),
            )
            for cut in kit.cuts
            if cut.cookies
        ),
        icing=tuple(Icing(t, settings.icing_g_per_bag, settings.icing_g_per_bag * order.kits) for t in kit.tints),
        toppings=toppings,
        goods=_goods(order, toppings),
        waste_share=settings.waste_share,
        missing=missing,
    )


def check_order(order: Order) -> None:
    """Raise `InvalidValue` with everything that keeps `order` from being worked out."""
    problems = []
    if isinstance(order.kits, bool) or not isinstance(order.kits, int) or not 1 <= order.kits <= MOST_KITS:
        hint = "Split a larger order into several batches." if _larger(order.kits) else "Say how many kits."
        problems.append(Problem("kits", order.kits, f"a whole number from 1 to {MOST_KITS}", hint))
    for number, cut in enumerate(order.kit.cuts):
        if cut.cookies < 0:
            field = f"kit.cuts.{number}.cookies"
            problems.append(Problem(field, cut.cookies, "a whole number from 0", "Leave the cutter out."))
    given = [t.share for t in order.kit.toppings]
    # Shares told to four decimals need not add up exactly.
    if given and not (all(0 <= share <= 1 for share in given) and math.isclose(sum(given), 1, abs_tol=1e-3)):
        problems.append(
            Problem("kit.toppings", given, "shares from 0 to 1 that add up to 1", "Correct the shares.")
        )
    raise_all(problems, "This batch cannot be worked out.")


def taken(amount: float, waste_share: float) -> float:
    """What is taken out to pack `amount`, with its allowance for waste on top."""
    return amount * (1 + waste_share)


def most_kits(order: Order, jar: int | None = None) -> int | None:
    """The most kits of `order` that its jars, or the one of that id, suffice for.

    Its waste and spoonfuls are counted as `contents` does. None where a jar's stock or density
    is not known, or where the kit has no toppings. Compared to the milligram, as stock is kept.
    """
    waste = order.settings.contents.waste_share
    most = []
    for portion in contents(replace(order, kits=1)).toppings:
        if jar is not None and portion.jar.id != jar:
            continue
        if portion.jar.on_hand_g is None or not portion.g_per_kit:
            return None
        there = round(portion.jar.on_hand_g * 1000)
        kits = math.floor(there / (taken(portion.g_per_kit, waste) * 1000)) + 1
        while kits and round(taken(portion.g_per_kit * kits, waste) * 1000) > there:
            kits -= 1
        most.append(kits)
    return min(most, default=None)


def whole(amount: float) -> int:
    """`amount` rounded up to whole pieces; a billionth of rounding noise adds none."""
    return math.ceil(round(amount, 9))


def _portion(jar: Jar, tbsp: float, kits: int, waste_share: float) -> Portion:
    density = jar.density_g_per_ml
    if density is None:
        return Portion(jar, tbsp, None, None)
    grams = tbsp * TBSP_ML * density
    usual = "density_g_per_ml" in jar.defaults
    return Portion(jar, tbsp, grams, taken(grams * kits, waste_share), usual)


def _goods(order: Order, toppings: tuple[Portion, ...]) -> tuple[Line, ...]:
    """Small goods, filling and box, without those left out."""
    kit, contained, packing = order.kit, order.settings.contents, order.settings.packing
    bags = len(kit.tints)
    full = packing.cup_ml * packing.cup_fill_share
    filled = [p.tbsp_per_kit * TBSP_ML / full for p in toppings]
    cups = whole(sum(filled)) if kit.serve == "mixed" else sum(whole(f) for f in filled)
    sticks = contained.decorators * bags if contained.sticks is None else contained.sticks
    shape = "gusset cookie bags" if packing.cookie_bag_gusset_mm else "flat cookie bags"
    counts = (
        ("piping bags", bags, "one for each colour"),
        ("piping bag clips", bags * contained.clips_per_icing_bag, ""),
        ("cups", cups, f"filled to {full:.0f} mL at most"),
        ("cup lids", cups if contained.lids_apart else 0, ""),
        ("sticks", sticks, "decorators × colours" if contained.sticks is None else ""),
        ("spoons", contained.spoons, ""),
        ("picks", contained.picks, "sharp"),
        ("napkins", contained.napkins, ""),
        (shape, contained.cookie_bags, ""),
        ("bag ties", contained.cookie_bags * contained.ties_per_cookie_bag, ""),
        ("cards", contained.cards, ""),
        ("stickers", contained.stickers, ""),
        ("labels", contained.labels, ""),
    )
    lines = [
        Line(what, count, whole(taken(count * order.kits, contained.waste_share)), "piece", note)
        for what, count, note in counts
        if count
    ]
    if contained.filling_g:
        grams = taken(contained.filling_g * order.kits, contained.waste_share)
        lines.append(Line("paper filling", contained.filling_g, grams, "g"))
    return (*lines, Line("box", 1, order.kits, "piece", "no allowance for waste"))


def _cookie_line(baked: Baked) -> Line:
    spare = baked.to_bake - baked.packed
    return Line(
        f"cookies, {baked.cutter.name}", baked.per_kit, baked.to_bake, "piece", f"{spare} spare" if spare else ""
    )


def _topping_line(portion: Portion) -> Line:
    spoons = f"{portion.tbsp_per_kit:.3g} tbsp"
    if portion.g_per_kit is None:
        spoons += "; density not known"
    elif portion.usual_density:
        spoons += "; by the kind's usual density"
    return Line(portion.jar.name, portion.g_per_kit, portion.total_g, "g", spoons)


def _larger(kits: object) -> bool:
    return isinstance(kits, int | float) and kits > MOST_KITS
