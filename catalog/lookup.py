"""Finding rows: the queries that the store's methods share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from catalog.errors import NameTaken, NotFound, StaleVersion
from catalog.tables import TABLES, Owned, ShelfTable
from themekit.errors import InvalidValue, Problem

# What is beyond would overflow in PostgreSQL and, later, in SQLite.
LARGEST_ID = 2**31 - 1
# Built once, since every change of anything asks it.
_SHELF = select(ShelfTable).where(ShelfTable.id == bindparam("id"))
_HELD = _SHELF.with_for_update()


class Versioned(Protocol):
    """A row that has a version."""

    @property
    def version(self) -> Any: ...


def table_of(resource: str) -> type[Owned]:
    """The table of a resource; raises `InvalidValue` for one that there is not."""
    if resource not in TABLES:
        problem = Problem("resource", resource, "one of " + ", ".join(TABLES))
        raise InvalidValue("There is no such resource.", [problem])
    return TABLES[resource]


def possible(id: Any) -> bool:
    """Whether `id` can be an id at all; what is beyond would overflow in the database."""
    return isinstance(id, int) and not isinstance(id, bool) and 0 < id <= LARGEST_ID


def find_shelf(session: Session, shelf_id: int, hold: bool = False) -> ShelfTable:
    """The shelf of that id, held against other writers if wished; raises `NotFound`."""
    shelf = session.scalar(_HELD if hold else _SHELF, {"id": shelf_id}) if possible(shelf_id) else None
    if shelf is None:
        raise NotFound("There is no such shelf.", [Problem("shelf", shelf_id, "the id of a shelf")])
    return shelf


def find_row(session: Session, shelf_id: int, resource: str, id: int) -> Owned:
    """A row that is on that shelf and not archived; raises `NotFound`."""
    table = table_of(resource)
    here = (table.shelf_id == shelf_id, table.id == id, table.archived_at.is_(None))
    row = session.scalar(select(table).where(*here)) if possible(id) and possible(shelf_id) else None
    if row is None:
        hint = f"List the {resource} to see what there is."
        raise NotFound(
            f"There is no such row among the {resource}.",
            [Problem("id", id, f"the id of one of this shelf's {resource}", hint)],
        )
    return row


def check_fresh(row: Versioned, version: int | None) -> None:
    """Raise `StaleVersion` unless `version` is None or the row's own."""
    _check_version(version, row.version)


def check_revision(shelf: ShelfTable, version: int | None) -> None:
    """Raise `StaleVersion` unless `version` is None or the shelf's revision."""
    _check_version(version, shelf.revision)


def _check_version(version: int | None, current: int) -> None:
    if version is not None and version != current:
        hint = "Read it again, and repeat the change if it is still wanted."
        raise StaleVersion(
            "Someone changed this in the meantime.", [Problem("version", version, str(current), hint)]
        )


def check_name_free(session: Session, row: Owned, resource: str) -> None:
    """Raise `NameTaken` when another row of the shelf has the name."""
    table = table_of(resource)
    same = (table.shelf_id == row.shelf_id, table.name_key == row.name_key, table.archived_at.is_(None))
    with session.no_autoflush:
        other = session.scalar(select(table.id).where(*same))
    if other is not None and other != row.id:
        raise name_taken(resource, row.name)


def name_taken(resource: str, name: str) -> NameTaken:
    """The error for a name that another has."""
    hint = "Choose another name, or change the one there is."
    problem = Problem("name", name, f"a name that no other of the {resource} has", hint)
    return NameTaken("This name is taken.", [problem])


def things(session: Session, shelf_id: int, resource: str) -> Sequence[Owned]:
    """All rows of a resource on a shelf by id, without the archived ones."""
    table = table_of(resource)
    here = select(table).where(table.shelf_id == shelf_id, table.archived_at.is_(None))
    return session.scalars(here.order_by(table.id)).all()
