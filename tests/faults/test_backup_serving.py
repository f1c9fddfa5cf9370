"""Backups taken while others write: of one moment, in balance, with all that was acknowledged by then."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from catalog.backup import backup, restore
from catalog.batches import Batches
from catalog.stock import Stock
from catalog.store import Store

JAR = {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}], "on_hand_g": 1000}
BATCH = {
    "kits": 1,
    "jars": [1, 2, 3],
    "tints": [{"hex": "#d8474f", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}],
    "cutters": [{"id": 1, "cookies": 8}],
}


def needed(batch: Any, _: Any) -> dict[tuple[str, int], float | None]:
    return {("jars", jar["id"]): 0.1 for jar in batch["jars"]}


@pytest.mark.parametrize("backups", [3, pytest.param(40, marks=pytest.mark.long)])
def test_a_backup_holds_a_prefix_of_what_was_acknowledged(database: str, tmp_path: Path, backups: int) -> None:
    store = Store(database)
    shelf = store.create_shelf("Home").id
    for number, colour in enumerate(("#ffffff", "#2a9d8f", "#e9c46a")):
        store.create(shelf, "jars", {**JAR, "name": f"j{number}", "colours": [{"hex": colour}]})
    store.create(shelf, "cutters", {"name": "owl"})
    store.create(shelf, "gels", {"name": "red", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1})
    stock, batches = Stock(store), Batches(store, needed)
    acknowledged: list[int] = []
    failed: list[BaseException] = []
    done = threading.Event()

    def write() -> None:
        try:
            while not done.is_set():
                number = len(acknowledged) + 1
                move = {"jar": 1, "kind": "bought", "grams": 0.001, "note": str(number)}
                stock.record(shelf, move)
                acknowledged.append(number)
                if number % 5 == 0:
                    made = batches.create_promised(shelf, [BATCH])["items"][0]
                    batches.pack(shelf, made["id"])
        except BaseException as error:
            failed.append(error)

    writer = threading.Thread(target=write)
    writer.start()
    taken = []
    try:
        for number in range(backups):
            before = len(acknowledged)
            file = backup(database, tmp_path / f"{number}.db")
            taken.append((before, len(acknowledged) + 1, file))
    finally:
        done.set()
        writer.join()
    assert failed == []
    assert taken[-1][0] > 0
    for number, (before, after, file) in enumerate(taken):
        place = f"sqlite:///{tmp_path / f'again-{number}.db'}"
        assert restore(place, file) is None
        again = Store(place)
        assert again.faults() == []
        assert Stock(again).balances(shelf) == []
        with again.reading() as session:
            noted = session.execute(text("SELECT note FROM moves WHERE note IS NOT NULL ORDER BY id"))
            found = [int(row[0]) for row in noted]
            half = session.execute(text("SELECT COUNT(*) FROM batches WHERE state NOT IN ('promised', 'packed')"))
            assert half.scalar() == 0
        assert found == list(range(1, len(found) + 1))
        assert before <= len(found) <= after
        again.close()
    store.close()
