"""Making a batch of a kit that lies on the table: for an order there is, for a new one, or for none."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date
from typing import Any

from flask import Blueprint, Response, redirect, request

from api.pages.answering import form_stands_at
from api.pages.asked import under_its_order
from api.pages.base import show, told
from api.pages.done import say
from api.pages.kit import kit_page, open_orders, worked
from api.pages.kit_address import address, laid_of
from api.service import service
from api.tables import Table, judged
from api.works import asked_for, needs_body, settings_of
from catalog import lexicon as built_in
from catalog.once import LONGEST_KEY
from catalog.ordered import order_with_batch
from catalog.rows import Record
from themekit.errors import InvalidValue, Problem, ThemekitError, raise_all
from themekit.make.days import day_plan
from themekit.make.kit import Order

blp = Blueprint("making_page", __name__)
_FILLED = "Some colours, jars or cutters were missing: what lies here now was filled in. Look, and send it again."
#: Fields of the form that are none of the kit's.
_FIELDS = (
    "key", "name", "due", "order", "customer", "contact", "promise", "back", "late", "said", "know", "dayless",
    "of", "into",
)  # fmt: skip


class TooLate(InvalidValue):
    """The day is so near that work should have begun; a form with `due` as its "late" goes on all the same."""

    def __init__(self, told: str, due: str) -> None:
        hint = "Send it once more to keep it all the same, or change the day."
        super().__init__("Nothing is kept yet: the day is very near.", [Problem("due", due, told, hint)])
        self.due = due


@blp.post("/batches")
def make() -> Response:
    """Keep a batch of a kit as a sketch, or promise it at once; a form sent twice makes one batch."""
    form, at = request.form, service()
    try:
        read = under_its_order(laid_of(form, built_in.lexicon().colour_words, _FIELDS))
        form_stands_at(address(read.laid))
        table = judged(at.store, at.shelf_id, read.laid, at.today())
    except ThemekitError as error:
        return show("plain.html", 422, heading="No batch was made", error=told(error), back="/")
    given = {name: form.get(name, "").strip() for name in (*_FIELDS, "kits", "batch")}
    laid = read.laid
    filled = () if len(laid.tints) == len(laid.jars) == 3 and laid.cuts else (_FILLED,)
    if read.told or table.told or filled:
        # A batch of other things than were asked for is never made unseen.
        return kit_page(table, replace(read, told=(*read.told, *filled)), given=given)
    try:
        if given["into"] and given["batch"]:
            return to(f"/batches/{_changed(table, given)}", "changed")
        _surely(table, given, bool(form.get("promise")))
        made = keep(
            table, given, order_of_form(given, table), bool(form.get("promise")), key_of_form(given["key"])
        )
    except ThemekitError as error:
        if isinstance(error, TooLate):
            given["late"] = error.due
        return kit_page(table, read, error=plainly(error), given=given)
    return to(f"/batches/{made['batch_id']}", "promised" if form.get("promise") else "kept")


def day_said(batch: Record, dayless: str) -> None:
    """Raise `InvalidValue` for a promise without a day, its order's among them, that was not said to be meant."""
    number = batch.get("order") or ""
    of_order = next((o["due"] for o in open_orders() if str(o["id"]) == number), None)
    if not batch["due"] and not of_order and not dayless:
        problem = Problem("due", None, "the day", "Write the day, or tick “no day yet”.")
        raise InvalidValue("Nothing was promised yet.", [problem])


def _surely(table: Table, given: Record, promised: bool) -> None:
    """Raise `InvalidValue` for what may be a slip and was not said to be meant.

    A promise without a day, and a kit that is promised or joins an order and breaks a need.
    """
    problems = []
    if promised and not given["due"] and not given["dayless"]:
        problems.append(Problem("due", None, "the day", "Write the day, or tick “no day yet”."))
    if (promised or given["order"] not in ("", "new")) and not given["know"]:
        problems += not_kept(worked(table).breaks)
    raise_all(problems, "Nothing was promised yet." if promised else "Nothing is kept yet.")


def not_kept(breaks: Sequence[str]) -> list[Problem]:
    """A problem that names what breaks which need; none where nothing does."""
    hint = "Change it, or tick “I know” and send it again."
    told = f"This kit does not keep what was asked. {' '.join(breaks)} {hint}"
    return [Problem("know", None, "", told)] if breaks else []


def keep(
    table: Table, given: Record, order: Record | None, promised: bool, key: str | None, letter: str | None = None
) -> Record:
    """Keep a kit with what a form says of it; raises `TooLate`, or as `order_with_batch` does.

    A day that is too near is told before anything is kept, until the form has it as "late".
    """
    at = service()
    number = given.get("order", "")
    _in_time(table, given, number)
    return order_with_batch(at.store, at.batches, at.shelf_id, order, _body(table, given), promised, key, letter)


def _body(table: Table, given: Record) -> Record:
    """The batch of what lies on the table."""
    number = given.get("order", "")
    return {
        "name": given.get("name") or None,
        "theme": table.laid.theme,
        "kits": whole(given.get("kits", "")),
        # As they lie on the table: icing by the gels that the needs allow, and the needs themselves.
        "tints": [{"hex": t.hex, "recipe": [asdict(dose) for dose in t.recipe]} for t in table.kit.tints],
        "jars": [{"id": t.jar.id, "share": t.share} for t in table.kit.toppings],
        "cutters": [{"id": c.cutter.id, "cookies": c.cookies} for c in table.kit.cuts],
        "serve": table.kit.serve,
        "needs": needs_body(table.needs),
        "due": given.get("due") or None,
        "order": whole(number) if number and number != "new" else None,
    }


def _changed(table: Table, given: Record) -> Any:
    """Change the batch that a kit was laid out from to what lies there now; gives its id.

    What is promised is checked and held anew in one transaction. Raises `StaleVersion` where
    it was changed since, `Short` where the stock does not suffice; then it stays as it was.
    """
    at = service()
    number, _, version = given["batch"].partition(".")
    row = at.batches.get(at.shelf_id, whole(number))
    _surely(table, {**given, "dayless": "1", "order": given["order"] or "0"}, row["state"] == "promised")
    body = _body(table, given)
    for name in ("name", "due"):
        body[name] = body[name] or row[name]
    body["order"] = whole(given["order"]) if given["order"] not in ("", "new") else row["order"]
    at.batches.change(at.shelf_id, row["id"], body, whole(version) if version.isdigit() else -1)
    return row["id"]


def _in_time(table: Table, given: Record, number: str) -> None:
    """Raise `TooLate` where the steps of the batch would be past, by the days that a batch is told."""
    at, due = service(), given.get("due") or ""
    if not due and number.isascii() and number.isdigit():
        due = next((o["due"] or "" for o in open_orders() if str(o["id"]) == number), "")
    if not due or due == given.get("late"):
        return
    settings = settings_of(at.store.shelf_record(at.shelf_id)["settings"], None)
    try:
        late = day_plan(Order(table.kit, 1, settings), date.fromisoformat(due), today=at.today()).late
    except ValueError:
        # What is wrong with the day or the kit is told by what keeps it.
        return
    if late:
        raise TooLate(late, due)


def order_of_form(given: Record, table: Table) -> Record | None:
    """The new order that a form asks for, None where it asks for none."""
    if given.get("order") != "new":
        return None
    order: Record = {name: given.get(name) or None for name in ("customer", "contact", "due", "total", "said")}
    if order["customer"] is None:
        problem = Problem("customer", None, "who the new order is for", "Write a name, or choose no order.")
        raise InvalidValue("The new order has no name.", [problem])
    return order | {"needs": asked_for(table.needs)}


def plainly(error: ThemekitError) -> ThemekitError:
    """An error as a form tells it: of a key that came before nobody but the form knows."""
    if not any(problem.field == "Idempotency-Key" for problem in error.problems):
        return error
    hint = "What it made then stands under Batches and Orders. Send it once more to make another."
    return InvalidValue("This form was sent before, with other values.", [Problem("", None, "", hint)])


def key_of_form(key: str) -> str | None:
    """A form's own key; what can be none is left out, for no person typed it."""
    return key if re.fullmatch(rf"[!-~]{{1,{LONGEST_KEY}}}", key) else None


def whole(text: str) -> Any:
    """A field's whole number, or its text where it is none."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else text


def to(address: str, done: str = "") -> Response:
    """Go to another address of the page, which says what was `done`, a word of `api.pages.done`."""
    made: Any = redirect(address, 303)
    return say(made, done) if done else made
