"""`themekit restore`: a backup in the place of everything that is there."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.paper import paper


@click.command("restore", short_help="Put a backup in the place of everything.")
@click.argument("file")
@options.PLACE
def command(file: str, as_json: bool, **given: Any) -> None:
    """Put the backup FILE in the place of all that is in the database. Stop the service first.

    The backup is checked, and what was there is copied beside it, before anything changes.
    """
    from catalog.backup import restore

    kept = restore(given["database"], file)
    answer = {"restored": file, "kept": None if kept is None else str(kept)}
    told = f"Restored from {file}."
    if kept is not None:
        told += f" What was there before is kept in {kept}."
    telling.show(answer, as_json, lambda: paper().wrapped(told))
