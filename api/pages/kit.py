"""A kit on the table: every part can be changed, held while the rest changes, compared, and made."""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request

from api.pages.base import show, told
from api.pages.needs import in_address, needs_read
from api.pages.pictures import picture_of
from api.service import service
from api.tables import Laid, Table, judged, laid_anew
from api.works import plain
from catalog import lexicon as built_in
from catalog.lexicon.label_rules import label_rules
from themekit.colour.space import parse_hex
from themekit.draw.charts import palette_chart
from themekit.draw.rule import grain_rule
from themekit.errors import ThemekitError
from themekit.make.kit import Order
from themekit.make.work import Basis, work
from themekit.suggest.weights import APART

blp = Blueprint("kit_page", __name__)
#: Beyond this CIEDE2000 the icing is visibly another colour than was asked for.
_MISSED = 2.0


@blp.get("/kit")
def kit() -> Response:
    """One kit laid out; `fresh` lays anew what is not held and goes to the new address."""
    at = service()
    try:
        laid = laid_of(request.args)
        if request.args.get("fresh"):
            anew = laid_anew(at.store, at.shelf_id, laid, at.today())
            made: Any = redirect(address(anew), 303)
            return made  # type: ignore[no-any-return]
        table = judged(at.store, at.shelf_id, laid, at.today())
    except ThemekitError as error:
        return show("plain.html", 422, heading="This kit cannot be laid out", error=told(error), back="/")
    return show("kit.html", **_values(table), other=request.args.get("other", ""))


@blp.get("/compare")
def compare() -> Response:
    """Two kits side by side; `a` and `b` are what follows /kit? in their addresses."""
    from werkzeug.datastructures import MultiDict
    from werkzeug.urls import iri_to_uri

    at, sides = service(), []
    for name in ("a", "b"):
        given = MultiDict(_pairs(iri_to_uri(request.args.get(name, ""))))
        try:
            sides.append(_values(judged(at.store, at.shelf_id, laid_of(given), at.today()), name))
        except ThemekitError as error:
            return show("plain.html", 422, heading="These cannot be compared", error=told(error), back="/")
    return show("compare.html", sides=sides)


def _values(table: Table, prefix: str = "kit") -> dict[str, Any]:
    """A table as the templates tell it."""
    at, laid = service(), table.laid
    record = at.store.shelf_record(at.shelf_id)
    from api.works import settings_of

    order = Order(table.kit, laid.kits, settings_of(record["settings"], None))
    rules = label_rules(order.settings.label.jurisdiction)
    basis = Basis(table.shelf, built_in.lexicon().staples, rules, record["currency"] or "")
    done = work(order, basis, table.needs)
    query = urlencode(_query(laid))
    return {
        "laid": laid,
        "query": query,
        "idea": table.idea,
        "picture": picture_of(table.kit, prefix, "The kit from above"),
        "plane": palette_chart(table.kit.tints, [t.jar for t in table.kit.toppings], f"{prefix}p"),
        "rule": grain_rule([t.jar for t in table.kit.toppings], f"{prefix}r"),
        "tints": [
            {
                "place": f"t{i}",
                "tint": tint,
                "asked": made.asked,
                "missed": made.delta_e if made.delta_e > _MISSED else None,
                "held": f"t{i}" in laid.held,
                "swaps": [(s, _with(laid, "tints", i, s.value.hex)) for s in table.swaps if s.place == f"t{i}"],
                "hold": _holding(laid, f"t{i}"),
            }
            for i, (tint, made) in enumerate(zip(table.kit.tints, table.made, strict=True))
        ],
        "jars": [
            {
                "place": f"j{i}",
                "jar": topping.jar,
                "held": f"j{i}" in laid.held,
                "swaps": [(s, _with(laid, "jars", i, s.value.id)) for s in table.swaps if s.place == f"j{i}"],
                "hold": _holding(laid, f"j{i}"),
            }
            for i, topping in enumerate(table.kit.toppings)
        ],
        "cuts": [
            {
                "place": f"c{i}",
                "cutter": cut.cutter,
                "cookies": cut.cookies,
                "held": f"c{i}" in laid.held,
                "hold": _holding(laid, f"c{i}"),
            }
            for i, cut in enumerate(table.kit.cuts)
        ],
        "cutters": table.shelf.cutters,
        "cost": plain(done.cost),
        "needs": in_address(laid.needs),
        "kept_to": in_address(table.needs),
        "breaks": list(done.breaks),
        "cautions": [c.text for c in done.cautions],
        "makes": table.idea.trio.trio.makes_kits,
        "anew": address(laid) + "&fresh=1",
        "apart": APART,
    }


def _query(laid: Laid) -> list[tuple[str, Any]]:
    query: list[tuple[str, Any]] = [("theme", laid.theme), ("kits", laid.kits), ("serve", laid.serve)]
    query += [("t", t.lstrip("#")) for t in laid.tints]
    query += [("j", j) for j in laid.jars]
    query += [("c", f"{id}:{count}") for id, count in laid.cuts]
    query += in_address(laid.needs)
    return query + [("hold", place) for place in sorted(laid.held)]


def address(laid: Laid) -> str:
    """Where a kit lies on the table; the address holds all of it, so it can be kept and sent."""
    return "/kit?" + urlencode(_query(laid))


def _with(laid: Laid, part: str, place: int, value: Any) -> str:
    parts = list(getattr(laid, part))
    parts[place] = value
    return address(replace(laid, **{part: tuple(parts)}))


def _holding(laid: Laid, place: str) -> str:
    return address(replace(laid, held=laid.held ^ {place}))


def laid_of(args: Any) -> Laid:
    """What an address or a form says; parts that cannot be read are missed when it is judged.

    Raises `InvalidValue` for needs that are none: they are never left out.
    """
    tints = []
    for text in args.getlist("t")[:6]:
        try:
            tints.append(parse_hex(f"#{text.lstrip('#')}", "t"))
        except ThemekitError:
            continue
    jars = [int(j) for j in args.getlist("j")[:6] if j.isascii() and j.isdigit() and len(j) < 10]
    cuts = []
    for text in args.getlist("c")[:20]:
        id, _, count = text.partition(":")
        if (
            id.isascii()
            and id.isdigit()
            and count.isascii()
            and count.isdigit()
            and len(id) < 10
            and len(count) < 4
        ):
            cuts.append((int(id), int(count)))
    kits = args.get("kits", "1")
    return Laid(
        theme=args.get("theme", "")[:2000].strip(),
        tints=tuple(tints),
        jars=tuple(jars),
        cuts=tuple(cuts),
        kits=min(1000, max(1, int(kits))) if kits.isascii() and kits.isdigit() and len(kits) < 6 else 1,
        serve="mixed" if args.get("serve") == "mixed" else "apart",
        held=frozenset(p for p in args.getlist("hold") if len(p) <= 3),
        needs=needs_read(args),
    )


def _pairs(query: str) -> list[tuple[str, str]]:
    from urllib.parse import parse_qsl

    return parse_qsl(query[:4000].lstrip("?"))
