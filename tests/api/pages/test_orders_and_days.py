"""An order and its batches: one day for both or told apart, what a count leaves short, and what was just done."""

from __future__ import annotations

from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

KIT = [("theme", "owls"), ("kits", "2"), ("t", "1d8a8a"), ("t", "d9a93b"), ("t", "7b4a2b"), ("j", "1"), ("j", "2"),
       ("j", "4"), ("c", "1:4"), ("c", "2:4")]  # fmt: skip
DUE, LATER = "2027-01-05", "2027-01-09"


def promised(client: FlaskClient) -> str:
    """A batch that is promised to the first order; its address."""
    client.post("/orders", data={"customer": "Tilda", "due": DUE, "time": "15:00"})
    body = MultiDict([*KIT, ("order", "1"), ("due", DUE), ("promise", "1"), ("name", "mermaids")])
    where = client.post("/batches", data=body).headers["Location"]
    assert client.get("/api/v1" + where).get_json()["state"] == "promised"
    return str(where)


def version(client: FlaskClient, where: str) -> dict[str, str]:
    return {"version": str(client.get("/api/v1" + where).get_json()["version"])}


def text(client: FlaskClient, where: str) -> str:
    return client.get(where).get_data(as_text=True)


def test_its_batches_move_with_an_order_where_that_is_ticked(client: FlaskClient) -> None:
    where = promised(client)
    page = text(client, "/orders/1")
    assert 'name="move" value="1" checked' in page
    assert "Its own day is" not in page
    said = {"customer": "Tilda", "time": "15:00"}
    client.post("/orders/1", data=version(client, "/orders/1") | said | {"due": LATER})
    assert client.get("/api/v1" + where).get_json()["due"] == DUE
    for place in ("/orders/1", "/week?from=2026-12-01"):
        assert "day is Tue 5 January 2027, the order's is Sat 9 January 2027" in text(client, place), place
    client.post("/orders/1", data=version(client, "/orders/1") | said | {"due": "2027-01-12", "move": "1"})
    assert client.get("/api/v1" + where).get_json()["due"] == "2027-01-12"
    assert "and its batches are moved" in text(client, "/orders/1")


def test_what_a_count_leaves_short_is_told_on_jar_and_order(client: FlaskClient) -> None:
    where = promised(client)
    assert "Too little is left" not in text(client, "/shelf/jars/1")
    client.post("/shelf/jars/1/count", data={"kind": "counted", "amount": "1"})
    page = text(client, "/shelf/jars/1")
    told = page[page.index("Too little is left") :].partition("</p>")[0]
    assert f'href="{where}"' in told
    assert "mermaids, 2 kits" in told
    assert "A later count left too little of" in text(client, "/orders/1")


def test_what_was_done_is_said_once(client: FlaskClient) -> None:
    where = promised(client)
    assert "1 batch promised: the stock is held." in text(client, where)
    assert "1 batch promised" not in text(client, where)
    client.post("/orders/1", data=version(client, "/orders/1") | {"customer": "Tilda", "due": DUE})
    assert "Order saved." in text(client, "/orders/1")
    client.post("/shelf/jars/1/count", data={"kind": "counted", "amount": "100"})
    assert "Written down." in text(client, "/shelf/jars/1")


def test_what_is_promised_is_dropped_only_when_asked_twice(client: FlaskClient) -> None:
    where = promised(client)
    assert client.post(f"{where}/drop", data=version(client, where)).status_code == 422
    assert client.get("/api/v1" + where).get_json()["state"] == "promised"
    assert client.post(f"{where}/drop", data=version(client, where) | {"sure": "1"}).status_code == 303
    assert client.get("/api/v1" + where).get_json()["state"] == "dropped"
