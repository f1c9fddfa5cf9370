"""What she chose for the columns of her own lists, kept with the shelf, so that the next file starts from it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from sqlalchemy import and_, delete, or_, select
from sqlalchemy.orm import Session

from catalog.tables import ColumnTable

if TYPE_CHECKING:
    from catalog.store import Store

#: Of a shelf's choices the newest are kept, more than any baker's lists have columns.
_MOST = 400
_LONGEST_TITLE = 400


def remembered_columns(store: Store, shelf_id: int) -> dict[str, dict[str, str]]:
    """By what a sheet holds, its titles in plain words and what each was chosen for."""
    found: dict[str, dict[str, str]] = {}
    with store.reading() as session:
        for row in session.scalars(select(ColumnTable).where(ColumnTable.shelf_id == shelf_id)):
            found.setdefault(row.what, {})[row.title] = row.stands_for
    return found


def remember_within(session: Session, shelf_id: int, chosen: Mapping[str, Mapping[str, str]]) -> None:
    """Keep choices in a transaction that holds the shelf, in place of those there were for the same titles."""
    new = [
        ColumnTable(shelf_id=shelf_id, what=what, title=title, stands_for=choice)
        for what, choices in chosen.items()
        for title, choice in choices.items()
        if len(title) <= _LONGEST_TITLE
    ]
    if not new:
        return
    same = or_(*(and_(ColumnTable.what == row.what, ColumnTable.title == row.title) for row in new))
    session.execute(delete(ColumnTable).where(ColumnTable.shelf_id == shelf_id, same))
    session.add_all(new)
    session.flush()
    newest = select(ColumnTable.id).where(ColumnTable.shelf_id == shelf_id).order_by(ColumnTable.id.desc())
    kept = session.scalars(newest.limit(_MOST)).all()
    session.execute(delete(ColumnTable).where(ColumnTable.shelf_id == shelf_id, ColumnTable.id < min(kept)))
