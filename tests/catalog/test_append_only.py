"""The ledger's moves can be neither changed nor removed, on either database, by any statement."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import delete, text, update
from sqlalchemy.exc import DBAPIError

from catalog.backup import backup, restore
from catalog.engine import database_url, open_engine
from catalog.orders import Orders
from catalog.stock import Stock
from catalog.stock_tables import MoveTable
from catalog.store import Store
from catalog.upgrade import upgrade
from themekit.values import Kind

JAR = {"name": "evening blue", "kind": "nonpareils", "colours": [{"hex": "#223355"}], "on_hand_g": 120}
STATEMENTS = (
    "UPDATE moves SET amount = amount + 1",
    "UPDATE moves SET note = 'x' WHERE id = 1",
    "DELETE FROM moves WHERE id = 2",
    "DELETE FROM moves",
)


def filled(store: Store) -> int:
    """A shelf with a jar of two moves."""
    shelf = store.create_shelf("Home").id
    jar = store.create(shelf, "jars", JAR)["id"]
    Stock(store).record(shelf, {"jar": jar, "kind": "used", "grams": 12.5})
    return shelf


def refused(store: Store, shelf: int, statement: str) -> None:
    with (
        pytest.raises(DBAPIError, match="never changed or removed"),
        store.writing(shelf) as (session, _),
    ):
        session.execute(text(statement))


@pytest.mark.parametrize("statement", STATEMENTS)
def test_no_statement_changes_or_removes_a_move(store: Store, statement: str) -> None:
    shelf = filled(store)
    before = Stock(store).moves(shelf)
    refused(store, shelf, statement)
    assert Stock(store).moves(shelf) == before
    assert Stock(store).balances(shelf) == []


def test_nor_does_the_programs_own_code(store: Store) -> None:
    """Through the very classes that write moves."""
    shelf = filled(store)
    for statement in (update(MoveTable).values(amount=1), delete(MoveTable)):
        with pytest.raises(DBAPIError, match="never changed"), store.writing(shelf) as (session, _):
            session.execute(statement)
    if store.url.drivername.startswith("postgresql"):
        refused(store, shelf, "TRUNCATE moves")


def test_what_the_program_does_goes_on(
    store: Store, database: str, kinds: tuple[Kind, ...], tmp_path: Path
) -> None:
    """Undoing, taking off the shelf, erasing a customer, and putting a backup in the place of a ledger."""
    shelf = filled(store)
    jar = store.list(shelf, "jars")[0][0]["id"]
    stock, orders = Stock(store), Orders(store)
    order = orders.create(shelf, {"customer": "the lighthouse"})["id"]
    file = backup(database, tmp_path / "kept.db")
    stock.record(shelf, {"undo": stock.moves(shelf)[0][-1]["id"]})
    orders.remove(shelf, order)
    store.remove(shelf, "jars", jar)
    assert stock.moves(shelf)[1] == 3
    store.close()
    restore(database, file)
    for url in (database, f"sqlite:///{tmp_path / 'other.db'}"):
        # A backup brings the triggers along, and a server has its own back.
        if url != database:
            restore(url, file)
        again = Store(url, kinds)
        assert again.faults() == []
        assert Stock(again).moves(shelf)[1] == 2
        refused(again, shelf, STATEMENTS[0])
        refused(again, shelf, STATEMENTS[2])
        again.close()


def test_a_ledger_kept_before_is_guarded_from_its_upgrade_on(database: str, kinds: tuple[Kind, ...]) -> None:
    engine = open_engine(database_url(database))
    upgrade(engine, "0004")
    engine.dispose()
    store = Store(database, kinds)
    refused(store, filled(store), STATEMENTS[3])
    store.close()


def test_a_missing_trigger_is_found(store: Store) -> None:
    """By what `doctor` asks, which says what is missing."""
    shelf = filled(store)
    assert store.faults() == []
    on = "" if store.url.drivername.startswith("sqlite") else " ON moves"
    with store.writing(shelf) as (session, _):
        session.execute(text("DROP TRIGGER moves_no_update" + on))
    assert store.faults() == ["the ledger could be changed: its trigger moves_no_update is missing"]
