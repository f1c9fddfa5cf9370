"""Orders: who wants what by when, what was paid, and what a customer had before."""

from __future__ import annotations

import json
import secrets
from contextlib import suppress
from decimal import Decimal, InvalidOperation
from typing import Any

from flask import Blueprint, Response, request

from api.pages import asked
from api.pages.amiss import FormFields
from api.pages.base import local, show, told
from api.pages.making import key_of_form, plainly, to
from api.pages.twice import both_shown, step_overtaken, version_in_form
from api.service import service
from api.works import work_of
from catalog.errors import StaleVersion
from catalog.fields import in_lines
from catalog.orders import FIELDS, check_order
from catalog.rows import Record
from themekit.errors import InvalidValue, ThemekitError

blp = Blueprint("orders_page", __name__, url_prefix="/orders")


#: What each field is called.
WORDS = {
    "customer": "Customer",
    "contact": "How to reach them",
    "due": "Pick-up day",
    "time": "Time",
    "total": "Price agreed",
    "deposit": "Paid ahead",
    "paid": "All paid",
    "note": "Note",
    "said": "Their words",
    "letter": "Letter to them",
    **asked.WORDS,
}
_FORM = FormFields("o-", tuple(WORDS), asked.ALSO)
_EMPTIED = {"asked": asked.as_typed({})}
#: Fields that are read in a way of their own.
_OTHERWISE = ("paid", "needs")
_EMPTY = {"paid": "not all paid yet", "due": "no day yet"}


@blp.route("", methods=["GET", "POST"])
def orders() -> Response:
    """All orders by day, and a form for a new one, which sent twice makes one order."""
    at = service()
    values: dict[str, Any] = {"key": secrets.token_urlsafe(12)}
    if request.method == "POST":
        given = _given()
        try:
            row = at.orders.create(at.shelf_id, _whole(given, {}), key_of_form(request.form.get("key", "")))
        except ThemekitError as error:
            return show(
                "orders.html",
                422,
                error=told(plainly(error), _FORM),
                rows=_all(),
                given=_EMPTIED | given,
                **values,
            )
        return to(f"/orders/{row['id']}", "order")
    return show("orders.html", rows=_all(), given=_EMPTIED, **values)


@blp.route("/<int:id>", methods=["GET", "POST"])
def order(id: int) -> Response:
    """One order; where it was changed since, both are shown to choose from."""
    at = service()
    row = at.orders.get(at.shelf_id, id)
    if request.method == "GET":
        return _shown(row)
    given = _given()
    try:
        move = bool(request.form.get("move"))
        now = at.orders.change(at.shelf_id, id, _whole(given, row["needs"]), version_in_form(), move)
    except StaleVersion:
        now = at.orders.get(at.shelf_id, id)
        heading = f"Order of {now['customer'] or 'a market'}: yours and what is there"
        mine, theirs = _typed(given), _typed(now)
        # A form that has no letter, or no needs, in it says nothing of the order's.
        unsaid = [*([] if "letter" in given else ["letter"]), *([] if "asked" in given else asked.WORDS)]
        mine |= {name: theirs[name] for name in unsaid}
        return both_shown(heading, f"/orders/{id}", now["version"], WORDS, mine, theirs, _EMPTY)
    except ThemekitError as error:
        return _shown(row, error, given)
    return to(f"/orders/{id}", "moved" if move and row["batches"] and now["due"] != row["due"] else "order")


@blp.post("/<int:id>/erase")
def erase(id: int) -> Response:
    """Take an order off the list and erase what is personal in it."""
    at = service()
    try:
        at.orders.remove(at.shelf_id, id, version_in_form())
        at.answered.forget(at.shelf_id)
    except StaleVersion:
        now = at.orders.get(at.shelf_id, id)
        heading = f"Order of {now['customer'] or 'a market'}, as it is now"
        word = "Take it off and erase"
        return step_overtaken(heading, f"/orders/{id}/erase", word, now["version"], WORDS, _typed(now))
    except ThemekitError as error:
        return _shown(at.orders.get(at.shelf_id, id), error)
    return to("/orders", "erased")


def _shown(row: Record, error: ThemekitError | None = None, given: Record | None = None) -> Response:
    values: dict[str, Any] = {"row": row, "given": {"asked": asked.as_typed(row["needs"])} | (given or row)}
    values["asked"] = asked.in_words(row["needs"])
    values["open"] = [b for b in row["batches"] if b["state"] in ("sketched", "promised")]
    values |= _of_batches(row)
    values["already"] = bool(request.args.get("already"))
    values["was"] = json.dumps(_typed(row))
    if error is None:
        return show("order.html", **values)
    return show("order.html", 422, error=told(error, _FORM), **values)


def _typed(row: Record) -> dict[str, str]:
    """An order as its form holds it, so that what was typed and what is kept can be compared."""
    found = {name: "" if row.get(name) is None else in_lines(str(row[name])) for name in WORDS}
    found |= row.get("asked") or asked.as_typed(row.get("needs") or {})
    for name in ("total", "deposit"):
        # One amount is not two because of how its decimals are written.
        with suppress(InvalidOperation):
            found[name] = f"{Decimal(found[name]):.2f}" if found[name] else ""
    return found | {"paid": "1" if row.get("paid") else ""}


def _given() -> Record:
    """What was typed; an empty field is unknown."""
    form: Record = {name: request.form.get(name, "").strip() or None for name in FIELDS if name not in _OTHERWISE}
    # Money may be typed as the shelf's place writes it.
    if "letter" not in request.form:
        del form["letter"]
    form |= {name: local().read_money(form[name]) for name in ("total", "deposit") if form[name]}
    typed = asked.typed_in(request.form)
    return form | {"paid": bool(request.form.get("paid"))} | ({} if typed is None else {"asked": typed})


def _whole(given: Record, old: Record) -> Record:
    """What was typed as the store takes it; raises `InvalidValue` with what is wrong with needs and all else."""
    order = {name: value for name, value in given.items() if name != "asked"}
    if "asked" not in given:
        return order
    try:
        return order | {"needs": asked.needs_in(given["asked"], old)}
    except ThemekitError as error:
        raise InvalidValue("This order cannot be kept.", [*error.problems, *check_order(order)[1]]) from error


def _of_batches(row: Record) -> Record:
    """By id of each of its batches that are still to be made: which need its kit "breaks", and what is "short"."""
    at = service()
    breaks: dict[int, list[str]] = {}
    short: dict[int, list[str]] = {}
    for batch in row["batches"]:
        if batch["state"] in ("sketched", "promised"):
            whole = at.batches.get(at.shelf_id, batch["id"])
            short[batch["id"]] = [line["name"] for line in whole["short"]]
            with suppress(ThemekitError):  # what cannot be worked out is told by the batch itself
                breaks[batch["id"]] = list(work_of(at.store, at.shelf_id, whole, at.today()).breaks)
    return {"breaks": breaks, "short": short}


def _all() -> list[Record]:
    """Every order, those due first before the others, orders without a day last."""
    at = service()
    _, total = at.orders.list(at.shelf_id, 1, 1)
    rows = [row for page in range(1, -(-total // 200) + 1) for row in at.orders.list(at.shelf_id, page, 200)[0]]
    today = at.today().isoformat()
    return sorted(
        rows, key=lambda row: (row["due"] is None, (row["due"] or "") < today, row["due"] or "", row["id"])
    )
