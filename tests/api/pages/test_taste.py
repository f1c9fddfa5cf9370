"""Taste on the page: said of an idea, a kit and a batch, counted once, told plainly, taken back."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient

ADDRESS = "/?theme=pirates"


def forms(client: FlaskClient, address: str) -> list[dict[str, str]]:
    """What each form about a kit would send, without the button."""
    page = client.get(address).get_data(as_text=True)
    found = re.findall(r'<form method="post" action="/taste".*?</form>', page, re.DOTALL)
    return [
        {name: unescape(value) for name, value in re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', one)}
        for one in found
    ]


def counts(client: FlaskClient) -> dict[str, int]:
    taste: dict[str, Any] = client.get("/api/v1/taste").get_json()
    return {what: count for what, count in taste["counts"].items() if count}


def test_each_idea_and_the_same_kit_on_the_table_count_once(client: FlaskClient) -> None:
    """Pressed again, reloaded or said on the kit's own page, it is one choice; another word replaces it."""
    first, second = forms(client, ADDRESS)[:2]
    for _ in range(3):
        answer = client.post("/taste", data=first | {"what": "kept"})
        assert (answer.status_code, answer.headers["Location"]) == (303, ADDRESS + "#said1")
        assert 'id="said1"' in client.get(ADDRESS).get_data(as_text=True), "the thanks are where the button was"
    client.post("/taste", data=second | {"what": "passed over"})
    assert counts(client) == {"kept": 1, "passed over": 1}
    page = client.get(ADDRESS).get_data(as_text=True)
    assert page.count("You liked this one.") == 1
    assert page.count("You passed this one over.") == 1
    on_table = "/kit?" + first["kit"]
    assert "You liked this one." in client.get(on_table).get_data(as_text=True)
    (own,) = forms(client, on_table)
    assert own["back"] == on_table
    client.post("/taste", data=own | {"what": "passed over"})
    assert counts(client) == {"passed over": 2}


def test_it_is_the_choice_that_the_api_keeps(client: FlaskClient) -> None:
    """The same idea sent by a program counts no second time."""
    client.post("/taste", data=forms(client, ADDRESS)[0] | {"what": "kept"})
    idea = client.post("/api/v1/ideas", json={"theme": "pirates", "count": 3}).get_json()["ideas"][0]
    client.post("/api/v1/taste", json={"what": "kept", "idea": idea, "theme": "pirates"})
    assert counts(client) == {"kept": 1}


def test_what_was_learned_is_told_and_forgotten(client: FlaskClient) -> None:
    assert "Nothing was said of any idea yet" in client.get("/taste").get_data(as_text=True)
    client.post("/taste", data=forms(client, ADDRESS)[0] | {"what": "kept"})
    page = client.get("/taste").get_data(as_text=True)
    assert "Learned from 1 choice: 1 kept." in page
    assert "you liked it" in page
    answer = client.post("/taste/reset")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/taste")
    assert counts(client) == {}
    assert "You liked" not in client.get(ADDRESS).get_data(as_text=True)


def test_a_batch_that_sold_out_or_was_left_over_by_one_tap(client: FlaskClient) -> None:
    idea = client.post("/api/v1/ideas", json={"theme": "pirates", "count": 1}).get_json()["ideas"][0]
    id = client.post("/api/v1/batches", json={"theme": "pirates", "kits": 2, "idea": idea}).get_json()["id"]
    client.post(f"/api/v1/batches/{id}/pack")
    for word, button in (("sold out", "Sold out: all 2 kits"), ("left over", "Left over: none was sold")):
        page = client.get(f"/batches/{id}").get_data(as_text=True)
        form = next(f for f in re.findall(r"<form.*?</form>", page, re.DOTALL) if button in f)
        sent = {n: unescape(v) for n, v in re.findall(r'type="hidden" name="([\w ]+)" value="([^"]*)"', form)}
        for _ in range(2):
            client.post(f"/batches/{id}/end", data=sent)
        assert counts(client) == {word: 1}
        assert f"Noted as {word}" in client.get(f"/batches/{id}").get_data(as_text=True)


@pytest.mark.parametrize("sent", [{"what": "adored"}, {}, {"what": "kept", "kit": "age=old"}])
def test_what_cannot_be_noted_is_told(client: FlaskClient, sent: dict[str, str]) -> None:
    answer = client.post("/taste", data=forms(client, ADDRESS)[0] | sent)
    assert answer.status_code == 422
    assert "This was not noted" in answer.get_data(as_text=True)
    assert counts(client) == {}


def test_the_way_back_leads_nowhere_else(client: FlaskClient) -> None:
    sent = forms(client, ADDRESS)[0] | {"what": "kept", "back": "//elsewhere.example/"}
    assert client.post("/taste", data=sent).headers["Location"] == "/#said1"
