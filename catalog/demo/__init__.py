"""The invented demo shelf: the sheets beside this file, with their dates moved to today."""

from __future__ import annotations

import re
from datetime import date, timedelta
from importlib.resources import as_file, files

from catalog.errors import NameTaken
from catalog.rows import Record
from catalog.sheets import read_sheets
from catalog.store import DEMO, ShelfRow, Store

_DAYS = ("best_before", "last_used")


def create_demo(store: Store, today: date) -> ShelfRow:
    """The shelf named demo, made if it is not there yet; one that is there is left as it is."""
    for row in store.shelves():
        if row.name.casefold() == DEMO:
            return row
    shift = today - _reference_day()
    with as_file(files(__package__)) as folder:
        records = read_sheets(folder, kinds=store.kinds)
    moved = {name: [_moved(record, shift) for record in rows] for name, rows in records.items()}
    try:
        return store.create_shelf(DEMO, records=moved)
    except NameTaken:
        # Another program made it at the same moment.
        return store.shelf_named(DEMO)


def _reference_day() -> date:
    about = files(__package__).joinpath("ABOUT.md").read_text("utf-8")
    found = re.search(r"^Reference day: (\d{4}-\d\d-\d\d)$", about, re.MULTILINE)
    if found is None:
        raise ValueError("ABOUT.md names no reference day")
    return date.fromisoformat(found[1])


def _moved(record: Record, shift: timedelta) -> Record:
    days = {f: (date.fromisoformat(record[f]) + shift).isoformat() for f in _DAYS if record.get(f)}
    return {**record, **days}
