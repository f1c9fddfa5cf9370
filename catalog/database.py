"""An open database: its transactions, and whether it is well."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from sqlalchemy import text
from sqlalchemy.orm import Session

from catalog.append_only import unguarded
from catalog.engine import Turns, database_url, open_engine, reading, told_plainly, writing
from catalog.errors import StoreUnusable
from catalog.lookup import find_shelf
from catalog.migrations import HEAD
from catalog.tables import ShelfTable
from catalog.upgrade import step_of, upgrade
from themekit.values import Kind


class Database:
    """One database; safe to share between threads. `Store` says what it is opened with."""

    def __init__(self, url: str | None = None, kinds: Sequence[Kind] | None = None) -> None:
        self._kinds = kinds
        self.url = database_url(url)
        self._engine = open_engine(self.url)
        self._writing = writing(self._engine)
        self._turns = Turns(self.url)
        try:
            with told_plainly(self.url):
                upgrade(self._engine)
        except BaseException:
            self._engine.dispose()
            raise

    def close(self) -> None:
        """Close the connections; the store opens new ones when it is used again."""
        self._engine.dispose()

    @property
    def kinds(self) -> Sequence[Kind]:
        """The trade kinds that fill a jar's blanks."""
        if self._kinds is None:
            from catalog.lexicon import kinds

            self._kinds = kinds()
        return self._kinds

    def unready(self) -> list[str]:
        """Why the database cannot serve now: away, or not up to date; empty when it can."""
        try:
            with told_plainly(self.url), self._engine.connect() as connection:
                step = step_of(connection)
        except StoreUnusable as error:
            return [error.message, *(p.hint for p in error.problems if p.hint)]
        if step != HEAD:
            return [f"The database is at step {step or 'none'}, this program needs {HEAD}: start it anew."]
        return []

    def faults(self) -> list[str]:
        """What the database finds wrong with itself; nothing, unless a disk or a person did harm."""
        with self.reading() as session:
            open_ = [f"the ledger could be changed: its trigger {name} is missing" for name in unguarded(session)]
            if not self.url.drivername.startswith("sqlite"):
                return open_
            found = [str(row[0]) for row in session.execute(text("PRAGMA integrity_check"))]
            broken = session.execute(text("PRAGMA foreign_key_check")).all()
        told = [] if found == ["ok"] else found[:20]
        return (
            told + open_ + [f"a row of {row[0]} refers to a row of {row[2]} that is gone" for row in broken[:20]]
        )

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that sees one moment of the database."""
        with told_plainly(self.url), Session(reading(self._engine)) as session, session.begin():
            yield session

    @contextmanager
    def writing(self, shelf_id: int) -> Iterator[tuple[Session, ShelfTable]]:
        """A transaction that holds the shelf, so that its changes come one after another."""
        with self.writing_apart() as session:
            yield session, find_shelf(session, shelf_id, hold=True)

    @contextmanager
    def writing_apart(self) -> Iterator[Session]:
        """A transaction for what belongs to no shelf."""
        with (
            told_plainly(self.url),
            self._turns.turn(),
            Session(self._writing) as session,
            session.begin(),
        ):
            yield session
