"""The shelf's own details and recipes, on SQLite and PostgreSQL."""

from __future__ import annotations

import pytest

from catalog.errors import NameTaken, NotFound, StaleVersion
from catalog.store import Store
from themekit.errors import InvalidValue


def test_details_and_recipes_change_together(store: Store) -> None:
    """What is named changes, the rest stays, and the revision grows once."""
    row = store.create_shelf("first", currency="EUR")
    before = store.shelf_record(row.id)
    changed = store.change_shelf(row.id, {"region": "Bergen", "dough": {"allergens": ["milk"]}}, before["version"])
    assert changed["version"] == before["version"] + 1
    assert changed["dough"]["allergens"] == ["milk"]
    assert {**changed, "version": 0} == {
        **before,
        "version": 0,
        "region": "Bergen",
        "dough": {**before["dough"], "allergens": ["milk"]},
    }
    assert store.shelf_record(row.id) == changed
    assert store.shelf(row.id).region == "Bergen"
    assert store.read(row.id).dough.allergens == ("milk",)
    assert store.change_shelf(row.id, {"region": "Bergen"}) == changed
    assert store.change_shelf(row.id, {"currency": None})["currency"] is None


def test_a_change_that_cannot_be_made_changes_nothing(store: Store) -> None:
    """Another shelf's name, an earlier revision, wrong values: told, and nothing is kept."""
    row = store.create_shelf("first")
    store.create_shelf("Second")
    before = store.shelf_record(row.id)
    with pytest.raises(NameTaken):
        store.change_shelf(row.id, {"name": "SECOND", "region": "Bergen"})
    with pytest.raises(StaleVersion):
        store.change_shelf(row.id, {"region": "Bergen"}, before["version"] + 1)
    with pytest.raises(InvalidValue) as error:
        store.change_shelf(row.id, {"curency": "EUR", "currency": "euro", "id": 3, "dough": [], "name": None})
    assert sorted(p.field for p in error.value.problems) == ["curency", "currency", "dough", "id", "name"]
    assert store.shelf_record(row.id) == before
    # A shelf may keep its own name, in another case too.
    assert store.change_shelf(row.id, {"name": "FIRST"})["name"] == "FIRST"


def test_a_shelf_that_is_not_there(store: Store) -> None:
    """Neither read nor changed."""
    for call in (store.shelf, store.shelf_record):
        with pytest.raises(NotFound):
            call(99)
    with pytest.raises(NotFound):
        store.change_shelf(99, {"name": "x"})
