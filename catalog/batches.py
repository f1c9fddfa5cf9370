"""Batches: promised against stock, packed, sold or dropped, each in one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from catalog.batch_fields import check_batch
from catalog.batch_rows import Line, as_entered, batch_row, ended_as
from catalog.fields import Checks
from catalog.holding import Needed, Short, hold, release, take, untake
from catalog.ledger import now, top_up
from catalog.lookup import check_fresh
from catalog.once import once
from catalog.rows import Record
from catalog.sketches import Sketches, find_batch
from catalog.stock_tables import OUTCOMES, BatchTable
from catalog.store import Rows, Store
from catalog.tables import ShelfTable
from catalog.taste import Judge, Parts, note_end
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import Gel


class Batches(Sketches):
    """The batches of the shelves in one store, with every step that they go through.

    With `judge` a batch's end is learned from.
    """

    def __init__(
        self, store: Store, needed: Needed, staples: tuple[Gel, ...] = (), judge: Judge | None = None
    ) -> None:
        super().__init__(store, needed, staples)
        self._judge = judge

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
            self.put(session, shelf, batch, clean)
            self.put_lines(session, shelf, batch, clean, value)
        lines = hold(session, shelf, batch, self.basis(session, shelf))
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
                take(session, shelf, batch, self.basis(session, shelf))
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
                hold(session, shelf, batch, self.basis(session, shelf))
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

    def _once(
        self, shelf_id: int, key: str | None, question: Any, make: Callable[[Session, ShelfTable], Record]
    ) -> Record:
        with self._store.writing(shelf_id) as (session, shelf):
            return once(session, shelf_id, key, question, lambda: make(session, shelf))


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
