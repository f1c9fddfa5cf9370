"""Amounts in ounces wherever grams stand on a batch's page, and idle jars that are few enough to read."""

from __future__ import annotations

import re

from flask.testing import FlaskClient

BATCH = {
    "theme": "owl party", "kits": 6, "tints": ["#1d8a8a", "#d9a93b", "#7b4a2b"], "jars": [1, 2, 4],
    "cutters": [{"id": 1, "cookies": 8}], "due": "2026-12-16",
}  # fmt: skip


def test_nothing_to_pack_or_to_buy_is_left_in_grams(client: FlaskClient) -> None:
    """10 g of paper filling a kit are 0.35 oz: 1 oz is 28.349523125 g (NIST Handbook 44, appendix C)."""
    id = client.post("/api/v1/batches", json=BATCH).get_json()["id"]
    page = client.get(f"/batches/{id}").get_data(as_text=True)
    assert "10 g" in _row(page, "paper filling")
    client.set_cookie("units", "us")
    for address in (f"/batches/{id}", "/week"):
        page = client.get(address).get_data(as_text=True)
        buy = page[page.index("To buy") :]
        assert re.search(r"\d oz|\d lb", buy)
        assert not re.findall(r"<li>[^<:]+: [\d.,]+ (?:g|ml)\b[^<]*", buy)
    assert "0.35 oz" in _row(client.get(f"/batches/{id}").get_data(as_text=True), "paper filling")


def _row(page: str, name: str) -> str:
    found = re.search(rf"<tr><td>{name}</td>.*?</tr>", page)
    assert found, name
    return found[0]


def test_the_worst_idle_jars_stand_open_and_the_rest_is_folded(client: FlaskClient) -> None:
    page = client.get("/idle?days=1").get_data(as_text=True)
    items = client.get("/api/v1/jars/idle?days=1").get_json()["items"]
    assert len(items) > 4
    shown, _, folded = page.partition('<details id="others">')
    assert shown.count('class="card idlejar"') == 4
    assert folded.count('class="card idlejar"') == len(items) - 4
    assert items[0]["name"] in shown
