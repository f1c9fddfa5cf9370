"""A batch in the API's form, with what it needs and holds of the shelf."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from catalog.convert import UNITS_KEPT, moment
from catalog.rows import Record
from catalog.stock_tables import OUTCOMES, STOCKED, BatchTable, LineTable
from catalog.tables import TABLES

#: Stock that must be there before a batch is promised; the rest can be bought in any shop.
STRICT = ("jars",)


def batch_row(session: Session, batch: BatchTable) -> Record:
    """One batch; `stock` tells what it needs and holds, `short` what a later count took from it."""
    choice = batch.choice
    lines = _lines(session, batch)
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
        "jars": _named(session, batch, "jars", choice["jars"]),
        "cutters": _named(session, batch, "cutters", choice["cutters"]),
        "serve": choice["serve"],
        "needs": batch.needs or {},
        "settings": batch.settings or {},
        "note": batch.note,
        "stock": lines,
        "short": [x for x in lines if promised and x["of"] in STRICT and x["held"] < x["needed"]],
        "outcome": {word: getattr(batch, word.replace(" ", "_")) for word in OUTCOMES},
        "created_at": moment(batch.created_at),
        "promised_at": moment(batch.promised_at),
        "packed_at": moment(batch.packed_at),
    }


def ended_as(counts: Mapping[str, int]) -> str:
    """The state that an end amounts to: the one word, or the commonest, sold before others."""
    if not any(counts.values()):
        return "packed"
    return max(counts, key=lambda word: counts[word])


def _lines(session: Session, batch: BatchTable) -> list[Record]:
    here = (LineTable.shelf_id == batch.shelf_id, LineTable.batch_id == batch.id)
    found = list(session.scalars(select(LineTable).where(*here).order_by(LineTable.id)))
    told = []
    for resource, column in STOCKED.items():
        ids = [getattr(line, column) for line in found if getattr(line, column) is not None]
        names = _names(session, batch.shelf_id, resource, ids)
        scale, of = UNITS_KEPT[resource]
        told += [
            {
                "of": resource,
                "item": getattr(line, column),
                "name": names[getattr(line, column)],
                "needed": line.needed / scale,
                "held": line.held / scale,
                "unit": "g" if of else ("piece" if resource == "boxes" else "of its unit"),
            }
            for line in found
            if getattr(line, column) is not None
        ]
    return told


def _named(session: Session, batch: BatchTable, resource: str, rows: list[Record]) -> list[Record]:
    names = _names(session, batch.shelf_id, resource, [row["id"] for row in rows])
    return [{**row, "name": names.get(row["id"], "")} for row in rows]


def _names(session: Session, shelf_id: int, resource: str, ids: list[int]) -> dict[int, str]:
    table = TABLES[resource]
    if not ids:
        return {}
    rows = session.execute(select(table.id, table.name).where(table.shelf_id == shelf_id, table.id.in_(ids)))
    return {row.id: row.name for row in rows}
