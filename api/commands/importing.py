"""`themekit import`: sheets onto a shelf, all or nothing."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from api.commands import options, telling
from api.commands.opening import Json, opened, shelf_of
from api.commands.paper import Paper, paper
from api.commands.telling import Lines

if TYPE_CHECKING:
    from catalog.store import Store

#: The shelf that a first import makes where none is named.
FIRST = "home"


@click.command("import", short_help="Bring CSV sheets onto a shelf.")
@click.argument("file")
@options.WHAT
@options.PLACE
def command(file: str, what: str | None, as_json: bool, **given: Any) -> None:
    """Create or change by name what is in FILE: a CSV, or a folder or .zip of them.

    A shelf that is named and not there yet is made; so is one named home, where none is
    named and there is none but the demo. With any mistake in FILE nothing changes.
    """
    with opened(given) as store:
        answer = import_file(store, given["shelf"], file, what)
    telling.show(answer, as_json, lambda: lines(answer, paper()))


def import_file(store: Store, name: str | None, file: str, what: str | None) -> Json:
    """Import a file and tell onto which shelf, whether it was made, and what became of the rows."""
    from catalog.errors import NotFound
    from catalog.fields import name_key
    from catalog.sheets import import_sheets, read_sheets
    from catalog.store import DEMO

    rows = store.shelves()
    if name is None and all(name_key(row.name) == DEMO for row in rows):
        # Her own things are not to end up among invented ones.
        name = FIRST
    try:
        shelf = shelf_of(store, name, date.today())
    except NotFound:
        assert name is not None, "a shelf that is not named is found, made or unclear"
        records = read_sheets(file, what, store.kinds)
        shelf = store.create_shelf(name.strip(), records=records)
        counts = {resource: {"created": len(found)} for resource, found in records.items()}
        return {"shelf": shelf.name, "made": True, "rows": {r: _counted(c) for r, c in counts.items()}}
    found = import_sheets(store, shelf.id, file, what)
    return {
        "shelf": shelf.name,
        "made": False,
        "rows": {
            r: _counted({"created": c.created, "changed": c.changed, "kept": c.kept}) for r, c in found.items()
        },
    }


def _counted(counts: dict[str, int]) -> dict[str, int]:
    return {"created": 0, "changed": 0, "kept": 0} | counts


def lines(answer: Json, sheet: Paper) -> Lines:
    """What became of the rows, for people."""
    made = " (made just now)" if answer["made"] else ""
    out = sheet.wrapped(f"Imported onto the shelf {answer['shelf']}{made}:")
    for resource, counts in answer["rows"].items():
        told = f"{counts['created']} new, {counts['changed']} changed, {counts['kept']} as they were"
        out += sheet.wrapped(f"{resource}: {told}", "  ")
    return out
