"""Who may come in, on both databases: secrets are kept as hashes, and end when they should."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text

from catalog.access import IDLE, LINK_LIFE, LONGEST, TOKEN_SIGN, Access
from catalog.errors import NotFound
from catalog.store import Store
from themekit.errors import InvalidValue

HASH, OTHER = "scrypt:" + "a" * 90, "scrypt:" + "b" * 90


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
def access(store: Store, clock: Clock) -> Access:
    return Access(store, clock)


@pytest.fixture
def shelf(store: Store, access: Access) -> int:
    made = store.create_shelf("Home").id
    access.set_passphrase(made, HASH)
    return made


def begun(access: Access, shelf: int) -> str:
    secret = access.begin_session(shelf, HASH)
    assert secret is not None
    return secret


def test_no_secret_is_kept_as_it_is(store: Store, access: Access, shelf: int) -> None:
    made = [begun(access, shelf), access.new_token(shelf, "till"), access.new_link(shelf)]
    assert len(set(made)) == 3
    assert all(len(secret) >= 43 for secret in made), "256 bits in base64"
    with store.reading() as session:
        for table in ("sessions", "tokens", "links"):
            (row,) = session.execute(text(f"SELECT * FROM {table}")).mappings().all()
            assert not any(secret in str(value) for secret in made for value in row.values()), table
            assert len(row["hash"]) == 64


def test_a_session_ends_when_idle_and_in_any_case_at_last(access: Access, shelf: int, clock: Clock) -> None:
    idle = begun(access, shelf)
    clock.at += IDLE
    assert access.shelf_of_session(begun(access, shelf)) == shelf
    clock.at += timedelta(minutes=1)
    assert access.shelf_of_session(idle) is None
    busy, began = begun(access, shelf), clock.at
    while clock.at - began <= LONGEST:
        assert access.shelf_of_session(busy) == shelf
        clock.at += timedelta(days=6)
    assert access.shelf_of_session(busy) is None


def test_signing_out_ends_one_session_and_another_passphrase_ends_all(access: Access, shelf: int) -> None:
    first, second = begun(access, shelf), begun(access, shelf)
    access.end_session(first)
    assert access.shelf_of_session(first) is None
    assert access.shelf_of_session(second) == shelf
    link = access.new_link(shelf)
    token = access.new_token(shelf, "till")
    access.set_passphrase(shelf, OTHER)
    assert access.shelf_of_session(second) is None
    assert access.use_link(link) is None
    assert access.shelf_of_token(token) == shelf, "tokens are revoked one by one"
    assert access.begin_session(shelf, HASH) is None, "checked against the old passphrase"
    assert access.begin_session(shelf, OTHER) is not None
    access.set_passphrase(shelf, None)
    assert access.passphrase_hash(shelf) is None
    assert access.begin_session(shelf, None) is None


def test_sessions_and_links_do_not_pile_up(store: Store, access: Access, shelf: int) -> None:
    kept = [begun(access, shelf) for _ in range(52)]
    assert access.shelf_of_session(kept[0]) is None
    assert access.shelf_of_session(kept[-1]) == shelf
    for _ in range(25):
        access.new_link(shelf)
    with store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM sessions")).scalar() == 50
        assert session.execute(text("SELECT count(*) FROM links")).scalar() == 20


def test_a_token_names_its_shelf_until_it_is_revoked(
    store: Store, access: Access, shelf: int, clock: Clock
) -> None:
    other = store.create_shelf("Market").id
    token, of_other = access.new_token(shelf, "Till"), access.new_token(other, "till")
    assert token.startswith(TOKEN_SIGN)
    assert (access.shelf_of_token(token), access.shelf_of_token(of_other)) == (shelf, other)
    assert access.shelf_of_token(token + "x") is None
    with pytest.raises(InvalidValue, match="cannot be made"):
        access.new_token(shelf, "TILL")
    with pytest.raises(InvalidValue, match="cannot be made"):
        access.new_token(shelf, " ")
    (row,) = access.tokens(shelf)
    assert row == {"name": "Till", "made": "2026-11-25T12:00:00Z", "used": "2026-11-25T12:00:00Z", "revoked": None}
    clock.at += timedelta(seconds=30)
    access.shelf_of_token(token)
    assert access.tokens(shelf)[0]["used"] == "2026-11-25T12:00:00Z", "not every use is a write"
    clock.at += timedelta(minutes=2)
    access.shelf_of_token(token)
    assert access.tokens(shelf)[0]["used"] == "2026-11-25T12:02:30Z"
    with pytest.raises(NotFound, match="no such token"):
        access.revoke_token(other, "nobody")
    access.revoke_token(shelf, "till")
    assert access.shelf_of_token(token) is None
    assert access.shelf_of_token(of_other) == other
    assert access.new_token(shelf, "till") != token
    assert len(access.tokens(shelf)) == 2


def test_a_link_is_good_once_and_not_for_long(access: Access, shelf: int, clock: Clock) -> None:
    link = access.new_link(shelf)
    assert access.shelf_of_link(link) == access.shelf_of_link(link) == shelf, "looking does not use it up"
    session = access.use_link(link)
    assert session is not None
    assert access.shelf_of_session(session) == shelf
    assert access.use_link(link) is None
    assert access.shelf_of_link(link) is None
    late = access.new_link(shelf)
    clock.at += LINK_LIFE + timedelta(seconds=1)
    assert access.use_link(late) is None


def test_a_link_used_by_many_at_once_lets_one_in(access: Access, shelf: int) -> None:
    link, found = access.new_link(shelf), []
    threads = [threading.Thread(target=lambda: found.append(access.use_link(link))) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 8
    assert sum(one is not None for one in found) == 1


def test_a_shelf_that_is_none_gets_nothing(access: Access) -> None:
    with pytest.raises(NotFound):
        access.set_passphrase(99, HASH)
    with pytest.raises(NotFound):
        access.new_token(99, "till")
