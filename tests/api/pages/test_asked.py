"""What a customer asked for: kept with the order, shown, put right, and held against every kit that joins it."""

from __future__ import annotations

import re
from html import unescape

from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

KIT = [("theme", "owls"), ("kits", "2"), ("t", "1d8a8a"), ("t", "d9a93b"), ("t", "7b4a2b"), ("j", "1"), ("j", "2"),
       ("j", "4"), ("c", "1:4"), ("c", "2:4")]  # fmt: skip
MESSAGE = "Could you make 2 owl party kits for 5 December? No soy, no red, the youngest is 5."
DUE = ("due", "2027-01-05")


def version(client: FlaskClient, where: str) -> dict[str, str]:
    return {"version": str(client.get("/api/v1" + where).get_json()["version"])}


def reading(client: FlaskClient, **more: str) -> str:
    answer = client.get("/reply", query_string={"text": MESSAGE, **more})
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def sent(page: str) -> MultiDict[str, str]:
    """What the order's form would send, with the first kit chosen."""
    part = page[page.index('id="take"') : page.index("</form>", page.index('id="take"'))]
    found = []
    for tag in re.findall(r"<input[^>]*>", part):
        name, value = re.search(r' name="([^"]+)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and name[1] != "chosen" and ("checkbox" not in tag or "checked" in tag):
            found.append((unescape(name[1]), unescape(value[1]) if value else ""))
    letter = re.search(r'name="reply"[^>]*>([^<]*)</textarea>', part)
    assert letter is not None
    chosen = unescape(re.findall(r'name="chosen" value="([^"]+)"', part)[0])
    return MultiDict([*found, ("reply", unescape(letter[1])), ("chosen", chosen)])


def form(*more: tuple[str, str]) -> MultiDict[str, str]:
    return MultiDict([*KIT, *more])


def order_of(client: FlaskClient, **asked: object) -> str:
    row = client.post("/api/v1/orders", json={"customer": "the school", "due": DUE[1], "needs": asked}).get_json()
    return f"/orders/{row['id']}"


def typed(client: FlaskClient, where: str, **fields: str) -> dict[str, str]:
    said = {"customer": "the school", "due": DUE[1], "age": "", "diet": "", "unwanted": "", "additives": ""}
    return version(client, where) | said | fields


def test_what_a_message_asks_for_stands_with_the_order_in_plain_words(client: FlaskClient) -> None:
    data = sent(reading(client))
    data["customer"] = "x"
    where = client.post("/reply", data=data).headers["Location"].partition("?")[0]
    assert MESSAGE.endswith("No soy, no red, the youngest is 5.")
    needs = client.get("/api/v1" + where).get_json()["needs"]
    assert (needs["avoid_allergens"], needs["youngest_age"]) == (["soy"], 5)
    assert len(needs["avoid_colours"]) == 1
    page = client.get(where).get_data(as_text=True)
    told = page[page.index("They asked for") :].partition("</section>")[0]
    assert all(word in told for word in ("no soy", "no red", "youngest 5")), told
    asked = [need.strip() for need in re.sub("<[^>]+>", ",", told).split(",")]
    assert asked.count("no red") == 1
    # As it stands in the form it is the same again.
    client.post(where, data=typed(client, where, avoid="soy", age="5", unwanted="red"))
    assert client.get("/api/v1" + where).get_json()["needs"] == needs


def test_a_kit_for_the_order_is_laid_out_under_what_was_asked(client: FlaskClient) -> None:
    order_of(client, avoid_allergens=["soy"], youngest_age=5)
    page = client.get("/kit?theme=owl+party&order=1").get_data(as_text=True)
    assert 'name="avoid" value="soy"' in page
    assert 'name="age" value="5"' in page


def test_a_kit_that_breaks_it_joins_only_with_a_tick(client: FlaskClient) -> None:
    order_of(client, avoid_allergens=["milk"])
    for step in ((), (("promise", "1"),)):
        answer = client.post("/batches", data=form(("order", "1"), DUE, *step))
        page = answer.get_data(as_text=True)
        assert answer.status_code == 422, step
        assert "does not keep “no milk”" in page[page.index('id="m-know-amiss"') :].partition("</span>")[0]
    assert client.get("/api/v1/batches").get_json()["total"] == 0
    sure = form(("order", "1"), DUE, ("promise", "1"), ("know", "1"))
    assert client.post("/batches", data=sure).status_code == 303


def test_a_batch_that_breaks_it_joins_and_is_promised_only_with_a_tick(client: FlaskClient) -> None:
    order = order_of(client, avoid_allergens=["milk"])
    where = client.post("/batches", data=form(DUE)).headers["Location"]
    joins = {"name": "owls", "kits": "2", "due": DUE[1], "order": "1", "note": ""}
    answer = client.post(f"{where}/change", data=version(client, where) | joins)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "does not keep “no milk”" in page[page.index('id="b-know-amiss"') :].partition("</span>")[0]
    sure = version(client, where) | joins | {"know": "1"}
    assert client.post(f"{where}/change", data=sure).status_code == 303
    assert "does not keep “no milk”" in client.get(order).get_data(as_text=True)
    assert client.post(f"{where}/promise", data=version(client, where)).status_code == 422
    # Put right: it was no milk allergy.
    client.post(order, data=typed(client, order))
    assert "does not keep" not in client.get(order).get_data(as_text=True)
    assert client.post(f"{where}/promise", data=version(client, where)).status_code == 303


def test_by_their_words_kits_keep_to_what_was_put_right_too(client: FlaskClient) -> None:
    order = order_of(client)
    client.post(order, data=typed(client, order, avoid="egg", said=MESSAGE))
    page = client.get("/reply", query_string={"order": "1", "text": MESSAGE}).get_data(as_text=True)
    assert 'name="avoid" value="egg" checked' in page
    assert 'name="avoid" value="soy" checked' in page


def test_a_colour_that_is_not_wanted_is_told(client: FlaskClient) -> None:
    order_of(client, avoid_colours=["#1d8a8a"])
    page = client.post("/batches", data=form(("order", "1"), DUE)).get_data(as_text=True)
    assert "does not keep “no teal”" in page


def test_needs_that_cannot_be_read_are_told_beside_their_fields(client: FlaskClient) -> None:
    order = order_of(client)
    answer = client.post(order, data=typed(client, order, age="old", unwanted="blurple", time="noon"))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert 'id="o-unwanted-amiss"' in page
    assert 'id="o-time-amiss"' in page
    assert 'value="blurple"' in page
    page = client.post(order, data=typed(client, order, age="old")).get_data(as_text=True)
    assert 'id="o-age-amiss"' in page
