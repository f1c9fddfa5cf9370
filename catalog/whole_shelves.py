"""Whole shelves as the core's values, kept until something on them changes."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Lock

from sqlalchemy.orm import Session

from catalog.absorption import absorption, model_version
from catalog.convert import record_of
from catalog.database import Database
from catalog.lookup import find_shelf, things
from catalog.shelf_value import shelf_value
from catalog.tables import GelTable, ShelfTable
from themekit.values import Kind, Shelf

_SHELVES_KEPT = 64


class WholeShelves(Database):
    """The database with the shelves that were read last."""

    def __init__(self, url: str | None = None, kinds: Sequence[Kind] | None = None) -> None:
        self._kept: dict[int, tuple[tuple[int, int], Shelf]] = {}
        self._kept_lock = Lock()
        super().__init__(url, kinds)

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
