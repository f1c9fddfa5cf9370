"""Tries at signing in, on both databases: counted for all programs together, bounded, soon forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from sqlalchemy import text

from catalog.store import Store
from catalog.tries import ALL, Tries

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


class Clock:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.at = datetime(2026, 11, 25, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def tries(store: Store, clock: Clock) -> Tries:
    return Tries(store, clock)


@pytest.fixture
def others(store: Store, database: str) -> Iterator[Store]:
    """Another program at the same database."""
    made = Store(database)
    yield made
    made.close()


def rows(store: Store) -> list[str | None]:
    with store.reading() as session:
        return list(session.scalars(text("SELECT who FROM tries ORDER BY id")))


def test_five_a_minute_and_thirty_an_hour(tries: Tries, clock: Clock) -> None:
    for burst in range(6):
        assert [tries.take("192.0.2.1") for _ in range(5)] == [None] * 5, burst
        clock.at += timedelta(seconds=20)
        assert tries.take("192.0.2.1") == (timedelta(seconds=40) if burst < 5 else HOUR - timedelta(seconds=320))
        assert tries.take("192.0.2.2" + str(burst)) is None
        clock.at += timedelta(seconds=40)
    assert tries.take("192.0.2.1") is not None
    clock.at += HOUR - timedelta(minutes=6)
    assert tries.take("192.0.2.1") is None


def test_another_program_counts_the_same_tries(tries: Tries, others: Store, clock: Clock) -> None:
    assert [tries.take("192.0.2.1") for _ in range(5)] == [None] * 5
    assert Tries(others, clock).take("192.0.2.1") == MINUTE
    assert Tries(others, clock).take("192.0.2.2") is None


def test_two_programs_at_once_allow_no_more_than_one(store: Store, others: Store, clock: Clock) -> None:
    """However their tries interleave."""
    both = [Tries(store, clock), Tries(others, clock)] * 4
    for round_ in range(3):
        start = Barrier(len(both))

        def take(one: Tries, address: str = f"192.0.2.{round_}", start: Barrier = start) -> bool:
            start.wait()
            return one.take(address) is None

        with ThreadPoolExecutor(len(both)) as threads:
            assert sum(threads.map(take, both)) == 5


def test_right_tries_are_forgiven_their_address_but_count_among_all(
    tries: Tries, store: Store, clock: Clock
) -> None:
    for _ in range(ALL.most):
        assert tries.take("192.0.2.1") is None
        tries.forgive("192.0.2.1")
        clock.at += timedelta(seconds=1)
    assert tries.take("192.0.2.9") == HOUR - timedelta(seconds=ALL.most)
    assert set(rows(store)) == {None}


def test_no_address_is_kept_as_it_is_and_none_for_long(tries: Tries, store: Store, clock: Clock) -> None:
    tries.take("192.0.2.1")
    assert [len(who or "") for who in rows(store)] == [64]
    clock.at += HOUR
    tries.take("192.0.2.2")
    assert len(rows(store)) == 1


def test_what_is_refused_writes_nothing(tries: Tries, store: Store, clock: Clock) -> None:
    """So that the table stays small, and a flood waits for no writer."""
    for n in range(ALL.most):
        assert tries.take(f"192.0.2.{n}") is None
    with store.writing_apart():
        # Another writer at work; whoever had to wait for it would wait here for ever, or be told so.
        assert all(tries.take(f"198.51.100.{n}") == HOUR for n in range(20))
    assert len(rows(store)) == ALL.most


def test_a_clock_set_back_shuts_nobody_out(tries: Tries, clock: Clock) -> None:
    for _ in range(5):
        tries.take("192.0.2.1")
    clock.at -= timedelta(hours=5)
    assert tries.take("192.0.2.1") is None
