"""PostgreSQL that goes away in the middle of things: one clear message, nothing lost, no restart of ours."""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from typing import Any

import pytest
from sqlalchemy import event, text

from api.app import create_app
from catalog.batches import Batches
from catalog.errors import StoreUnusable
from catalog.stock import Stock
from catalog.store import Store
from themekit.errors import ThemekitError

JAR = {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}], "on_hand_g": 1000}
BATCH = {
    "kits": 2,
    "jars": [1, 2, 3],
    "tints": [{"hex": "#d8474f", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}],
    "cutters": [{"id": 1, "cookies": 8}],
}


def filled(server: Any) -> tuple[Store, int]:
    """A new database with a shelf to promise from."""
    store = Store(server.new_database())
    shelf = store.create_shelf("Home").id
    for number, colour in enumerate(("#ffffff", "#2a9d8f", "#e9c46a")):
        store.create(shelf, "jars", {**JAR, "name": f"j{number}", "colours": [{"hex": colour}]})
    store.create(shelf, "cutters", {"name": "owl"})
    store.create(shelf, "gels", {"name": "red", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1})
    return store, shelf


def test_a_promise_in_mid_transaction(own_server: Any) -> None:
    """Cut off, it was not done; that the server is away is told; afterwards the same promise is made once."""
    store, shelf = filled(own_server)
    away = [False]

    def needed(batch: Mapping[str, Any], _: Any) -> dict[tuple[str, int], float | None]:
        if not away[0]:
            away[0] = True
            own_server.stop()
        return {("jars", jar["id"]): 10.0 * batch["kits"] for jar in batch["jars"]}

    batches = Batches(store, needed)
    with pytest.raises(StoreUnusable, match="does not answer"):
        batches.create_promised(shelf, [BATCH], "a-key")
    assert away[0]
    client = create_app(store).test_client()
    for answer in (
        client.get("/api/v1/jars"),
        client.post("/api/v1/moves", json={"jar": 1, "kind": "bought", "grams": 5}),
    ):
        assert answer.status_code == 503
        error = answer.get_json()["error"]
        assert (error["code"], error["message"]) == ("store_unusable", "The database does not answer.")
        assert "try again" in error["problems"][0]["hint"]
    page = client.get("/shelf")
    assert page.status_code == 503
    assert page.mimetype == "text/html"
    assert "The database does not answer." in page.text
    assert client.get("/api/v1/health").status_code == 503

    own_server.start()
    assert client.get("/api/v1/health").status_code == 200
    assert batches.list(shelf) == ([], 0)
    first = batches.create_promised(shelf, [BATCH], "a-key")
    assert batches.create_promised(shelf, [BATCH], "a-key") == first
    assert batches.list(shelf)[1] == 1
    assert Stock(store).balances(shelf) == []
    store.close()


def test_at_the_moment_of_the_commit(own_server: Any) -> None:
    """Whether the server had done it nobody knows; it is told as unreachable, and asked again it is done once."""
    store, shelf = filled(own_server)
    stock, armed = Stock(store), [True]

    @event.listens_for(store._engine, "commit")
    def stop(_: Any) -> None:
        if armed[0]:
            armed[0] = False
            own_server.stop()

    body = {"jar": 1, "kind": "bought", "grams": 5, "note": "once"}
    with pytest.raises(StoreUnusable, match="does not answer"):
        stock.record(shelf, body, "the-key")
    own_server.start()
    made = stock.record(shelf, body, "the-key")
    assert stock.record(shelf, body, "the-key") == made
    with store.reading() as session:
        assert session.execute(text("SELECT COUNT(*) FROM moves WHERE note = 'once'")).scalar() == 1
    assert stock.balances(shelf) == []
    store.close()


@pytest.mark.parametrize("restarts", [1, pytest.param(10, marks=pytest.mark.long)])
def test_under_many_writers(own_server: Any, restarts: int) -> None:
    """Four who write go on by themselves, are told nothing else, and all that was acknowledged is there."""
    store, shelf = filled(own_server)
    stock, done = Stock(store), threading.Event()
    acknowledged: set[str] = set()
    told: list[ThemekitError] = []
    unforeseen: list[BaseException] = []
    after_restart = threading.Event()
    recovered: set[int] = set()

    def write(number: int) -> None:
        count = 0
        while not done.is_set():
            count += 1
            note = f"{number}-{count}"
            while not done.is_set():
                late = after_restart.is_set()
                try:
                    stock.record(shelf, {"jar": 1, "kind": "bought", "grams": 0.001, "note": note}, note)
                except StoreUnusable as error:
                    told.append(error)
                    time.sleep(0.01)
                except BaseException as error:
                    unforeseen.append(error)
                    return
                else:
                    acknowledged.add(note)
                    if late:
                        recovered.add(number)
                    break

    writers = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for one in writers:
        one.start()
    for _ in range(restarts):
        time.sleep(0.3)
        own_server.stop()
        time.sleep(0.1)
        own_server.start()
    after_restart.set()
    until = time.monotonic() + 60
    while len(recovered) < 4 and time.monotonic() < until and not unforeseen:
        time.sleep(0.02)
    done.set()
    for one in writers:
        one.join()
    assert unforeseen == []
    assert recovered == {0, 1, 2, 3}
    assert {error.message for error in told} == {"The database does not answer."}
    with store.reading() as session:
        notes = [row[0] for row in session.execute(text("SELECT note FROM moves WHERE note IS NOT NULL"))]
    assert len(notes) == len(set(notes))
    assert acknowledged <= set(notes)
    assert stock.balances(shelf) == []
    store.close()
