"""The demo shelf as it is loaded: whole, with its dates moved, and only once."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pandas as pd
import pytest

from catalog import demo
from catalog.demo import create_demo
from catalog.lexicon import kinds as trade_kinds
from catalog.store import Store

DEMO = Path(demo.__file__).parent
WRITTEN = date(2026, 11, 25)


@pytest.fixture
def store(database: str) -> Store:
    return Store(database, trade_kinds())


@pytest.fixture(autouse=True)
def _closed(store: Store):  # type: ignore[no-untyped-def]
    yield
    store.close()


def test_it_holds_every_row_of_its_sheets(store: Store) -> None:
    shelf = create_demo(store, WRITTEN)
    assert shelf.name == "demo"
    assert store.shelf_named() == shelf
    for resource in ("jars", "cutters", "gels", "boxes", "supplies", "themes"):
        sheet = pd.read_csv(DEMO / f"{resource}.csv", dtype=str, keep_default_na=False)
        assert store.list(shelf.id, resource)[1] == len(sheet)
    assert all(r["allergens"] for r in store.recipes(shelf.id).values())
    value = store.read(shelf.id)
    assert all(len(gel.k) in (0, 31) for gel in value.gels)
    assert sum(len(gel.k) == 31 for gel in value.gels) >= 10


@pytest.mark.parametrize("days", [0, 1, 400, -30])
def test_its_dates_move_with_today(store: Store, days: int) -> None:
    shift = timedelta(days=days)
    shelf = create_demo(store, WRITTEN + shift)
    sheet = pd.read_csv(DEMO / "jars.csv", dtype=str, keep_default_na=False).set_index("name")
    moved = 0
    for jar in store.read(shelf.id).jars:
        for field, value in (("best_before", jar.best_before), ("last_used", jar.last_used)):
            cell = str(sheet.loc[jar.name, field])
            assert value == (date.fromisoformat(cell) + shift if cell else None)
            moved += value is not None
    assert moved > 50


def test_making_it_again_changes_nothing(store: Store) -> None:
    first = create_demo(store, WRITTEN)
    jar = store.list(first.id, "jars")[0][0]
    store.change(first.id, "jars", jar["id"], {"on_hand_g": 1})
    again = create_demo(store, WRITTEN + timedelta(days=9))
    assert again.id == first.id
    assert store.get(first.id, "jars", jar["id"])["on_hand_g"] == 1
    assert len(store.shelves()) == 1
