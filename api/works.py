"""Batches worked out: from a row and the shelf to sheets, as values and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any, cast

from api.bodies import NEEDS, Body
from catalog import lexicon as built_in
from catalog.batch_kit import gone, kit_of
from catalog.batches import Batches
from catalog.lexicon.label_rules import label_rules
from catalog.orders import Orders
from catalog.rows import Record
from catalog.store import Store
from catalog.taste import Tastes
from themekit.colour.names import names_of
from themekit.colour.space import hex_to_lab
from themekit.errors import raise_all
from themekit.make.kit import Order
from themekit.make.settings import Settings, checked
from themekit.make.work import Basis, Work, stock_needs, work
from themekit.suggest.asked import ask
from themekit.suggest.judged import judged, theme_name
from themekit.values import Box, Cutter, Gel, Jar, Needs, Shelf, Supply, Tint

Json = dict[str, Any]
#: The parts of a batch's work, each with an address of its own.
PARTS = ("contents", "dough", "icing", "packing", "shopping", "cost", "label", "cautions", "days")


def batches_of(store: Store) -> Batches:
    """The store's batches, with what they need worked out by the core."""

    def needed(record: Record, shelf: Shelf) -> dict[tuple[str, int], float | None]:
        order = order_of(record, shelf, store.shelf_record(shelf.id)["settings"])
        return stock_needs(order, shelf, built_in.lexicon().staples)

    return Batches(store, needed, built_in.lexicon().staples, _judged)


def tastes_of(store: Store) -> Tastes:
    """The store's tastes; themes are kept by the names that the core reads in a phrase."""
    return Tastes(store, lambda text, shelf: theme_name(ask(text, shelf, built_in.lexicon())))


def _judged(record: Record, shelf: Shelf) -> tuple[str, dict[str, dict[str, float]]]:
    """The theme's name and the parts of a batch."""
    lexicon = built_in.lexicon()
    asked = ask(record["theme"], shelf, lexicon)
    tints, jars = [tint["hex"] for tint in record["tints"]], [jar["id"] for jar in record["jars"]]
    cutters = {cutter["id"]: cutter["cookies"] for cutter in record["cutters"]}
    return theme_name(asked), judged(asked, shelf, lexicon, tints, jars, cutters)


def settings_of(shelf: Mapping[str, Any] | None, own: Mapping[str, Any] | None) -> Settings:
    """The defaults with the shelf's settings over them, and a batch's over those."""
    settings, problems = checked(shelf or {})
    settings, more = checked(own or {}, settings)
    raise_all([*problems, *more], "The settings kept cannot be used.")
    return settings


def order_of(record: Mapping[str, Any], shelf: Shelf, settings: Mapping[str, Any] | None) -> Order:
    """The core's value of a batch, for work and for what it takes from the shelf."""
    lexicon = built_in.lexicon()
    kit = kit_of(record, shelf, lexicon.staples, lexicon.colour_basics)
    return Order(kit, record["kits"], settings_of(settings, record["settings"]))


def check_needs(body: Any) -> None:
    """Raise `InvalidValue` for needs of a batch that are none."""
    if isinstance(body, Mapping) and body.get("needs") is not None:
        needs_of(body)


def needs_of(batch: Mapping[str, Any]) -> Needs:
    """A batch's needs as the core takes them."""
    body = Body({"needs": batch.get("needs") or {}}, ("needs",))
    needs = body.needs()
    body.done()
    return needs


def needs_body(needs: Needs) -> Json:
    """Needs as a body takes them; those that are not named are left out."""
    return {
        name: list(value) if isinstance(value, tuple) else value
        for name in NEEDS
        if (value := getattr(needs, name)) not in (None, False, ())
    }


#: The needs that a customer asks for; the others say how she herself wants a kit chosen.
ASKED = ("avoid_allergens", "avoid_additives", "youngest_age", "diet", "avoid_colours")


def asked_for(needs: Needs) -> Json:
    """Of all needs those that a customer asked for, as an order keeps them."""
    return {name: value for name, value in needs_body(needs).items() if name in ASKED}


def joined(one: Needs, other: Needs) -> Needs:
    """Both needs together: whatever either keeps out, the younger age, the stricter diet."""
    ages = [age for age in (one.youngest_age, other.youngest_age) if age is not None]
    diets = [diet for diet in ("vegan", "vegetarian") if diet in (one.diet, other.diet)]
    several = {
        name: tuple(dict.fromkeys((*getattr(one, name), *getattr(other, name))))
        for name in NEEDS
        if isinstance(getattr(one, name), tuple)
    }
    return replace(
        one,
        **cast(Any, several),
        youngest_age=min(ages, default=None),
        diet=cast(Any, diets[0] if diets else None),
        in_stock_only=one.in_stock_only or other.in_stock_only,
    )


def needs_of_order(store: Store, shelf_id: int, order: int | None) -> Needs:
    """What goes with an order as needs; none without an order."""
    return Needs() if order is None else needs_of({"needs": Orders(store).asked(shelf_id, order)})


def work_of(store: Store, shelf_id: int, batch: Record, today: date) -> Work:
    """Everything that follows from a batch, under its needs and its order's.

    Raises `InvalidValue` where it cannot be worked out.
    """
    shelf, record = store.read(shelf_id), store.shelf_record(shelf_id)
    order = order_of(batch, shelf, record["settings"])
    held = {(line["of"], line["item"]): line["held"] for line in batch["stock"]}
    rules = label_rules(order.settings.label.jurisdiction)
    basis = Basis(shelf, built_in.lexicon().staples, rules, record["currency"] or "", held, colour_word)
    needs = joined(needs_of(batch), needs_of_order(store, shelf_id, batch["order"]))
    due = batch["due"] and date.fromisoformat(batch["due"])
    return work(order, basis, needs, due or None, today)


def colour_word(hex_: str) -> str:
    """The plain word for a colour."""
    return names_of(built_in.lexicon().colour_basics).nearest(hex_to_lab(hex_))[0]


def work_json(store: Store, shelf_id: int, batch: Record, today: date, parts: Sequence[str] = PARTS) -> Json:
    """A batch's work as JSON; what is not kept, not known or no longer there leads it."""
    done = work_of(store, shelf_id, batch, today)
    return {
        "batch": batch["id"],
        "name": batch["name"],
        "kits": batch["kits"],
        "breaks": list(done.breaks),
        "problems": [plain(p) for p in done.problems],
        "missing": [*gone(batch, store.read(shelf_id)), *done.missing],
        **{part: plain(getattr(done, part)) for part in parts},
    }


def plain(value: Any) -> Any:
    """A value of the core as JSON: objects by field, money as text, things on the shelf by id and name."""
    if isinstance(value, Jar | Cutter | Gel | Box | Supply):
        return {"id": value.id, "name": value.name}
    if isinstance(value, Tint):
        return {"hex": value.hex, "name": value.name}
    if is_dataclass(value) and not isinstance(value, type):
        return {name: plain(getattr(value, name)) for name in _field_names(type(value))}
    if isinstance(value, Mapping):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, tuple | list | frozenset | set):
        return [plain(one) for one in value]
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, 6) + 0.0
    return value


@lru_cache(maxsize=200)
def _field_names(kind: type) -> tuple[str, ...]:
    return tuple(f.name for f in fields(kind))
