"""`themekit export`: a shelf as sheets that a spreadsheet opens."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import paper


@click.command("export", short_help="Write a shelf as a spreadsheet.")
@click.argument("file")
@options.WHAT
@options.PLACE
def command(file: str, what: str | None, as_json: bool, **given: Any) -> None:
    """Write the shelf to FILE: an .xlsx, a folder or a .zip of CSV files, or one such as jars.csv."""
    from catalog.sheets import write_sheets

    with asking(given) as at:
        write_sheets(at.store, at.shelf.id, file, what)
    answer = {"shelf": at.shelf.name, "file": file}
    telling.show(answer, as_json, lambda: paper().wrapped(f"Wrote the shelf {at.shelf.name} to {file}."))
