"""Requests have to come the way they should: by a name of ours, from a page of ours, or with a token.

Origin is RFC 6454's header.
"""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from api.access.listening import Listening
from api.app import create_app
from catalog.access import Access
from catalog.store import Store

ELSEWHERE = (
    "https://example.org",
    "null",
    "http://localhost:99",
    "http://localhost.example.org",
    "file://localhost",
)


@pytest.mark.parametrize("origin", ELSEWHERE)
@pytest.mark.parametrize("method", ["post", "patch", "put", "delete"])
def test_changes_from_elsewhere_are_refused(client: FlaskClient, origin: str, method: str) -> None:
    before = client.get("/api/v1/jars/1").json
    made = getattr(client, method)("/api/v1/jars/1", json={"name": "x"}, headers={"Origin": origin})
    assert made.status_code == 403
    assert made.json["error"]["code"] == "from_elsewhere"
    assert made.json["error"]["problems"][0]["got"] == origin
    assert client.get("/api/v1/jars/1").json == before


def test_a_form_from_elsewhere_is_refused_as_a_page(client: FlaskClient) -> None:
    made = client.post("/batches", data={"kits": "2"}, headers={"Origin": "https://example.org"})
    assert made.status_code == 403


def test_own_pages_and_programs_may_change_things(client: FlaskClient) -> None:
    assert client.patch("/api/v1/jars/1", json={"lot": "a"}).status_code == 200
    own = client.patch("/api/v1/jars/1", json={"lot": "b"}, headers={"Origin": "http://localhost"})
    assert own.status_code == 200


def test_reading_is_open_to_links_from_elsewhere(client: FlaskClient) -> None:
    assert client.get("/", headers={"Origin": "https://example.org"}).status_code == 200


def test_an_unknown_address_is_told_to_people_as_a_page_and_to_programs_as_json(client: FlaskClient) -> None:
    page, program = client.get("/nowhere"), client.get("/api/v1/nowhere")
    assert (page.status_code, page.mimetype) == (404, "text/html")
    assert (program.status_code, program.mimetype) == (404, "application/json")


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_changes_are_refused_by_what_the_browser_says_of_the_page(client: FlaskClient, site: str) -> None:
    """Fetch Metadata Request Headers (W3C), Sec-Fetch-Site."""
    made = client.patch("/api/v1/jars/1", json={"lot": "a"}, headers={"Sec-Fetch-Site": site})
    assert made.status_code == 403
    assert made.json["error"]["problems"][0] == {
        "field": "Sec-Fetch-Site",
        "got": site,
        "allowed": "a page of localhost",
        "hint": "Open the page by its own address and try again.",
    }
    for good in ("same-origin", "none"):
        own = client.patch("/api/v1/jars/1", json={"lot": "b"}, headers={"Sec-Fetch-Site": good})
        assert own.status_code == 200


def test_the_api_takes_nothing_that_a_plain_form_can_send(client: FlaskClient, refused: Any) -> None:
    """Also where no body is read, since browsers send these from anywhere without asking first."""
    for media in ("application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "text/plain"):
        for place in ("/api/v1/batches/1/promise", "/api/v1/jars", "/api/v1/taste"):
            answer = client.post(place, data=b"{}", headers={"Content-Type": media})
            refused(answer, 415, "not_json", "Content-Type")


GOOD = ("localhost", "LOCALHOST", "127.0.0.1", "[::1]", "localhost.")
BAD = ("rebound.example", "localhost.example.org", "127.0.0.1.example.org", "192.168.0.2", "0.0.0.0", "[::2]",
       "user@localhost", "localhost/x", "a b", "")  # fmt: skip


def test_its_own_names_open_it(store: Store) -> None:
    client = create_app(store, listening=Listening(port=8017)).test_client()
    usual = create_app(store, listening=Listening(port=80)).test_client()
    for host in GOOD:
        assert client.get("/api/v1/shelf", headers={"Host": f"{host}:8017"}).status_code == 200, host
        assert client.get("/api/v1/shelf", headers={"Host": f"{host}:8018"}).status_code == 421, host
        assert client.get("/api/v1/shelf", headers={"Host": host}).status_code == 421, host
        assert usual.get("/api/v1/shelf", headers={"Host": host}).status_code == 200, host


def test_no_other_name_opens_it(client: FlaskClient, refused: Any) -> None:
    """DNS rebinding: a page's own name that is pointed at this machine. Nothing of the shelf is told."""
    for host in BAD:
        for headers in ({"Host": host}, {"Host": host, "Origin": f"http://{host}"}):
            refused(client.get("/api/v1/shelf", headers=headers), 421, "wrong_host", "Host")
            page = client.get("/", headers=headers)
            assert page.status_code == 421, host
            assert "demo" not in page.get_data(as_text=True)
        assert client.post("/units", data={"units": "us"}, headers={"Host": host}).status_code == 421


def test_on_this_machine_alone_nobody_else_comes_in(client: FlaskClient, refused: Any) -> None:
    """Neither through a proxy nor by a server that listens elsewhere than it was said."""
    for headers, address in (
        ({"X-Forwarded-For": "192.0.2.7"}, "127.0.0.1"),
        ({"Forwarded": "for=192.0.2.7"}, "127.0.0.1"),
        ({"X-Forwarded-Host": "bakery.example"}, "127.0.0.1"),
        ({}, "192.168.0.9"),
        ({}, ""),
        ({}, "2001:db8::1"),
    ):
        answer = client.get("/api/v1/shelf", headers=headers, environ_base={"REMOTE_ADDR": address})
        refused(answer, 421, "wrong_host", "request")
    assert client.get("/api/v1/shelf", environ_base={"REMOTE_ADDR": "::1"}).status_code == 200


def test_a_token_needs_neither_origin_nor_form_token(store: Store) -> None:
    """A program shows a secret that no browser adds by itself (RFC 6750)."""
    token = Access(store).new_token(store.shelf_named().id, "till")
    client = create_app(store, listening=Listening("0.0.0.0")).test_client()
    headers = {"Authorization": f"bearer {token}", "Origin": "https://example.org"}
    assert client.patch("/api/v1/jars/1", json={"lot": "a"}, headers=headers).status_code == 200
    headers["Authorization"] = "Basic eDp5"
    answer = client.patch("/api/v1/jars/1", json={"lot": "a"}, headers=headers)
    assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, 'Bearer realm="themekit"')


def test_a_token_that_is_not_good_opens_nothing(store: Store, client: FlaskClient, refused: Any) -> None:
    """Also on this machine alone, where none is needed; the header is that of RFC 6750, section 3."""
    access, shelf = Access(store), store.shelf_named().id
    token = access.new_token(shelf, "till")
    access.revoke_token(shelf, "till")
    for bad in (token, "", "x" * 5000, "themekit_"):
        answer = client.get("/api/v1/shelf", headers={"Authorization": f"Bearer {bad}"})
        refused(answer, 401, "not_signed_in", "Authorization")
        assert answer.headers["WWW-Authenticate"] == 'Bearer realm="themekit", error="invalid_token"'
        if len(bad) > 10:
            assert bad not in answer.get_data(as_text=True)


def test_the_document_tells_how_programs_come_in(client: FlaskClient) -> None:
    document = client.get("/api/v1/openapi.json").get_json()
    scheme = document["components"]["securitySchemes"]["token"]
    assert (scheme["type"], scheme["scheme"]) == ("http", "bearer")
    assert document["security"] == [{}, {"token": []}]
    assert {"401", "403", "421"} <= set(document["paths"]["/api/v1/jars"]["get"]["responses"])
