"""Batches due together: one plan of work and one shopping list, over HTTP and on the page."""

from __future__ import annotations

from collections import Counter
from io import BytesIO
from typing import Any

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

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
    due = next(w for w in weeks if len(w["due"]) == 2)
    assert {b["id"] for b in due["due"]} == {one, other}
    assert due["monday"] == "2026-12-14"
    assert due["shopping"] is None, "all of it was bought a week before"
    # Six days before 16 December: Thursday of the week before; one trip for both.
    week = next(w for w in weeks if w["monday"] == "2026-12-07")
    assert {(b["id"], b["shop"]) for b in week["shop_for"]} == {(one, "2026-12-10"), (other, "2026-12-10")}
    for name in ("wheat flour", "confectioners' sugar", "cups"):
        assert needed(week["shopping"], name) == pytest.approx(sum(needed(a, name) for a in alone), abs=0.01)
    assert len(due["dough"]) == 1, "one dough session for both"
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
    assert "To buy in this week" in page
    assert "shop on" in page
    assert client.get("/week?from=nonsense").status_code == 200
    assert client.get("/api/v1/batches/weeks?from=nonsense").status_code == 422


def test_what_should_have_been_bought_already_stands_in_the_first_week(client: FlaskClient) -> None:
    """Today is Wednesday 25 November; for Friday the shopping was due on the Saturday before."""
    id = made(client, due="2026-11-27")
    first = client.get("/api/v1/batches/weeks").get_json()["weeks"][0]
    assert first["monday"] == "2026-11-23"
    assert [(b["id"], b["shop"]) for b in first["shop_for"]] == [(id, "2026-11-21")]
    assert needed(first["shopping"], "wheat flour") > 0


def test_the_printed_weeks_tell_what_to_buy(client: FlaskClient) -> None:
    made(client, due="2026-12-16")
    pages = PdfReader(BytesIO(client.get("/api/v1/batches/weeks.pdf").get_data())).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert "To buy in this week" in text
    assert text.index("To buy in this week") < text.index("Dough,"), "it comes before the baking"


def test_a_day_with_more_work_than_hours_is_told(client: FlaskClient) -> None:
    made(client, due="2026-12-16", kits=100)
    week = next(w for w in client.get("/api/v1/batches/weeks").get_json()["weeks"] if w["due"])
    by_day = Counter[str]()
    for task in week["tasks"]:
        by_day[task["day"]] += task["minutes"] or 0
    over = [day for day, minutes in by_day.items() if minutes > 8 * 60]
    assert over
    assert len(week["full_days"]) == len(over)
    assert "is too full" in client.get("/week").get_data(as_text=True)
