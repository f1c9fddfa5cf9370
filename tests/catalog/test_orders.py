"""Orders: what is still to be paid, what a customer had before, and that personal words can be erased."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

import pytest
from sqlalchemy import inspect, text

from catalog.batches import Batches
from catalog.errors import NotFound, StaleVersion
from catalog.orders import Orders
from catalog.store import Store
from themekit.errors import InvalidValue
from themekit.values import Shelf

#: Words that nothing but the order itself may show.
SECRET = "Zuleika Quibble"  # pragma: allowlist secret
PERSONAL = {"customer": SECRET, "contact": f"{SECRET}, 5 Mill Lane", "note": f"{SECRET} rings twice",
            "said": f"This is {SECRET}, owl party please",
            "letter": f"Dear {SECRET},\nwith pleasure."}  # fmt: skip


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[tuple[str, int], float | None]:
    """Nothing much."""
    return {("jars", jar["id"]): 1.0 for jar in batch["jars"]}


@pytest.fixture
def shelf(store: Store) -> int:
    shelf = store.create_shelf("Home").id
    store.create(
        shelf, "jars", {"name": "red", "kind": "nonpareils", "colours": [{"hex": "#cc2233"}], "on_hand_g": 100}
    )
    store.create(shelf, "cutters", {"name": "owl"})
    return shelf


@pytest.fixture
def orders(store: Store) -> Orders:
    return Orders(store)


def sketch(store: Store, shelf: int, order: int, theme: str) -> int:
    tint = {"hex": "#cc2233", "recipe": []}
    body = {"theme": theme, "kits": 1, "jars": [1], "tints": [tint], "cutters": [{"id": 1, "cookies": 8}],
            "order": order}  # fmt: skip
    id: int = Batches(store, needed).create(shelf, body)["id"]
    return id


def everything(store: Store) -> str:
    """All that the database's tables hold, as text."""
    with store._engine.connect() as connection:
        found = []
        for table in inspect(connection).get_table_names():
            found += [str(tuple(row)) for row in connection.execute(text(f"SELECT * FROM {table}"))]
    return "\n".join(found)


@pytest.mark.parametrize(
    ("entered", "balance"),
    [
        ({}, None),
        ({"total": 240}, 240.0),
        ({"total": 240, "deposit": "40.10"}, 199.9),
        ({"total": 0.3, "deposit": 0.1}, 0.2),
        ({"total": 240, "deposit": 240}, 0.0),
        ({"total": 240, "deposit": 40, "paid": True}, 0.0),
        ({"deposit": 40}, None),
    ],
)
def test_what_is_still_to_be_paid(orders: Orders, shelf: int, entered: dict[str, Any], balance: Any) -> None:
    row = orders.create(shelf, entered)
    assert row["balance"] == balance
    assert orders.get(shelf, row["id"]) == row


def test_an_order_comes_back_as_entered_and_changes_by_field(orders: Orders, shelf: int) -> None:
    body = PERSONAL | {"due": "2026-12-05", "time": "15:30", "total": 99.5, "deposit": 20.0, "paid": False}
    row = orders.create(shelf, body)
    assert {name: row[name] for name in body} == body
    changed = orders.change(shelf, row["id"], {"paid": True, "note": None}, 1)
    assert (changed["version"], changed["paid"], changed["note"], changed["customer"]) == (2, True, None, SECRET)
    assert orders.change(shelf, row["id"], {"paid": True}) == changed
    with pytest.raises(StaleVersion):
        orders.change(shelf, row["id"], {"paid": False}, 1)
    other = Orders(orders._store)._store.create_shelf("Other").id
    for act in (
        lambda: orders.get(other, row["id"]),
        lambda: orders.change(other, row["id"], {}),
        lambda: orders.remove(other, row["id"]),
        lambda: orders.get(shelf, 2**70),
        lambda: orders.list(77),
    ):
        with pytest.raises(NotFound):
            act()
    assert orders.list(other) == ([], 0)
    assert orders.list(shelf, page=2) == ([], 1)


def test_what_the_customer_had_before(store: Store, orders: Orders, shelf: int) -> None:
    batches = Batches(store, needed)
    first = orders.create(shelf, {"customer": "Zoë  Ünal"})["id"]
    had = {theme: sketch(store, shelf, first, theme) for theme in ("owl", "pirate", "sea", "moon", "farm")}
    batches.pack(shelf, had["owl"])
    batches.promise(shelf, had["pirate"])
    batches.drop(shelf, had["sea"])
    batches.promise(shelf, had["farm"])
    batches.remove(shelf, had["farm"])
    # In other letters, the same name; an accent put as two characters is the same accent.
    row = orders.create(shelf, {"customer": " ZOE\u0308  ünal "})
    # Neither what was dropped or only thought of, nor what was taken off the list unpacked.
    assert [batch["theme"] for batch in row["before"]] == ["pirate", "owl"]
    assert row["before"][1]["jars"] == ["red"]
    assert orders.get(shelf, first)["before"] == []
    assert [b["theme"] for b in orders.get(shelf, first)["batches"]] == ["owl", "pirate", "sea", "moon"]
    assert orders.create(shelf, {"customer": "Zoë"})["before"] == []
    assert orders.create(shelf, {})["before"] == []
    assert orders.list(shelf, customer="zoë  ünal")[1] == 2


@pytest.mark.parametrize("removed", [True, False])
def test_what_is_erased_is_nowhere_in_the_database(
    store: Store, orders: Orders, shelf: int, removed: bool
) -> None:
    order = orders.create(shelf, PERSONAL | {"needs": {"avoid_additives": [SECRET]}}, "key")["id"]
    sketch(store, shelf, order, "owl")
    assert SECRET in everything(store)
    assert SECRET.casefold() in everything(store)
    if removed:
        orders.remove(shelf, order, 1)
        with pytest.raises(NotFound):
            orders.get(shelf, order)
        assert orders.list(shelf) == ([], 0)
    else:
        assert orders.erase(shelf, f" {SECRET.upper()} ") == 1
        row = orders.get(shelf, order)
        assert [row[name] for name in ("customer", "contact", "note", "said", "letter", "version")] == [
            *[None] * 5,
            2,
        ]
        assert [batch["theme"] for batch in row["batches"]] == ["owl"]
        assert orders.erase(shelf, SECRET) == 0
    kept = everything(store).casefold()
    assert SECRET.casefold() not in kept
    assert "mill lane" not in kept
    # Not even a sum from which a guess at the words could be confirmed.
    with pytest.raises(InvalidValue, match="used for something else"):
        orders.create(shelf, PERSONAL, "key")
    # The batch stays, with what it took.
    assert Batches(store, needed).list(shelf)[1] == 1


def test_what_is_asked_for_no_more_leaves_the_batches_that_are_still_to_be_made(
    store: Store, orders: Orders, shelf: int
) -> None:
    asked = {"avoid_allergens": ["milk", "soy"], "youngest_age": 3, "diet": "vegan"}
    order = orders.create(shelf, {"needs": asked})["id"]
    batches = Batches(store, needed)
    own = asked | {"avoid_allergens": ["milk", "soy", "egg"], "avoid_additives": ["E102"]}
    for theme in ("owl", "sea"):
        batches.change(shelf, sketch(store, shelf, order, theme), {"needs": own})
    batches.pack(shelf, 2)
    row = orders.change(shelf, order, {"needs": {"avoid_allergens": ["soy"], "youngest_age": 5}})
    assert row["needs"] == orders.asked(shelf, order) == {"avoid_allergens": ["soy"], "youngest_age": 5}
    left = {"avoid_allergens": ["soy", "egg"], "avoid_additives": ["E102"]}
    assert [batches.get(shelf, id)["needs"] for id in (1, 2)] == [left, own]


def test_one_shelfs_erasing_leaves_anothers_customers(store: Store, orders: Orders, shelf: int) -> None:
    other = store.create_shelf("Other").id
    kept = orders.create(other, {"customer": SECRET})["id"]
    orders.create(shelf, {"customer": SECRET})
    assert orders.erase(shelf, SECRET) == 1
    assert orders.get(other, kept)["customer"] == SECRET
    for wrong in ("", " ", "a\x00b"):
        with pytest.raises(InvalidValue):
            orders.erase(shelf, wrong)


def test_a_key_keeps_one_order_and_no_second_copy_of_its_words(store: Store, orders: Orders, shelf: int) -> None:
    row = orders.create(shelf, PERSONAL, "key")
    assert orders.create(shelf, PERSONAL, "key") == row
    assert orders.list(shelf)[1] == 1
    with store._engine.connect() as connection:
        assert SECRET not in str(connection.execute(text("SELECT * FROM answers")).all())
    with pytest.raises(InvalidValue, match="used for something else"):
        orders.create(shelf, PERSONAL | {"paid": True}, "key")


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({name: value + "\x07" for name, value in PERSONAL.items()}, set(PERSONAL)),
        ({"customer": SECRET * 20, "contact": SECRET * 20}, {"customer", "contact"}),
        ({"custumer": SECRET, SECRET[:3]: SECRET}, {"custumer", SECRET[:3]}),
        ({"customer": [SECRET], "said": {"name": SECRET}}, {"customer", "said"}),
        (SECRET, {"order"}),
        ([SECRET], {"order"}),
        ({"customer": SECRET, "due": "soon", "time": "25:00", "total": -1, "deposit": "x", "paid": "yes"},
         {"due", "time", "total", "deposit", "paid"}),
        ({"total": 10, "deposit": 11}, {"deposit"}),
        ({"balance": 3, "before": [], "id": 9}, {"balance", "before", "id"}),
    ],
)  # fmt: skip
def test_problems_are_all_told_without_personal_words(
    orders: Orders, shelf: int, caplog: pytest.LogCaptureFixture, body: Any, wrong: set[str]
) -> None:
    caplog.set_level(logging.DEBUG)
    order = orders.create(shelf, {})["id"]
    for act in (lambda: orders.create(shelf, body), lambda: orders.change(shelf, order, body)):
        with pytest.raises(InvalidValue) as error:
            act()
        assert {problem.field for problem in error.value.problems} == wrong
        assert SECRET not in str(error.value)
        assert SECRET not in str([problem.got for problem in error.value.problems])
    with pytest.raises(InvalidValue) as error:
        orders.list(shelf, customer=SECRET * 20)
    assert SECRET not in str(error.value)
    assert SECRET not in caplog.text
    assert orders.list(shelf)[1] == 1


def test_a_failing_database_does_not_tell_personal_words(
    store: Store, orders: Orders, shelf: int, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    with store._engine.connect().execution_options(writes=True) as connection, connection.begin():
        connection.execute(text("DROP TABLE choices"))
        connection.execute(text("DROP TABLE batch_lines"))
        connection.execute(text("DROP TABLE moves"))
        connection.execute(text("DROP TABLE batches"))
        connection.execute(text("DROP TABLE orders"))
    for act in (lambda: orders.create(shelf, PERSONAL), lambda: orders.list(shelf, customer=SECRET)):
        with pytest.raises(Exception, match=r"orders|database") as error:
            act()
        told = str(error.value) + str(error.value.__cause__) + caplog.text
        assert SECRET.casefold() not in told.casefold()
