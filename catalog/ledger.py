"""The ledger's own rules: every change of what is on hand is a move, and what is on hand is their sum.

Functions work within the caller's transaction, which holds the shelf, so that changes of
one shelf come one after another on either database.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.changes import promised_problems
from catalog.convert import ON_HAND, on_hand_of, utc
from catalog.stock_tables import STOCKED, BatchTable, LineTable, MoveTable
from catalog.tables import STOCKED_TABLES, JarTable, Owned, ShelfTable, Stocked
from themekit.errors import Problem, raise_all


def now() -> datetime:
    """The present moment; the ledger's order is that of its ids, so a clock set back does no harm."""
    return datetime.now(UTC)


def settle(
    session: Session, shelf: ShelfTable, changed: Iterable[tuple[str, Owned, int | None]], cause: str
) -> None:
    """Write amounts that were entered into rows as counted moves; the third of each is what stood before.

    Where less is on hand than was promised, what the latest batches hold shrinks; what came
    in goes first to the batches that were promised more than they hold.
    """
    stocked = [(resource, row, before) for resource, row, before in changed if isinstance(row, Stocked)]
    with session.no_autoflush:
        for resource, row, _ in stocked:
            _make_room(session, resource, row)
    session.flush()
    more = False
    for resource, row, before in stocked:
        after = on_hand_of(resource, row)
        # From unknown to nothing, or back, is a change too.
        if after != before:
            amount = (after or 0) - (before or 0)
            row.uncertain = 0
            session.add(new_move(resource, row, "counted", amount, cause, from_unknown=before is None))
            shelf.stock_revision += 1
            more = more or amount > 0
    session.flush()
    if more:
        top_up(session, shelf)


def new_move(resource: str, row: Stocked, kind: str, amount: int, cause: str, **more: Any) -> MoveTable:
    """A line of the ledger, not yet kept; it does not change the row."""
    lot = row.lot if isinstance(row, JarTable) else None
    return MoveTable(
        shelf_id=row.shelf_id,
        kind=kind,
        amount=amount,
        uncertain=more.pop("uncertain", 0),
        from_unknown=more.pop("from_unknown", False),
        at=now(),
        cause=cause,
        lot=more.pop("lot", lot),
        **{STOCKED[resource]: row.id},
        **more,
    )


def move(session: Session, shelf: ShelfTable, resource: str, row: Stocked, made: MoveTable) -> None:
    """Carry out a move: the row's amount follows it. It may not fall below nothing; check first."""
    before = on_hand_of(resource, row)
    made.from_unknown = before is None
    setattr(row, ON_HAND[resource], (before or 0) + made.amount)
    with session.no_autoflush:
        _make_room(session, resource, row)
    row.version += 1
    shelf.stock_revision += 1
    session.add(made)
    session.flush()
    if made.amount > 0:
        top_up(session, shelf)


def _make_room(session: Session, resource: str, row: Stocked) -> None:
    """Let go of what can no longer be held: first of batches without a day, then from the latest day."""
    excess = row.reserved - (on_hand_of(resource, row) or 0) if row.reserved else 0
    if excess <= 0:
        return
    held = (
        select(LineTable, BatchTable)
        .join(BatchTable, BatchTable.id == LineTable.batch_id)
        .where(getattr(LineTable, STOCKED[resource]) == row.id, LineTable.held > 0)
        .order_by(BatchTable.due.desc().nulls_first(), BatchTable.id.desc())
    )
    for line, batch in session.execute(held):
        freed = min(excess, line.held)
        if freed:
            line.held -= freed
            row.reserved -= freed
            batch.version += 1
            excess -= freed


def top_up(session: Session, shelf: ShelfTable) -> None:
    """Hold what is free for promised batches that hold less than they need, the earliest day first."""
    lacking = (
        select(LineTable, BatchTable)
        .join(BatchTable, BatchTable.id == LineTable.batch_id)
        .where(
            LineTable.shelf_id == shelf.id,
            LineTable.held < LineTable.needed,
            BatchTable.state == "promised",
            BatchTable.archived_at.is_(None),
        )
        .order_by(BatchTable.due.asc().nulls_last(), BatchTable.id)
    )
    found = session.execute(lacking).all()
    items = items_of(session, shelf.id, [line for line, _ in found])
    for line, batch in found:
        resource, row = items[line.id]
        more = min((line.needed or 0) - line.held, (on_hand_of(resource, row) or 0) - row.reserved)
        if more > 0:
            line.held += more
            row.reserved += more
            row.version += 1
            batch.version += 1
            shelf.stock_revision += 1
    session.flush()


def items_of(session: Session, shelf_id: int, lines: Sequence[Any]) -> dict[int, tuple[str, Stocked]]:
    """The resource and row, archived or not, that each line of a batch or of the ledger is of, by line."""
    found: dict[int, tuple[str, Stocked]] = {}
    for resource, column in STOCKED.items():
        by_line = {line.id: getattr(line, column) for line in lines if getattr(line, column) is not None}
        if not by_line:
            continue
        table = STOCKED_TABLES[resource]
        wanted = select(table).where(table.shelf_id == shelf_id, table.id.in_(set(by_line.values())))
        rows = {row.id: row for row in session.scalars(wanted)}
        found |= {line: (resource, rows[id]) for line, id in by_line.items()}
    return found


def last_use(session: Session, row: JarTable) -> date | None:
    """The day, in UTC, of the last use of a jar that was not undone."""
    undone = select(MoveTable.undoes).where(MoveTable.shelf_id == row.shelf_id, MoveTable.undoes.is_not(None))
    last = select(func.max(MoveTable.at)).where(
        MoveTable.shelf_id == row.shelf_id,
        MoveTable.jar_id == row.id,
        MoveTable.kind == "used",
        MoveTable.id.not_in(undone),
    )
    at = session.scalar(last)
    return None if at is None else utc(at).date()


def check_unpromised(resource: str, rows: Sequence[Owned]) -> None:
    """Raise `InvalidValue` when some of a row is promised to a batch."""
    raise_all(promised_problems(resource, rows), "This cannot be taken off the shelf.")


def unbalanced(session: Session, shelf_id: int) -> list[Problem]:
    """Items whose amount on hand is not the sum of their moves, or whose promise not that of its lines."""
    problems = []
    for resource, column in STOCKED.items():
        sums = _sums(session, shelf_id, MoveTable, column, MoveTable.amount)
        holds = _sums(session, shelf_id, LineTable, column, LineTable.held)
        for row in session.scalars(
            select(STOCKED_TABLES[resource]).where(STOCKED_TABLES[resource].shelf_id == shelf_id)
        ):
            on_hand, reserved = on_hand_of(resource, row) or 0, row.reserved
            for what, kept, summed in (
                ("on hand", on_hand, sums.get(row.id, 0)),
                ("promised", reserved, holds.get(row.id, 0)),
            ):
                if kept != summed:
                    problems.append(Problem(f"{resource}.{row.id}", kept, str(summed), f"{what}: {row.name}"))
    return problems


def _sums(session: Session, shelf_id: int, table: Any, column: str, amount: Any) -> dict[int, int]:
    item = getattr(table, column)
    found = session.execute(
        select(item, func.sum(amount)).where(table.shelf_id == shelf_id, item.is_not(None)).group_by(item)
    )
    return {id: int(total) for id, total in found}
