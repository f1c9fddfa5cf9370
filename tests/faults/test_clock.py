"""A clock set back: the ledger keeps its order, days stay as given, repeated keys get their old answer."""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from api.app import create_app
from catalog import ledger
from catalog.demo import create_demo
from catalog.stock import Stock
from catalog.store import Store

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


class Clock:
    """The time that every module of the catalogue is told."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.at = NOW
        real = ledger.now
        for name, module in list(sys.modules.items()):
            if name.startswith(("catalog.", "api.")) and getattr(module, "now", None) is real:
                patch.setattr(module, "now", self.now)

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


def test_a_clock_set_back_by_a_month(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = Store(f"sqlite:///{tmp_path / 'shelf.db'}")
    shelf = create_demo(store, NOW.date()).id
    today = [NOW.date()]
    client = create_app(store, "demo", today=lambda: today[0]).test_client()
    clock = Clock(monkeypatch)

    def post(path: str, body: object, key: str | None = None) -> dict[str, object]:
        headers = {} if key is None else {"Idempotency-Key": key}
        answer = client.post(f"/api/v1/{path}", json=body, headers=headers)
        assert answer.status_code in (200, 201), answer.text
        found: dict[str, object] = answer.get_json()
        return found

    kit = {
        "theme": "owl party",
        "kits": 1,
        "tints": ["#2a9d8f", "#e9c46a", "#6b4a2f"],
        "jars": [1, 2, 3],
        "cutters": [{"id": 1, "cookies": 8}],
    }
    late = post("batches", {**kit, "name": "late", "due": "2026-12-20"})
    first = post("moves", {"jar": 1, "kind": "used", "grams": 3}, "a-key")
    packed = post(f"batches/{late['id']}/pack", {}, "pack-key")
    used_on = client.get("/api/v1/jars/1").get_json()["last_used"]

    clock.at -= timedelta(days=30)
    today[0] -= timedelta(days=30)
    assert post("moves", {"jar": 1, "kind": "used", "grams": 3}, "a-key") == first
    assert post(f"batches/{late['id']}/pack", {}, "pack-key") == packed
    second = post("moves", {"jar": 1, "kind": "used", "grams": 2})
    counted = post("moves", {"jar": 1, "kind": "counted", "grams": 50})
    assert str(second["at"]) < str(first["at"])
    ids = [one["id"] for one in client.get("/api/v1/moves?jar=1&page_size=200").get_json()["items"]]
    assert ids == sorted(ids)
    assert ids[-2:] == [second["id"], counted["id"]]
    # The last count stands, by order of entry and not by the clock.
    assert client.get("/api/v1/jars/1").get_json()["on_hand_g"] == 50
    assert client.get("/api/v1/jars/1").get_json()["last_used"] == used_on
    undone = post("moves", {"undo": second["id"]})
    assert undone["undoes"] == second["id"]

    early = post("batches", {**kit, "name": "early", "due": "2026-12-05"})
    post(f"batches/{early['id']}/promise", {})
    assert client.get(f"/api/v1/batches/{late['id']}").get_json()["due"] == "2026-12-20"
    assert client.get(f"/api/v1/batches/{early['id']}").get_json()["due"] == "2026-12-05"
    weeks = client.get("/api/v1/batches/weeks").get_json()
    assert "early" in str(weeks)
    assert date.fromisoformat(used_on) == NOW.date()
    assert Stock(store).balances(shelf) == []
    store.close()
