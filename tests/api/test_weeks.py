"""Batches due together: one plan of work and one shopping list, over HTTP and on the page."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

BATCH = {
    "theme": "owl party", "kits": 6, "tints": ["#1d8a8a", "#d9a93b", "#7b4a2b"], "jars": [1, 2, 4],
    "cutters": [{"id": 1, "cookies": 8}],
}  # fmt: skip


def made(client: FlaskClient, **more: Any) -> int:
    found: int = client.post("/api/v1/batches", json={**BATCH, **more}).get_json()["id"]
    return found


def needed(shopping: dict[str, Any], name: str) -> float:
    return next(line["needed"] for line in shopping["lines"] if line["name"] == name)


def test_what_is_due_in_one_week_is_one_list_of_joined_needs(client: FlaskClient) -> None:
    one, other = made(client, due="2026-12-16"), made(client, due="2026-12-18", kits=4, name="later owls")
    made(client, due="2027-01-20", name="another month")
    alone = [client.get(f"/api/v1/batches/{id}/shopping").get_json()["shopping"] for id in (one, other)]
    weeks = client.get("/api/v1/batches/weeks").get_json()["weeks"]
    week = next(w for w in weeks if len(w["due"]) == 2)
    assert {b["id"] for b in week["due"]} == {one, other}
    for name in ("wheat flour", "confectioners' sugar", "cups"):
        assert needed(week["shopping"], name) == pytest.approx(sum(needed(a, name) for a in alone), abs=0.01)
    assert len(week["dough"]) == 1, "one dough session for both"
    later = client.get("/api/v1/batches/weeks?from=2027-01-01").get_json()["weeks"]
    assert all(b["name"] == "another month" for w in later for b in w["due"])


def test_promised_stock_is_not_bought_again(client: FlaskClient) -> None:
    id = made(client, due="2026-12-16")
    client.post(f"/api/v1/batches/{id}/promise")
    weeks = client.get("/api/v1/batches/weeks").get_json()["weeks"]
    shopping = next(w["shopping"] for w in weeks if w["shopping"])
    jars = {"bright white nonpareils", "soft white nonpareils, no titanium", "red nonpareils"}
    assert {line["name"] for line in shopping["lines"] if line["status"] == "enough"} >= jars


def test_the_page_shows_the_week_and_takes_any_day(client: FlaskClient) -> None:
    made(client, due="2026-12-16")
    page = client.get("/week").get_data(as_text=True)
    assert "To buy for what is due" in page
    assert client.get("/week?from=nonsense").status_code == 200
    assert client.get("/api/v1/batches/weeks?from=nonsense").status_code == 422
