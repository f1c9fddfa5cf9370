"""An order and its batch in one step: both are kept, or neither."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from catalog.batches import Batches, find_batch
from catalog.once import once
from catalog.orders import add_letter, check_order, new_order
from catalog.rows import Record
from catalog.stock_tables import OrderTable
from catalog.store import Store
from catalog.tables import ShelfTable
from themekit.errors import InvalidValue, raise_all


def order_with_batch(
    store: Store,
    batches: Batches,
    shelf_id: int,
    order: Mapping[str, Any] | None,
    batch: Mapping[str, Any],
    promised: bool = False,
    key: str | None = None,
    letter: str | None = None,
) -> Record:
    """Keep a new order (none with None) with a batch for it, sketched or promised, in one transaction.

    A `letter` goes to the order that is there already, where the batch names one.

    Gives {"order_id", "batch_id"}, for a repeated key those of the first time. Raises
    `InvalidValue` with the problems of both (the order's as "order.due"), or `Short`; then
    nothing was made.
    """
    store.read(shelf_id)  # kept, so that the transaction is short

    def make(session: Session, shelf: ShelfTable) -> Record:
        problems, body, order_id = [], dict(batch), None
        if order is not None:
            clean, wrong = check_order(order)
            problems += [replace(p, field=f"order.{p.field}") for p in wrong]
            if not wrong:
                order_id = new_order(session, shelf_id, clean).id
                body["order"] = order_id
        try:
            made = batches.create_within(session, shelf, body)
        except InvalidValue as error:
            problems += error.problems
        if order is None and letter and not problems and made["order"] is not None:
            problems += add_letter(session.get_one(OrderTable, made["order"]), letter)
        raise_all(problems, "This cannot be kept.")
        if promised:
            batches.promise_within(session, shelf, find_batch(session, shelf_id, made["id"]))
        return {"order_id": order_id if order is not None else made["order"], "batch_id": made["id"]}

    with store.writing(shelf_id) as (session, shelf):
        question = ["order with batch", order, batch, promised, *([letter] if letter else [])]
        return once(session, shelf_id, key, question, lambda: make(session, shelf))
