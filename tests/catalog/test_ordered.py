"""An order and its batch in one step, and steps that carry the version that was seen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from catalog.batches import Batches, Short
from catalog.errors import StaleVersion
from catalog.ordered import order_with_batch
from catalog.orders import Orders
from catalog.store import Store
from themekit.errors import InvalidValue
from themekit.values import Shelf


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[tuple[str, int], float | None]:
    """Ten grams of each jar for each kit."""
    return {("jars", jar["id"]): 10.0 * batch["kits"] for jar in batch["jars"]}


@pytest.fixture
def shelf(store: Store) -> int:
    shelf = store.create_shelf("Home").id
    red = {"name": "red", "kind": "nonpareils", "colours": [{"hex": "#cc2233"}], "on_hand_g": 100}
    store.create(shelf, "jars", red)
    store.create(shelf, "cutters", {"name": "owl"})
    return shelf


def body(kits: int = 2) -> dict[str, Any]:
    tint = {"hex": "#cc2233", "recipe": []}
    return {"theme": "owls", "kits": kits, "jars": [1], "tints": [tint], "cutters": [{"id": 1, "cookies": 8}]}


def counts(store: Store, shelf: int) -> tuple[int, int]:
    return Orders(store).list(shelf)[1], Batches(store, needed).list(shelf)[1]


def test_both_are_kept_and_a_repeated_key_makes_neither_again(store: Store, shelf: int) -> None:
    batches = Batches(store, needed)
    answers = [order_with_batch(store, batches, shelf, {"customer": "c"}, body(), True, "k") for _ in range(2)]
    assert answers[0] == answers[1]
    assert counts(store, shelf) == (1, 1)
    batch = batches.get(shelf, answers[0]["batch_id"])
    assert (batch["order"], batch["state"]) == (answers[0]["order_id"], "promised")
    alone = order_with_batch(store, batches, shelf, None, body(1))
    assert alone["order_id"] is None
    assert counts(store, shelf) == (1, 2)


def test_neither_is_kept_without_the_other(store: Store, shelf: int) -> None:
    batches = Batches(store, needed)
    with pytest.raises(InvalidValue) as wrong:
        order_with_batch(store, batches, shelf, {"due": "soon"}, body(0))
    assert {p.field for p in wrong.value.problems} == {"order.due", "kits"}
    with pytest.raises(Short):
        order_with_batch(store, batches, shelf, {"customer": "c"}, body(11), True)
    assert counts(store, shelf) == (0, 0)


def test_an_erased_order_is_not_made_again_by_its_key(store: Store, shelf: int) -> None:
    batches = Batches(store, needed)
    made = order_with_batch(store, batches, shelf, {"customer": "c"}, body(), False, "k")
    Orders(store).erase(shelf, "c")
    with pytest.raises(InvalidValue):
        order_with_batch(store, batches, shelf, {"customer": "c"}, body(), False, "k")
    assert counts(store, shelf) == (1, 1)
    assert Orders(store).get(shelf, made["order_id"])["customer"] is None


def test_a_step_with_an_old_version_changes_nothing(store: Store, shelf: int) -> None:
    batches = Batches(store, needed)
    batch = batches.create(shelf, body())
    now = batches.change(shelf, batch["id"], {"kits": 3}, batch["version"])
    for step in (batches.promise, batches.pack, batches.drop):
        with pytest.raises(StaleVersion):
            step(shelf, batch["id"], version=batch["version"])
    assert batches.get(shelf, batch["id"]) == now
    packed = batches.pack(shelf, batch["id"], version=now["version"])
    # What was taken already is taken by nobody twice, whatever version asks for it.
    assert batches.pack(shelf, batch["id"], version=now["version"]) == packed
    with pytest.raises(StaleVersion):
        batches.unpack(shelf, batch["id"], version=now["version"])
    with pytest.raises(StaleVersion):
        batches.end(shelf, batch["id"], {"sold": 1}, version=now["version"])
    ended = batches.end(shelf, batch["id"], {"sold": 1}, version=packed["version"])
    assert batches.end(shelf, batch["id"], {"sold": 1}, version=packed["version"]) == ended
