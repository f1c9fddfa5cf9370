"""Sketches: batches as they are listed, made from an idea and changed; what they need is worked out here."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import bindparam, case, delete, func, select
from sqlalchemy.orm import Session

from catalog.batch_fields import CHOICE, check_batch, flattened
from catalog.batch_rows import as_entered, batch_row
from catalog.errors import NotFound
from catalog.fields import Checks
from catalog.holding import Basis, Needed, hold, release
from catalog.ledger import now, top_up
from catalog.lookup import LARGEST_ID, check_fresh, find_shelf, possible
from catalog.once import once
from catalog.rows import Record
from catalog.stock_tables import STATES, STOCKED, BatchTable, LineTable, OrderTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from catalog.tables import ShelfTable
from themekit.errors import Problem, raise_all
from themekit.values import Gel, Shelf

# What a batch takes from the shelf follows from these.
_MADE_OF = (*CHOICE, "kits", "settings")
# Built once, since every step of a batch asks it.
_BATCH = select(BatchTable).where(
    BatchTable.shelf_id == bindparam("shelf"),
    BatchTable.id == bindparam("batch"),
    BatchTable.archived_at.is_(None),
)


class Sketches:
    """The batches of the shelves in one store, as far as they are made and changed.

    `needed` works out what a batch takes from the shelf; `staples` are the tints that
    every kitchen has.
    """

    def __init__(self, store: Store, needed: Needed, staples: tuple[Gel, ...] = ()) -> None:
        self._store, self._needed, self._staples = store, needed, staples

    def list(
        self,
        shelf_id: int,
        page: int = 1,
        page_size: int = 50,
        state: str | None = None,
        order: int | None = None,
        today: date | None = None,
    ) -> tuple[Rows, int]:
        """One page of batches by id, and how many there are; of one state or order if named.

        With `today` those due from that day on come first, the next first; then those without
        a day, the newest first; then those gone by, the last first.
        """
        checks = Checks()
        checks.whole("page", page, least=1, most=LARGEST_ID)
        checks.whole("page_size", page_size, least=1, most=MOST_PER_PAGE)
        state = checks.choice("state", state, STATES)
        order = checks.whole("order", order, least=1, most=LARGEST_ID)
        raise_all(checks.problems, "This page cannot be given.")
        with self._store.reading() as session:
            find_shelf(session, shelf_id)
            here = [BatchTable.shelf_id == shelf_id, BatchTable.archived_at.is_(None)]
            here += [BatchTable.state == state] if state else []
            here += [BatchTable.order_id == order] if order else []
            total = session.scalar(select(func.count()).select_from(BatchTable).where(*here)) or 0
            start = (page - 1) * page_size
            if start >= total:
                return [], total
            sorts = [BatchTable.id] if today is None else _by_day(today)
            chosen = select(BatchTable).where(*here).order_by(*sorts).limit(page_size).offset(start)
            return [batch_row(session, batch) for batch in session.scalars(chosen)], total

    def get(self, shelf_id: int, id: int) -> Record:
        """One batch. Raises `NotFound`, also for another shelf's."""
        with self._store.reading() as session:
            return batch_row(session, find_batch(session, shelf_id, id))

    def create(self, shelf_id: int, body: Any, key: str | None = None) -> Record:
        """Sketch a batch from an idea; nothing is held yet. Raises `InvalidValue` with every problem."""
        self._store.read(shelf_id)  # kept, so that the transaction is short
        with self._store.writing(shelf_id) as (session, shelf):
            return once(session, shelf_id, key, ["batch", body], lambda: self.create_within(session, shelf, body))

    def create_within(self, session: Session, shelf: ShelfTable, body: Any) -> Record:
        """`create` within a transaction that holds the shelf."""
        value = self._store.within(session, shelf)
        clean, problems = check_batch(body, value, self._staples)
        raise_all(
            [*problems, *_order_problems(session, shelf.id, clean.get("order"))], "This batch cannot be made."
        )
        batch = BatchTable(shelf_id=shelf.id, version=0, state="sketched", created_at=now(), kits=1)
        batch.sold = batch.left_over = batch.marked_down = batch.spoiled = 0
        session.add(batch)
        self.put(session, shelf, batch, clean)
        self.put_lines(session, shelf, batch, clean, value)
        return batch_row(session, batch)

    def change(self, shelf_id: int, id: int, changes: Any, version: int | None = None) -> Record:
        """Change what is named: another count, a swapped jar. What is promised is checked and held anew.

        A change of name, day, order or note alone holds nothing anew. Raises `Short` when the
        stock does not suffice, `StaleVersion`, `NotFound` or `InvalidValue`; then nothing changes.
        """
        self._store.read(shelf_id)
        with self._store.writing(shelf_id) as (session, shelf):
            batch = find_batch(session, shelf_id, id)
            check_fresh(batch, version)
            value = self._store.within(session, shelf)
            old = as_entered(batch)
            clean, problems = check_batch(changes, value, self._staples, old)
            named = {*changes, *flattened(changes)} if isinstance(changes, Mapping) else {"batch"}
            made_anew = batch.state in ("sketched", "promised") and not named.isdisjoint(_MADE_OF)
            if not made_anew:
                # What it was made of may be gone by now.
                problems = [p for p in problems if p.field.split(".")[0] in {str(n)[:60] for n in named}]
            problems += _order_problems(session, shelf_id, clean.get("order"))
            raise_all(problems, "The batch cannot be changed.")
            if batch.state not in ("sketched", "promised"):
                _only_words(batch, clean, named)
            if not made_anew:
                clean |= {name: old[name] for name in _MADE_OF}
            held = batch.state == "promised" and made_anew
            if held:
                release(session, batch)
            self.put(session, shelf, batch, clean)
            if made_anew:
                self.put_lines(session, shelf, batch, clean, value)
            if held:
                hold(session, shelf, batch, self.basis(session, shelf))
                top_up(session, shelf)
            return batch_row(session, batch)

    def basis(self, session: Session, shelf: ShelfTable) -> Basis:
        return Basis(lambda: self._store.within(session, shelf), self._needed)

    def put(self, session: Session, shelf: ShelfTable, batch: BatchTable, clean: Record) -> None:
        """Put a clean record into the row."""
        batch.name, batch.theme, batch.kits = clean["name"], clean["theme"], clean["kits"]
        batch.due = clean["due"] and date.fromisoformat(clean["due"])
        batch.order_id, batch.note = clean["order"], clean["note"]
        batch.needs, batch.settings = clean["needs"], clean["settings"]
        batch.choice = {part: clean[part] for part in CHOICE}
        batch.version += 1
        session.flush()

    def put_lines(
        self, session: Session, shelf: ShelfTable, batch: BatchTable, clean: Record, value: Shelf
    ) -> None:
        """Work out anew what the batch needs."""
        session.execute(delete(LineTable).where(LineTable.shelf_id == shelf.id, LineTable.batch_id == batch.id))
        for (resource, id), amount in self._needed(clean, value).items():
            scale = 1 if resource == "boxes" else 1_000
            line = LineTable(shelf_id=shelf.id, batch_id=batch.id, held=0, **{STOCKED[resource]: id})
            # An amount that cannot be worked out is told when the batch is to be promised.
            line.needed = None if amount is None else round(amount * scale)
            session.add(line)
        batch.lines_revision = shelf.revision
        session.flush()


def _by_day(today: date) -> list[Any]:
    due = BatchTable.due
    group = case((due >= today, 0), (due.is_(None), 1), else_=2)
    return [group, case((due >= today, due), else_=None), due.desc(), BatchTable.id.desc()]


def find_batch(session: Session, shelf_id: int, id: int) -> BatchTable:
    """A batch of that shelf; raises `NotFound`."""
    batch = session.scalar(_BATCH, {"shelf": shelf_id, "batch": id}) if possible(id) else None
    if batch is None:
        hint = "List the batches to see what there is."
        raise NotFound(
            "There is no such batch.", [Problem("id", id, "the id of one of this shelf's batches", hint)]
        )
    return batch


def _only_words(batch: BatchTable, clean: Record, named: set[str]) -> None:
    """Refuse to change what was packed already."""
    old = as_entered(batch)
    changed = [name for name in _MADE_OF if name in named and clean[name] != old[name]]
    hint = "Unpack the batch first, or sketch a new one."
    raise_all(
        [Problem(name, None, f"as it was {batch.state}", hint) for name in changed],
        "What was packed already cannot be changed.",
    )


def _order_problems(session: Session, shelf_id: int, order: int | None) -> list[Problem]:
    if order is None:
        return []
    here = (OrderTable.shelf_id == shelf_id, OrderTable.id == order, OrderTable.archived_at.is_(None))
    if session.scalar(select(OrderTable.id).where(*here)):
        return []
    return [Problem("order", order, "the id of one of this shelf's orders", "List the orders, or leave it out.")]
