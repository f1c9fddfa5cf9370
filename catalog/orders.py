"""Orders: what a customer wants by a day, with what was paid. Personal data are few and erasable."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import Session

from catalog.batch_rows import batch_row
from catalog.colours import MILLION
from catalog.errors import NotFound
from catalog.fields import Checks, in_lines, name_key
from catalog.ledger import now
from catalog.lookup import LARGEST_ID, check_fresh, find_shelf, possible
from catalog.once import forget, once
from catalog.rows import Record
from catalog.stock_tables import BatchTable, LineTable, MoveTable, OrderTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from catalog.tables import JarTable
from themekit.errors import Problem, raise_all

FIELDS = ("customer", "contact", "due", "time", "total", "deposit", "paid", "note", "said", "letter", "needs")
_SET_BY_STORE = ("id", "version", "balance", "batches", "before")
# Of these a wrong value can be repeated in a problem.
_PLAIN = ("due", "time", "total", "deposit", "paid", "page", "page_size")


class Orders:
    """The orders of the shelves in one store."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def of_words(self, shelf_id: int, said: str) -> int | None:
        """The id of the first order that was made from exactly these words of a customer, None without one."""
        said = in_lines(said)  # as `check_order` keeps it
        with self._store.reading() as session:
            its = (OrderTable.shelf_id == shelf_id, OrderTable.archived_at.is_(None), OrderTable.said == said)
            return session.scalar(select(OrderTable.id).where(*its).order_by(OrderTable.id).limit(1))

    def list(
        self, shelf_id: int, page: int = 1, page_size: int = 50, customer: str | None = None
    ) -> tuple[Rows, int]:
        """One page of orders by id, and how many there are; of one customer if named."""
        checks = Checks()
        checks.whole("page", page, least=1, most=LARGEST_ID)
        checks.whole("page_size", page_size, least=1, most=MOST_PER_PAGE)
        customer = checks.text("customer", customer)
        raise_all(_untold(checks.problems), "This page cannot be given.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = [OrderTable.shelf_id == shelf_id, OrderTable.archived_at.is_(None)]
            here += [OrderTable.customer_key == name_key(customer)] if customer else []
            total = session.scalar(select(func.count()).select_from(OrderTable).where(*here)) or 0
            start = (page - 1) * page_size
            if start >= total:
                return [], total
            chosen = select(OrderTable).where(*here).order_by(OrderTable.id).limit(page_size).offset(start)
            return [_row(session, order) for order in session.scalars(chosen)], total

    def get(self, shelf_id: int, id: int) -> Record:
        """One order with its batches and what the customer had before. Raises `NotFound`."""
        with self._store.reading() as session:
            return _row(session, _find(session, shelf_id, id))

    def asked(self, shelf_id: int, id: int) -> Record:
        """The needs that go with an order; none where there is no such order."""
        its = (OrderTable.shelf_id == shelf_id, OrderTable.id == id, OrderTable.archived_at.is_(None))
        with self._store.reading() as session:
            return (session.scalar(select(OrderTable.needs).where(*its)) if possible(id) else None) or {}

    def briefly(self, shelf_id: int, ids: Collection[int]) -> dict[int, Record]:
        """Customer, day, time and needs of some orders by id; those that are not there are left out."""
        its = (OrderTable.shelf_id == shelf_id, OrderTable.id.in_(ids), OrderTable.archived_at.is_(None))
        with self._store.reading() as session:
            rows = [(order.id, _as_entered(order)) for order in session.scalars(select(OrderTable).where(*its))]
        return {id: {name: row[name] for name in ("customer", "due", "time", "needs")} for id, row in rows}

    def create(self, shelf_id: int, body: Any, key: str | None = None) -> Record:
        """Keep a new order. Raises `InvalidValue` with every problem.

        For a key that is repeated the order is given as it is by now: a second copy of
        personal words would not be erased with it.
        """
        with self._store.writing(shelf_id) as (session, _):

            def make() -> Record:
                clean, problems = check_order(body)
                raise_all(problems, "This order cannot be kept.")
                return {"order_id": new_order(session, shelf_id, clean).id}

            kept = once(session, shelf_id, key, ["order", body], make)
            return _row(session, session.get_one(OrderTable, kept["order_id"]))

    def change(
        self, shelf_id: int, id: int, changes: Any, version: int | None = None, move: bool = False
    ) -> Record:
        """Change the fields that are named. Raises `StaleVersion`, `NotFound` or `InvalidValue`.

        With `move` its batches that are still to be made go along to another day.
        """
        with self._store.writing(shelf_id) as (session, _):
            order = _find(session, shelf_id, id)
            check_fresh(order, version)
            clean, problems = check_order(changes, _as_entered(order))
            raise_all(problems, "The order cannot be changed.")
            old = _as_entered(order)
            if clean != old:
                _put(order, clean)
                if move and clean["due"] not in (None, old["due"]):
                    for batch in session.scalars(_open_batches(order)):
                        batch.due = order.due
                        batch.version += 1
                if clean["needs"] != old["needs"]:
                    _loosen(session, order, old["needs"], clean["needs"])
                session.flush()
            return _row(session, order)

    def remove(self, shelf_id: int, id: int, version: int | None = None) -> None:
        """Take an order off the list and erase name, contact, note, words, letter and needs; its batches stay."""
        with self._store.writing(shelf_id) as (session, _):
            order = _find(session, shelf_id, id)
            check_fresh(order, version)
            _erase(session, shelf_id, [order])
            order.archived_at = now()

    def erase(self, shelf_id: int, customer: str) -> int:
        """Erase what is personal from all orders of a customer; returns how many there were.

        Raises `InvalidValue` for what can be no customer's name.
        """
        checks = Checks()
        name = checks.text("customer", customer, required=True)
        raise_all(_untold(checks.problems), "Nobody can be erased by this name.")
        with self._store.writing(shelf_id) as (session, _):
            found = session.scalars(
                select(OrderTable).where(
                    OrderTable.shelf_id == shelf_id, OrderTable.customer_key == name_key(name or "")
                )
            ).all()
            _erase(session, shelf_id, found)
            return len(found)

    def recall(self, shelf_id: int, lot: str) -> Record:
        """Every jar, batch and order that a maker's lot went into.

        `jars` are those that were used or still carry the lot, `promised` the batches that
        are to be packed from one that carries it now.
        """
        checks = Checks()
        lot = checks.text("lot", lot, required=True) or ""
        raise_all(checks.problems, "No lot can be found by this.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            undone = select(MoveTable.undoes).where(MoveTable.shelf_id == shelf_id, MoveTable.undoes.is_not(None))
            used = select(MoveTable).where(
                MoveTable.shelf_id == shelf_id,
                MoveTable.lot == lot,
                MoveTable.kind == "used",
                MoveTable.batch_id.is_not(None),
                MoveTable.id.not_in(undone),
            )
            moves = list(session.scalars(used.order_by(MoveTable.id)))
            ids = sorted({m.batch_id for m in moves if m.batch_id is not None})
            batches = session.scalars(select(BatchTable).where(BatchTable.id.in_(ids)).order_by(BatchTable.id))
            rows = [batch_row(session, batch) for batch in batches]
            here = (JarTable.shelf_id == shelf_id, JarTable.lot == lot)
            carrying = list(session.scalars(select(JarTable.id).where(*here)))
            planned = select(LineTable.batch_id).where(
                LineTable.shelf_id == shelf_id, LineTable.jar_id.in_(carrying)
            )
            promised = session.scalars(
                select(BatchTable)
                .where(
                    BatchTable.id.in_(planned), BatchTable.state == "promised", BatchTable.archived_at.is_(None)
                )
                .order_by(BatchTable.id)
            )
            orders = sorted({row["order"] for row in rows if row["order"] is not None})
            found = session.scalars(select(OrderTable).where(OrderTable.id.in_(orders)).order_by(OrderTable.id))
            return {
                "lot": lot,
                "jars": sorted({m.jar_id for m in moves if m.jar_id is not None} | set(carrying)),
                "batches": [_briefly(row) for row in rows],
                "promised": [_briefly(batch_row(session, batch)) for batch in promised],
                "orders": [
                    {"id": o.id, "customer": o.customer, "contact": o.contact, "due": o.due and o.due.isoformat()}
                    for o in found
                ],
            }


def new_order(session: Session, shelf_id: int, clean: Record) -> OrderTable:
    """A new row of what `check_order` found clean, within the caller's transaction."""
    order = OrderTable(shelf_id=shelf_id, version=0)
    _put(order, clean)
    session.add(order)
    session.flush()
    return order


def add_letter(order: OrderTable, letter: str) -> list[Problem]:
    """Keep a further letter with an order, below those it has; gives what is wrong, and then changes nothing."""
    old = _as_entered(order)
    letter = in_lines(letter)
    if letter in (old["letter"] or ""):
        return []
    clean, problems = check_order({"letter": "\n\n".join(one for one in (old["letter"], letter) if one)}, old)
    if not problems:
        _put(order, clean)
    return problems


def check_order(body: Any, old: Record | None = None) -> tuple[Record, list[Problem]]:
    """The clean form of an order, with `old` under it for a change, and every problem."""
    checks = Checks()
    if not isinstance(body, Mapping):
        checks.wrong("order", body, "an object with " + ", ".join(FIELDS), "Send an object.")
        return {}, _untold(checks.problems)
    for name in body:
        if name in FIELDS:
            continue
        near = get_close_matches(str(name)[:60], FIELDS, n=1)
        hint = f"Did you mean {near[0]}?" if near else "Leave it out."
        if name in _SET_BY_STORE:
            hint = "It is worked out; leave it out."
        path = str(name)[:60].encode("utf-8", "replace").decode()
        checks.wrong(path, body[name], "one of the fields " + ", ".join(FIELDS), hint)
    given = {**(old or {}), **body}
    clean: Record = {
        "customer": checks.text("customer", given.get("customer")),
        "contact": checks.text("contact", given.get("contact"), longest=200),
        "due": checks.day("due", given.get("due")),
        "time": checks.text("time", given.get("time"), longest=5),
        "total": checks.money("total", given.get("total")),
        "deposit": checks.money("deposit", given.get("deposit")),
        "paid": bool(checks.yes_no("paid", given.get("paid"))),
        "note": checks.text("note", given.get("note"), longest=2000, lines=True),
        "said": checks.text("said", given.get("said"), longest=4000, lines=True),
        "letter": checks.text("letter", given.get("letter"), longest=20_000, lines=True),
        "needs": _needs(checks, given.get("needs")),
    }
    if clean["time"] and not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", clean["time"]):
        checks.wrong("time", clean["time"], "a time of day as HH:MM, such as 15:30")
    if clean["total"] is not None and clean["deposit"] is not None and clean["deposit"] > clean["total"]:
        checks.wrong(
            "deposit", clean["deposit"], f"at most the total, {clean['total']}", "Correct one of the two."
        )
    return clean, _untold(checks.problems)


def _needs(checks: Checks, needs: Any) -> Record:
    """What was asked for; whoever takes it from a person checks each need."""
    if needs is not None and not isinstance(needs, Mapping):
        checks.wrong("needs", None, "an object, as POST /api/v1/ideas takes it", "Send an object.")
        needs = None
    return dict(needs or {})


def loosened(own: Mapping[str, Any], old: Mapping[str, Any], new: Mapping[str, Any]) -> Record:
    """A batch's own needs without those that it had of its order, and that the order has no more."""
    left = dict(own)
    for name, before in old.items():
        after = new.get(name)
        if isinstance(before, list) and isinstance(left.get(name), list):
            gone = [one for one in before if one not in (after or [])]
            left[name] = [one for one in left[name] if one not in gone]
        elif left.get(name) == before and after != before:
            left[name] = None
        if left.get(name) in (None, []):
            left.pop(name, None)
    return left


def _open_batches(order: OrderTable) -> Select[BatchTable]:
    """Its batches that are still to be made."""
    its = (BatchTable.shelf_id == order.shelf_id, BatchTable.order_id == order.id)
    open_ = (BatchTable.archived_at.is_(None), BatchTable.state.in_(("sketched", "promised")))
    return select(BatchTable).where(*its, *open_)


def _loosen(session: Session, order: OrderTable, old: Record, new: Record) -> None:
    """Take what is asked for no more from the needs of the order's batches that are still to be made."""
    for batch in session.scalars(_open_batches(order)):
        needs = loosened(batch.needs or {}, old, new)
        if needs != (batch.needs or {}):
            batch.needs = needs
            batch.version += 1


def _untold(problems: Sequence[Problem]) -> list[Problem]:
    """The problems without words that a person wrote: problems are shown, kept in logs and sent on."""
    told = []
    for one in problems:
        if isinstance(one.got, str) and one.field not in _PLAIN:
            one = replace(one, got=f"text of {len(one.got)} characters")
        told.append(one)
    return told


def _erase(session: Session, shelf_id: int, orders: Sequence[OrderTable]) -> None:
    for order in orders:
        order.customer = order.customer_key = order.contact = order.note = order.said = order.letter = None
        order.needs = None
        order.version += 1
    forget(session, shelf_id, "order_id", [order.id for order in orders])


def _put(order: OrderTable, clean: Record) -> None:
    order.customer, order.contact = clean["customer"], clean["contact"]
    order.customer_key = clean["customer"] and name_key(clean["customer"])
    order.due = clean["due"] and date.fromisoformat(clean["due"])
    order.time, order.paid, order.note, order.said = clean["time"], clean["paid"], clean["note"], clean["said"]
    order.letter, order.needs = clean["letter"], clean["needs"] or None
    order.total_micro, order.deposit_micro = _micro(clean["total"]), _micro(clean["deposit"])
    order.version += 1


def _micro(amount: float | None) -> int | None:
    return None if amount is None else round(Decimal(str(amount)) * MILLION)


def _as_entered(order: OrderTable) -> Record:
    total, deposit = order.total_micro, order.deposit_micro
    return {
        "customer": order.customer,
        "contact": order.contact,
        "due": order.due and order.due.isoformat(),
        "time": order.time,
        "total": None if total is None else total / MILLION,
        "deposit": None if deposit is None else deposit / MILLION,
        "paid": order.paid,
        "note": order.note,
        "said": order.said,
        "letter": order.letter,
        "needs": order.needs or {},
    }


def _row(session: Session, order: OrderTable) -> Record:
    """An order in the API's form; `balance` is what is still to be paid, None where no total is known."""
    entered = _as_entered(order)
    balance = None
    if order.total_micro is not None:
        balance = 0.0 if order.paid else (order.total_micro - (order.deposit_micro or 0)) / MILLION
    here = (BatchTable.shelf_id == order.shelf_id, BatchTable.archived_at.is_(None))
    own = session.scalars(select(BatchTable).where(*here, BatchTable.order_id == order.id).order_by(BatchTable.id))
    return {
        "id": order.id,
        "version": order.version,
        **entered,
        "balance": balance,
        "batches": [_briefly(batch_row(session, batch)) for batch in own],
        "before": _before(session, order),
    }


def _before(session: Session, order: OrderTable) -> Rows:
    """Batches that the customer had or is to have by earlier orders, newest first, to repeat or to avoid."""
    if order.customer_key is None:
        return []
    earlier = select(OrderTable.id).where(
        OrderTable.shelf_id == order.shelf_id,
        OrderTable.customer_key == order.customer_key,
        OrderTable.id < order.id,
    )
    found = session.scalars(
        select(BatchTable)
        .where(
            BatchTable.shelf_id == order.shelf_id,
            BatchTable.order_id.in_(earlier),
            BatchTable.state.not_in(("sketched", "dropped")),
            or_(BatchTable.archived_at.is_(None), BatchTable.packed_at.is_not(None)),
        )
        .order_by(BatchTable.id.desc())
        .limit(20)
    )
    return [_briefly(batch_row(session, batch)) for batch in found]


def _briefly(row: Record) -> Record:
    kept = ("id", "name", "theme", "kits", "state", "due", "order", "packed_at")
    return {name: row[name] for name in kept} | {"jars": [jar["name"] for jar in row["jars"]]}


def _find(session: Session, shelf_id: int, id: int) -> OrderTable:
    here = (OrderTable.shelf_id == shelf_id, OrderTable.id == id, OrderTable.archived_at.is_(None))
    order = session.scalar(select(OrderTable).where(*here)) if possible(id) else None
    if order is None:
        hint = "List the orders to see what there is."
        raise NotFound(
            "There is no such order.", [Problem("id", id, "the id of one of this shelf's orders", hint)]
        )
    return order
