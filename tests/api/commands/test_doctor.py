"""`themekit doctor`: each thing that may be out of order is told; nothing is changed by looking."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

import catalog.lexicon
from api.commands import doctor
from catalog.lexicon import recorded
from catalog.migrations import HEAD
from catalog.store import Store

Checks = dict[str, tuple[bool, str]]


def examined(store: Store) -> Checks:
    answer = doctor.examine(store.url.render_as_string())
    assert answer["well"] is all(one["well"] for one in answer["checks"])
    return {one["what"]: (one["well"], one["told"]) for one in answer["checks"]}


def test_what_is_in_order_is_told(store: Store) -> None:
    """From the database to the version; the tests' small lexicon alone lacks its vectors."""
    found = examined(store)
    assert list(found) == [
        "database", "steps", "integrity", "ledger", "shelves", "built-in knowledge", "its files", "version"
    ]  # fmt: skip
    assert [what for what, (well, _) in found.items() if not well] == ["built-in knowledge"]
    assert found["steps"][1] == f"all done, up to {HEAD}"
    assert found["shelves"][1] == "1: demo"
    assert recorded.digest()[:16] in found["its files"][1]


def test_an_older_database_is_told_of_and_left_alone(store: Store) -> None:
    """It says what brings it up to date."""
    with store._engine.begin() as connection:
        connection.execute(text("UPDATE themekit_version SET version_num = '0001'"))
    found = examined(store)
    assert found["steps"][0] is False
    assert "at 0001" in found["steps"][1]
    assert "integrity" not in found
    with store._engine.connect() as connection:
        assert connection.execute(text("SELECT version_num FROM themekit_version")).scalar() == "0001"


def test_amounts_that_are_not_their_moves_are_told(store: Store) -> None:
    """By shelf, with what is kept and what the ledger says."""
    with store._engine.begin() as connection:
        connection.execute(text("UPDATE jars SET on_hand_mg = on_hand_mg + 5000 WHERE id = 1"))
    well, told = examined(store)["ledger of demo"]
    assert not well
    assert "by the ledger" in told
    assert "ledger" not in examined(store)


def test_a_row_that_refers_to_nothing_is_told(store: Store) -> None:
    """As after an edit by another program that does not check."""
    with store._engine.connect() as connection:
        connection.connection.driver_connection.execute("PRAGMA foreign_keys = OFF")
        connection.exec_driver_sql("UPDATE cutters SET shelf_id = 77 WHERE id = 1")
        connection.commit()
    assert examined(store)["integrity"] == (False, "a row of cutters refers to a row of shelves that is gone")


def test_a_file_that_is_no_database_is_told_with_all_the_rest(store: Store) -> None:
    """The other checks go on."""
    store.close()
    Path(str(store.url.database)).write_bytes(b"shopping list " * 500)
    found = examined(store)
    assert found["database"] == (False, "This file is not a database. Name another file, or restore a backup.")
    assert {"its files", "version"} <= set(found)


def test_knowledge_that_cannot_be_read_is_told(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """With what to do."""

    def gone() -> None:
        raise FileNotFoundError

    monkeypatch.setattr(catalog.lexicon, "lexicon", gone)
    assert examined(store)["built-in knowledge"] == (
        False, "cannot be read (FileNotFoundError): install themekit again"
    )  # fmt: skip


def test_where_there_is_no_database_none_is_made(tmp_path: Path) -> None:
    """Looking leaves nothing behind."""
    answer = doctor.examine(f"sqlite:///{tmp_path / 'new.db'}")
    assert "none yet" in answer["checks"][0]["told"]
    assert list(tmp_path.iterdir()) == []
