"""Everything that follows from a chosen kit, worked out together: one value for sheets, API and prints."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.errors import Problem
from themekit.make.cautions import Caution, of_order
from themekit.make.cost import CostSheet, cost
from themekit.make.days import DayPlan, day_plan
from themekit.make.dough import DoughPlan, dough_plan
from themekit.make.goods import EGG_G, Needed, converted, exact, find
from themekit.make.icing import IcingPlan, icing_plan
from themekit.make.kit import Order
from themekit.make.label import Label, label
from themekit.make.label_list import Part
from themekit.make.label_parts import label_parts
from themekit.make.label_rules import LabelRules
from themekit.make.packing import PackingPlan, packing_plan
from themekit.make.quantities import KitContents, contents
from themekit.make.shopping import ShoppingList, needs_of, shopping
from themekit.suggest.needs import broken, choking, choking_age, shows_avoided, too_large
from themekit.suggest.weights import AVOIDED_WITHIN
from themekit.values import Box, Gel, Jar, Needs, Shelf

#: What of the shelf a batch holds, ("jars", 3) → g, pieces or of its unit.
Held = Mapping[tuple[str, int], float]
_RESOURCE = {"jar": "jars", "gel": "gels", "box": "boxes", "supply": "supplies"}


@dataclass(frozen=True, slots=True)
class Basis:
    """What the order is worked out against: her shelf, the kitchen's staples, the label's rules.

    held      what the order holds already; it is not short of that.
    currency  the shelf's, "" where she named none.
    called    the plain word for a hex colour.
    """

    shelf: Shelf
    staples: Sequence[Gel]
    rules: LabelRules
    currency: str = ""
    held: Held | None = None
    called: Callable[[str], str] = str


@dataclass(frozen=True, slots=True)
class Work:
    """A batch worked out. `breaks` are needs that the chosen kit does not keep; they lead everything."""

    order: Order
    contents: KitContents
    dough: DoughPlan
    icing: IcingPlan
    packing: PackingPlan
    needed: tuple[Needed, ...]
    shopping: ShoppingList
    cost: CostSheet
    label: Label
    cautions: tuple[Caution, ...]
    days: DayPlan | None
    breaks: tuple[str, ...]
    problems: tuple[Problem, ...]
    missing: tuple[str, ...]


def work(
    order: Order,
    basis: Basis,
    needs: Needs | None = None,
    due: date | None = None,
    today: date | None = None,
    packed_on: date | None = None,
    posted: bool = False,
) -> Work:
    """Work out an order.

    Parameters
    ----------
    needs      what the whole kit must respect.
    due        the day of the pick-up; without it there is no day plan.
    packed_on  the day of packing; of None the day plan's.
    posted     whether the kits go by post.

    Raises `InvalidValue` with every reason why the order cannot be worked out at all.
    """
    shelf = _with_held(basis.shelf, basis.held or {})
    held = contents(order)
    dough = dough_plan(order)
    areas = {line.cutter.id: line.face.mm2 for line in dough.lines if line.face is not None}
    gels = (*shelf.gels, *basis.staples)
    icing = icing_plan(order, gels, areas)
    packing = packing_plan(order, shelf.boxes, dough.baked_g_per_kit)
    needed = needs_of(
        held,
        {i.name: float(i.g) for i in dough.ingredients},
        icing.ingredients,
        {g.gel: g.grams for g in icing.gels},
        _box(packing),
    )
    days = day_plan(order, due, today=today, dough=dough) if due else None
    if packed_on is None and days is not None:
        packed_on = next((step.day for step in days.steps if step.name == "pack"), None)
    parts = label_parts(order, shelf, gels, dough, icing, held)
    told = label(order, parts, basis.rules, packed_on, no_later=days.best_before if days else None)
    used = _gels_used(icing, gels)
    cautions = of_order(
        order,
        used,
        shelf.dough,
        shelf.icing,
        needs,
        basis.rules,
        ingredients=_words(parts),
        month=due.month if due else None,
        posted=posted,
    )
    sheet = cost(order, needed, dough.baking.loads if not dough.at_least else None, shelf, basis.currency)
    listed = shopping(needed, shelf, order.settings.dough.egg_g)
    missing = (*held.missing, *dough.missing, *icing.missing, *packing.missing, *listed.missing, *sheet.missing)
    return Work(
        order=order,
        contents=held,
        dough=dough,
        icing=icing,
        packing=packing,
        needed=needed,
        shopping=listed,
        cost=sheet,
        label=told,
        cautions=tuple(cautions),
        days=days,
        breaks=_breaks(order, used, basis, needs),
        problems=(*dough.problems, *packing.problems, *(days.problems if days else ())),
        missing=tuple(dict.fromkeys(missing)),
    )


def shopping_together(works: Sequence[Work], shelf: Shelf, held: Held) -> ShoppingList:
    """One list for several batches: their needs joined, less what is free and what they hold already."""
    needed = [need for one in works for need in one.needed]
    egg_g = works[0].order.settings.dough.egg_g if works else EGG_G
    return shopping(needed, _with_held(shelf, held), egg_g)


def stock_needs(order: Order, shelf: Shelf, staples: Sequence[Gel]) -> dict[tuple[str, int], float | None]:
    """What the order takes of each thing on the shelf, in g, pieces or the supply's unit.

    A jar's grams are None where its weight per spoon is not known; other things without
    an amount, and what nothing on the shelf answers to, are left out.
    """
    held = contents(order)
    dough = dough_plan(order)
    areas = {line.cutter.id: line.face.mm2 for line in dough.lines if line.face is not None}
    icing = icing_plan(order, (*shelf.gels, *staples), areas)
    packing = packing_plan(order, shelf.boxes, dough.baked_g_per_kit)
    needed = needs_of(
        held,
        {i.name: float(i.g) for i in dough.ingredients},
        icing.ingredients,
        {g.gel: g.grams for g in icing.gels},
        _box(packing),
    )
    taken: dict[tuple[str, int], float | None] = {}
    for need in needed:
        stock = find(need.name, need.of, shelf)
        if stock is None:
            continue
        key = (_RESOURCE[stock.of], stock.id)
        if need.amount is None:
            if need.of == "jar":
                taken[key] = None
            continue
        amount = converted(
            exact(need.amount, need.name),
            need.unit,
            stock.unit or need.unit,
            need.name,
            order.settings.dough.egg_g,
        )
        if amount is not None:
            taken[key] = (taken.get(key) or 0.0) + float(amount)
    return taken


def _box(packing: PackingPlan) -> Box | None:
    chosen = packing.in_stock or packing.best
    return chosen.box if chosen else None


def _gels_used(icing: IcingPlan, gels: Sequence[Gel]) -> list[Gel]:
    ids = {g.gel_id for g in icing.gels if g.gel_id is not None}
    names = {g.gel for g in icing.gels if g.gel_id is None}
    return [gel for gel in gels if gel.id in ids or gel.name in names]


def _words(parts: Sequence[Part]) -> list[str]:
    return [word for part in parts for word in (part.name, *(part.sub_ingredients or ()))]


def _breaks(order: Order, gels: Sequence[Gel], basis: Basis, needs: Needs | None) -> tuple[str, ...]:
    """Which need each part of the kit breaks, in plain words; what is not known breaks it too."""
    if needs is None:
        return ()
    named = [("The dough", basis.shelf.dough), ("The icing", basis.shelf.icing)]
    named += [(f"The gel {gel.name}", gel.composition) for gel in gels]
    named += [(f"The jar {t.jar.name}", t.jar.composition) for t in order.kit.toppings]
    told = [
        f"{name} does not keep “{need}”: it {why}."
        for name, composition in named
        for need, why in broken(composition, needs)
    ]
    return (*told, *_too_young(order, needs), *_unwanted(order, needs, basis.called))


def _too_young(order: Order, needs: Needs) -> list[str]:
    age, line = needs.youngest_age, choking_age(order.settings.label.strict_choking)
    if age is None:
        return []
    told = []
    for jar in (t.jar for t in order.kit.toppings):
        if age < line and choking(jar):
            told.append(f"The jar {jar.name} is not for a child of {age}: small hard or sticky pieces.")
        elif age < line and jar.hard_small_pieces is None:
            told.append(f"The jar {jar.name} may have hard pieces: nothing is entered, and a child of {age} eats.")
        elif too_large(jar, needs):
            told.append(f"The jar {jar.name} is not for a child of {age}: large hard balls.")
    return told


def _unwanted(order: Order, needs: Needs, called: Callable[[str], str]) -> list[str]:
    """What shows a colour that is not wanted, and jars that are to be left out."""
    jars = [t.jar for t in order.kit.toppings]
    told = [f"The jar {jar.name} is to be left out." for jar in jars if jar.id in needs.skip_jars]
    for jar, shown in zip(jars, shows_avoided(jars, needs.avoid_colours), strict=True):
        told += [
            f"The jar {jar.name} does not keep “no {called(colour)}”: it shows that colour." for colour in shown
        ]
    for tint in order.kit.tints:
        for colour in needs.avoid_colours:
            if delta_e_2000(hex_to_lab(tint.hex), hex_to_lab(colour)) < AVOIDED_WITHIN:
                told.append(f"The {tint.name} icing does not keep “no {called(colour)}”: it is near that colour.")
    return told


def _with_held(shelf: Shelf, held: Held) -> Shelf:
    """The shelf as the order sees it: what it holds already counts as free."""
    if not held:
        return shelf

    def jar(one: Jar | Gel) -> float | None:
        more = held.get(("jars" if isinstance(one, Jar) else "gels", one.id), 0.0)
        return None if one.on_hand_g is None else one.on_hand_g + more

    return replace(
        shelf,
        jars=tuple(replace(j, on_hand_g=jar(j)) for j in shelf.jars),
        gels=tuple(replace(g, on_hand_g=jar(g)) for g in shelf.gels),
        boxes=tuple(
            b if b.on_hand is None else replace(b, on_hand=b.on_hand + int(held.get(("boxes", b.id), 0)))
            for b in shelf.boxes
        ),
        supplies=tuple(
            s if s.on_hand is None else replace(s, on_hand=s.on_hand + held.get(("supplies", s.id), 0.0))
            for s in shelf.supplies
        ),
    )
