"""The things on a shelf: rows come and go in the API's form (see `catalog.rows`)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from catalog.changes import Counts, Loading, archive, new_row, put, shown_recipes
from catalog.convert import api_row, on_hand_of, record_of
from catalog.fields import Checks
from catalog.ledger import check_unpromised, settle
from catalog.lookup import LARGEST_ID, check_fresh, check_name_free, find_row, find_shelf, table_of, things
from catalog.rows import Record, clean, merged
from catalog.tables import TABLES, Owned, ShelfTable
from catalog.whole_shelves import WholeShelves
from themekit.errors import raise_all

# Named here, because `Things.list` hides the built-in name inside the class.
Rows = list[Record]

MOST_PER_PAGE = 200


class Things(WholeShelves):
    """The database with the rows of each shelf."""

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
