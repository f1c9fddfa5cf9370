"""The store: all that bakers own, by shelf. SQL is spoken here and in `catalog.lookup` only.

Rows come and go in the API's form (see `catalog.rows`); `read` gives a whole shelf as
the core's values. Every method may raise `StoreUnusable` when the database fails it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock
from typing import Any

from sqlalchemy import func, select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from catalog.absorption import absorption, model_version
from catalog.append_only import unguarded
from catalog.changes import Counts, Loading, archive, check_recipes, new_row, put, shown_recipes
from catalog.convert import api_row, on_hand_of, record_of
from catalog.engine import Turns, database_url, open_engine, reading, told_plainly, writing
from catalog.errors import NotFound, ShelfUnclear, StoreUnusable
from catalog.fields import Checks, name_key
from catalog.ledger import check_unpromised, settle
from catalog.lookup import (
    LARGEST_ID,
    check_fresh,
    check_name_free,
    check_revision,
    find_row,
    find_shelf,
    name_taken,
    table_of,
    things,
)
from catalog.migrations import HEAD
from catalog.rows import Record, clean, merged
from catalog.shelf_fields import check_details, check_shelf_changes, shelf_record
from catalog.shelf_value import shelf_value
from catalog.tables import TABLES, GelTable, Owned, ShelfTable
from catalog.upgrade import step_of, upgrade
from themekit.errors import Problem, raise_all
from themekit.values import Kind, Shelf

# Named here, because `Store.list` hides the built-in name inside the class.
Rows = list[Record]

DEMO = "demo"
MOST_PER_PAGE = 200
_SHELVES_KEPT = 64
#: Of thousands of shelves no more are listed where one was not found.
_SHELVES_TOLD = 20


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """A shelf without the things on it; what is None is not known."""

    id: int
    name: str
    revision: int
    currency: str | None = None
    locale: str | None = None
    region: str | None = None


ShelfRows = list[ShelfRow]


class Store:
    """Shelves in one database; safe to share between threads.

    Parameters
    ----------
    url     None for the SQLite file in the user's data folder, else an address such as
            sqlite:///path/shelf.db or postgresql://user@host/name.
    kinds   the trade kinds that fill a jar's blanks; None for the built-in ones.

    Opening brings the database up to date. Raises `StoreUnusable`.
    """

    def __init__(self, url: str | None = None, kinds: Sequence[Kind] | None = None) -> None:
        self._kinds = kinds
        self.url = database_url(url)
        self._engine = open_engine(self.url)
        self._writing = writing(self._engine)
        self._turns = Turns(self.url)
        self._kept: dict[int, tuple[tuple[int, int], Shelf]] = {}
        self._kept_lock = Lock()
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

    # Shelves

    def shelves(self) -> ShelfRows:
        """All shelves by id."""
        with self.reading() as session:
            return [_shelf_row(s) for s in session.scalars(select(ShelfTable).order_by(ShelfTable.id))]

    def create_shelf(
        self,
        name: str,
        currency: str | None = None,
        locale: str | None = None,
        region: str | None = None,
        records: Mapping[str, Sequence[Any]] | None = None,
    ) -> ShelfRow:
        """Make a shelf, empty or with `records` as for `load`: all or nothing.

        Raises `InvalidValue`, or `NameTaken`.
        """
        checks = Checks()
        given = {"name": name, "currency": currency, "locale": locale, "region": region}
        made = ShelfTable(**check_details(checks, given), revision=1)
        raise_all(checks.problems, "This shelf cannot be made.")
        made.name_key = name_key(made.name)
        with self.writing_apart() as session:
            if session.scalar(select(ShelfTable.id).where(ShelfTable.name_key == made.name_key)):
                raise name_taken("shelves", made.name)
            session.add(made)
            try:
                session.flush()
            except IntegrityError as error:
                # Another program made a shelf of that name since the line above.
                raise name_taken("shelves", name) from error
            self._load(session, made, records or {}, replace=False)
            return _shelf_row(made)

    def shelf_named(self, name: str | None = None) -> ShelfRow:
        """The shelf of that name; of None the only one there is.

        The demo shelf counts only while there is no other. Raises `NotFound`, or
        `ShelfUnclear` when several could be meant.
        """
        first = select(ShelfTable).order_by(ShelfTable.id).limit(_SHELVES_TOLD)
        meant = ShelfTable.name_key != DEMO if name is None else ShelfTable.name_key == name_key(name.strip())
        with self.reading() as session:
            rows = [_shelf_row(s) for s in session.scalars(first)]
            found = [_shelf_row(s) for s in session.scalars(first.where(meant))]
        if name is None:
            found = found or rows
        names = ", ".join(row.name for row in rows) + (" and others" if len(rows) == _SHELVES_TOLD else "")
        if len(found) > 1:
            problem = Problem("shelf", None, f"one of {names}", "Name the shelf that is meant.")
            raise ShelfUnclear("There are several shelves.", [problem])
        if not found:
            hint = "Import a shelf first, or use the shelf demo."
            problem = Problem("shelf", name, f"one of {names}" if rows else "a shelf; there is none yet", hint)
            raise NotFound("There is no such shelf." if rows else "There is no shelf yet.", [problem])
        return found[0]

    def shelf(self, shelf_id: int) -> ShelfRow:
        """The shelf of that id, without the things on it; raises `NotFound`."""
        with self.reading() as session:
            return _shelf_row(find_shelf(session, shelf_id))

    def shelf_record(self, shelf_id: int) -> Record:
        """The shelf itself in the API's form, with its standing dough and icing."""
        with self.reading() as session:
            return shelf_record(find_shelf(session, shelf_id))

    def change_shelf(self, shelf_id: int, changes: Any, version: int | None = None) -> Record:
        """Change the details and recipes that are named; of a recipe, the fields that are named.

        Raises `StaleVersion` when `version` is given and is not the shelf's revision,
        `InvalidValue` with all problems, or `NameTaken`; then nothing changes.
        """
        with self.writing(shelf_id) as (session, shelf):
            check_revision(shelf, version)
            old = shelf_record(shelf)
            details, recipes, problems = check_shelf_changes(shelf, changes)
            raise_all(problems, "The shelf cannot be changed.")
            if old != {**old, **details, **recipes}:
                key = name_key(details["name"])
                same = select(ShelfTable.id).where(ShelfTable.name_key == key, ShelfTable.id != shelf.id)
                if session.scalar(same):
                    raise name_taken("shelves", details["name"])
                for field, value in {**details, **recipes, "name_key": key}.items():
                    setattr(shelf, field, value)
                shelf.revision += 1
                try:
                    session.flush()
                except IntegrityError as error:
                    # Another program took the name since the line above.
                    raise name_taken("shelves", details["name"]) from error
            return shelf_record(shelf)

    def revision(self, shelf_id: int) -> int:
        """The number that grows with every change of anything on the shelf."""
        with self.reading() as session:
            return find_shelf(session, shelf_id).revision

    def read(self, shelf_id: int) -> Shelf:
        """The whole shelf as the core's values, each kind of thing by id; amounts are the unpromised ones.

        Kept until the shelf's revision or stock changes; absorption values that an older model
        gave are worked out again.
        """
        with self.reading() as session:
            shelf = find_shelf(session, shelf_id)
            with self._kept_lock:
                revision, value = self._kept.get(shelf_id, ((0, 0), None))
            if value is not None and revision == (shelf.revision, shelf.stock_revision):
                return value
            value, stale = shelf_value(session, shelf, self.kinds)
            revision = (shelf.revision, shelf.stock_revision)
        if stale:
            self._renew_absorption(shelf_id)
        with self._kept_lock:
            self._kept.pop(shelf_id, None)
            self._kept[shelf_id] = (revision, value)
            while len(self._kept) > _SHELVES_KEPT:
                self._kept.pop(next(iter(self._kept)))
        return value

    def within(self, session: Session, shelf: ShelfTable) -> Shelf:
        """The whole shelf as `read` gives it, as this transaction sees it.

        Takes no other connection, so that many may do so at once, and keeps nothing, since
        the transaction may yet be undone.
        """
        with self._kept_lock:
            revision, value = self._kept.get(shelf.id, ((0, 0), None))
        if value is not None and revision == (shelf.revision, shelf.stock_revision):
            return value
        session.flush()
        return shelf_value(session, shelf, self.kinds)[0]

    def _renew_absorption(self, shelf_id: int) -> None:
        with self.writing(shelf_id) as (session, _):
            for row in things(session, shelf_id, "gels"):
                if isinstance(row, GelTable) and row.k_model != model_version():
                    row.k = absorption(record_of("gels", row))
                    row.k_model = model_version()

    # Things on a shelf

    def list(self, shelf_id: int, resource: str, page: int = 1, page_size: int = 50) -> tuple[Rows, int]:
        """One page of a resource's rows by id, and how many there are in all."""
        table = table_of(resource)
        checks = Checks()
        checks.whole("page", page, least=1, most=LARGEST_ID)
        checks.whole("page_size", page_size, least=1, most=MOST_PER_PAGE)
        raise_all(checks.problems, "This page cannot be given.")
        with self.reading() as session:
            find_shelf(session, shelf_id)
            here = (table.shelf_id == shelf_id, table.archived_at.is_(None))
            total = session.scalar(select(func.count()).select_from(table).where(*here)) or 0
            start = (page - 1) * page_size
            chosen = select(table).where(*here).order_by(table.id).limit(page_size).offset(start)
            found: Iterable[Owned] = session.scalars(chosen) if start < total else ()
            return [api_row(resource, row, self.kinds) for row in found], total

    def get(self, shelf_id: int, resource: str, id: int) -> Record:
        """One row. Raises `NotFound`, also for the id of another shelf's row."""
        with self.reading() as session:
            return api_row(resource, find_row(session, shelf_id, resource, id), self.kinds)

    def create(self, shelf_id: int, resource: str, record: Any) -> Record:
        """Keep a new row and return it. Raises `InvalidValue` with all problems, or `NameTaken`."""
        table_of(resource)
        checked = clean(resource, record, self.kinds)
        with self.writing(shelf_id) as (session, shelf):
            row = new_row(shelf_id, resource, checked)
            check_name_free(session, row, resource)
            session.add(row)
            shelf.revision += 1
            settle(session, shelf, [(resource, row, None)], "entered")
            return api_row(resource, row, self.kinds)

    def change(self, shelf_id: int, resource: str, id: int, changes: Any, version: int | None = None) -> Record:
        """Change the fields that are named; None makes one unknown.

        Raises `StaleVersion` when `version` is given and is not the row's, `NotFound`,
        `InvalidValue` or `NameTaken`; then nothing changes.
        """
        with self.writing(shelf_id) as (session, shelf):
            row = find_row(session, shelf_id, resource, id)
            check_fresh(row, version)
            old = record_of(resource, row)
            new = clean(resource, merged(resource, old, changes), self.kinds)
            if new != old:
                before = on_hand_of(resource, row)
                put(row, resource, new)
                check_name_free(session, row, resource)
                shelf.revision += 1
                settle(session, shelf, [(resource, row, before)], "entered")
            return api_row(resource, row, self.kinds)

    def remove(self, shelf_id: int, resource: str, id: int, version: int | None = None) -> None:
        """Take a row off the shelf. It stays archived, for what may refer to it."""
        with self.writing(shelf_id) as (session, shelf):
            row = find_row(session, shelf_id, resource, id)
            check_fresh(row, version)
            check_unpromised(resource, [row])
            archive(row)
            shelf.revision += 1

    def load(
        self, shelf_id: int, records: Mapping[str, Sequence[Any]], replace: bool = False
    ) -> dict[str, Counts]:
        """Create, or change by name, many rows of several resources: all or nothing.

        Of a row that is there already only the fields that a record names change. With
        `replace`, rows of the given resources that no record names are taken off the
        shelf. Returns per resource how many were created, changed, kept and removed.
        Raises `InvalidValue` with the problems of all records ("jars.3.kind", from 0).
        """
        with self.writing(shelf_id) as (session, shelf):
            return self._load(session, shelf, records, replace)

    def load_by(
        self,
        shelf_id: int,
        choose: Callable[[Mapping[str, Rows]], Mapping[str, Sequence[Any]]],
        then: Callable[[Session], None] | None = None,
    ) -> dict[str, Counts]:
        """As `load`, of what `choose` makes of all that stands on the shelf (see `records`), in one transaction.

        What `choose` raises is passed on, and nothing changes. `then` is done in the same transaction.
        """
        with self.writing(shelf_id) as (session, shelf):
            counts = self._load(session, shelf, choose(self._records(session, shelf)), replace=False)
            if then is not None:
                then(session)
            return counts

    def _load(
        self, session: Session, shelf: ShelfTable, records: Mapping[str, Sequence[Any]], replace: bool
    ) -> dict[str, Counts]:
        loading = Loading(shelf, self.kinds, replace)
        for resource, given in records.items():
            if resource == "recipes":
                loading.recipes(given)
            else:
                loading.rows(resource, given, things(session, shelf.id, resource))
        with session.no_autoflush:
            if loading.finish():
                shelf.revision += 1
        session.add_all(loading.made)
        settle(session, shelf, loading.stock, "imported")
        return loading.counts

    def records(self, shelf_id: int) -> dict[str, Rows]:
        """Everything on the shelf as it was entered, in the form that `load` takes."""
        with self.reading() as session:
            return self._records(session, find_shelf(session, shelf_id))

    def _records(self, session: Session, shelf: ShelfTable) -> dict[str, Rows]:
        found: dict[str, Rows] = {
            resource: [record_of(resource, row) for row in things(session, shelf.id, resource)]
            for resource in TABLES
        }
        found["recipes"] = [{"name": name, **fields} for name, fields in shown_recipes(shelf).items()]
        return found

    def recipes(self, shelf_id: int) -> dict[str, Record]:
        """What is in the standing dough and icing: {"dough": {...}, "icing": {...}}."""
        with self.reading() as session:
            return shown_recipes(find_shelf(session, shelf_id))

    def set_recipes(self, shelf_id: int, recipes: Mapping[str, Any]) -> dict[str, Record]:
        """Change the dough, the icing or both; of each, the fields that are named."""
        with self.writing(shelf_id) as (_, shelf):
            old = shown_recipes(shelf)
            new, problems = check_recipes(recipes, old)
            raise_all(problems, "These recipes cannot be kept.")
            if new != old:
                shelf.dough, shelf.icing = new["dough"], new["icing"]
                shelf.revision += 1
        return new

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that sees one moment of the database; for the other modules of this room."""
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


def _shelf_row(shelf: ShelfTable) -> ShelfRow:
    return ShelfRow(shelf.id, shelf.name, shelf.revision, shelf.currency, shelf.locale, shelf.region)
