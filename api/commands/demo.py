"""`themekit demo`: the invented shelf to try things on."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import opened
from api.commands.paper import paper
from api.commands.telling import Lines

_HELD = ("jars", "cutters", "gels", "boxes")


@click.command("demo", short_help="Make the invented shelf to try things on.")
@options.PLACE
def command(as_json: bool, **given: Any) -> None:
    """Make the invented shelf named demo, if it is not there yet."""
    from catalog.demo import create_demo

    with opened(given) as store:
        shelf = create_demo(store, date.today())
        held = {resource: store.list(shelf.id, resource, page_size=1)[1] for resource in _HELD}
    telling.show({"shelf": shelf.name, "rows": held}, as_json, lambda: _lines(held))


def _lines(held: dict[str, int]) -> Lines:
    told = telling.listed(f"{count} {resource}" for resource, count in held.items())
    return [
        *paper().wrapped(f"The shelf demo, all of it invented, holds {told}."),
        'Try: themekit ideas "owl party" --shelf demo',
    ]
