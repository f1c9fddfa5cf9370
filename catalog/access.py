"""Who may come in: passphrases, signed-in browsers, programs' tokens, one-time links; each of one shelf.

A secret is returned once, when it is made; kept is its hash. Whatever is not, or no longer,
good is answered by None, never by why.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TypeVar

from sqlalchemy import Select, delete, select
from sqlalchemy.orm import Session

from catalog.access_tables import LinkTable, PassphraseTable, Secret, SessionTable, TokenTable
from catalog.convert import moment, utc
from catalog.errors import NotFound
from catalog.fields import Checks, name_key
from catalog.ledger import now as present
from catalog.rows import Record
from catalog.store import Store
from themekit.errors import Problem, raise_all

Kind = TypeVar("Kind", bound=Secret)

#: A browser is signed out when it was not used for so long, and in any case after so long.
IDLE, LONGEST = timedelta(days=7), timedelta(days=30)
LINK_LIFE = timedelta(minutes=5)
#: Being seen is written down no more often than this: it needs a write.
_SESSION_SEEN, _TOKEN_SEEN = timedelta(hours=1), timedelta(minutes=1)
_MOST_SESSIONS, _MOST_LINKS = 50, 20
# Tells people, and programs that look for leaked secrets, what it is.
TOKEN_SIGN = "themekit_"


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _new() -> str:
    return secrets.token_urlsafe(32)


class Access:
    """What opens the shelves of one store. Methods raise `NotFound` for a shelf that is none."""

    def __init__(self, store: Store, now: Callable[[], datetime] = present) -> None:
        self._store = store
        self._now = now

    # Passphrases

    def passphrase_hash(self, shelf_id: int) -> str | None:
        """The hash of a shelf's passphrase; None where it has none."""
        with self._store.reading() as session:
            return session.scalar(select(PassphraseTable.hash).where(PassphraseTable.shelf_id == shelf_id))

    def set_passphrase(self, shelf_id: int, hash: str | None) -> None:
        """Keep another passphrase, or with None have none; all who are signed in are signed out."""
        with self._store.writing(shelf_id) as (session, _):
            for table in (PassphraseTable, SessionTable, LinkTable):
                session.execute(delete(table).where(table.shelf_id == shelf_id))
            if hash is not None:
                session.add(PassphraseTable(shelf_id=shelf_id, hash=hash, changed_at=self._now()))

    # Browsers

    def begin_session(self, shelf_id: int, passphrase_hash: str | None) -> str | None:
        """Sign a browser in; None when the passphrase is no longer the one that was checked."""
        with self._store.writing(shelf_id) as (session, _):
            kept = session.scalar(select(PassphraseTable.hash).where(PassphraseTable.shelf_id == shelf_id))
            if kept is None or kept != passphrase_hash:
                return None
            return self._begin(session, shelf_id)

    def _begin(self, session: Session, shelf_id: int) -> str:
        secret, now = _new(), self._now()
        session.execute(
            delete(SessionTable).where(
                SessionTable.shelf_id == shelf_id,
                (SessionTable.made_at < now - LONGEST) | (SessionTable.seen_at < now - IDLE),
            )
        )
        _keep_newest(session, SessionTable, shelf_id, _MOST_SESSIONS - 1)
        session.add(SessionTable(shelf_id=shelf_id, hash=_hash(secret), made_at=now, seen_at=now))
        return secret

    def shelf_of_session(self, secret: str) -> int | None:
        """The shelf that a browser is signed in to."""
        now = self._now()
        with self._store.reading() as session:
            row = _found(session, SessionTable, secret)
            if row is None or now - utc(row.made_at) > LONGEST or now - utc(row.seen_at) > IDLE:
                return None
            shelf_id, old = row.shelf_id, now - utc(row.seen_at) > _SESSION_SEEN
        if old:
            with self._store.writing(shelf_id) as (session, _):
                row = _found(session, SessionTable, secret)
                if row is None:
                    return None
                row.seen_at = now
        return shelf_id

    def end_session(self, secret: str) -> None:
        """Sign a browser out."""
        shelf_id = self.shelf_of_session(secret)
        if shelf_id is not None:
            with self._store.writing(shelf_id) as (session, _):
                session.execute(delete(SessionTable).where(SessionTable.hash == _hash(secret)))

    # Programs

    def new_token(self, shelf_id: int, name: str) -> str:
        """Make a token under a name of its own. Raises `InvalidValue`."""
        checks = Checks()
        clean = checks.text("name", name, required=True)
        raise_all(checks.problems, "This token cannot be made.")
        secret, key = TOKEN_SIGN + _new(), name_key(clean or "")
        with self._store.writing(shelf_id) as (session, _):
            if session.scalar(_living(shelf_id, key)) is not None:
                checks.wrong(
                    "name", clean, "a name that no other token has", "Choose another, or revoke that one."
                )
                raise_all(checks.problems, "This token cannot be made.")
            row = TokenTable(shelf_id=shelf_id, hash=_hash(secret), made_at=self._now())
            row.name, row.name_key = clean or "", key
            session.add(row)
        return secret

    def tokens(self, shelf_id: int) -> list[Record]:
        """A shelf's tokens by age, without their secrets."""
        with self._store.reading() as session:
            rows = session.scalars(
                select(TokenTable).where(TokenTable.shelf_id == shelf_id).order_by(TokenTable.id)
            )
            return [
                {
                    "name": row.name,
                    "made": moment(row.made_at),
                    "used": moment(row.used_at),
                    "revoked": moment(row.revoked_at),
                }
                for row in rows
            ]

    def revoke_token(self, shelf_id: int, name: str) -> None:
        """Make a token worthless. Raises `NotFound`."""
        with self._store.writing(shelf_id) as (session, _):
            row = session.scalar(_living(shelf_id, name_key(name.strip())))
            if row is None:
                names = session.scalars(
                    select(TokenTable.name).where(TokenTable.shelf_id == shelf_id, TokenTable.revoked_at.is_(None))
                ).all()
                allowed = "one of " + ", ".join(names) if names else "a token of this shelf; there is none"
                raise NotFound("There is no such token.", [Problem("name", name, allowed)])
            row.revoked_at = self._now()

    def shelf_of_token(self, secret: str) -> int | None:
        """The shelf that a token names."""
        now = self._now()
        with self._store.reading() as session:
            row = _found(session, TokenTable, secret)
            if row is None or row.revoked_at is not None:
                return None
            shelf_id = row.shelf_id
            fresh = row.used_at is not None and now - utc(row.used_at) <= _TOKEN_SEEN
        if not fresh:
            with self._store.writing(shelf_id) as (session, _):
                row = _found(session, TokenTable, secret)
                if row is None or row.revoked_at is not None:
                    return None
                row.used_at = now
        return shelf_id

    # Links for a phone

    def new_link(self, shelf_id: int) -> str:
        """Make a link's secret, good once and for `LINK_LIFE`."""
        secret = _new()
        with self._store.writing(shelf_id) as (session, _):
            _keep_newest(session, LinkTable, shelf_id, _MOST_LINKS - 1)
            session.add(LinkTable(shelf_id=shelf_id, hash=_hash(secret), made_at=self._now()))
        return secret

    def shelf_of_link(self, secret: str) -> int | None:
        """The shelf that a link opens; looking does not use it up."""
        with self._store.reading() as session:
            return self._good(session, secret)

    def use_link(self, secret: str) -> str | None:
        """Sign a browser in by a link and use it up; None for one that is not good any more."""
        shelf_id = self.shelf_of_link(secret)
        if shelf_id is None:
            return None
        with self._store.writing(shelf_id) as (session, _):
            # Again, now that no other can use it at the same time.
            if self._good(session, secret) is None:
                return None
            session.execute(delete(LinkTable).where(LinkTable.hash == _hash(secret)))
            return self._begin(session, shelf_id)

    def _good(self, session: Session, secret: str) -> int | None:
        row = _found(session, LinkTable, secret)
        return None if row is None or self._now() - utc(row.made_at) > LINK_LIFE else row.shelf_id


def _found(session: Session, table: type[Kind], secret: str) -> Kind | None:
    return session.scalar(select(table).where(table.hash == _hash(secret)))


def _living(shelf_id: int, key: str) -> Select[TokenTable]:
    return select(TokenTable).where(
        TokenTable.shelf_id == shelf_id, TokenTable.name_key == key, TokenTable.revoked_at.is_(None)
    )


def _keep_newest(session: Session, table: type[Secret], shelf_id: int, most: int) -> None:
    """Take away all but the newest of a shelf's, so that they cannot pile up."""
    rows = select(table).where(table.shelf_id == shelf_id).order_by(table.id.desc()).offset(most)
    for row in session.scalars(rows):
        session.delete(row)
