"""The triggers that keep the ledger append-only: whether they stand, and how a restore gets past them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, inspect, text
from sqlalchemy.orm import Session

_TABLE = "moves"
#: Each a trigger of that table; TRUNCATE is a word of PostgreSQL only.
_TRIGGERS = {
    "sqlite": ("moves_no_delete", "moves_no_update"),
    "postgresql": ("moves_no_delete", "moves_no_truncate", "moves_no_update"),
}
_STANDING = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :t",
    "postgresql": "SELECT tgname FROM pg_trigger "
    "WHERE tgrelid = CAST(:t AS regclass) AND NOT tgisinternal AND tgenabled = 'O'",
}


def unguarded(session: Session) -> list[str]:
    """The triggers that should keep moves from being changed, and are not there or switched off."""
    dialect = session.get_bind().dialect.name
    standing = set(session.scalars(text(_STANDING[dialect]), {"t": _TABLE}))
    return [name for name in _TRIGGERS[dialect] if name not in standing]


@contextmanager
def lifted(connection: Connection) -> Iterator[None]:
    """A block of a PostgreSQL transaction in which a whole ledger is put in another's place.

    Nobody else can write meanwhile: switching triggers off and on locks the table until the
    transaction ends, and one that fails leaves them as they were.
    """
    there = _TABLE in inspect(connection).get_table_names()
    if there:
        connection.execute(text(f"ALTER TABLE {_TABLE} DISABLE TRIGGER USER"))
    yield
    if there:
        connection.execute(text(f"ALTER TABLE {_TABLE} ENABLE TRIGGER USER"))
