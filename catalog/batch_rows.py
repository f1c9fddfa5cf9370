"""A batch in the API's form, with what it needs and holds of the shelf."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from catalog.convert import UNITS_KEPT, moment
from catalog.rows import Record
from catalog.stock_tables import OUTCOMES, STOCKED, BatchTable, LineTable
from catalog.tables import STOCKED_TABLES, TABLES

#: Stock that must be there before a batch is promised; the rest can be bought in any shop.
STRICT = ("jars",)


def batch_row(session: Session, batch: BatchTable) -> Record:
    """One batch; `stock` tells what it needs (None where unknown) and holds, `short` what a later count took."""
    choice = batch.choice
    lines = _lines(session, batch)
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


def _lines(session: Session, batch: BatchTable) -> list[Record]:
    named = [STOCKED_TABLES[resource].name for resource in STOCKED]
    wanted = select(LineTable, *named)
    for resource, column in STOCKED.items():
        table = STOCKED_TABLES[resource]
        its = (table.shelf_id == LineTable.shelf_id, table.id == getattr(LineTable, column))
        wanted = wanted.outerjoin(table, and_(*its))
    wanted = wanted.where(LineTable.shelf_id == batch.shelf_id, LineTable.batch_id == batch.id)
    told = []
    for line, *names in session.execute(wanted.order_by(LineTable.id)):
        resource, name = next(one for one in zip(STOCKED, names, strict=True) if one[1] is not None)
        scale, of = UNITS_KEPT[resource]
        told.append(
            {
                "of": resource,
                "item": getattr(line, STOCKED[resource]),
                "name": name,
                "needed": None if line.needed is None else line.needed / scale,
                "held": line.held / scale,
                "unit": "g" if of else ("piece" if resource == "boxes" else "of its unit"),
            }
        )
    order = list(STOCKED)
    return sorted(told, key=lambda one: order.index(one["of"]))


def _named(
    session: Session, batch: BatchTable, resource: str, rows: list[Record], known: Mapping[int, str]
) -> list[Record]:
    names = {**known, **_names(session, batch.shelf_id, resource, {row["id"] for row in rows} - set(known))}
    return [{**row, "name": names.get(row["id"], "")} for row in rows]


def _names(session: Session, shelf_id: int, resource: str, ids: set[int]) -> dict[int, str]:
    table = TABLES[resource]
    if not ids:
        return {}
    rows = session.execute(select(table.id, table.name).where(table.shelf_id == shelf_id, table.id.in_(ids)))
    return {row.id: row.name for row in rows}
