"""`themekit token`: what programs come in with; each names one shelf."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import paper


@click.group("token", short_help="Tokens that programs come in with, each for one shelf.")
def command() -> None:
    """What a program sends in the header Authorization, after the word Bearer.

    A token names its shelf, so that one service may serve many.
    """


@command.command("new", short_help="Make a token; it is shown this once.")
@click.argument("name")
@options.PLACE
def new(name: str, as_json: bool, **given: Any) -> None:
    """Make a token under NAME, such as the program it is for. It is shown this once; kept is its hash."""
    from catalog.access import Access

    with asking(given) as at:
        token = Access(at.store).new_token(at.shelf.id, name)
    answer = {"shelf": at.shelf.name, "name": name.strip(), "token": token}
    telling.show(answer, as_json, lambda: [*paper().wrapped("Keep it now; it is not shown again:"), token])


@command.command("list", short_help="The tokens there are, without their secrets.")
@options.PLACE
def list_(as_json: bool, **given: Any) -> None:
    """Every token of the shelf with when it was made, last used and revoked."""
    from catalog.access import Access

    with asking(given) as at:
        tokens = Access(at.store).tokens(at.shelf.id)
    lines = [line for one in tokens for line in paper().wrapped(_told(one))]
    telling.show({"items": tokens}, as_json, lambda: lines or ["There is no token yet."])


@command.command("revoke", short_help="Make a token worthless, at once.")
@click.argument("name")
@options.PLACE
def revoke(name: str, as_json: bool, **given: Any) -> None:
    """Make the token of that NAME worthless, at once and for good."""
    from catalog.access import Access

    with asking(given) as at:
        Access(at.store).revoke_token(at.shelf.id, name)
    telling.show({"revoked": name}, as_json, lambda: paper().wrapped(f"The token {name} opens nothing any more."))


def _told(token: telling.Json) -> str:
    used = f"last used {token['used']}" if token["used"] else "never used"
    gone = f", revoked {token['revoked']}" if token["revoked"] else ""
    return f"{token['name']}: made {token['made']}, {used}{gone}"
