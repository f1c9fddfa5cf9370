"""How often sign-in was tried, counted for all processes at one database together.

An address is kept as its hash, for an hour. That hides it from a glance alone: whoever has the
database can try every address of IPv4.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from sqlalchemy import delete, select, text, update
from sqlalchemy.orm import Session

from catalog.access_tables import TryTable
from catalog.convert import utc
from catalog.ledger import now as present
from catalog.store import Store


class Limit(NamedTuple):
    """At most so many tries in any time that long."""

    most: int
    within: timedelta


EACH = (Limit(5, timedelta(minutes=1)), Limit(30, timedelta(hours=1)))
ALL = Limit(300, timedelta(hours=1))
_KEPT = max(limit.within for limit in (*EACH, ALL))
#: Clocks of several machines may differ by so much. What is later was written before a clock was set back.
_AHEAD = timedelta(minutes=1)


class Tries:
    """The tries at one database. Methods may raise `StoreUnusable`."""

    def __init__(self, store: Store, now: Callable[[], datetime] = present) -> None:
        self._store = store
        self._now = now

    def take(self, address: str) -> timedelta | None:
        """Count a try of an address, and of all together: None, or how long to wait when it is one too many.

        One that is refused is not counted, and writes nothing: so a flood of them holds up nobody,
        and the table never has more rows than `ALL` allows.
        """
        who, now = _hash(address), self._now()
        with self._store.reading() as session:
            wait = _wait(_recent(session, now), who, now)
        if wait is not None:
            return wait
        with self._store.writing_apart() as session:
            if session.get_bind().dialect.name == "postgresql":
                # Else two processes could each count before the other's try is there.
                session.execute(text("LOCK TABLE tries IN SHARE ROW EXCLUSIVE MODE"))
            wait = _wait(_recent(session, now), who, now)
            if wait is None:
                session.execute(
                    delete(TryTable).where((TryTable.at <= now - _KEPT) | (TryTable.at > now + _AHEAD))
                )
                session.add(TryTable(who=who, at=now))
        return wait

    def forgive(self, address: str) -> None:
        """Forget whose these tries were, since the last was right; they still count among all."""
        with self._store.writing_apart() as session:
            session.execute(update(TryTable).where(TryTable.who == _hash(address)).values(who=None))


def _hash(address: str) -> str:
    return hashlib.sha256(address.encode()).hexdigest()


def _recent(session: Session, now: datetime) -> list[tuple[str | None, datetime]]:
    its = (TryTable.at > now - _KEPT, TryTable.at <= now + _AHEAD)
    return [(who, utc(at)) for who, at in session.execute(select(TryTable.who, TryTable.at).where(*its))]


def _wait(tries: Sequence[tuple[str | None, datetime]], who: str, now: datetime) -> timedelta | None:
    """How long until another try of theirs is within every limit; None when it is now."""
    own = [one for one in tries if one[0] == who]
    waits = []
    for limit, counted in (*((limit, own) for limit in EACH), (ALL, tries)):
        within = sorted(at for _, at in counted if at > now - limit.within)
        if len(within) >= limit.most:
            waits.append(within[-limit.most] + limit.within - now)
    return max(waits, default=None)
