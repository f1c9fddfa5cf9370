"""How fast jars are used, by hand-made ledgers on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

import catalog.ledger
from catalog.errors import NotFound
from catalog.stock import Stock
from catalog.store import Store
from catalog.usage import use_rates

TODAY = date(2026, 11, 25)


@pytest.fixture
def on_day(monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Let the ledger's clock show so many days before today."""

    def set_(days: int) -> None:
        at = datetime(2026, 11, 25, 12, tzinfo=UTC) - timedelta(days=days)
        monkeypatch.setattr(catalog.ledger, "now", lambda: at)

    return set_


def _shelf(store: Store, *names: str) -> tuple[int, list[int]]:
    jars = [
        {"name": name, "kind": "nonpareils", "colours": [{"hex": "#ffffff", "share": 1}], "on_hand_g": 500}
        for name in names
    ]
    id = store.create_shelf("small", records={"jars": jars}).id
    return id, [row["id"] for row in store.list(id, "jars")[0]]


def test_uses_of_180_days_make_the_rate(store: Store, on_day) -> None:  # type: ignore[no-untyped-def]
    """90 g in the last 180 days are 0.5 g a day; what was used before, given away or undone does not count."""
    on_day(400)
    shelf, (busy, still) = _shelf(store, "busy", "still")
    stock = Stock(store)
    for days, kind, grams in ((300, "used", 70), (180, "used", 40), (100, "given away", 30), (10, "used", 50)):
        on_day(days)
        stock.record(shelf, {"jar": busy, "kind": kind, "grams": grams})
    mistaken = stock.record(shelf, {"jar": busy, "kind": "used", "grams": 25})
    stock.record(shelf, {"undo": mistaken["id"]})
    assert use_rates(store, shelf, TODAY) == {busy: pytest.approx(0.5), still: 0.0}


def test_a_young_ledger_tells_none_and_an_older_one_by_its_days(store: Store, on_day) -> None:  # type: ignore[no-untyped-def]
    """Of 29 days nothing is known yet; 20 g in 40 days are 0.5 g a day."""
    on_day(40)
    shelf, (jar,) = _shelf(store, "jar")
    on_day(5)
    Stock(store).record(shelf, {"jar": jar, "kind": "used", "grams": 20})
    assert use_rates(store, shelf, TODAY) == {jar: pytest.approx(0.5)}
    assert use_rates(store, shelf, TODAY - timedelta(days=11)) == {}


def test_another_shelf_has_its_own(store: Store, on_day) -> None:  # type: ignore[no-untyped-def]
    on_day(60)
    _shelf(store, "jar")
    other = store.create_shelf("other").id
    assert use_rates(store, other, TODAY) == {}
    with pytest.raises(NotFound):
        use_rates(store, 999, TODAY)
