"""From the table or a message to batches and orders: once each, whole or not at all, and bad posts never a 500."""

from __future__ import annotations

import re
from html import unescape
from itertools import combinations, product
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

KIT = [("theme", "owls"), ("kits", "2"), ("t", "1d8a8a"), ("t", "d9a93b"), ("t", "7b4a2b"), ("j", "1"), ("j", "2"),
       ("j", "4"), ("c", "1:4"), ("c", "2:4")]  # fmt: skip
MESSAGE = "Could you make 2 owl party kits for 5 December? No soy, no red, the youngest is 5."
DAYLESS = ("dayless", "1")
HUGE = "9" * 5_000
BAD = ("", "-1", "1.5", HUGE, "\u0663", "a\x00b")


def form(*more: tuple[str, str], without: tuple[str, ...] = ()) -> MultiDict[str, str]:
    named = {name for name, _ in more}
    return MultiDict([(n, v) for n, v in KIT if n not in named and n not in without] + list(more))


def total(client: FlaskClient, what: str) -> int:
    found: int = client.get(f"/api/v1/{what}").get_json()["total"]
    return found


def key_in(page: str) -> str:
    return re.findall(r'name="key" value="([^"]+)"', page)[0]


def test_a_form_sent_twice_makes_one_batch_and_a_new_form_another(client: FlaskClient) -> None:
    keys = [key_in(client.get("/kit?theme=owl+party").get_data(as_text=True)) for _ in range(2)]
    assert keys[0] != keys[1]
    places = {client.post("/batches", data=form(("key", keys[0]))).headers["Location"] for _ in range(3)}
    assert len(places) == 1
    assert total(client, "batches") == 1
    client.post("/batches", data=form(("key", keys[1])))
    assert total(client, "batches") == 2


def test_a_sent_form_with_other_values_tells_and_keeps_what_was_typed(client: FlaskClient) -> None:
    client.post("/batches", data=form(("key", "k1")))
    answer = client.post("/batches", data=form(("key", "k1"), ("kits", "7"), ("name", "typed here")))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "was sent before" in page
    assert 'value="typed here"' in page
    assert total(client, "batches") == 1
    assert client.post("/batches", data=form(("key", key_in(page)), ("kits", "7"))).status_code == 303


def test_a_batch_for_an_order_there_is_and_for_a_new_one(client: FlaskClient) -> None:
    order = client.post("/orders", data={"customer": "the school", "due": "2027-01-05"}).headers["Location"]
    assert ">the school" in client.get("/kit?theme=owl+party").get_data(as_text=True)
    made = client.post("/batches", data=form(("order", order.rpartition("/")[2]), ("due", "2027-01-05")))
    batch = client.get("/api/v1" + made.headers["Location"]).get_json()
    assert (batch["order"], batch["due"], batch["state"]) == (1, "2027-01-05", "sketched")
    made = client.post(
        "/batches", data=form(("order", "new"), ("customer", "the harbour"), ("promise", "1"), DAYLESS)
    )
    batch = client.get("/api/v1" + made.headers["Location"]).get_json()
    assert batch["state"] == "promised"
    assert client.get(f"/api/v1/orders/{batch['order']}").get_json()["customer"] == "the harbour"


def test_too_little_makes_neither_order_nor_batch_and_offers_jars_by_link(client: FlaskClient) -> None:
    short = form(
        ("kits", "25"), ("order", "new"), ("customer", "the harbour"), ("promise", "1"), ("name", "typed"), DAYLESS
    )
    answer = client.post("/batches", data=short)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert (total(client, "orders"), total(client, "batches")) == (0, 0)
    part = page[page.index('id="short"') :].partition("</section>")[0]
    assert "are wanted" in part
    links = [unescape(x) for x in re.findall(r'href="(/kit\?[^"]+)"', part)]
    assert links, "another jar would do"
    for link in links:
        assert len(set(parse_qs(urlsplit(link).query)["j"]) - {"1", "2", "4"}) == 1
        assert client.get(link).status_code == 200
    assert 'value="typed"' in page
    assert 'value="the harbour"' in page


def version(client: FlaskClient, where: str) -> dict[str, str]:
    return {"version": str(client.get("/api/v1" + where).get_json()["version"])}


def test_what_may_be_a_slip_is_asked_once(client: FlaskClient) -> None:
    """A promise without a day or against what was asked, and packing weeks ahead."""
    odd = [("avoid", "soy"), ("avoid", "milk"), ("avoid", "wheat"), ("avoid", "egg")]
    answer = client.post("/batches", data=form(*odd, ("promise", "1")))
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "does not keep what was asked" in page
    assert "no day yet" in page
    assert total(client, "batches") == 0
    where = client.post("/batches", data=form(*odd)).headers["Location"]
    page = client.get(where).get_data(as_text=True)
    assert page.index("This kit does not keep what was asked") < page.index(f"{where}/promise")
    answer = client.post(f"{where}/promise", data=version(client, where))
    assert answer.status_code == 422
    assert client.get("/api/v1" + where).get_json()["state"] == "sketched"
    sure = {**version(client, where), "know": "1", "dayless": "1"}
    assert client.post(f"{where}/promise", data=sure).status_code == 303
    where = client.post("/batches", data=form(("due", "2027-01-30"), ("kits", "1"))).headers["Location"]
    assert client.post(f"{where}/pack", data=version(client, where)).status_code == 422
    assert client.post(f"{where}/pack", data={**version(client, where), "early": "1"}).status_code == 303


def test_day_order_and_words_go_along_to_the_table_and_back(client: FlaskClient) -> None:
    page = reading(client)
    link = unescape(re.findall(r'href="(/kit\?[^"]+)"', page)[0])
    asked = parse_qs(urlsplit(link).query)
    assert (asked["due"], asked["order"], asked["said"]) == (["2026-12-05"], ["new"], [MESSAGE])
    page = client.get(link).get_data(as_text=True)
    assert '<option value="new" selected>' in page
    swap = unescape(re.findall(r'id="swap-j0-1"[^>]*href="([^"]+)"', page)[0])
    page = client.get(swap).get_data(as_text=True)
    part = page[page.index('id="make"') :]
    assert 'name="due" value="2026-12-05"' in part
    data = parse_qs(urlsplit(swap).query) | {"customer": ["the owl house"], "key": ["k9"]}
    made = client.get("/api/v1" + client.post("/batches", data=data).headers["Location"]).get_json()
    order = client.get(f"/api/v1/orders/{made['order']}").get_json()
    assert (order["customer"], order["due"], order["said"]) == ("the owl house", "2026-12-05", MESSAGE)


def test_by_their_words_a_batch_joins_the_order_there_is(client: FlaskClient) -> None:
    order = client.post("/orders", data={"customer": "the school", "said": MESSAGE}).headers["Location"]
    link = unescape(re.findall(r'href="(/reply[^"]+)"', client.get(order).get_data(as_text=True))[0])
    page = client.get(link).get_data(as_text=True)
    assert "the school" in page[page.index('id="take"') :]
    assert client.post("/reply", data=sent(page)).headers["Location"] == order
    assert len(client.get("/api/v1" + order).get_json()["batches"]) == 1
    assert total(client, "orders") == 1


def test_another_jar_instead_keeps_name_and_holds(client: FlaskClient) -> None:
    short = form(("kits", "25"), ("promise", "1"), ("name", "typed"), ("hold", "t0"), DAYLESS)
    page = client.post("/batches", data=short).get_data(as_text=True)
    part = page[page.index('id="short"') :].partition("</section>")[0]
    link = parse_qs(urlsplit(unescape(re.findall(r'href="(/kit\?[^"]+)"', part)[0])).query)
    assert (link["name"], link["hold"]) == (["typed"], ["t0"])
    assert '<input type="hidden" name="hold" value="t0">' in page[page.index('id="make"') :]


def test_batches_stand_by_their_day(client: FlaskClient) -> None:
    days = {
        "gone": "2026-11-01",
        "later": "2027-02-01",
        "open": "",
        "soon": "2026-12-20",
        "long gone": "2026-01-01",
    }
    for name, due in days.items():
        client.post("/batches", data=form(("name", name), ("due", due), ("late", due)))
    page = client.get("/batches").get_data(as_text=True)
    shown = re.findall(r'<td><a href="/batches/\d+">([^<]+)</a>', page)
    assert shown == ["soon", "later", "open", "gone", "long gone"]


FIELDS = ("kits", "due", "order", "j", "t", "c", "name", "key", "age", "avoid", "use")


def test_a_bad_value_for_a_batch_is_never_a_500_and_never_lost(client: FlaskClient) -> None:
    for field, value in product(FIELDS, ("-1", HUGE, "a\x00b")):
        answer = client.post("/batches", data=form((field, value), ("customer", "kept")))
        assert answer.status_code in (303, 422), (field, answer.status_code)
        if answer.status_code == 422 and field not in ("age", "avoid", "use"):
            assert 'value="kept"' in answer.get_data(as_text=True), field
        if value == HUGE and field in ("kits", "order", "j", "t", "c"):
            assert answer.status_code == 422, field


def test_a_missing_field_is_told(client: FlaskClient) -> None:
    for field, status in (("theme", 303), ("kits", 422), ("t", 422), ("j", 422), ("c", 422)):
        assert client.post("/batches", data=form(without=(field,))).status_code == status, field
    assert client.post("/batches", data={}).status_code == 422
    assert client.post("/batches", data="{}", content_type="application/json").status_code == 422


ORDER = {"customer": "c", "contact": "d", "due": "2027-01-05", "time": "10:30", "total": "20", "deposit": "5",
         "note": "kept note", "said": "kept words"}  # fmt: skip


@pytest.mark.parametrize("value", BAD)
def test_a_bad_value_of_an_order_is_never_a_500_and_never_lost(client: FlaskClient, value: str) -> None:
    kept = client.post("/orders", data=ORDER).headers["Location"]
    fields = ("due", "time", "total", "deposit", "customer", "said", "paid", "key", "version")
    for address, field in product(("/orders", kept), fields):
        data = {**ORDER, "version": "1", field: value}
        answer = client.post(address, data=data)
        assert answer.status_code in (303, 409, 422), (address, answer.status_code)
        if answer.status_code != 303:
            page = answer.get_data(as_text=True)
            assert "kept note" in page
            assert "kept words" in page or field == "said"


@pytest.mark.parametrize(
    ("address", "data"),
    [
        ("/orders/999", ORDER),
        ("/orders/" + HUGE, ORDER),
        ("/orders/999/erase", {}),
        ("/batches/999/promise", {"version": "1"}),
        ("/batches/999/change", {"name": "x"}),
        ("/batches/999/swap", {"old": "1"}),
        ("/batches/999/end", {"sold": "1"}),
        ("/batches/1/fly", {}),
    ],
)
def test_what_is_not_there_is_answered_plainly(client: FlaskClient, address: str, data: dict[str, str]) -> None:
    answer = client.post(address, data=data)
    assert answer.status_code == 404
    assert answer.get_data(as_text=True).startswith("<!doctype html>")


@pytest.mark.parametrize("value", BAD)
def test_a_bad_value_of_a_batch_is_never_a_500_and_never_lost(client: FlaskClient, value: str) -> None:
    where = client.post("/batches", data=form()).headers["Location"]
    for field in ("name", "kits", "due", "order", "note"):
        version = client.get("/api/v1" + where).get_json()["version"]
        data = {"name": "n", "kits": "2", "due": "", "note": "kept note", "version": str(version), field: value}
        answer = client.post(f"{where}/change", data=data)
        assert answer.status_code in (303, 422), (field, answer.status_code)
        if answer.status_code == 422 and field != "note":
            assert 'value="kept note"' in answer.get_data(as_text=True)
    version = client.get("/api/v1" + where).get_json()["version"]
    for step, data in (("swap", {"old": "1", "new": value}), ("end", {"sold": value})):
        assert client.post(f"{where}/{step}", data={**data, "version": str(version)}).status_code in (303, 422)


@pytest.mark.parametrize("value", ["-1", HUGE, "a\x00b"])
def test_a_bad_address_is_never_a_500(client: FlaskClient, value: str) -> None:
    for name in ("t", "j", "c", "kits", "theme", "hold", "s", "serve", "age", "use", "fresh"):
        query = MultiDict([*KIT, (name, value)])
        assert client.get("/kit", query_string=query).status_code in (200, 303, 422), name
    assert client.get("/compare", query_string={"a": value, "b": value}).status_code in (200, 422)
    assert client.post("/kit", data={"t": value}).status_code == 405


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


def test_a_message_becomes_an_order_with_its_batch_once(client: FlaskClient) -> None:
    data = sent(reading(client))
    data["customer"] = "the owl house"
    places = {client.post("/reply", data=data).headers["Location"].partition("?")[0] for _ in range(2)}
    assert len(places) == 1
    order = client.get("/api/v1" + places.pop()).get_json()
    assert (order["customer"], order["due"], order["said"]) == ("the owl house", "2026-12-05", MESSAGE)
    (batch,) = order["batches"]
    batch = client.get(f"/api/v1/batches/{batch['id']}").get_json()
    assert (batch["kits"], batch["due"], batch["state"]) == (2, "2026-12-05", "sketched")
    assert batch["needs"]["avoid_allergens"] == ["soy"]
    assert batch["needs"]["youngest_age"] == 5
    assert (total(client, "orders"), total(client, "batches")) == (1, 1)


def test_coming_back_and_keeping_again_shows_the_first_order(client: FlaskClient) -> None:
    first, again = sent(reading(client)), sent(reading(client))
    assert first["key"] != again["key"], "a form that was fetched anew"
    first["customer"] = "the owl house"
    place = client.post("/reply", data=first).headers["Location"]
    answer = client.post("/reply", data=again, follow_redirects=True)
    assert answer.request.path == place
    assert "Already kept" in answer.get_data(as_text=True)
    assert (total(client, "orders"), total(client, "batches")) == (1, 1)
    more = sent(reading(client, another="1"))
    more["customer"] = "the other house"
    assert client.post("/reply", data=more).headers["Location"] != place
    assert total(client, "orders") == 2


def test_an_order_from_a_message_has_a_name_or_is_for_a_market_and_the_letter_is_not_lost(
    client: FlaskClient,
) -> None:
    data = sent(reading(client))
    data["reply"] = "My own letter."
    answer = client.post("/reply", data=data)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "sold at a market" in page
    assert ">My own letter.</textarea>" in page
    assert "As it is worked out now" in page
    assert total(client, "orders") == 0
    data["market"] = "1"
    kept = client.post("/reply", data=data)
    assert kept.status_code == 303
    order = client.get("/api/v1" + kept.headers["Location"]).get_json()
    assert order["letter"] == "My own letter."
    shown = client.get(kept.headers["Location"]).get_data(as_text=True)
    assert ">My own letter.</textarea>" in shown


def test_what_is_put_right_is_answered_and_her_own_letter_and_the_order_stay(client: FlaskClient) -> None:
    data = sent(reading(client))
    data["step"], data["kits"] = "answer", "3"
    chosen, data["chosen"] = data["chosen"], ""
    # Nothing else was typed: the answer has an address of its own.
    led = client.post("/reply", data=data)
    assert led.status_code == 303
    assert parse_qs(urlsplit(led.headers["Location"]).query)["kits"] == ["3"]
    assert "3 kits" in client.get(led.headers["Location"]).get_data(as_text=True)
    data["reply"], data["customer"], data["chosen"] = "My own\r\nletter.", "the owl house", chosen
    answer = client.post("/reply", data=data)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 200
    assert "letter.</textarea>" in page
    assert 'value="the owl house"' in page
    assert "The letter stands as you sent it here." in page
    assert corrections(page)["kits"] == "3"
    assert total(client, "orders") == 0
    # A slip in what is put right loses neither.
    wrong = data.copy()
    wrong["wanted"] = "bluish"
    slip = client.post("/reply", data=wrong)
    assert slip.status_code == 422
    assert 'name="reply" value="My own\nletter."' in slip.get_data(as_text=True).replace("\r\n", "\n")
    # Kept with a changed reading it is answered first, so that no kit goes out that answers something else.
    del data["step"]
    first = client.post("/reply", data=data)
    assert first.status_code == 422
    assert total(client, "orders") == 0
    again = sent(first.get_data(as_text=True))
    assert again["customer"] == "the owl house"
    order = client.get("/api/v1" + client.post("/reply", data=again).headers["Location"]).get_json()
    assert (order["letter"], order["batches"][0]["kits"]) == ("My own\nletter.", 3)


def test_words_and_letters_of_several_lines_are_kept(client: FlaskClient) -> None:
    words = "Hello,\r\n2 owl kits\r\n\r\nfor 5 December?"
    page = client.get("/reply", query_string={"text": words}).get_data(as_text=True)
    data = sent(page)
    data["customer"] = "the owl house"
    kept = client.post("/reply", data=data)
    assert kept.status_code == 303
    order = client.get("/api/v1" + kept.headers["Location"]).get_json()
    assert order["said"] == words.replace("\r\n", "\n")
    assert order["letter"].count("\n") > 5
    assert client.post("/reply", data=data).headers["Location"].startswith(kept.headers["Location"])


def test_a_further_letter_goes_to_the_order_there_is_and_is_erased_with_it(client: FlaskClient) -> None:
    order = client.post("/orders", data={"customer": "the school", "said": MESSAGE, "letter": "First."})
    where = order.headers["Location"]
    link = unescape(re.findall(r'href="(/reply[^"]+)"', client.get(where).get_data(as_text=True))[0])
    data = sent(client.get(link).get_data(as_text=True))
    data["reply"] = "Second."
    assert client.post("/reply", data=data).headers["Location"] == where
    now = client.get("/api/v1" + where).get_json()
    assert now["letter"] == "First.\n\nSecond."
    # A form without the letter leaves it as it is.
    changed = {"version": str(now["version"]), "customer": "the school", "said": MESSAGE}
    assert client.post(where, data=changed).status_code == 303
    now = client.get("/api/v1" + where).get_json()
    assert now["letter"] == "First.\n\nSecond."
    client.post(f"{where}/erase", data={"version": str(now["version"])})
    assert client.get("/api/v1" + where).status_code == 404


def test_the_order_and_its_promise_come_together_or_not_at_all(client: FlaskClient) -> None:
    data = sent(reading(client))
    data["promise"], data["order_kits"], data["note"], data["market"] = "1", "900", "kept note", "1"
    answer = client.post("/reply", data=data)
    assert answer.status_code == 422
    assert "kept note" in answer.get_data(as_text=True)
    assert (total(client, "orders"), total(client, "batches")) == (0, 0)
    data["order_kits"], data["key"] = "1", "another"
    order = client.get("/api/v1" + client.post("/reply", data=data).headers["Location"]).get_json()
    assert order["batches"][0]["state"] == "promised"


def test_a_promise_from_a_message_asks_for_the_day_as_a_batch_does(client: FlaskClient) -> None:
    data = sent(client.get("/reply", query_string={"text": "2 owl party kits, no soy"}).get_data(as_text=True))
    data["promise"], data["market"] = "1", "1"
    answer = client.post("/reply", data=data, follow_redirects=True)
    page = answer.get_data(as_text=True)
    assert "Nothing was promised yet" in page
    assert "no day yet: promise it all the same" in page
    assert (total(client, "orders"), total(client, "batches")) == (0, 0)
    data["dayless"], data["key"] = "1", "another"
    order = client.get("/api/v1" + client.post("/reply", data=data).headers["Location"]).get_json()
    assert (order["due"], order["batches"][0]["state"]) == (None, "promised")


def corrections(page: str) -> MultiDict[str, str]:
    part = page[page.index('id="take"') : page.index("</section>", page.index('id="corrections"'))]
    found = []
    for tag in re.findall(r"<input[^>]*>", part):
        name, value = re.search(r' name="([^"]+)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and ("checkbox" not in tag or "checked" in tag):
            found.append((unescape(name[1]), unescape(value[1]) if value else ""))
    return MultiDict(found)


def kits_of(page: str) -> list[list[tuple[str, str]]]:
    chosen = re.findall(r'name="chosen" value="([^"]+)"', page)
    return [re.findall(r"\b([tjc])=([^&]+)", unescape(one)) for one in chosen]


def test_the_reading_stands_in_fields_and_answered_as_it_stands_nothing_changes(client: FlaskClient) -> None:
    page = reading(client)
    fields = corrections(page)
    assert (fields["kits"], fields["date"], fields["age"], fields["unwanted"]) == ("2", "2026-12-05", "5", "red")
    assert fields.getlist("avoid") == ["soy"]
    again = client.get("/reply", query_string=fields)
    assert kits_of(again.get_data(as_text=True)) == kits_of(page)


def test_what_is_put_right_counts_and_what_was_misread_does_not(client: FlaskClient) -> None:
    fields = corrections(reading(client))
    fields["theme"], fields["kits"], fields["wanted"], fields["unwanted"] = "pirates", "3", "teal", ""
    fields.setlist("avoid", ["milk"])
    page = client.get("/reply", query_string=fields).get_data(as_text=True)
    link = parse_qs(unescape(re.findall(r'href="(/kit\?[^"]+)"', page)[0]).partition("?")[2])
    assert (link["theme"], link["avoid"], link["kits"]) == (["pirates"], ["milk"], ["3"]), "soy was let go"
    assert link["colour"] == ["#1d8a8a"]
    assert "nocolour" not in link
    assert corrections(page)["theme"] == "pirates"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("wanted", "bluish"),
        ("date", "soon"),
        ("kits", "many"),
        ("age", "999"),
        ("theme", "qzx vrrk"),
        ("additives", "x" * 200),
        ("diet", "raw"),
        ("avoid", "moonlight"),
        ("skip", HUGE),
    ],
)
def test_a_slip_in_the_fields_is_told_and_nothing_typed_is_lost(
    client: FlaskClient, field: str, value: str
) -> None:
    fields = corrections(reading(client))
    fields["unseen"] = "crown"
    fields[field] = value
    answer = client.get("/reply", query_string=fields)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert corrections(page)["unseen"] == "crown"
    assert MESSAGE in unescape(page)
    if field in ("wanted", "date", "kits", "age", "theme"):
        assert corrections(page)[field] == value


def test_a_message_not_understood_still_shows_its_fields(client: FlaskClient) -> None:
    answer = client.get("/reply", query_string={"text": "qzx vrrk, 5 kits, no milk"})
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    fields = corrections(page)
    assert (fields["kits"], fields.getlist("avoid")) == ("5", ["milk"])
    fields["theme"] = "owl party"
    assert client.get("/reply", query_string=fields).status_code == 200


@pytest.mark.parametrize("value", ["", HUGE, "a\x00b"])
def test_a_bad_value_for_an_order_from_a_message_is_never_a_500(client: FlaskClient, value: str) -> None:
    data = {
        "text": MESSAGE,
        "read": "1",
        "market": "1",
        "another": "1",
        "theme": "owl party",
        "cookies": "8",
        "kits": "2",
    }
    data["chosen"] = "theme=owl+party&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4"
    for field in ("chosen", "kits", "date", "key", "total", "time", "customer"):
        answer = client.post("/reply", data={**data, field: value})
        assert answer.status_code in (303, 422), field


def test_as_many_kits_as_the_table_tells_can_be_promised_and_one_more_cannot(client: FlaskClient) -> None:
    """For several choices of jars: what the kit's page tells and what a promise takes is one figure."""
    told = 0
    for jars in combinations(("1", "2", "4", "5", "7"), 3):
        kit = list(form(without=("j",)).items(multi=True)) + [("j", id) for id in jars]
        page = client.get("/kit", query_string=MultiDict(kit)).get_data(as_text=True)
        makes = re.search(r"on the shelf makes <strong>(\d+) kits?<", page)
        if makes is None or makes[1] == "0":
            continue
        told += 1
        without_kits = [pair for pair in kit if pair[0] != "kits"]
        for more, status in ((1, 422), (0, 303)):
            data = MultiDict([*without_kits, ("kits", str(int(makes[1]) + more)), ("promise", "1"), DAYLESS])
            answer = client.post("/batches", data=data)
            assert answer.status_code == status, (jars, makes[1], more)
        client.post(answer.headers["Location"] + "/drop", data={"version": _version(client, answer), "sure": "1"})
    assert told >= 3


def _version(client: FlaskClient, made: TestResponse) -> str:
    return str(client.get("/api/v1" + made.headers["Location"]).get_json()["version"])


def test_a_day_that_is_too_near_is_told_before_anything_is_kept(client: FlaskClient) -> None:
    """Today is Wednesday 25 November; for Saturday the baking is due today, the shopping was on the 22nd."""
    page = client.get("/reply", query_string={"text": "2 owl party kits for 28 November"}).get_data(as_text=True)
    assert "This would have had to start on Sun 22 Nov 2026" in page
    data = sent(page)
    data["customer"] = "the owl house"
    refused = client.post("/reply", data=data)
    assert refused.status_code == 422
    assert (total(client, "orders"), total(client, "batches")) == (0, 0)
    again = sent(refused.get_data(as_text=True))
    again["customer"], again["chosen"] = "the owl house", data["chosen"]
    assert client.post("/reply", data=again).status_code == 303
    assert (total(client, "orders"), total(client, "batches")) == (1, 1)


def test_the_table_tells_of_a_day_that_is_too_near_and_goes_on_when_sent_again(client: FlaskClient) -> None:
    refused = client.post("/batches", data=form(("due", "2026-11-28"), ("name", "typed")))
    page = refused.get_data(as_text=True)
    assert refused.status_code == 422
    assert "This would have had to start on" in page
    assert 'value="typed"' in page
    assert total(client, "batches") == 0
    assert 'name="late" value="2026-11-28"' in page
    # Another day that is too near is told anew.
    assert client.post("/batches", data=form(("due", "2026-11-27"), ("late", "2026-11-28"))).status_code == 422
    assert client.post("/batches", data=form(("due", "2026-11-28"), ("late", "2026-11-28"))).status_code == 303
    assert client.post("/batches", data=form(("due", "2026-12-05"))).status_code == 303


def test_the_jars_of_the_swap_list_are_offered_where_none_looks_alike(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("catalog.holding.stand_ins", lambda *_: [])
    page = client.post("/batches", data=form(("kits", "25"), ("promise", "1"), DAYLESS)).get_data(as_text=True)
    part = page[page.index('id="short"') :].partition("</section>")[0]
    links = [unescape(x) for x in re.findall(r'href="(/kit\?[^"]+)"', part)]
    assert links, "a jar of the swap list would do"
    assert "No jar on the shelf" not in part
    swaps = [unescape(x) for x in re.findall(r'id="swap-j[^>]*href="([^"]+)"', page)]
    taken = [parse_qs(urlsplit(x).query)["j"] for x in swaps]
    assert all(parse_qs(urlsplit(link).query)["j"] in taken for link in links)
    # What is offered does: promised with it there is enough of that jar.
    name = re.findall(r"<strong>([^<]+)</strong>:", part)[0]
    done = client.post(
        "/batches", data={**parse_qs(urlsplit(links[0]).query), "kits": "25", "promise": "1", "dayless": "1"}
    )
    after = done.get_data(as_text=True)
    assert done.status_code == 303 or f"<strong>{name}</strong>:" not in after
    # The shortage stands once.
    assert page.count("are wanted") == part.count("are wanted")
    assert "that nobody else has" not in page
