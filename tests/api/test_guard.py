"""Changes from pages of other addresses are refused, here by the Origin header (RFC 6454)."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

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
