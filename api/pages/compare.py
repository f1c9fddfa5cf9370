"""Two kits side by side, chosen by taps, with what sets them apart told in sentences."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, request

from api import questions
from api.pages.base import show, told
from api.pages.batches import kept_kits
from api.pages.ideas import table_address
from api.pages.kit import table_values, worked
from api.pages.kit_address import address_of_batch, laid_in, query_of
from api.pages.pictures import kit_of_idea, picture_of
from api.service import service
from api.tables import Laid, Table, judged
from api.works import needs_body
from catalog import lexicon as built_in
from themekit.errors import ThemekitError
from themekit.make.quantities import most_kits
from themekit.suggest.apart import Side, apart

blp = Blueprint("compare_page", __name__)
_NAMES = ("the first", "the second")
#: Ideas and kept kits offered to lay beside one.
_IDEAS, _KEPT = 4, 12


@blp.get("/compare")
def compare() -> Response:
    """Kits `a` and `b`, each what follows /kit? in its address; with `a` alone the second is chosen here."""
    at, words = service(), built_in.lexicon().colour_words
    tables: list[Table] = []
    slips: list[str] = []
    for name in ("a", "b"):
        given = request.args.get(name, "")
        if not given:
            continue
        try:
            read = laid_in(given, words)
            tables.append(judged(at.store, at.shelf_id, read.laid, at.today(), swaps=False))
        except ThemekitError as error:
            return show(
                "plain.html", 422, heading="These cannot be laid side by side", error=told(error), back="/"
            )
        slips += [*read.told, *tables[-1].told]
    if not tables:
        lines = ["No kit was named. Choose one under Ideas and tap “Lay another beside it”."]
        return show("plain.html", 422, heading="Two kits side by side", lines=lines, back="/")
    status = 422 if slips else 200
    if len(tables) == 1:
        return show("beside.html", status, slips=slips, **_offered(tables[0]))
    sides = [{**table_values(t, n, touch=False), "name": w} for t, n, w in zip(tables, "ab", _NAMES, strict=True)]
    for side, other in zip(sides, reversed(sides), strict=True):
        side["instead"] = "/compare?" + urlencode({"a": other["query"]})
    lines = apart(*(_side(table, word) for table, word in zip(tables, _NAMES, strict=True)))
    return show("compare.html", status, sides=sides, lines=lines, slips=slips)


def _side(table: Table, name: str) -> Side:
    done = worked(table)
    return Side(
        name=name,
        tints=tuple(table.kit.tints),
        jars=tuple(t.jar.name for t in table.kit.toppings),
        cutters=tuple((c.cutter.name, c.cookies) for c in table.kit.cuts),
        mixed=table.kit.serve == "mixed",
        cost=done.cost.per_kit,
        at_least=done.cost.at_least,
        currency=done.cost.currency,
        makes=most_kits(done.order),
        cautions=tuple(c.text for c in done.cautions),
    )


def _offered(table: Table) -> dict[str, Any]:
    """What can be laid beside a kit: other ideas for the theme asked for, and sketches kept."""
    at, laid = service(), table.laid
    theme = request.args.get("theme", "").strip() or laid.theme
    values: dict[str, Any] = {"first": table_values(table, "a", touch=False), "theme": theme, "ideas": []}
    body = {"theme": theme, "count": _IDEAS, "kits": laid.kits, "needs": needs_body(laid.needs)}
    try:
        answer = questions.ideas(at.store, at.shelf_id, body, at.today())
    except ThemekitError as error:
        values["none"] = told(error)
    else:
        shelf = at.store.read(at.shelf_id)
        for number, idea in enumerate(answer["ideas"], 1):
            where = table_address(idea, theme, answer["kits"], body["needs"])
            if where.partition("?")[2].split("&hold")[0] == query_of(laid).split("&hold")[0]:
                continue
            values["ideas"].append(
                {
                    **idea,
                    "picture": picture_of(kit_of_idea(idea, theme, shelf), f"o{number}", f"Idea {number}"),
                    "to": _both(laid, where),
                }
            )
    values["kept"] = [{**row, "to": _both(laid, address_of_batch(row))} for row in kept_kits(_KEPT)]
    return values


def _both(laid: Laid, other: str) -> str:
    return "/compare?" + urlencode({"a": query_of(laid), "b": other.partition("?")[2]})
