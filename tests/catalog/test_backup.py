"""Backups hold everything, replace nothing unasked, and come back whole on either sort of database."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from catalog.access import Access
from catalog.backup import backup, restore
from catalog.orders import Orders
from catalog.stock import Stock
from catalog.store import Store
from themekit.errors import InvalidValue
from themekit.values import Kind

JAR = {"name": "evening blue", "kind": "nonpareils", "colours": [{"hex": "#223355"}], "on_hand_g": 120}


def filled(store: Store) -> int:
    """A shelf with a jar, moves and an order."""
    shelf = store.create_shelf("Home", currency="EUR").id
    jar = store.create(shelf, "jars", JAR)["id"]
    Stock(store).record(shelf, {"jar": jar, "kind": "used", "grams": 12.5})
    Orders(store).create(shelf, {"customer": "the lighthouse", "total": "20.00"})
    return shelf


def everything(store: Store) -> Any:
    return [
        (row, store.records(row.id), Stock(store).moves(row.id), Orders(store).list(row.id))
        for row in store.shelves()
    ]


def test_everything_comes_back_and_what_was_there_is_kept(
    store: Store, database: str, kinds: tuple[Kind, ...], tmp_path: Path
) -> None:
    shelf = filled(store)
    before = everything(store)
    file = backup(database, tmp_path / "kept.db")
    jar = store.list(shelf, "jars")[0][0]["id"]
    Stock(store).record(shelf, {"jar": jar, "kind": "spoiled", "grams": 100})
    store.create(shelf, "cutters", {"name": "late owl"})
    later = everything(store)
    store.close()
    kept = restore(database, file)
    again = Store(database, kinds)
    assert everything(again) == before
    # New rows get new ids after a restore, also where the server counts them itself.
    assert again.create(shelf, "cutters", {"name": "star"})["name"] == "star"
    assert Stock(again).balances(shelf) == []
    again.close()
    assert kept is not None
    elsewhere = f"sqlite:///{tmp_path / 'elsewhere.db'}"
    restore(elsewhere, kept)
    other = Store(elsewhere, kinds)
    assert everything(other) == later
    other.close()


def test_a_backup_is_taken_while_others_write_and_never_overwrites(
    store: Store, database: str, tmp_path: Path
) -> None:
    filled(store)
    file = backup(database, tmp_path / "one.db")
    with closing(sqlite3.connect(file)) as opened:
        assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert opened.execute("SELECT count(*) FROM moves").fetchone() == (2,)
    data = file.read_bytes()
    with pytest.raises(InvalidValue) as caught:
        backup(database, file)
    assert caught.value.problems[0].field == "file"
    assert file.read_bytes() == data
    with pytest.raises(InvalidValue):
        backup(database, tmp_path / "no such folder" / "two.db")
    assert [p.name for p in tmp_path.iterdir() if "part" in p.name] == []


@pytest.mark.parametrize("content", [b"", b"no database at all", None])
def test_what_is_no_backup_changes_nothing(sqlite_store: Store, tmp_path: Path, content: bytes | None) -> None:
    filled(sqlite_store)
    before = everything(sqlite_store)
    file = tmp_path / "bad.db"
    if content is not None:
        file.write_bytes(content)
    url = sqlite_store.url.render_as_string(hide_password=False)
    with pytest.raises(InvalidValue):
        restore(url, file)
    assert everything(sqlite_store) == before


def test_a_damaged_backup_is_refused(sqlite_store: Store, tmp_path: Path) -> None:
    filled(sqlite_store)
    url = sqlite_store.url.render_as_string(hide_password=False)
    file = backup(url, tmp_path / "whole.db")
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])
    with pytest.raises(InvalidValue):
        restore(url, file)


def test_a_restore_signs_everyone_out_and_leaves_passphrases_and_tokens(
    store: Store, database: str, kinds: tuple[Kind, ...], tmp_path: Path
) -> None:
    """A browser that was signed out since the backup must not be in again after it."""
    shelf, access, hash = filled(store), Access(store), "scrypt:" + "a" * 90
    access.set_passphrase(shelf, hash)
    session, token, link = (
        access.begin_session(shelf, hash),
        access.new_token(shelf, "till"),
        access.new_link(shelf),
    )
    assert session is not None
    file = backup(database, tmp_path / "kept.db")
    access.end_session(session)
    store.close()
    restore(database, file)
    again = Store(database, kinds)
    access = Access(again)
    assert access.shelf_of_session(session) is None
    assert access.use_link(link) is None
    assert access.passphrase_hash(shelf) == hash
    assert access.shelf_of_token(token) == shelf
    again.close()
