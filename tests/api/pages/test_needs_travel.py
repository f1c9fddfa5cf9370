"""What a customer must not eat goes with the kit from Ideas to the table and to the batch."""

from __future__ import annotations

import re
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from api.pages.needs import in_address, needs_read
from themekit.values import Needs

ASKED = "/?theme=owl+party&avoid=soy&avoid=peanut&age=3&diet=vegetarian"


def laid(client: FlaskClient, address: str = ASKED) -> str:
    return unescape(re.findall(r'href="(/kit\?[^"]+)"', client.get(address).get_data(as_text=True))[0])


def test_every_link_of_the_table_keeps_every_need(client: FlaskClient) -> None:
    link = laid(client)
    page = client.get(link).get_data(as_text=True)
    links = [unescape(x) for x in re.findall(r'href="(/kit\?[^"]+)"', page)]
    assert len(links) > 10
    for one in (link, *links):
        query = parse_qs(urlsplit(one).query)
        assert sorted(query["avoid"]) == ["peanut", "soy"], one
        assert (query["age"], query["diet"]) == (["3"], ["vegetarian"]), one


def test_no_jar_is_offered_that_a_need_rules_out(client: FlaskClient) -> None:
    link = laid(client)
    page = client.get(link).get_data(as_text=True)
    held = set(parse_qs(urlsplit(link).query)["j"])
    offered = {
        j for x in re.findall(r'href="(/kit\?[^"]+)"', page) for j in parse_qs(urlsplit(unescape(x)).query)["j"]
    }
    assert offered - held
    for id in offered | held:
        jar = client.get(f"/api/v1/jars/{id}").get_json()
        assert jar["allergens"] is not None
        assert not {"soy", "peanut"} & {*jar["allergens"], *(jar["may_contain"] or [])}, jar["name"]
        assert not jar["hard_small_pieces"], jar["name"]
    anew = client.get(link + "&fresh=1").headers["Location"]
    assert sorted(parse_qs(urlsplit(anew).query)["avoid"]) == ["peanut", "soy"]


@pytest.mark.parametrize(
    "address", [ASKED, "/?theme=owl+party,+no+soy,+no+peanuts,+vegetarian,+the+youngest+is+three"]
)
def test_a_batch_kept_from_the_table_holds_the_needs(client: FlaskClient, address: str) -> None:
    page = client.get(laid(client, address)).get_data(as_text=True)
    form = page[page.index('action="/batches"') : page.index("</form>", page.index('action="/batches"'))]
    fields = [(unescape(n), unescape(v)) for n, v in re.findall(r'name="([^"]+)" value="([^"]*)"', form)]
    made = client.post("/batches", data=MultiDict([(n, v) for n, v in fields if n != "kits"] + [("kits", "2")]))
    assert made.status_code == 303
    batch = client.get("/api/v1" + made.headers["Location"]).get_json()
    assert set(batch["needs"]["avoid_allergens"]) == {"soy", "peanut"}
    assert (batch["needs"]["youngest_age"], batch["needs"]["diet"]) == (3, "vegetarian")


def test_a_held_jar_that_breaks_a_need_is_told_first(client: FlaskClient) -> None:
    soy = next(
        j["id"]
        for j in client.get("/api/v1/jars?page_size=200").get_json()["items"]
        if "soy" in (j["allergens"] or [])
    )
    link = f"/kit?theme=owl+party&t=1d8a8a&t=d9a93b&t=7b4a2b&j={soy}&j=2&j=4&c=1:4&avoid=soy"
    page = client.get(link).get_data(as_text=True)
    assert "does not keep what was asked" in page
    assert page.index("does not keep what was asked") < page.index("kitpicture")


def test_needs_that_are_none_are_refused_not_left_out(client: FlaskClient) -> None:
    assert client.get("/kit?theme=owl+party&t=1d8a8a&avoid=moonlight").status_code == 422


def test_needs_come_back_from_an_address_as_they_were() -> None:
    needs = Needs(
        avoid_allergens=("milk", "soy"), avoid_additives=("E129",), youngest_age=0, diet="vegan", use_jars=(3,),
        in_stock_only=True,
    )  # fmt: skip
    assert needs_read(MultiDict(in_address(needs))) == needs


def test_a_second_press_promises_a_season_once(client: FlaskClient) -> None:
    form = {"theme": "owl party", "date": "", "kits": "2", "own": "1"}
    address, page = client.post("/season", data=form).headers["Location"], ""
    while 'name="batches"' not in page:
        page = client.get(address).get_data(as_text=True)
        assert "wrong" not in page
    sent = {n: unescape(re.findall(rf'name="{n}" value="([^"]*)"', page)[0]) for n in ("batches", "key")}
    for _ in range(2):
        assert client.post("/season/promise", data=sent).status_code == 303
    assert client.get("/api/v1/batches").get_json()["total"] == 1
    assert client.post("/season/promise", data={"batches": "[" * 100_000}).status_code == 422
