"""Keys of requests: remembered for thirty days, then forgotten, by a clock that the test holds."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import func, select

from catalog import once as keys
from catalog.stock_tables import AnswerTable
from catalog.store import Store
from themekit.errors import InvalidValue

START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


class Clock:
    """Stands still until it is set."""

    def __init__(self) -> None:
        self.at = START

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(keys, "now", made)
    return made


def ask(store: Store, shelf: int, key: str, answer: int, question: str = "a jar") -> int:
    with store.writing(shelf) as (session, _):
        return int(keys.once(session, shelf, key, question, lambda: {"id": answer})["id"])


def kept(store: Store, shelf: int) -> int:
    with store.reading() as session:
        counted = select(func.count()).select_from(AnswerTable).where(AnswerTable.shelf_id == shelf)
        return session.scalar(counted) or 0


def test_a_key_is_remembered_for_thirty_days_and_then_free(store: Store, clock: Clock) -> None:
    shelf = store.create_shelf("Home").id
    assert ask(store, shelf, "k", 1) == 1
    clock.at = START + timedelta(days=30) - timedelta(seconds=1)
    assert ask(store, shelf, "k", 2) == 1
    with pytest.raises(InvalidValue):
        ask(store, shelf, "k", 2, "another question")
    clock.at = START + timedelta(days=30)
    assert ask(store, shelf, "k", 3, "another question") == 3
    assert ask(store, shelf, "k", 4, "another question") == 3
    assert kept(store, shelf) == 1


def test_old_answers_go_when_a_new_key_comes(store: Store, clock: Clock) -> None:
    """Those of this shelf, and only the old ones."""
    shelf, other = store.create_shelf("Home").id, store.create_shelf("Other").id
    for number in range(3):
        ask(store, shelf, f"old-{number}", number)
    ask(store, other, "old", 9)
    clock.at += timedelta(days=20)
    ask(store, shelf, "young", 5)
    assert kept(store, shelf) == 4
    clock.at += timedelta(days=11)
    ask(store, shelf, "new", 6)
    assert kept(store, shelf) == 2
    assert kept(store, other) == 1
    assert ask(store, shelf, "young", 7) == 5
