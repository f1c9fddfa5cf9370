"""Orders: who wants what by when, what was paid, and what a customer had before."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, redirect, request

from api.pages.base import local, show, told
from api.service import service
from catalog.errors import StaleVersion
from catalog.orders import FIELDS
from catalog.rows import Record
from themekit.errors import ThemekitError

blp = Blueprint("orders_page", __name__, url_prefix="/orders")


@blp.route("", methods=["GET", "POST"])
def orders() -> Response:
    """All orders by day, and a form for a new one."""
    at = service()
    if request.method == "POST":
        given = _given()
        try:
            row = at.orders.create(at.shelf_id, given)
        except ThemekitError as error:
            return show("orders.html", 422, error=told(error), rows=_all(), given=given)
        return _to(f"/orders/{row['id']}")
    return show("orders.html", rows=_all(), given={})


@blp.route("/<int:id>", methods=["GET", "POST"])
def order(id: int) -> Response:
    """One order; a form that someone else overtook is kept in sight and overwrites nothing."""
    at = service()
    row = at.orders.get(at.shelf_id, id)
    if request.method == "GET":
        return show("order.html", row=row, given=row)
    given = _given()
    try:
        at.orders.change(at.shelf_id, id, given, request.form.get("version", type=int))
    except ThemekitError as error:
        stale = isinstance(error, StaleVersion)
        return show("order.html", 422, error=told(error), row=row, given=given, stale=stale)
    return _to(f"/orders/{id}")


@blp.post("/<int:id>/erase")
def erase(id: int) -> Response:
    """Take an order off the list and erase what is personal in it."""
    at = service()
    try:
        at.orders.remove(at.shelf_id, id, request.form.get("version", type=int))
    except ThemekitError as error:
        row = at.orders.get(at.shelf_id, id)
        return show("order.html", 422, error=told(error), row=row, given=row)
    return _to("/orders")


def _given() -> Record:
    """What was typed; an empty field is unknown."""
    form: Record = {name: request.form.get(name, "").strip() or None for name in FIELDS if name != "paid"}
    # Money may be typed as the shelf's place writes it.
    form |= {name: local().read_money(form[name]) for name in ("total", "deposit") if form[name]}
    return form | {"paid": bool(request.form.get("paid"))}


def _all() -> list[Record]:
    """Every order, those due first before the others, orders without a day last."""
    at = service()
    _, total = at.orders.list(at.shelf_id, 1, 1)
    rows = [row for page in range(1, -(-total // 200) + 1) for row in at.orders.list(at.shelf_id, page, 200)[0]]
    today = at.today().isoformat()
    return sorted(
        rows, key=lambda row: (row["due"] is None, (row["due"] or "") < today, row["due"] or "", row["id"])
    )


def _to(address: str) -> Response:
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]
