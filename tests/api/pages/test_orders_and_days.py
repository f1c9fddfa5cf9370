"""An order and its batches: one day for both or told apart, what a count leaves short, and what was just done."""

from __future__ import annotations

import io
import re
from html import unescape
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from flask.testing import FlaskClient
from pypdf import PdfReader
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


def asked(client: FlaskClient, *orders: dict[str, Any]) -> None:
    """Orders of the names, each with a batch of one theme."""
    for order in orders:
        kits = order.pop("kits")
        id = client.post("/api/v1/orders", json={"due": DUE, **order}).get_json()["id"]
        body = {"theme": "mermaids", "kits": kits, "tints": ["#1d8a8a", "#d9a93b", "#7b4a2b"], "jars": [1, 2, 4],
                "cutters": [{"id": 1, "cookies": 4}], "due": DUE, "order": id}  # fmt: skip
        assert client.post("/api/v1/batches", json=body).status_code == 201


TILDA = {
    "customer": "Tilda",
    "time": "15:00",
    "kits": 2,
    "needs": {"avoid_allergens": ["peanut"], "youngest_age": 5},
}


def test_the_week_says_what_is_handed_to_whom_and_tells_batches_of_one_theme_apart(client: FlaskClient) -> None:
    asked(client, dict(TILDA), {"customer": "Omar", "kits": 2}, {"customer": "Ida", "kits": 3})
    page = text(client, "/week?from=2026-12-01")
    handed = " ".join(re.sub(r"<[^>]+>", "", page[page.index(": hand over") :].partition("</li>")[0]).split())
    assert "2 kits, mermaids, to Tilda, 15:00 – no peanut, youngest 5" in handed
    assert 'to <a href="/orders/1">Tilda, 15:00</a>' in page
    for name in ("mermaids, 2 kits, Tilda", "mermaids, 2 kits, Omar", "mermaids, 3 kits"):
        assert f">{name}</a>" in page, name
    assert "mermaids (" not in page


def test_week_and_bench_sheet_on_paper_say_it_too(client: FlaskClient) -> None:
    asked(client, dict(TILDA))
    for place in ("batches/weeks.pdf?from=2026-12-01", "batches/1/sheet.pdf"):
        data = client.get(f"/api/v1/{place}").get_data()
        words = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())
        assert "Tilda, 15:00" in words, place
        assert "no peanut, youngest 5" in words, place


def test_a_promised_kit_is_changed_in_its_own_batch(client: FlaskClient) -> None:
    where = promised(client)
    before = client.get("/api/v1" + where).get_json()
    link = unescape(re.findall(r'href="(/kit\?[^"]+)"', text(client, where))[0])
    assert "Change the batch to this kit" in text(client, link)
    laid = [
        (name, "5" if (name, value) == ("j", "4") else value) for name, value in parse_qsl(urlsplit(link).query)
    ]
    answer = client.post("/batches", data=MultiDict([*laid, ("into", "1")]))
    assert answer.headers["Location"] == where
    row = client.get("/api/v1" + where).get_json()
    assert [jar["id"] for jar in row["jars"]] == [1, 2, 5]
    assert [row[name] for name in ("state", "order", "due", "name")] == ["promised", 1, DUE, "mermaids"]
    assert {x["item"] for x in row["stock"] if x["of"] == "jars" and x["held"]} == {1, 2, 5}
    assert client.get("/api/v1/batches").get_json()["total"] == 1
    # Laid out before that change: nothing is overwritten unseen.
    assert client.post("/batches", data=MultiDict([*laid, ("into", "1")])).status_code == 422
    assert row["version"] > before["version"]
