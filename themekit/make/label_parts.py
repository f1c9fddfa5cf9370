"""What a kit's label lists: cookies and icing as compound foods, gels, toppings, each with its weight."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from themekit.make.dough import DoughPlan
from themekit.make.goods import find, is_water
from themekit.make.icing import IcingPlan
from themekit.make.kit import Order
from themekit.make.label_list import Part
from themekit.make.quantities import KitContents
from themekit.values import Composition, Gel, Shelf, Supply


def label_parts(
    order: Order, shelf: Shelf, gels: Sequence[Gel], dough: DoughPlan, icing: IcingPlan, held: KitContents
) -> tuple[Part, ...]:
    """The parts of one kit's food, raw weights at the time of use.

    Allergens of dough and icing are those of the standing recipe together with those of
    the supplies they are made from; where neither is entered they stay unknown. The
    ingredients of a compound come in descending order of weight.
    """
    raw = [(line.raw_g, line.per_kit) for line in dough.lines]
    raw_g = None if any(g is None for g, _ in raw) else sum((g or 0) * n for g, n in raw)
    dough_g = {i.name: float(i.g) for i in dough.ingredients}
    parts = [
        Part(
            "cookies",
            raw_g,
            _descending(dough_g),
            _composition(shelf.dough, dough_g, shelf),
            1 - order.settings.dough.bake_loss_share,
        ),
        Part(
            "icing",
            _icing_g(icing, held),
            _descending({n: g for n, g in icing.ingredients.items() if g > 0}),
            _composition(shelf.icing, icing.ingredients, shelf),
        ),
    ]
    known = {gel.id: gel for gel in gels}
    named = {gel.name: gel for gel in gels}
    for total in icing.gels:
        gel = known.get(total.gel_id) if total.gel_id is not None else named.get(total.gel)
        composition = gel.composition if gel else Composition()
        # A staple of the kitchen is one plain food; what a gel is made of stands on its own label.
        subs = () if total.gel_id is None else None
        parts.append(
            Part(total.gel, total.grams / held.kits / (1 + order.settings.icing.waste_share), subs, composition)
        )
    parts += [Part(p.jar.name, p.g_per_kit, None, p.jar.composition) for p in held.toppings]
    return tuple(parts)


def _icing_g(icing: IcingPlan, held: KitContents) -> float:
    """White icing in one kit: what is filled into its bags, less the gels."""
    filled = sum(one.g_per_kit for one in held.icing)
    made = sum(colour.grams for colour in icing.colours)
    share = icing.white_g / made if made else 1.0
    return filled * share


def _descending(grams: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(grams, key=lambda name: (-grams[name], name)))


def _composition(standing: Composition, ingredients: Iterable[str], shelf: Shelf) -> Composition:
    """The standing recipe's composition with the allergens of its supplies, each list known or unknown."""
    supplies = _supplies(ingredients, shelf)
    return Composition(
        allergens=_united(standing.allergens, [s.allergens if s else None for s in supplies]),
        may_contain=_united(standing.may_contain, [s.may_contain if s else None for s in supplies]),
        additives=standing.additives,
        diet=standing.diet,
    )


def _supplies(ingredients: Iterable[str], shelf: Shelf) -> list[Supply | None]:
    by_id = {s.id: s for s in shelf.supplies}
    found = [find(name, "supply", shelf) for name in ingredients if not is_water(name)]
    return [by_id.get(stock.id) if stock else None for stock in found]


def _united(standing: tuple[str, ...] | None, of: Sequence[tuple[str, ...] | None]) -> tuple[str, ...] | None:
    """All that is known to be in it. Unknown where neither the recipe nor every supply is entered."""
    if standing is None and (not of or any(one is None for one in of)):
        return None
    return tuple(dict.fromkeys([*(standing or ()), *(word for one in of for word in one or ())]))
