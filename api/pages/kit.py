"""A kit on the table: every part can be swapped by hand, or held while the rest changes."""

from __future__ import annotations

import hashlib
import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response, redirect, request
from markupsafe import Markup

from api.choices import FURTHER
from api.pages import eyes
from api.pages.amiss import FormFields
from api.pages.asked import under_its_order
from api.pages.base import show, told
from api.pages.kit_address import (
    Read,
    address,
    fields_of,
    laid_of,
    query_of,
    with_cookies,
    with_cutter,
    with_hold,
    with_part,
)
from api.pages.kit_choice import all_of, taken, there, to_choose
from api.pages.needs import in_address
from api.pages.pictures import picture_of
from api.pages.taste import said_of_table
from api.service import service
from api.tables import MISSED, Laid, Table, judged, spread
from api.tables_anew import laid_anew
from api.works import colour_word, plain, settings_of
from catalog import lexicon as built_in
from catalog.lexicon.label_rules import label_rules
from catalog.rows import Record
from themekit.draw.charts import palette_chart
from themekit.draw.kit import Touch
from themekit.draw.rule import grain_rule
from themekit.errors import ThemekitError
from themekit.make.kit import Order
from themekit.make.quantities import most_kits
from themekit.make.work import Basis, Work, work
from themekit.suggest.changes import what_it_shows
from themekit.suggest.stand_in import colour_distance

blp = Blueprint("kit_page", __name__)
#: Fields of the page's own beside those of a kit.
_MORE = ("fresh", "pick", "q", "take", "own")
#: Orders offered for a batch; more make a list nobody reads.
_MOST_ORDERS = 60
#: What is typed of a batch to be made, by what problems call it.
_MAKE = FormFields("m-", ("name", "kits", "due", "dayless", "order", "customer", "know"))
_HEX = re.compile(r"^([0-9a-f]{6})$", re.IGNORECASE)


@blp.get("/kit")
def kit() -> Response:
    """One kit laid out; `fresh` lays anew what is not held and goes to the new address.

    `pick` shows all that could stand in a place, those with `q` in their names; `take` puts
    one of them there and goes to the new address.
    """
    at, words = service(), built_in.lexicon().colour_words
    args = request.args
    try:
        read = under_its_order(laid_of(args, words, _MORE))
        over, pick = False, args.get("pick", "")
        if args.get("take"):
            on = spread(at.store, at.shelf_id, read.laid, at.today())
            done = taken(on, args["take"], args.get("own", ""), words)
            if done.laid is not None:
                gone: Any = redirect(f"{address(done.laid)}#others-{done.place}", 303)
                return gone  # type: ignore[no-any-return]
            pick = done.place
            read = replace(read, told=(*read.told, done.told))
        if request.args.get("fresh"):
            anew = laid_anew(at.store, at.shelf_id, read.laid, at.today())
            if anew is not None:
                made: Any = redirect(address(anew), 303)
                return made  # type: ignore[no-any-return]
            over = True
        table = judged(at.store, at.shelf_id, read.laid, at.today())
        choice = to_choose(table, pick, args.get("q", "")) if pick else None
    except ThemekitError as error:
        return show("plain.html", 422, heading="This kit cannot be laid out", error=told(error), back="/")
    return kit_page(table, read, over=over, choice=choice)


def kit_page(
    table: Table,
    read: Read,
    *,
    error: ThemekitError | None = None,
    given: Mapping[str, Any] | None = None,
    over: bool = False,
    choice: Mapping[str, Any] | None = None,
) -> Response:
    """The table as a page; `given` is what was typed into the form below it and refused with `error`.

    `choice` is all that could stand in one of its places, as `to_choose` gives it.

    What could not be read of an address is told, and the answer then is 422, with all that
    could be read laid out.
    """
    slips = (*read.told, *table.told)
    values: dict[str, Any] = {
        "slips": slips,
        "over": over,
        "choice": choice,
        "again": address(replace(table.laid, seen=())),
        "typed": read.laid.tints if not slips else [_HEX.sub(r"#\1", t) for t in request.values.getlist("t")],
        "orders": open_orders(),
        "given": dict(table.laid.carried) | dict(given or {}),
        "said": said_of_table(table),
        # New for every showing, so that a form sent twice makes one batch and a new form a new one.
        "key": secrets.token_urlsafe(12),
    }
    if error is not None:
        values["error"] = told_once(error, _MAKE)
        typed = str(values["given"].get("kits") or "")
        kits = int(typed) if typed.isascii() and typed.isdigit() else table.laid.kits
        values["short"] = _short(table, getattr(error, "short", []), kits)
    status = 422 if slips or error is not None else 200
    return show("kit.html", status, **table_values(table), **values)


def open_orders() -> list[Record]:
    """Orders that are still to come, or have no day yet, the next first."""
    at = service()
    today = at.today().isoformat()
    _, total = at.orders.list(at.shelf_id, 1, 1)
    found: list[Record] = []
    for page in range(1, -(-total // 200) + 1):
        found += [o for o in at.orders.list(at.shelf_id, page, 200)[0] if o["due"] is None or o["due"] >= today]
    return sorted(found, key=lambda o: (o["due"] or "9999", o["id"]))[:_MOST_ORDERS]


def table_values(table: Table, prefix: str = "kit", touch: bool = True) -> dict[str, Any]:
    """A table as the templates tell it."""
    at, laid = service(), table.laid
    done = worked(table)
    holds = _touches(table) if touch else None
    return {
        "laid": laid,
        "query": query_of(laid),
        "fields": [(name, value) for name, value in fields_of(laid) if name not in ("kits", "s", "hold")],
        "typed_below": ("name", "due", "order", "customer"),
        "held": sorted(laid.held),
        # What is typed below is of this very kit; to hold a part changes nothing of it.
        "of": hashlib.sha256(query_of(replace(laid, held=frozenset(), seen=())).encode()).hexdigest()[:20],
        "idea": table.idea,
        "picture": picture_of(table.kit, prefix, "The kit from above", holds),
        "plane": Markup(palette_chart(table.kit.tints, [t.jar for t in table.kit.toppings], f"{prefix}p")),
        "rule": Markup(grain_rule([t.jar for t in table.kit.toppings], f"{prefix}r")),
        "tints": [
            {
                "tint": tint,
                "asked": made.asked,
                "apart": made.delta_e,
                "missed": made.delta_e > MISSED,
                **_place(table, "tints", "t", i, lambda value: value.hex),
            }
            for i, (tint, made) in enumerate(zip(table.kit.tints, table.made, strict=True))
        ],
        "jars": [
            {
                "jar": topping.jar,
                "grams": next(
                    p.grams_per_kit for p in table.idea.trio.trio.portions if p.jar.id == topping.jar.id
                ),
                **_place(table, "jars", "j", i, lambda value: value.id),
            }
            for i, topping in enumerate(table.kit.toppings)
        ],
        "cuts": [
            {
                "cutter": cut.cutter,
                "cookies": cut.cookies,
                "shows": what_it_shows(table.idea.cutters[i]),
                "more": with_cookies(laid, i, 1),
                "fewer": with_cookies(laid, i, -1),
                **_place(table, "cuts", "c", i, lambda value, n=cut.cookies: (value.id, n)),
            }
            for i, cut in enumerate(table.kit.cuts)
        ],
        "further": _further(table),
        "any_further": all_of(laid, FURTHER) if there(table.on, FURTHER) else None,
        "counts": {"jars": len(table.shelf.jars), "cutters": len(table.shelf.cutters)},
        "own": table.own,
        "cost": plain(done.cost),
        "kept_to": in_address(table.needs),
        "jar_names": {str(j.id): j.name for j in table.shelf.jars},
        "breaks": list(done.breaks),
        "cautions": [c.text for c in done.cautions],
        "makes": most_kits(done.order),
        "alike": eyes.of_kit(table.kit),
        "anew": address(laid) + "&fresh=1",
        "currency": at.shelf_row().currency or "",
    }


def worked(table: Table) -> Work:
    """Everything that follows from the kit on the table, for so many kits as its address says."""
    at = service()
    record = at.store.shelf_record(at.shelf_id)
    order = Order(table.kit, table.laid.kits, settings_of(record["settings"], None))
    rules = label_rules(order.settings.label.jurisdiction)
    basis = Basis(table.shelf, built_in.lexicon().staples, rules, record["currency"] or "", None, colour_word)
    return work(order, basis, table.needs)


def _place(table: Table, part: str, letter: str, number: int, value_of: Any) -> dict[str, Any]:
    """What every place has: its name, whether it is held, and the swaps for it with their addresses."""
    laid, place = table.laid, f"{letter}{number}"
    return {
        "place": place,
        "held": place in laid.held,
        "hold": with_hold(laid, place),
        "all": all_of(laid, place),
        "swaps": [
            {"value": s.value, "told": s.told, "to": with_part(laid, part, number, value_of(s.value))}
            for s in table.swaps
            if s.place == place
        ],
    }


def _touches(table: Table) -> dict[str, Touch]:
    """What a tap on each part of the picture does: hold it, or let it go."""
    named = {f"t{i}": f"{t.name} icing" for i, t in enumerate(table.kit.tints)}
    named |= {f"j{i}": t.jar.name for i, t in enumerate(table.kit.toppings)}
    named |= {f"c{i}": f"the {c.cutter.name} cookies" for i, c in enumerate(table.kit.cuts)}
    held = table.laid.held
    return {
        place: Touch(
            with_hold(table.laid, place), f"Let {name} go" if place in held else f"Hold {name}", place in held
        )
        for place, name in named.items()
    }


def _further(table: Table) -> list[dict[str, Any]]:
    """Cutters that could join the others, each with one cookie."""
    seen: dict[int, Any] = {s.value.id: s.value for s in table.swaps if s.place.startswith("c")}
    found = [{"cutter": cutter, "to": with_cutter(table.laid, id)} for id, cutter in seen.items()]
    return [one for one in found if one["to"] is not None][:4]


def _short(table: Table, short: Sequence[Mapping[str, Any]], kits: int) -> list[dict[str, Any]]:
    """What there is too little of, and the addresses with another jar in its place, the nearest in look first.

    Offered are jars that look alike and those that the place's own swaps offer, as far as they suffice.
    """
    laid = table.laid
    jars = {jar.id: jar for jar in table.shelf.jars}
    found = []
    for one in short:
        place = laid.jars.index(one["jar"]) if one["jar"] in laid.jars else None
        alike = {other["jar"] for other in one["instead"]} - set(laid.jars) if place is not None else set()
        swaps = {s.value.id for s in table.swaps if s.place == f"j{place}"} - alike
        fit = alike | {id for id in swaps if _suffices(laid, place, id, kits)}
        near = sorted(fit, key=lambda id, at=one["jar"]: (colour_distance(jars[at], jars[id]), id))
        instead = [
            {"jar": id, "name": jars[id].name, "to": with_part(laid, "jars", place or 0, id)} for id in near
        ]
        found.append({**one, "instead": instead})
    return found


def _suffices(laid: Laid, place: int | None, jar: int, kits: int) -> bool:
    """Whether another jar in a place suffices for so many kits, whatever the others do."""
    if place is None:
        return False
    at = service()
    swapped = replace(laid, jars=(*laid.jars[:place], jar, *laid.jars[place + 1 :]))
    makes = most_kits(worked(judged(at.store, at.shelf_id, swapped, at.today(), swaps=False)).order, jar)
    return makes is not None and makes >= kits


def told_once(error: ThemekitError, form: FormFields) -> dict[str, Any]:
    """An error as the templates tell it, less what is told of each jar that is short, which stands by itself."""
    found = told(error, form)
    if found["short"]:
        found["problems"] = [p for p in found["problems"] if p["at"]]
    return found
