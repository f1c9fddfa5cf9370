"""From the first released schema to the newest, with every column of every table filled."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import JSON, Boolean, Date, DateTime, Engine, Integer, MetaData, create_engine, select

from catalog.backup import restore
from catalog.engine import database_url, open_engine, writing
from catalog.migrations import HEAD, VERSION_TABLE
from catalog.stock import Stock
from catalog.store import Store
from catalog.upgrade import COPIES, upgrade
from themekit.values import Kind

Rows = dict[str, list[dict[str, Any]]]
FIRST = "0001"
SHELVES, ROWS_EACH = 3, 7
#: Values of columns that not any text or JSON will do for, as the first program wrote them.
SPECIAL: dict[str, Any] = {
    "currency": "EUR",
    "region": "DE",
    "kind": "nonpareils",
    "diet": "vegan",
    "unit": "g",
    "form": "sphere",
    "finish": "matte",
    "hardness": "crisp",
    "colours": [[5000, 1000, -2000, 400000], [9000, 0, 0, 600000]],
    "swatch": [5000, 6000, 3000],
    "k": [],
    "anchors": [[5000, 6000, 3000, 1000000]],
    "motifs": ["owl", "star"],
    "aliases": ["night of owls"],
    "months": [10, 11],
    "dough": {"allergens": ["milk"], "may_contain": [], "additives": [], "diet": "vegetarian"},
    "icing": {"allergens": ["egg"], "may_contain": ["soya"], "additives": ["E133"], "diet": None},
    "allergens": ["milk"],
    "may_contain": ["tree nut"],
    "additives": ["E133"],
}


def value_of(column: Any, row: int) -> Any:
    """Something for a column, another for each row; nothing in every third row that may have nothing."""
    if column.nullable and row % 3 == 2:
        return None
    if column.name in SPECIAL:
        return SPECIAL[column.name]
    if column.name == "archived_at":
        return datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC) if row % 3 == 1 else None
    kinds = {Boolean: row % 2 == 0, DateTime: None, Date: date(2026, 12, 1 + row), JSON: [], Integer: 1000 + row}
    for kind, value in kinds.items():
        if isinstance(column.type, kind):
            return value
    return f"{column.table.name} {row} “Löffel”"


def fill(engine: Engine) -> None:
    """Rows in every table of the schema that is there."""
    schema = MetaData()
    schema.reflect(engine)
    with writing(engine).connect() as connection, connection.begin():
        for table in schema.sorted_tables:
            if table.name == VERSION_TABLE:
                continue
            for row in range(SHELVES if table.name == "shelves" else ROWS_EACH):
                values = {c.name: value_of(c, row) for c in table.columns if c.name != "id"}
                values["name_key"] = f"{table.name} {row}"
                if "shelf_id" in values:
                    values["shelf_id"] = 1 + row % SHELVES
                connection.execute(table.insert().values(values))


def rows_of(engine: Engine) -> Rows:
    """Every row of every table, by id."""
    schema = MetaData()
    schema.reflect(engine)
    with engine.connect() as connection:
        return {
            t.name: [dict(r) for r in connection.execute(select(t).order_by(*t.primary_key.columns)).mappings()]
            for t in schema.sorted_tables
            if t.name != VERSION_TABLE
        }


def plain(rows: Rows) -> Rows:
    """With moments as UTC, since SQLite keeps no time zone."""

    def moment(value: Any) -> Any:
        return (
            value.astimezone(UTC).replace(tzinfo=None) if isinstance(value, datetime) and value.tzinfo else value
        )

    return {t: [{c: moment(v) for c, v in row.items()} for row in found] for t, found in rows.items()}


@pytest.fixture
def first(database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A database as the first version of the program left it."""
    monkeypatch.setenv(COPIES, str(tmp_path / "copies"))
    engine = open_engine(database_url(database))
    upgrade(engine, FIRST)
    fill(engine)
    engine.dispose()
    return database


def test_every_row_is_kept_and_a_copy_of_it_made_before(
    first: str, kinds: tuple[Kind, ...], tmp_path: Path
) -> None:
    """Column by column; balances hold, shelves can be read, and the copy has what was there."""
    engine = open_engine(database_url(first))
    before = plain(rows_of(engine))
    assert {len(rows) for rows in before.values()} == {SHELVES, ROWS_EACH}
    copy = upgrade(engine)
    after = plain(rows_of(engine))
    for table, rows in before.items():
        kept = [{column: row[column] for column in rows[0]} for row in after[table]]
        assert kept == rows, table
    engine.dispose()
    store = Store(first, kinds)
    stock = Stock(store)
    for shelf in store.shelves():
        assert stock.balances(shelf.id) == []
        living = [row for row in before["jars"] if row["shelf_id"] == shelf.id and row["archived_at"] is None]
        assert [jar.id for jar in store.read(shelf.id).jars] == [row["id"] for row in living]
    assert store.faults() == []
    assert store.unready() == []
    store.close()
    assert copy is not None
    assert f"before-{HEAD}" in copy.name
    old = create_engine(f"sqlite:///{copy}")
    assert plain(rows_of(old)) == before
    old.dispose()
    # The copy is good for going back and coming again.
    other = f"sqlite:///{tmp_path / 'other.db'}"
    restore(other, copy)
    again = open_engine(database_url(other))
    for table, rows in before.items():
        assert [{c: row[c] for c in rows[0]} for row in plain(rows_of(again))[table]] == rows
    again.dispose()


def test_rows_go_on_after_the_old_ones(first: str, kinds: tuple[Kind, ...]) -> None:
    """Ids are never given twice, also not those of rows that were taken off."""
    store = Store(first, kinds)
    made = store.create(1, "boxes", {"name": "new box", "on_hand": 5})
    assert made["id"] == ROWS_EACH + 1
    assert store.create_shelf("new").id == SHELVES + 1
    assert Stock(store).balances(1) == []
    store.close()
