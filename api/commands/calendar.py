"""`themekit calendar`: feasts and holidays ahead, with the days of selling and making."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.season import days_told
from api.commands.telling import Json, Lines

_ASKED = (
    ("--from", "from", "DATE", "The first day, as YYYY-MM-DD; today unless told."),
    ("--to", "to", "DATE", "The last day; four months later unless told."),
    ("--country", "country", "COUNTRY", "Such as US, GB-ENG or DE; the shelf's own unless told."),
    ("--region", "region", "REGION", "Of that country, such as CA or ENG."),
)


@click.command("calendar", short_help="What is ahead: feasts with themes, and when to sell and bake.")
@options.together(*(click.option(flag, name, metavar=metavar, help=told) for flag, name, metavar, told in _ASKED))
@options.PLACE
def command(as_json: bool, **given: Any) -> None:
    """Feasts and holidays ahead, each with its theme, when to open and close orders, when to bake."""
    from api import calendars

    body = {name: given[name] for _, name, _, _ in _ASKED if given[name] is not None}
    with asking(given) as at:
        answer = at.ask(calendars.calendar_ahead, body, at.today)
        telling.show(answer, as_json, lambda: lines(answer, paper()))


def lines(answer: Json, sheet: Paper) -> Lines:
    """The calendar for people, day by day."""
    place = "-".join(filter(None, (answer["country"], answer["region"])))
    out = sheet.wrapped(f"From {answer['from']} to {answer['to']}{f' in {place}' if place else ''}")
    out += sheet.wrapped(answer["note"]) if answer["note"] else []
    for one in answer["items"]:
        told = [f"theme “{one['theme']}”" if one["theme"] else "no theme", *filter(None, [one["doubt"]])]
        if one["public"]:
            told.append("public holiday")
        out += sheet.heading(f"{one['date']} {one['name']}")
        out += sheet.wrapped(f"{'; '.join(told).capitalize()}.", "  ", "    ")
        if one["days"]:
            out += sheet.wrapped(days_told(one["days"]), "  ", "    ")
    return out
