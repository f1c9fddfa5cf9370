"""Holding stock for a batch, letting it go, taking it and putting it back, within one transaction.

Jars must be there in full before a batch is promised. Of gels, boxes and supplies, which
any shop sells, what is there is held and the rest is to be bought.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.batch_rows import STRICT
from catalog.convert import ON_HAND, UNITS_KEPT, on_hand_of
from catalog.ledger import new_move
from catalog.stock_tables import STOCKED, BatchTable, LineTable, MoveTable
from catalog.tables import STOCKED_TABLES, JarTable, ShelfTable, Stocked
from themekit.errors import Problem, ThemekitError
from themekit.suggest.stand_in import stand_ins
from themekit.values import Shelf


class Short(ThemekitError, ValueError):
    """There is too little of a jar for a batch; `short` lists each with what would do instead."""

    code = "short_stock"

    def __init__(self, message: str, problems: Sequence[Problem], short: Sequence[dict[str, Any]]) -> None:
        super().__init__(message, problems)
        self.short = list(short)


def hold(session: Session, shelf: ShelfTable, batch: BatchTable, value: Shelf) -> None:
    """Hold what the batch's lines need. Raises `Short` when a jar has too little; then nothing is held."""
    lines = _rows(session, batch)
    lacking = [
        (line, row)
        for resource, row, line in lines
        if resource in STRICT and (line.needed == 0 or _free(resource, row) < line.needed)
    ]
    if lacking:
        raise _short(batch, lacking, value)
    for resource, row, line in lines:
        line.held = min(line.needed, _free(resource, row))
        row.reserved += line.held
        row.version += 1
    shelf.stock_revision += 1
    session.flush()


def release(session: Session, batch: BatchTable) -> None:
    """Let go of all that the batch holds."""
    for _, row, line in _rows(session, batch):
        if line.held:
            row.reserved -= line.held
            row.version += 1
            line.held = 0
    session.flush()


def take(session: Session, shelf: ShelfTable, batch: BatchTable, value: Shelf) -> None:
    """Write the moves of packing. Raises `Short` when a later count left too little of a jar."""
    lines = _rows(session, batch)
    lacking = [
        (line, row)
        for resource, row, line in lines
        if resource in STRICT and line.held + _free(resource, row) < line.needed
    ]
    if lacking:
        raise _short(batch, lacking, value)
    for resource, row, line in lines:
        used = min(line.needed, line.held + _free(resource, row))
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
    by_item = {(resource, row.id): row for resource, row, _ in _rows(session, batch)}
    for old in moves:
        if old.kind != "used" or old.id in undone:
            continue
        resource, id = next((r, getattr(old, c)) for r, c in STOCKED.items() if getattr(old, c) is not None)
        row = by_item[(resource, id)]
        cause = f"batch {batch.id} unpacked"
        session.add(
            new_move(resource, row, "undone", -old.amount, cause, undoes=old.id, batch_id=batch.id, lot=old.lot)
        )
        setattr(row, ON_HAND[resource], (on_hand_of(resource, row) or 0) - old.amount)
        row.version += 1
    shelf.stock_revision += 1
    session.flush()


def _rows(session: Session, batch: BatchTable) -> list[tuple[str, Stocked, LineTable]]:
    """The batch's lines with their items, by resource and id, so that two batches lock in one order."""
    here = (LineTable.shelf_id == batch.shelf_id, LineTable.batch_id == batch.id)
    lines = list(session.scalars(select(LineTable).where(*here)))
    found: list[tuple[str, Stocked, LineTable]] = []
    for resource, column in STOCKED.items():
        by_id = {getattr(line, column): line for line in lines if getattr(line, column) is not None}
        if not by_id:
            continue
        table = STOCKED_TABLES[resource]
        wanted = select(table).where(table.shelf_id == batch.shelf_id, table.id.in_(by_id))
        rows = session.scalars(wanted.order_by(table.id).with_for_update())
        found += [(resource, row, by_id[row.id]) for row in rows]
    return found


def _free(resource: str, row: Stocked) -> int:
    """What is on hand and promised to nobody; what is not known counts as nothing."""
    on_hand = on_hand_of(resource, row)
    return 0 if on_hand is None else on_hand - row.reserved


def _short(batch: BatchTable, lacking: Sequence[tuple[LineTable, Stocked]], value: Shelf) -> Short:
    scale = UNITS_KEPT["jars"][0]
    jars = {jar.id: jar for jar in value.jars}
    chosen = {one["id"] for one in batch.choice["jars"]}
    short, problems = [], []
    for line, row in lacking:
        need = line.needed / scale if line.needed else None
        known = on_hand_of("jars", row) is not None
        have = (_free("jars", row) + line.held) / scale if known else None
        enough = [j for j in value.jars if j.id not in chosen and need and (j.on_hand_g or 0) >= need]
        instead = [
            {"jar": jar.id, "name": jar.name, "have_g": jar.on_hand_g, "delta_e": round(far, 1)}
            for jar, far in (stand_ins(jars[row.id], enough) if row.id in jars else [])
        ]
        short.append({"jar": row.id, "name": row.name, "need_g": need, "have_g": have, "instead": instead})
        problems.append(Problem(f"jars.{row.id}", have, _wanted(need), _hint(row.name, need, known, instead)))
    return Short("There is not enough on the shelf for this batch; nothing was promised.", problems, short)


def _wanted(need: float | None) -> str:
    return "a jar whose weight per spoon is known" if need is None else f"at least {need:g} g that nobody else has"


def _hint(name: str, need: float | None, known: bool, instead: Sequence[dict[str, Any]]) -> str:
    if need is None:
        return f"Weigh a level tablespoon of {name} and enter its density."
    if not known:
        return f"Count {name} first; by eye is enough."
    if instead:
        return f"Swap {name} for {' or '.join(one['name'] for one in instead)}, make fewer kits, or buy more."
    return f"Make fewer kits, or buy more {name}."
