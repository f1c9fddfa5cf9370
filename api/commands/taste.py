"""`themekit taste`: what was learned from what became of ideas, and how to forget it."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("taste", short_help="What was learned from your choices; --reset forgets it.")
@click.option("--reset", is_flag=True, help="Forget every choice, so that every weight is the default again.")
@options.PLACE
def command(as_json: bool, reset: bool, **given: Any) -> None:
    """How much each part of an idea counts on this shelf, learned from what became of ideas."""
    from api.tastes import taste_json
    from catalog.taste import Tastes

    with asking(given) as at:
        forgotten = Tastes(at.store).reset(at.shelf.id) if reset else 0
        answer = at.ask(taste_json)
        telling.show(answer, as_json, lambda: lines(answer, at.shelf.name, paper(), reset, forgotten))


def lines(answer: Json, shelf: str, sheet: Paper, reset: bool, forgotten: int) -> Lines:
    """The taste for people: sentences first, then the weights that moved."""
    out = sheet.wrapped(f"The taste of the shelf {shelf}")
    if reset:
        out += sheet.wrapped(f"Forgot {telling.plural(forgotten, 'choice')}.")
    for sentence in answer["told"]:
        out += sheet.wrapped(sentence)
    moved = [one for one in answer["weights"] if one["now"] != one["default"]]
    if moved:
        out += ["", *sheet.wrapped("Weights, by default and now:")]
    for one in moved:
        out += sheet.wrapped(
            f"{one['default']:.3f} → {one['now']:.3f}  {one['scope']}: {one['about']}", "  ", "    "
        )
    return out
