"""A batch in the API's form, with what it needs and holds of the shelf."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from sqlalchemy import Select, and_, bindparam, select
from sqlalchemy.orm import Session

from catalog.convert import ON_HAND, UNITS_KEPT, moment
from catalog.rows import Record
from catalog.stock_tables import OUTCOMES, STOCKED, BatchTable, LineTable
from catalog.tables import STOCKED_TABLES, TABLES

#: Stock that must be there before a batch is promised; the rest can be bought in any shop.
STRICT = ("jars",)


@dataclass(frozen=True, slots=True)
class Line:
    """What a batch needs (None where unknown) and holds of one item, in its whole unit, and what nobody holds.

    `free` is None where the amount on hand is not known.
    """

    id: int
    of: str
    item: int
    name: str
    needed: int | None
    held: int
    free: int | None


def batch_row(session: Session, batch: BatchTable, held: Sequence[Line] | None = None) -> Record:
    """One batch; `stock` tells what it needs (None where unknown) and holds, `short` what a later count took.

    `held` are its lines where the caller has them.
    """
    choice = batch.choice
    lines = [_told(line) for line in (lines_of(session, batch) if held is None else held)]
    names = {x["item"]: x["name"] for x in lines if x["of"] == "jars"}
    promised = batch.state == "promised"
    return {
        "id": batch.id,
        "version": batch.version,
        "name": batch.name,
        "theme": batch.theme,
        "kits": batch.kits,
        "state": batch.state,
        "due": batch.due and batch.due.isoformat(),
        "order": batch.order_id,
        "tints": choice["tints"],
        "jars": _named(session, batch, "jars", choice["jars"], names),
        "cutters": _named(session, batch, "cutters", choice["cutters"], {}),
        "serve": choice["serve"],
        "needs": batch.needs or {},
        "settings": batch.settings or {},
        "note": batch.note,
        "stock": lines,
        "short": [x for x in lines if promised and x["of"] in STRICT and x["held"] < (x["needed"] or 0)],
        "outcome": {word: getattr(batch, word.replace(" ", "_")) for word in OUTCOMES},
        "created_at": moment(batch.created_at),
        "promised_at": moment(batch.promised_at),
        "packed_at": moment(batch.packed_at),
    }


def as_entered(batch: BatchTable) -> Record:
    """What a person can enter of a batch, in its clean form."""
    return {
        **batch.choice,
        "name": batch.name,
        "theme": batch.theme,
        "kits": batch.kits,
        "due": batch.due and batch.due.isoformat(),
        "order": batch.order_id,
        "needs": batch.needs or {},
        "settings": batch.settings or {},
        "note": batch.note,
    }


def ended_as(counts: Mapping[str, int]) -> str:
    """The state that an end amounts to: the one word, or the commonest, sold before others."""
    if not any(counts.values()):
        return "packed"
    return max(counts, key=lambda word: counts[word])


def _lines() -> Select[Any]:
    wanted = cast(Select[Any], select(LineTable.id, LineTable.needed, LineTable.held))
    for resource, column in STOCKED.items():
        table = STOCKED_TABLES[resource]
        its = (table.shelf_id == LineTable.shelf_id, table.id == getattr(LineTable, column))
        columns = (table.id, table.name, getattr(table, ON_HAND[resource]), table.reserved)
        wanted = wanted.add_columns(*columns).outerjoin(table, and_(*its))
    here = (LineTable.shelf_id == bindparam("shelf"), LineTable.batch_id == bindparam("batch"))
    return wanted.where(*here).order_by(LineTable.id)


# Built once, since building it costs more than asking it.
_LINES = _lines()


def lines_of(session: Session, batch: BatchTable) -> list[Line]:
    """The batch's lines: its jars, gels, boxes and supplies in turn, each as they were added."""
    found: dict[str, list[Line]] = {resource: [] for resource in STOCKED}
    for id, needed, held, *items in session.execute(_LINES, {"shelf": batch.shelf_id, "batch": batch.id}):
        for number, resource in enumerate(STOCKED):
            item, name, on_hand, reserved = items[4 * number : 4 * number + 4]
            if item is not None:
                free = None if on_hand is None else on_hand - reserved
                found[resource].append(Line(id, resource, item, name, needed, held, free))
    return [line for lines in found.values() for line in lines]


def _told(line: Line) -> Record:
    scale, of = UNITS_KEPT[line.of]
    return {
        "of": line.of,
        "item": line.item,
        "name": line.name,
        "needed": None if line.needed is None else line.needed / scale,
        "held": line.held / scale,
        "unit": "g" if of else ("piece" if line.of == "boxes" else "of its unit"),
    }


def _named(
    session: Session, batch: BatchTable, resource: str, rows: list[Record], known: Mapping[int, str]
) -> list[Record]:
    names = {**known, **_names(session, batch.shelf_id, resource, {row["id"] for row in rows} - set(known))}
    return [{**row, "name": names.get(row["id"], "")} for row in rows]


# Built once, since building them costs more than asking them.
_NAMES = {
    resource: select(table.id, table.name).where(
        table.shelf_id == bindparam("shelf"), table.id.in_(bindparam("ids", expanding=True))
    )
    for resource, table in TABLES.items()
}


def _names(session: Session, shelf_id: int, resource: str, ids: set[int]) -> dict[int, str]:
    if not ids:
        return {}
    return {row.id: row.name for row in session.execute(_NAMES[resource], {"shelf": shelf_id, "ids": list(ids)})}
