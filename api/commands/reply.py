"""`themekit reply`: a customer's message read and answered, ready to send."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("reply", short_help="A reply to a customer's message, with ideas and prices.")
@options.TEXT
@options.KITS
@options.COUNT
@options.COOKIES
@options.SERVE
@click.option("--date", metavar="DAY", help="The day of the pick-up, YYYY-MM-DD; by the message, where left out.")
@options.NEEDS
@options.PLACE
def command(text: tuple[str, ...], date: str | None, as_json: bool, **given: Any) -> None:
    """A reply to the customer's message TEXT, with what was read from it to check first."""
    from api.requests import request

    with asking(given) as at:
        body = at.body(text=" ".join(text), **({"date": date} if date else {}))
        answer = at.ask(request, body, at.today)
        telling.show(answer, as_json, lambda: lines(answer, at.jar_names(), paper()))


def lines(answer: Json, jars: dict[int, str], sheet: Paper) -> Lines:
    """What was read, then the reply."""
    read = answer["read"]
    out = sheet.wrapped("Read from the message; check it before you send anything:")
    out += telling.opening(answer, jars, sheet)
    said = "no number of kits" if read["kits"] is None else telling.plural(read["kits"], "kit")
    out += sheet.wrapped(f"Day: {read['date'] or 'not said'}; {said}. {read['date_doubt'] or ''}".strip(), "  ")
    lacking: dict[str, list[str]] = {}
    for number, offer in enumerate(answer["offers"], start=1):
        if offer["missing"]:
            lacking.setdefault(" ".join(offer["missing"]), []).append(str(number))
    for missing, numbers in lacking.items():
        kits = f"kit{'s' * (len(numbers) > 1)} {telling.listed(numbers)}"
        out += sheet.wrapped(f"The cost of {kits} is at least: {missing}", "  ")
    return [*out, "", *answer["reply"].rstrip().split("\n")]
