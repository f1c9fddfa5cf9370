"""Holding stock for a batch, letting it go, taking it and putting it back, within one transaction.

Jars must be there in full before a batch is promised. Of gels, boxes and supplies, which
any shop sells, what is there is held and the rest is to be bought.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

from sqlalchemy import Table, bindparam, select, update
from sqlalchemy.orm import Session

from catalog.batch_rows import STRICT, Line, as_entered, lines_of
from catalog.convert import ON_HAND, UNITS_KEPT, on_hand_of
from catalog.ledger import items_of, last_use, new_move
from catalog.rows import Record
from catalog.stock_tables import STOCKED, BatchTable, LineTable, MoveTable
from catalog.tables import STOCKED_TABLES, JarTable, ShelfTable, Stocked
from themekit.errors import Problem, ThemekitError
from themekit.suggest.stand_in import stand_ins
from themekit.values import Jar, Shelf

#: What a batch needs of each stocked item, ("jars", 3) → g, pieces or of its unit; None where unknown.
Needed = Callable[[Record, Shelf], Mapping[tuple[str, int], float | None]]
SHORT = "There is not enough on the shelf for this batch; nothing was promised."
# Statements on the tables themselves, built once: a promise should cost little more than what it writes.
_RESERVE = {
    resource: update(cast(Table, table.__table__))
    .where(table.shelf_id == bindparam("shelf"), table.id == bindparam("item"))
    .values(reserved=table.reserved + bindparam("more"), version=table.version + 1)
    for resource, table in STOCKED_TABLES.items()
}
_HOLD = (
    update(cast(Table, LineTable.__table__))
    .where(LineTable.id == bindparam("line"))
    .values(held=bindparam("held_now"))
)
#: How many jars are offered instead of a short one, and how many are tried for that.
MOST_INSTEAD, MOST_TRIED = 3, 12


@dataclass(frozen=True, slots=True)
class Basis:
    """What it takes to say what would do instead: the shelf, read when wanted, and what a batch needs."""

    value: Callable[[], Shelf]
    needed: Needed


class Short(ThemekitError, ValueError):
    """There is too little of a jar for a batch; `short` lists each with what would do instead."""

    code = "short_stock"

    def __init__(self, message: str, problems: Sequence[Problem], short: Sequence[dict[str, Any]]) -> None:
        super().__init__(message, problems)
        self.short = list(short)


def hold(session: Session, shelf: ShelfTable, batch: BatchTable, basis: Basis) -> list[Line]:
    """Hold what the batch's lines need, of which nothing is held yet, and return them.

    Raises `Short` when a jar has too little; then nothing is held.
    """
    lines = lines_of(session, batch)
    _check_enough(session, batch, lines, basis)
    lines = [replace(line, held=min(line.needed or 0, line.free or 0)) for line in lines]
    session.flush()
    connection = session.connection()
    for resource, reserve in _RESERVE.items():
        more = [{"shelf": shelf.id, "item": x.item, "more": x.held} for x in lines if x.of == resource and x.held]
        if more:
            connection.execute(reserve, more)
    held = [{"line": line.id, "held_now": line.held} for line in lines if line.held]
    if held:
        connection.execute(_HOLD, held)
    for row in session:
        # What this session read of them before is no longer so.
        if isinstance(row, Stocked | LineTable):
            session.expire(row)
    shelf.stock_revision += 1
    return lines


def release(session: Session, batch: BatchTable) -> None:
    """Let go of all that the batch holds."""
    for _, row, line in _rows(session, batch):
        if line.held:
            row.reserved -= line.held
            row.version += 1
            line.held = 0
    session.flush()


def take(session: Session, shelf: ShelfTable, batch: BatchTable, basis: Basis) -> None:
    """Write the moves of packing. Raises `Short` when a later count left too little of a jar."""
    _check_enough(session, batch, lines_of(session, batch), basis)
    for resource, row, line in _rows(session, batch):
        used = min(line.needed or 0, line.held + _free(resource, row))
        row.reserved -= line.held
        line.held = 0
        if not used:
            continue
        made = new_move(resource, row, "used", -used, f"batch {batch.id} packed", batch_id=batch.id)
        setattr(row, ON_HAND[resource], (on_hand_of(resource, row) or 0) - used)
        row.version += 1
        if isinstance(row, JarTable):
            row.used_on = max(made.at.date(), row.used_on or made.at.date())
        session.add(made)
    shelf.stock_revision += 1
    session.flush()


def untake(session: Session, shelf: ShelfTable, batch: BatchTable) -> None:
    """Write back every move of the batch's packing that was not undone yet."""
    here = (MoveTable.shelf_id == batch.shelf_id, MoveTable.batch_id == batch.id)
    moves = list(session.scalars(select(MoveTable).where(*here).order_by(MoveTable.id)))
    undone = {m.undoes for m in moves}
    standing = [m for m in moves if m.kind == "used" and m.id not in undone]
    items = items_of(session, batch.shelf_id, standing)
    for old in standing:
        resource, row = items[old.id]
        cause = f"batch {batch.id} unpacked"
        session.add(
            new_move(resource, row, "undone", -old.amount, cause, undoes=old.id, batch_id=batch.id, lot=old.lot)
        )
        setattr(row, ON_HAND[resource], (on_hand_of(resource, row) or 0) - old.amount)
        row.version += 1
    session.flush()
    for _, row in items.values():
        if isinstance(row, JarTable):
            row.used_on = last_use(session, row)
    shelf.stock_revision += 1
    session.flush()


def _rows(session: Session, batch: BatchTable) -> list[tuple[str, Stocked, LineTable]]:
    """The batch's lines with their items, by resource and id.

    The shelf is held by whoever writes, so nobody changes them meanwhile.
    """
    here = (LineTable.shelf_id == batch.shelf_id, LineTable.batch_id == batch.id)
    lines = {line.id: line for line in session.scalars(select(LineTable).where(*here))}
    items = items_of(session, batch.shelf_id, list(lines.values()))
    found = [(*items[id], line) for id, line in lines.items()]
    order = list(STOCKED)
    return sorted(found, key=lambda one: (order.index(one[0]), one[1].id))


def _free(resource: str, row: Stocked) -> int:
    """What is on hand and promised to nobody; what is not known counts as nothing."""
    on_hand = on_hand_of(resource, row)
    return 0 if on_hand is None else on_hand - row.reserved


def _check_enough(session: Session, batch: BatchTable, lines: Sequence[Line], basis: Basis) -> None:
    """Raise `Short` when what is held and what is free of a jar are less than is needed."""
    lacking = [
        line
        for line in lines
        if line.of in STRICT and (line.needed is None or line.held + (line.free or 0) < line.needed)
    ]
    if lacking:
        raise _short(session, batch, lacking, basis)


def _short(session: Session, batch: BatchTable, lacking: Sequence[Line], basis: Basis) -> Short:
    scale = UNITS_KEPT["jars"][0]
    value = basis.value()
    here = (JarTable.shelf_id == batch.shelf_id, JarTable.archived_at.is_(None))
    # The session's own amounts, since `value` may be of before this transaction's first steps.
    free = {row.id: _free("jars", row) for row in session.scalars(select(JarTable).where(*here))}
    short, problems = [], []
    for line in lacking:
        need = None if line.needed is None else line.needed / scale
        known = line.free is not None
        have = None if line.free is None else (line.free + line.held) / scale
        instead = [
            {"jar": jar.id, "name": jar.name, "have_g": free[jar.id] / scale, "delta_e": round(far, 1)}
            for jar, far in _instead(batch, line.item, value, basis.needed, free)
        ]
        told = {"jar": line.item, "name": line.name, "need_g": need, "have_g": have, "instead": instead}
        short.append(told | {"batch": batch.id})
        problems.append(Problem(f"jars.{line.item}", have, _wanted(need), _hint(line.name, need, known, instead)))
    return Short(SHORT, problems, short)


def _instead(
    batch: BatchTable, id: int, value: Shelf, needed: Needed, free: Mapping[int, int]
) -> list[tuple[Jar, float]]:
    """The jars nearest in look of which the batch, with this one swapped, finds enough."""
    jars = {jar.id: jar for jar in value.jars}
    chosen = {one["id"] for one in batch.choice["jars"]}
    others = [jar for jar in value.jars if jar.id not in chosen and free.get(jar.id, 0) > 0]
    found: list[tuple[Jar, float]] = []
    record = as_entered(batch)
    for jar, far in stand_ins(jars[id], others, MOST_TRIED) if id in jars else ():
        swapped = [{**one, "id": jar.id} if one["id"] == id else one for one in record["jars"]]
        need = needed({**record, "jars": swapped}, value).get(("jars", jar.id))
        if need is not None and round(need * UNITS_KEPT["jars"][0]) <= free[jar.id]:
            found.append((jar, far))
        if len(found) == MOST_INSTEAD:
            break
    return found


def _wanted(need: float | None) -> str:
    return (
        "a jar whose weight per spoon is known"
        if need is None
        else f"at least {need:{'.3g' if need < 100 else '.0f'}} g that nobody else has"
    )


def _hint(name: str, need: float | None, known: bool, instead: Sequence[dict[str, Any]]) -> str:
    if need is None:
        return f"Weigh a level tablespoon of {name} and enter its density."
    if not known:
        return f"Count {name} first; by eye is enough."
    if instead:
        return f"Swap {name} for {' or '.join(one['name'] for one in instead)}, make fewer kits, or buy more."
    return f"Make fewer kits, or buy more {name}."
