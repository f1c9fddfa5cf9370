"""The ledger's own rules: every change of what is on hand is a move, and what is on hand is their sum.

Functions work within the caller's transaction, which holds the shelf, so that changes of
one shelf come one after another on either database.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.changes import promised_problems
from catalog.convert import ON_HAND, on_hand_of
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

    Where less is on hand than was promised, what the latest batches hold shrinks.
    """
    stocked = [(resource, row, before) for resource, row, before in changed if isinstance(row, Stocked)]
    with session.no_autoflush:
        for resource, row, _ in stocked:
            _make_room(session, resource, row)
    session.flush()
    for resource, row, before in stocked:
        amount = (on_hand_of(resource, row) or 0) - (before or 0)
        if amount:
            row.uncertain = 0
            session.add(new_move(resource, row, "counted", amount, cause))
            shelf.stock_revision += 1
    session.flush()


def new_move(resource: str, row: Stocked, kind: str, amount: int, cause: str, **more: Any) -> MoveTable:
    """A line of the ledger, not yet kept; it does not change the row."""
    lot = row.lot if isinstance(row, JarTable) else None
    return MoveTable(
        shelf_id=row.shelf_id,
        kind=kind,
        amount=amount,
        uncertain=more.pop("uncertain", 0),
        at=now(),
        cause=cause,
        lot=more.pop("lot", lot),
        **{STOCKED[resource]: row.id},
        **more,
    )


def move(session: Session, shelf: ShelfTable, resource: str, row: Stocked, made: MoveTable) -> None:
    """Carry out a move: the row's amount follows it. It may not fall below nothing; check first."""
    on_hand = (on_hand_of(resource, row) or 0) + made.amount
    setattr(row, ON_HAND[resource], on_hand)
    with session.no_autoflush:
        _make_room(session, resource, row)
    row.version += 1
    shelf.stock_revision += 1
    session.add(made)
    session.flush()


def _make_room(session: Session, resource: str, row: Stocked) -> None:
    """Let go of what can no longer be held, from the batch that is due last."""
    excess = row.reserved - (on_hand_of(resource, row) or 0) if row.reserved else 0
    if excess <= 0:
        return
    held = (
        select(LineTable, BatchTable.due)
        .join(BatchTable, BatchTable.id == LineTable.batch_id)
        .where(getattr(LineTable, STOCKED[resource]) == row.id, LineTable.held > 0)
        .order_by(LineTable.batch_id.desc())
    )
    found = [(line, due) for line, due in session.execute(held)]
    # The latest day first, and what has no day before all.
    for line, _ in sorted(found, key=lambda pair: (pair[1] is not None, -(pair[1].toordinal() if pair[1] else 0))):
        freed = min(excess, line.held)
        line.held -= freed
        row.reserved -= freed
        excess -= freed


def check_unpromised(resource: str, rows: Sequence[Owned]) -> None:
    """Raise `InvalidValue` when some of a row is promised to a batch."""
    raise_all(promised_problems(resource, rows), "This cannot be taken off the shelf.")


def sum_of_moves(session: Session, resource: str, row: Stocked) -> int:
    """What the ledger says is on hand."""
    column = getattr(MoveTable, STOCKED[resource])
    here = (MoveTable.shelf_id == row.shelf_id, column == row.id)
    return int(session.scalar(select(func.sum(MoveTable.amount)).where(*here)) or 0)


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
