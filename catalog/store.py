"""The store: all that bakers own, by shelf.

It is built up of `catalog.database` (transactions), `catalog.whole_shelves` (the core's values)
and `catalog.things` (rows); here are the shelves themselves. Every method may raise
`StoreUnusable` when the database fails it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError

from catalog.changes import check_recipes, shown_recipes
from catalog.errors import NotFound, ShelfUnclear
from catalog.fields import Checks, name_key
from catalog.lookup import check_revision, find_shelf, name_taken
from catalog.rows import Record
from catalog.shelf_fields import check_details, check_shelf_changes, shelf_record
from catalog.tables import ShelfTable
from catalog.things import MOST_PER_PAGE, Rows, Things
from themekit.errors import Problem, raise_all

DEMO = "demo"
#: Of thousands of shelves no more are listed where one was not found.
_SHELVES_TOLD = 20

__all__ = ["DEMO", "MOST_PER_PAGE", "Rows", "ShelfRow", "ShelfRows", "Store"]


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


class Store(Things):
    """Shelves in one database; safe to share between threads.

    Parameters
    ----------
    url     None for the SQLite file in the user's data folder, else an address such as
            sqlite:///path/shelf.db or postgresql://user@host/name.
    kinds   the trade kinds that fill a jar's blanks; None for the built-in ones.

    Opening brings the database up to date. Raises `StoreUnusable`.
    """

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


def _shelf_row(shelf: ShelfTable) -> ShelfRow:
    return ShelfRow(shelf.id, shelf.name, shelf.revision, shelf.currency, shelf.locale, shelf.region)
