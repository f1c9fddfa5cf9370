"""`themekit idle`: jars that stand unused or will pass their date, and their best uses."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("idle", short_help="Jars that stand unused, and their best uses.")
@click.option("--days", metavar="N", help="Not used for so many days; 90 unless told.")
@click.option("--count", metavar="N", help="How many jars at most; 20 unless told.")
@click.option("--full", is_flag=True, help="Tell also what they are good for in the days ahead.")
@options.PLACE
def command(full: bool, as_json: bool, **given: Any) -> None:
    """The least used and soonest dated jars, each with its best theme and trio."""
    from api import questions

    with asking(given) as at:
        answer = at.ask(questions.idle, at.body(), at.today)
        telling.show(answer, as_json, lambda: lines(answer, at.shelf.name, paper(), full))


def lines(answer: Json, shelf: str, sheet: Paper, full: bool = False) -> Lines:
    """Idle jars for people, the most idle first."""
    found, days = answer["items"], answer["days"]
    if not found:
        return sheet.wrapped(f"No jar on the shelf {shelf} has stood unused for {days} days or is dated soon.")
    title = f"{telling.plural(len(found), 'idle jar')} on the shelf {shelf}, the most idle first"
    out = sheet.wrapped(f"{title} (unused for {days} days, or dated soon)")
    for number, jar in enumerate(found, start=1):
        colours = [share["hex"] for share in jar["colours"]]
        out += ["", *sheet.coloured(colours, f"{number}. {jar['name']}", "")]
        out += sheet.wrapped(f"Why: {'; '.join(jar['why'])}. {_at_risk(jar, answer['currency'])}", "  ", "    ")
        for place, use in enumerate(jar["uses"][: None if full else 1]):
            out += sheet.wrapped(_use(jar, use, "Best use" if place == 0 else "Soon also"), "  ", "    ")
    more = not full and any(len(jar["uses"]) > 1 for jar in found)
    return out + (["", *sheet.wrapped("What they are good for in the days ahead: add --full.")] if more else [])


def _at_risk(jar: Json, currency: str | None) -> str:
    grams, money = jar["grams_at_risk"], jar["money_at_risk"]
    if grams is None:
        return "How much there is of it is not entered."
    worth = f", worth {' '.join(filter(None, (money, currency)))}" if money else ""
    return f"At risk: {telling.number(grams)} g{worth}."


def _use(jar: Json, use: Json, word: str) -> str:
    others = telling.listed(one["name"] for one in use["trio"]["jars"] if one["id"] != jar["id"])
    makes = use["trio"]["makes_kits"]
    enough = f", enough for about {telling.plural(makes, 'kit')}" if makes else ""
    colour = " (for its colour)" if use["by_colour"] else ""
    return f"{word}: {use['theme']}{colour}, with {others}{enough}."
