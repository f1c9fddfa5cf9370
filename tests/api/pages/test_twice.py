"""Two tabs on one thing: whoever comes second sees both, loses nothing, and overwrites nothing unseen."""

from __future__ import annotations

import re
from html import unescape

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

KIT = {
    "t": ["1d8a8a", "d9a93b", "7b4a2b"],
    "j": ["1", "2", "4"],
    "c": ["1:4", "2:4"],
    "theme": "owls",
    "kits": "2",
}


def fields(page: str, action: str) -> MultiDict[str, str]:
    """What a browser would send of a form left as it is."""
    start = page.index(f'action="{action}"')
    form = page[page.rindex("<form", 0, start) : page.index("</form>", start)]
    found: list[tuple[str, str]] = []
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and (("checkbox" not in tag and "radio" not in tag) or "checked" in tag):
            found.append((unescape(name[1]), unescape(value[1]) if value else ""))
    for name, text in re.findall(r'<textarea[^>]*name="([^"]+)"[^>]*>([^<]*)</textarea>', form):
        found.append((name, unescape(text)))
    for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        first = re.search(r'<option value="([^"]*)"', options)
        found.append((name, unescape(chosen[1] or chosen[2]) if chosen else unescape(first[1]) if first else ""))
    return MultiDict(found)


def form_at(client: FlaskClient, address: str, action: str | None = None) -> MultiDict[str, str]:
    return fields(client.get(address).get_data(as_text=True), action or address)


def typed(form: MultiDict[str, str], **values: str) -> MultiDict[str, str]:
    out = form.copy()
    for name, value in values.items():
        out[name] = value
    return out


def both(answer: TestResponse) -> str:
    page = answer.get_data(as_text=True)
    assert answer.status_code == 409
    assert "changed in the meantime" in page
    return page


@pytest.fixture
def order(client: FlaskClient) -> str:
    data = {"customer": "the lighthouse school", "due": "2027-02-01", "total": "80", "note": "ring twice"}
    return client.post("/orders", data=data).headers["Location"]


@pytest.fixture
def batch(client: FlaskClient) -> str:
    return client.post("/batches", data=KIT).headers["Location"]


def test_an_order_overtaken_shows_both_field_by_field(client: FlaskClient, order: str) -> None:
    mine = form_at(client, order)
    theirs = form_at(client, order)
    assert client.post(order, data=typed(theirs, total="90", note="ring once")).status_code == 303
    page = both(client.post(order, data=typed(mine, note="do not ring", customer="the harbour school")))
    assert page.count("Keep mine:") == page.count("Take what is there:") == 3, "customer, price and note alone"
    for text in ("do not ring", "ring once", "the harbour school", "the lighthouse school", "90.00", "80.00"):
        assert text in page
    choice = fields(page, order)
    # What only one of the two changed is chosen already; what both changed is hers to say.
    assert (choice["customer"], choice["total"]) == ("the harbour school", "90.00")
    assert "note" not in choice
    assert client.post(order, data=typed(choice, note="do not ring")).status_code == 303
    kept = client.get("/api/v1" + order).get_json()
    assert (kept["customer"], kept["total"], kept["note"]) == ("the harbour school", 90, "do not ring")
    assert kept["due"] == "2027-02-01"


def test_overtaken_again_while_choosing_nothing_is_lost(client: FlaskClient, order: str) -> None:
    mine = form_at(client, order)
    client.patch("/api/v1" + order, json={"note": "first"})
    choice = fields(both(client.post(order, data=typed(mine, note="mine"))), order)
    client.patch("/api/v1" + order, json={"note": "second"})
    page = both(client.post(order, data=typed(choice, note="mine")))
    assert "second" in page
    assert "mine" in page
    assert client.get("/api/v1" + order).get_json()["note"] == "second"


@pytest.mark.parametrize("what", ["jars/1", "cutters/1", "gels/1", "boxes/1", "supplies/1", "themes/1"])
def test_a_thing_overtaken_shows_both(client: FlaskClient, what: str) -> None:
    address = f"/shelf/{what}"
    mine = form_at(client, address)
    client.patch(f"/api/v1/{what}", json={"name": "from elsewhere"})
    page = both(client.post(address, data=typed(mine, name="from here")))
    assert "from here" in page
    assert "from elsewhere" in page
    assert page.count("Keep mine:") == 1, "the name alone differs"
    assert client.get(f"/api/v1/{what}").get_json()["name"] == "from elsewhere"
    assert client.post(address, data=typed(fields(page, address), name="from here")).status_code == 303
    assert client.get(f"/api/v1/{what}").get_json()["name"] == "from here"


def test_allergens_that_differ_are_chosen_whole(client: FlaskClient) -> None:
    client.patch("/api/v1/jars/1", json={"allergens": ["milk"]})
    mine = form_at(client, "/shelf/jars/1")
    client.patch("/api/v1/jars/1", json={"allergens": ["milk", "egg"]})
    mine.setlist("allergens", ["milk", "soy"])
    page = both(client.post("/shelf/jars/1", data=mine))
    choice = fields(page, "/shelf/jars/1")
    assert "allergens" not in choice, "both changed it"
    assert client.post("/shelf/jars/1", data=typed(choice, allergens="milk|soy")).status_code == 303
    assert client.get("/api/v1/jars/1").get_json()["allergens"] == ["milk", "soy"]


def test_a_batch_overtaken_shows_both(client: FlaskClient, batch: str) -> None:
    mine = form_at(client, batch, f"{batch}/change")
    client.patch("/api/v1" + batch, json={"kits": 3})
    page = both(client.post(f"{batch}/change", data=typed(mine, note="blue ribbon")))
    choice = fields(page, f"{batch}/change")
    assert (choice["kits"], choice["note"]) == ("3", "blue ribbon")
    assert client.post(f"{batch}/change", data=choice).status_code == 303
    kept = client.get("/api/v1" + batch).get_json()
    assert (kept["kits"], kept["note"]) == (3, "blue ribbon")


@pytest.mark.parametrize("step", ["promise", "pack", "drop"])
def test_a_step_on_what_was_changed_is_not_taken_unseen(client: FlaskClient, batch: str, step: str) -> None:
    mine = form_at(client, batch, f"{batch}/{step}")
    client.patch("/api/v1" + batch, json={"kits": 4})
    page = both(client.post(f"{batch}/{step}", data=typed(mine, dayless="1")))
    assert "was 2, is now <strong>4</strong>" in page
    assert client.get("/api/v1" + batch).get_json()["state"] == "sketched"
    assert client.post(f"{batch}/{step}", data=fields(page, f"{batch}/{step}")).status_code == 303
    assert client.get("/api/v1" + batch).get_json()["state"] != "sketched"


def test_unpacking_and_ends_carry_the_version_too(client: FlaskClient, batch: str) -> None:
    client.post("/api/v1" + batch + "/pack")
    unpack, end = form_at(client, batch, f"{batch}/unpack"), form_at(client, batch, f"{batch}/end")
    client.patch("/api/v1" + batch, json={"note": "elsewhere"})
    assert "Undo the packing" in both(client.post(f"{batch}/unpack", data=unpack))
    page = both(client.post(f"{batch}/end", data=typed(end, sold="2")))
    again = fields(page, f"{batch}/end")
    assert again["sold"] == "2", "what was typed is sent along"
    assert client.post(f"{batch}/end", data=again).status_code == 303
    assert client.get("/api/v1" + batch).get_json()["state"] == "sold"


def test_a_step_pressed_twice_is_taken_once_and_asks_nothing(client: FlaskClient, batch: str) -> None:
    form = typed(form_at(client, batch, f"{batch}/promise"), dayless="1")
    for _ in range(2):
        assert client.post(f"{batch}/promise", data=form).status_code == 303
    assert client.get("/api/v1" + batch).get_json()["state"] == "promised"


def test_a_step_that_can_no_longer_be_taken_says_so(client: FlaskClient, batch: str) -> None:
    form = form_at(client, batch, f"{batch}/promise")
    client.post("/api/v1" + batch + "/drop")
    page = both(client.post(f"{batch}/promise", data=form))
    assert "can no longer be taken" in page
    assert (
        "<button"
        not in page[page.index(f"{batch}/promise") : page.index("</form>", page.index(f"{batch}/promise"))]
    )


def test_erasing_an_order_that_was_changed_asks_first(client: FlaskClient, order: str) -> None:
    form = form_at(client, order, f"{order}/erase")
    client.patch("/api/v1" + order, json={"note": "elsewhere"})
    page = both(client.post(f"{order}/erase", data=form))
    assert "was ring twice, is now <strong>elsewhere</strong>" in page
    assert client.get(order).status_code == 200


@pytest.mark.parametrize("version", ["", "x", "-1", "1e9", "9" * 40, "٣"])
def test_a_form_without_its_version_counts_as_overtaken(client: FlaskClient, order: str, version: str) -> None:
    page = both(client.post(order, data={"version": version, "customer": "mine", "was": "[" * 50_000}))
    assert "mine" in page
    assert client.get("/api/v1" + order).get_json()["customer"] == "the lighthouse school"
