"""A shelf kept before there was a ledger: what stood on it becomes its first moves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from sqlalchemy import inspect, text

from catalog.batches import Batches
from catalog.engine import database_url, open_engine
from catalog.stock import Stock
from catalog.store import Store
from catalog.upgrade import upgrade
from themekit.values import Kind, Shelf

_JAR = "INSERT INTO jars (shelf_id, name, name_key, version, kind, colours, motifs, on_hand_mg, lot, archived_at)"
_GREY = "'nonpareils', '[[5000, 0, 0, 1000000]]', '[\"snow\"]'"
#: As the first version of the program wrote them, two shelves with amounts known, none and unknown.
ROWS = (
    "INSERT INTO shelves (name, name_key, revision) VALUES ('Home', 'home', 7), ('Other', 'other', 1)",
    f"{_JAR} VALUES (1, 'white', 'white', 3, {_GREY}, 123456, 'L-7', NULL)",
    f"{_JAR} VALUES (1, 'none left', 'none left', 1, {_GREY}, 0, NULL, NULL)",
    f"{_JAR} VALUES (1, 'unknown', 'unknown', 1, {_GREY}, NULL, NULL, NULL)",
    f"{_JAR} VALUES (1, 'old', 'old', 2, {_GREY}, 5000, NULL, '2026-01-02 03:04:05+00:00')",
    f"{_JAR} VALUES (2, 'white', 'white', 1, 'nonpareils', '[[9000, 0, 0, 1000000]]', '[]', 1, NULL, NULL)",
    "INSERT INTO gels (shelf_id, name, name_key, version, swatch, dose_ug, k, k_model, on_hand_mg)"
    " VALUES (1, 'red', 'red', 1, '[5000, 6000, 3000]', 1000000, '[]', 0, 30000)",
    "INSERT INTO boxes (shelf_id, name, name_key, version, on_hand) VALUES (1, 'box', 'box', 1, 42)",
    "INSERT INTO supplies (shelf_id, name, name_key, version, on_hand_milli, unit)"
    " VALUES (1, 'ribbon', 'ribbon', 1, 34500, 'm'), (1, 'flour', 'flour', 1, NULL, 'g')",
    "INSERT INTO cutters (shelf_id, name, name_key, version, motifs, colours)"
    " VALUES (1, 'owl', 'owl', 1, '[\"owl\"]', '[]')",
)


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[tuple[str, int], float | None]:
    """A gram of each jar for a kit."""
    return {("jars", jar["id"]): float(batch["kits"]) for jar in batch["jars"]}


@pytest.fixture
def before(database: str) -> str:
    """A database of the first step, with rows as it kept them."""
    engine = open_engine(database_url(database))
    upgrade(engine, "0001")
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        for row in ROWS:
            connection.execute(text(row.replace(":", r"\:")))
        tables = inspect(connection).get_table_names()
        assert "jars" in tables
        assert "moves" not in tables
    engine.dispose()
    return database


def test_what_stood_on_the_shelf_is_its_first_moves(before: str, kinds: tuple[Kind, ...]) -> None:
    store = Store(before, kinds)
    stock = Stock(store)
    lines, total = stock.moves(1)
    assert [(m["of"], m["name"], m["amount"], m["uncertain"]) for m in lines] == [
        ("jars", "white", 123.456, 0.0),
        ("jars", "none left", 0.0, 0.0),
        ("jars", "old", 5.0, 0.0),
        ("gels", "red", 30.0, 0.0),
        ("boxes", "box", 42.0, 0.0),
        ("supplies", "ribbon", 34.5, 0.0),
    ]
    assert total == 6
    assert {(m["kind"], m["cause"], m["batch"], m["undoes"]) for m in lines} == {
        ("counted", "entered before the ledger", None, None)
    }
    assert all(m["at"].endswith("Z") for m in lines)
    assert [m["amount"] for m in stock.moves(2)[0]] == [0.001]
    assert stock.balances(1) == stock.balances(2) == []
    store.close()


def test_nothing_that_was_entered_is_lost_and_unknown_stays_unknown(before: str, kinds: tuple[Kind, ...]) -> None:
    store = Store(before, kinds)
    assert store.revision(1) == 7
    white, none_left, unknown = store.list(1, "jars")[0]
    assert (white["on_hand_g"], white["motifs"], white["version"], white["lot"]) == (123.456, ["snow"], 3, "L-7")
    assert (white["reserved_g"], white["uncertain_g"], white["full_g"], white["empty_jar_g"]) == (0, 0, None, None)
    assert (none_left["on_hand_g"], unknown["on_hand_g"]) == (0, None)
    assert [row["on_hand"] for row in store.list(1, "supplies")[0]] == [34.5, None]
    assert store.list(1, "cutters")[0][0]["motifs"] == ["owl"]
    assert [jar.on_hand_g for jar in store.read(1).jars] == [123.456, 0, None]
    store.close()


def test_the_upgraded_shelf_works(before: str, kinds: tuple[Kind, ...]) -> None:
    store = Store(before, kinds)
    stock, batches = Stock(store), Batches(store, needed)
    tint = {"hex": "#cc2233", "recipe": []}
    body = {"kits": 12, "jars": [1], "tints": [tint], "cutters": [{"id": 1, "cookies": 8}]}
    batches.pack(1, batches.create(1, body)["id"])
    assert store.get(1, "jars", 1)["on_hand_g"] == 111.456
    # The first moves can be undone like any other; what stood before them was not known.
    first = stock.moves(1, ("jars", 2))[0][0]
    stock.record(1, {"undo": first["id"]})
    assert store.get(1, "jars", 2)["on_hand_g"] is None
    # Ids go on after the old ones, also of rows that were taken off.
    made = store.create(1, "jars", {"name": "new", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]})
    assert made["id"] == 6
    assert stock.balances(1) == []
    store.close()
    again = Store(before, kinds)
    assert Stock(again).moves(1)[1] == stock.moves(1)[1] == 8
    again.close()
    store.close()
