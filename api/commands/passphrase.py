"""`themekit passphrase`: what others sign in with when a shelf is served in the network."""

from __future__ import annotations

import os
from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import paper


@click.command("passphrase", short_help="What others sign in with when a shelf is served in the network.")
@click.option("--remove", is_flag=True, help="Have none: the shelf is served on this machine only.")
@options.PLACE
def command(remove: bool, as_json: bool, **given: Any) -> None:
    """Set the passphrase of a shelf; everyone who is signed in is signed out.

    It is asked for twice and not shown; THEMEKIT_PASSPHRASE gives it without a question.
    Only a slow hash of it is kept (scrypt).
    """
    from api.access.passphrase import VARIABLE, hashed
    from catalog.access import Access

    with asking(given) as at:
        made = None
        if not remove:
            text = os.environ.get(VARIABLE) or click.prompt(
                f"Passphrase of the shelf {at.shelf.name}", hide_input=True, confirmation_prompt=True, err=True
            )
            made = hashed(text)
        Access(at.store).set_passphrase(at.shelf.id, made)
    told = (
        f"The shelf {at.shelf.name} has no passphrase any more."
        if remove
        else f"The passphrase of the shelf {at.shelf.name} is set. Serve it with: themekit serve --host 0.0.0.0"
    )
    answer = {"shelf": at.shelf.name, "passphrase": made is not None}
    telling.show(answer, as_json, lambda: paper().wrapped(told))
