"""`themekit backup`: everything in one file, also while the service runs."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.paper import paper


@click.command("backup", short_help="Everything in one file, also while the service runs.")
@click.argument("file")
@options.PLACE
def command(file: str, as_json: bool, **given: Any) -> None:
    """Write all shelves, batches, orders and the ledger into the new file FILE.

    It is a copy of one moment, whole and checked before it gets its name; a file that is
    there is never overwritten.
    """
    from catalog.backup import backup

    made = backup(given["database"], file)
    answer = {"file": str(made), "bytes": made.stat().st_size}
    telling.show(answer, as_json, lambda: paper().wrapped(f"Backed up to {made}, {answer['bytes']:,} bytes."))
