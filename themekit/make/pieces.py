"""The pieces of one kit as boxes in mm, each with the sides that may point up.

Cookie bags lie, lie on their side or stand; icing bags lie flat; cups stand upright; bundles
of sticks and spoons lie; the card and napkins lie over the rest or stand along a wall.
Paper filling is no piece: it takes the room that is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from themekit.errors import Problem, raise_all
from themekit.make.arrange import Measure, Piece
from themekit.make.cookie_bag import Cookie, bagged, bags_needed, block, filled
from themekit.make.kit import Order
from themekit.make.quantities import KitContents, contents
from themekit.make.settings import Settings
from themekit.make.units import TBSP_ML
from themekit.suggest.words import listed

MOST_COOKIES = 500
_LYING: tuple[Measure, ...] = ("height", "width")
_ANYHOW: tuple[Measure, ...] = ("height", "width", "length")


@dataclass(frozen=True, slots=True)
class KitPieces:
    """The pieces of one kit.

    problems  what does not go together, such as a cookie wider than the bag; the pieces are
              then sized as though the bag were large enough.
    notes     what to know, in plain sentences.
    missing   what could not be sized and is not among the pieces.
    """

    pieces: tuple[Piece, ...]
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


def kit_pieces(order: Order) -> KitPieces:
    """The pieces of one kit of the order.

    A filled icing bag is a tube pressed flat: its cross-section is a rectangle with a half
    circle at either side, its length the icing's volume over that, and the knot.

    Raises `InvalidValue` for kits, cookies or shares out of range.
    """
    if order.kit.cookies > MOST_COOKIES:
        hint = "Make it several kits."
        raise_all([Problem("kit.cuts", order.kit.cookies, f"at most {MOST_COOKIES} cookies in a kit", hint)])
    held = contents(order)
    goods = {line.what: int(line.per_kit) for line in held.goods if line.per_kit}
    pieces: list[Piece] = []
    problems: list[Problem] = []
    notes: list[str] = []
    missing: list[str] = []
    _cookies(held, order.settings, pieces, problems, notes, missing)
    for icing in held.icing:
        pieces.append(
            _icing_bag(f"icing bag, {icing.tint.name or icing.tint.hex}", icing.g_per_kit, order.settings)
        )
    pieces += _cups(order, held, notes)
    pieces += _goods(order.settings, goods)
    return KitPieces(tuple(pieces), tuple(problems), tuple(notes), tuple(missing))


def baked(held: KitContents, settings: Settings) -> tuple[list[Cookie], list[str]]:
    """Every cookie of one kit as baked, and the cutters whose size is not known."""
    wider, thicker = 1 + settings.dough.spread_share, 1 + settings.packing.cookie_rise_share
    cookies: list[Cookie] = []
    unknown: list[str] = []
    for line in held.cookies:
        cutter = line.cutter
        if cutter.width_mm is None or cutter.height_mm is None:
            unknown.append(cutter.name)
            continue
        rolled = settings.dough.thickness_mm if cutter.thickness_mm is None else cutter.thickness_mm
        one = Cookie(cutter.name, cutter.width_mm * wider, cutter.height_mm * wider, rolled * thicker)
        cookies += [one] * line.per_kit
    return cookies, unknown


def _cookies(
    held: KitContents, settings: Settings, pieces: list[Piece],
    problems: list[Problem], notes: list[str], missing: list[str],
) -> None:  # fmt: skip
    """Cookie bags, or stacks without bags, into `pieces`."""
    packing, bags = settings.packing, settings.contents.cookie_bags
    cookies, unknown = baked(held, settings)
    if unknown:
        missing.append(f"The size of {listed(unknown)} is not entered: the cookies' room is not known.")
    if not cookies:
        return
    if bags == 0:
        long, short, tall = block(cookies)
        pieces.append(Piece("stack of cookies", long, short, tall, ("height",), kind="cookies"))
        notes.append("No cookie bag is set: the cookies are reckoned as one stack.")
        return
    if bags > len(cookies):
        notes.append(f"{bags} cookie bags are set for {len(cookies)} cookies: {bags - len(cookies)} stay empty.")
    groups = bagged(cookies, bags)
    snug = False
    for number, group in enumerate(groups, 1):
        name = "cookie bag" if len(groups) == 1 else f"cookie bag {number}"
        bag = filled(group, packing)
        if bag is None:
            long, short, tall = block(group)
            problems.append(_no_bag(name, group, cookies, settings))
            size = (long, short, tall)
        else:
            size = (bag.along_mm, bag.across_mm, bag.deep_mm)
            snug = snug or bag.snug
            if bag.stacks > 1:
                notes.append(f"The {name} holds {bag.stacks} stacks side by side.")
        long = size[0] + packing.cookie_bag_tie_mm
        pieces.append(Piece(name, long, size[1], size[2], _ANYHOW, kind="cookie bag"))
    if snug:
        notes.append("The stack pulls the cookie bag's gusset open: it goes in, but snugly.")


def _no_bag(name: str, group: list[Cookie], cookies: list[Cookie], settings: Settings) -> Problem:
    """Why these cookies do not go into the bag, and what would."""
    packing = settings.packing
    bag = (
        f"{packing.cookie_bag_width_mm:g} × {packing.cookie_bag_gusset_mm:g} × {packing.cookie_bag_length_mm:g} mm"
    )
    wide = next((c for c in group if filled([c], packing) is None), None)
    girth = packing.cookie_bag_width_mm + packing.cookie_bag_gusset_mm
    if wide:
        got = f"{wide.cutter}, baked {wide.width_mm:.0f} × {wide.height_mm:.0f} × {wide.thickness_mm:.0f} mm"
        hint = "Set a larger cookie bag, or choose another cutter."
    else:
        long, short, tall = block(group)
        got = f"{len(group)} cookies, {long:.0f} × {short:.0f} mm, stacked {tall:.0f} mm high"
        needed = bags_needed(cookies, packing)
        hint = f"Spread the kit's cookies over {needed} bags (contents.cookie_bags), or set" if needed else "Set"
        hint += " a larger bag."
    allowed = f"what a bag of {bag} holds: width + depth up to {girth:g} mm"
    allowed += f", {packing.cookie_bag_tie_mm:g} mm left for the tie"
    return Problem(name, got, allowed, hint)


def _icing_bag(name: str, grams: float, settings: Settings) -> Piece:
    packing = settings.packing
    width = packing.icing_bag_width_mm
    thick = min(packing.icing_bag_thickness_mm, width)
    section = (width - thick) * thick + math.pi * thick**2 / 4
    along = grams / settings.icing.density_g_per_ml * 1000 / section
    return Piece(name, along + packing.icing_bag_knot_mm, width, thick, kind="icing bag")


def _cups(order: Order, held: KitContents, notes: list[str]) -> list[Piece]:
    """Cups, each with what it holds; more than one where the toppings need them."""
    packing = order.settings.packing
    full = packing.cup_ml * packing.cup_fill_share
    if order.kit.serve == "mixed":
        wanted = [("the mix", sum(p.tbsp_per_kit for p in held.toppings) * TBSP_ML)] if held.toppings else []
    else:
        wanted = [(p.jar.name, p.tbsp_per_kit * TBSP_ML) for p in held.toppings]
    out: list[Piece] = []
    for name, ml in wanted:
        many = math.ceil(round(ml / full, 9))
        if many > 1:
            notes.append(
                f"A cup is too small for {name}: {ml:.0f} mL, and a cup takes {full:.0f} mL filled to "
                f"{packing.cup_fill_share:.0%}; {many} cups are reckoned."
            )
        for number in range(1, many + 1):
            out.append(
                Piece(
                    f"cup of {name}" if many == 1 else f"cup {number} of {name}",
                    packing.cup_diameter_mm,
                    packing.cup_diameter_mm,
                    packing.cup_height_mm,
                    kind="cup",
                )
            )
    return out


def _goods(settings: Settings, goods: dict[str, int]) -> list[Piece]:
    """Bundles of sticks and spoons, card and napkins."""
    packing = settings.packing
    out: list[Piece] = []
    for what, length, width, height in (
        ("sticks", packing.stick_length_mm, packing.stick_mm, packing.stick_mm),
        ("picks", packing.stick_length_mm, packing.stick_mm, packing.stick_mm),
        ("spoons", packing.spoon_length_mm, packing.spoon_width_mm, packing.spoon_height_mm),
    ):
        count = goods.get(what, 0)
        if count:
            wide = math.ceil(math.sqrt(count * height / width) - 1e-9)
            high = math.ceil(count / wide)
            name = what[:-1] if count == 1 else f"{count} {what}"
            out.append(Piece(name, length, wide * width, high * height, _LYING, kind="utensil"))
    if cards := goods.get("cards", 0):
        name = "card" if cards == 1 else f"{cards} cards"
        thick = cards * packing.card_mm
        out.append(Piece(name, packing.card_length_mm, packing.card_width_mm, thick, _ANYHOW, True, "card"))
    if napkins := goods.get("napkins", 0):
        name = "napkin" if napkins == 1 else f"{napkins} napkins"
        thick = napkins * packing.napkin_thickness_mm
        out.append(Piece(name, packing.napkin_mm, packing.napkin_mm, thick, _ANYHOW, True, "card"))
    return out
