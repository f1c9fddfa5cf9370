"""Everything that follows from a chosen kit, worked out together: one value for sheets, API and prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

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
from themekit.suggest.needs import broken, choking, choking_age
from themekit.values import Box, Gel, Jar, Needs, Shelf

#: What of the shelf a batch holds, ("jars", 3) → g, pieces or of its unit.
Held = Mapping[tuple[str, int], float]
_RESOURCE = {"jar": "jars", "gel": "gels", "box": "boxes", "supply": "supplies"}


@dataclass(frozen=True, slots=True)
class Basis:
    """What the order is worked out against: her shelf, the kitchen's staples, the label's rules.

    held      what the order holds already; it is not short of that.
    currency  the shelf's, "" where she named none.
    """

    shelf: Shelf
    staples: Sequence[Gel]
    rules: LabelRules
    currency: str = ""
    held: Held | None = None


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
        breaks=_breaks(order, used, shelf, needs),
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


def _breaks(order: Order, gels: Sequence[Gel], shelf: Shelf, needs: Needs | None) -> tuple[str, ...]:
    """Which need each part of the kit breaks, in plain words."""
    if needs is None:
        return ()
    named = [("The dough", shelf.dough), ("The icing", shelf.icing)]
    named += [(f"The gel {gel.name}", gel.composition) for gel in gels]
    named += [(f"The jar {t.jar.name}", t.jar.composition) for t in order.kit.toppings]
    told = [
        f"{name} does not keep “{need}”: it {why}."
        for name, composition in named
        for need, why in broken(composition, needs)
    ]
    line = choking_age(order.settings.label.strict_choking)
    if needs.youngest_age is not None and needs.youngest_age < line:
        told += [
            f"The jar {t.jar.name} is not for a child of {needs.youngest_age}: small hard or sticky pieces."
            for t in order.kit.toppings
            if choking(t.jar)
        ]
    return tuple(told)


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
