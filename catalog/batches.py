"""Batches: sketched, promised against stock, packed, sold or dropped, each in one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import bindparam, case, delete, func, select
from sqlalchemy.orm import Session

from catalog.batch_fields import CHOICE, check_batch, flattened
from catalog.batch_rows import Line, as_entered, batch_row, ended_as
from catalog.errors import NotFound
from catalog.fields import Checks
from catalog.holding import Basis, Needed, Short, hold, release, take, untake
from catalog.ledger import now, top_up
from catalog.lookup import LARGEST_ID, check_fresh, find_shelf, possible
from catalog.once import once
from catalog.rows import Record
from catalog.stock_tables import OUTCOMES, STATES, STOCKED, BatchTable, LineTable, OrderTable
from catalog.store import MOST_PER_PAGE, Rows, Store
from catalog.tables import ShelfTable
from catalog.taste import Judge, Parts, note_end
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import Gel, Shelf

# What a batch takes from the shelf follows from these.
_MADE_OF = (*CHOICE, "kits", "settings")
# Built once, since every step of a batch asks it.
_BATCH = select(BatchTable).where(
    BatchTable.shelf_id == bindparam("shelf"),
    BatchTable.id == bindparam("batch"),
    BatchTable.archived_at.is_(None),
)


class Batches:
    """The batches of the shelves in one store.

    `needed` works out what a batch takes from the shelf; `staples` are the tints that
    every kitchen has. With `judge` a batch's end is learned from.
    """

    def __init__(
        self, store: Store, needed: Needed, staples: tuple[Gel, ...] = (), judge: Judge | None = None
    ) -> None:
        self._store, self._needed, self._staples, self._judge = store, needed, staples, judge

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
        self._put(session, shelf, batch, clean)
        self._put_lines(session, shelf, batch, clean, value)
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
            self._put(session, shelf, batch, clean)
            if made_anew:
                self._put_lines(session, shelf, batch, clean, value)
            if held:
                hold(session, shelf, batch, self._basis(session, shelf))
                top_up(session, shelf)
            return batch_row(session, batch)

    def promise(self, shelf_id: int, id: int, key: str | None = None, version: int | None = None) -> Record:
        """Hold what the batch needs. Promising again changes nothing.

        Raises `Short`, `InvalidValue`, or `StaleVersion` when a version is given and the batch
        was changed since, as the other steps do.
        """

        def make(session: Session, shelf: ShelfTable) -> Record:
            batch = find_batch(session, shelf_id, id)
            if batch.state == "promised":
                return batch_row(session, batch)
            check_fresh(batch, version)
            _check_state(batch, "sketched", "be promised")
            return batch_row(session, batch, self.promise_within(session, shelf, batch))

        return self._once(shelf_id, key, ["promise", id], make)

    def promise_all(self, shelf_id: int, ids: Sequence[int]) -> Rows:
        """Promise several batches, all or none of them.

        Raises `Short` with what any of them lacks, `NotFound` or `InvalidValue`; then nothing changes.
        """
        with self._store.writing(shelf_id) as (session, shelf):
            batches = [find_batch(session, shelf_id, id) for id in ids]
            self._promise_each(session, shelf, batches)
            return [batch_row(session, batch) for batch in batches]

    def create_promised(self, shelf_id: int, bodies: Sequence[Any], key: str | None = None) -> Record:
        """Sketch and promise several new batches in one transaction, all or none: {"items": rows}.

        Raises `InvalidValue` with the problems of all ("batches.1.kits", from 0), or `Short`
        with what any of them lacks; then nothing was made.
        """
        self._store.read(shelf_id)  # kept, so that the transaction is short

        def make(session: Session, shelf: ShelfTable) -> Record:
            made, problems = [], []
            for number, body in enumerate(bodies):
                try:
                    made.append(self.create_within(session, shelf, body)["id"])
                except InvalidValue as error:
                    problems += [replace(p, field=f"batches.{number}.{p.field}") for p in error.problems]
            raise_all(problems, "These batches cannot be made.")
            batches = [find_batch(session, shelf_id, id) for id in made]
            try:
                self._promise_each(session, shelf, batches)
            except Short as error:
                # With the transaction undone there will be no batches of these ids.
                short = [{name: value for name, value in one.items() if name != "batch"} for one in error.short]
                raise Short(error.message, error.problems, short) from error
            return {"items": [batch_row(session, batch) for batch in batches]}

        return self._once(shelf_id, key, ["create promised", list(bodies)], make)

    def _promise_each(self, session: Session, shelf: ShelfTable, batches: Sequence[BatchTable]) -> None:
        """Promise batches; raises `Short` with what any of them lacks."""
        lacking: list[Short] = []
        for batch in batches:
            if batch.state != "promised":
                _check_state(batch, "sketched", "be promised")
                try:
                    self.promise_within(session, shelf, batch)
                except Short as error:
                    lacking.append(error)
        if lacking:
            message = "There is not enough on the shelf for all of these batches; none was promised."
            raise Short(message, [p for e in lacking for p in e.problems], [s for e in lacking for s in e.short])

    def promise_within(self, session: Session, shelf: ShelfTable, batch: BatchTable) -> Sequence[Line]:
        """Promise a sketch within a transaction that holds the shelf, and return what it holds.

        Raises `Short` or `InvalidValue`.
        """
        if batch.lines_revision != shelf.revision:
            value = self._store.within(session, shelf)
            clean, problems = check_batch({}, value, self._staples, as_entered(batch))
            raise_all(problems, "The batch cannot be promised as it is.")
            self._put(session, shelf, batch, clean)
            self._put_lines(session, shelf, batch, clean, value)
        lines = hold(session, shelf, batch, self._basis(session, shelf))
        batch.state, batch.promised_at = "promised", now()
        batch.version += 1
        session.flush()
        return lines

    def pack(self, shelf_id: int, id: int, key: str | None = None, version: int | None = None) -> Record:
        """Take what was held off the shelf, as moves. Packing again changes nothing.

        A sketch is promised first.
        """

        def make(session: Session, shelf: ShelfTable) -> Record:
            batch = find_batch(session, shelf_id, id)
            if batch.state in ("sketched", "promised", "dropped"):
                check_fresh(batch, version)
            if batch.state == "sketched":
                self.promise_within(session, shelf, batch)
            if batch.state == "promised":
                take(session, shelf, batch, self._basis(session, shelf))
                batch.state, batch.packed_at = "packed", now()
                batch.version += 1
                session.flush()
            elif batch.state == "dropped":
                _check_state(batch, "promised", "be packed")
            return batch_row(session, batch)

        return self._once(shelf_id, key, ["pack", id], make)

    def unpack(self, shelf_id: int, id: int, version: int | None = None) -> Record:
        """Undo the packing: every move is written back, and the stock is held again."""
        with self._store.writing(shelf_id) as (session, shelf):
            batch = find_batch(session, shelf_id, id)
            if batch.state != "promised":
                check_fresh(batch, version)
                _check_state(batch, "packed", "be unpacked")
                untake(session, shelf, batch)
                hold(session, shelf, batch, self._basis(session, shelf))
                batch.state, batch.packed_at = "promised", None
                batch.version += 1
                session.flush()
            return batch_row(session, batch)

    def drop(self, shelf_id: int, id: int, key: str | None = None, version: int | None = None) -> Record:
        """Give the batch up and let its stock go. Dropping again changes nothing."""

        def make(session: Session, shelf: ShelfTable) -> Record:
            batch = find_batch(session, shelf_id, id)
            if batch.state != "dropped":
                check_fresh(batch, version)
                if batch.state not in ("sketched", "promised"):
                    _check_state(batch, "promised", "be dropped")
                release(session, batch)
                batch.state = "dropped"
                batch.version += 1
                shelf.stock_revision += 1
                session.flush()
                top_up(session, shelf)
            return batch_row(session, batch)

        return self._once(shelf_id, key, ["drop", id], make)

    def end(self, shelf_id: int, id: int, body: Any, version: int | None = None) -> Record:
        """Say what became of the packed kits: {"sold": 10, "left over": 2}; what is not named stays packed."""
        # Worked out before, so that the transaction is short.
        judged = self._judged(shelf_id, id)
        with self._store.writing(shelf_id) as (session, _):
            batch = find_batch(session, shelf_id, id)
            if batch.state not in ("packed", *OUTCOMES):
                _check_state(batch, "packed", "have an end")
            counts = _outcome(body, batch.kits)
            if counts != {word: getattr(batch, word.replace(" ", "_")) for word in OUTCOMES}:
                check_fresh(batch, version)
                for word, count in counts.items():
                    setattr(batch, word.replace(" ", "_"), count)
                batch.state = ended_as(counts)
                batch.version += 1
                session.flush()
                if judged is not None:
                    note_end(session, batch, judged)
            return batch_row(session, batch)

    def _judged(self, shelf_id: int, id: int) -> tuple[str, Parts] | None:
        """The theme's name and the parts of a batch's idea, if ends are learned from."""
        if self._judge is None:
            return None
        with self._store.reading() as session:
            record = as_entered(find_batch(session, shelf_id, id))
        return self._judge(record, self._store.read(shelf_id))

    def remove(self, shelf_id: int, id: int, version: int | None = None) -> None:
        """Take a batch off the list; what it holds is let go. What was packed stays in the ledger."""
        with self._store.writing(shelf_id) as (session, shelf):
            batch = find_batch(session, shelf_id, id)
            check_fresh(batch, version)
            release(session, batch)
            batch.archived_at = now()
            batch.version += 1
            shelf.stock_revision += 1
            session.flush()
            top_up(session, shelf)

    def _basis(self, session: Session, shelf: ShelfTable) -> Basis:
        return Basis(lambda: self._store.within(session, shelf), self._needed)

    def _once(
        self, shelf_id: int, key: str | None, question: Any, make: Callable[[Session, ShelfTable], Record]
    ) -> Record:
        with self._store.writing(shelf_id) as (session, shelf):
            return once(session, shelf_id, key, question, lambda: make(session, shelf))

    def _put(self, session: Session, shelf: ShelfTable, batch: BatchTable, clean: Record) -> None:
        """Put a clean record into the row."""
        batch.name, batch.theme, batch.kits = clean["name"], clean["theme"], clean["kits"]
        batch.due = clean["due"] and date.fromisoformat(clean["due"])
        batch.order_id, batch.note = clean["order"], clean["note"]
        batch.needs, batch.settings = clean["needs"], clean["settings"]
        batch.choice = {part: clean[part] for part in CHOICE}
        batch.version += 1
        session.flush()

    def _put_lines(
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


def _check_state(batch: BatchTable, wanted: str, what: str) -> None:
    if batch.state != wanted:
        problem = Problem("state", batch.state, wanted, f"Only a {wanted} batch can {what}.")
        raise InvalidValue(f"This batch is {batch.state}.", [problem])


def _outcome(body: Any, kits: int) -> dict[str, int]:
    checks = Checks()
    if not isinstance(body, Mapping):
        checks.wrong("outcome", body, "an object with " + ", ".join(OUTCOMES), "Send an object.")
        body = {}
    named = {str(name).replace("_", " "): value for name, value in body.items()}
    counts = dict.fromkeys(OUTCOMES, 0)
    for name, value in named.items():
        if name not in OUTCOMES:
            checks.wrong(name[:60], value, "one of " + ", ".join(OUTCOMES), "Leave it out.")
        else:
            counts[name] = checks.whole(name, value, least=0, most=kits) or 0
    if sum(counts.values()) > kits:
        checks.wrong("outcome", sum(counts.values()), f"at most the batch's {kits} kits", "Correct the counts.")
    raise_all(checks.problems, "This end cannot be kept.")
    return counts


__all__ = ["Batches", "Needed", "Short", "find_batch"]
