"""`themekit batch`: an idea made for a number of kits, from the sketch to the packed kit and its prints."""

from __future__ import annotations

from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import Asking, Json, asking
from api.commands.paper import paper

ID = click.argument("id", metavar="ID")
ON_PAPER = click.option(
    "--paper", "on", metavar="a4|letter", help="The paper; the usual one where the shelf is, unless told."
)
IN_UNITS = click.option("--units", metavar="metric|us", help="Units of amounts; metric unless told.")
_COUNT = 5
#: What follows each step of a batch, told to people.
_STEPS = {
    "promise": "Hold what a batch needs, so that nothing else takes it.",
    "pack": "Take what a batch was packed with off the shelf.",
    "unpack": "Undo the packing of a batch; what it needs is held again.",
    "drop": "Give a batch up; what it held is free.",
}


@click.group("batch", short_help="Make a batch of an idea: amounts, icing, cost, days and prints.")
def command() -> None:
    """An idea made for a number of kits: amounts, icing, dough, packing, cost, days and prints.

    Begin with: themekit batch make "owl party" --kits 12 --due 2026-12-05
    """


@command.command("make", short_help="Sketch a batch of one of the ideas for a theme.")
@options.TEXT
@options.KITS
@click.option("--idea", metavar="M", help="Which of the ideas to make; the first unless told.")
@click.option("--due", metavar="DAY", help="The day of the pick-up, such as 2026-12-05.")
@click.option("--name", metavar="NAME", help="What to call the batch; the theme unless told.")
@options.COOKIES
@options.SERVE
@options.NEEDS
@options.PLACE
def make(
    text: tuple[str, ...], idea: str | None, due: str | None, name: str | None, as_json: bool, **given: Any
) -> None:
    """Ask for ideas for TEXT, and sketch a batch of one of them. Nothing is held yet.

    Ideas are numbered as `themekit ideas` shows them, asked with the same words and options.
    """
    from api import questions
    from api.commands.batch_telling import made_lines
    from api.works import batches_of, work_json

    with asking(given) as at:
        number = _idea_number(idea)
        answer = at.ask(questions.ideas, at.body(theme=" ".join(text)) | {"count": max(number, _COUNT)}, at.today)
        body = {
            "theme": " ".join(text),
            "kits": answer["kits"],
            "idea": _chosen(answer["ideas"], number),
            "needs": _needs(answer),
            "due": due,
            "name": name,
        }
        row = batches_of(at.store).create(at.shelf.id, body)
        telling.show(
            row, as_json, lambda: made_lines(row, work_json(at.store, at.shelf.id, row, at.today), paper())
        )


@command.command("list", short_help="The batches there are.")
@click.option("--state", metavar="STATE", help="Only those that are sketched, promised, packed, sold…")
@options.PLACE
def list_(state: str | None, as_json: bool, **given: Any) -> None:
    """List the batches with their ids, kits, states and days."""
    from api.commands.batch_telling import list_lines
    from api.works import batches_of

    with asking(given) as at:
        found: list[Json] = []
        number, total = 1, 1
        while len(found) < total:
            rows, total = batches_of(at.store).list(at.shelf.id, number, 200, state)
            found += rows
            number += 1
        answer = {"items": found, "page": 1, "page_size": 200, "total": total}
        telling.show(answer, as_json, lambda: list_lines(answer, at.shelf.name, paper()))


@command.command("show", short_help="Everything that follows from a batch.")
@ID
@options.PLACE
def show(id: str, as_json: bool, **given: Any) -> None:
    """Show all of a batch: what it does not keep first, then contents, icing, dough, packing, cost, days."""
    from api.commands.batch_telling import work_lines
    from api.works import work_json

    with asking(given) as at:
        row = _row(at, id)
        answer = work_json(at.store, at.shelf.id, row, at.today)
        telling.show(answer, as_json, lambda: work_lines(row, answer, paper()))


@command.command("print", short_help="Write a card, label, sheet or shopping list as PDF.")
@ID
@click.argument("document", metavar="card|label|sheet|shopping")
@click.argument("file")
@ON_PAPER
@IN_UNITS
@options.PLACE
def print_(
    id: str, document: str, file: str, on: str | None, units: str | None, as_json: bool, **given: Any
) -> None:
    """Write one document of a batch as PDF to FILE.

    card: directions, four to a page. label: labels to stick on, and the baker's notes.
    sheet: the bench sheet. shopping: what to buy.
    """
    from api.prints.printing import printed

    with asking(given) as at:
        made = printed(at.store, at.shelf.id, _row(at, id), at.today, document, on, units)
    _write(file, made.data)
    answer = {"file": file, "bytes": len(made.data), "not_printed": list(made.not_printed)}
    telling.show(answer, as_json, lambda: _written(answer, document))


@command.command("week", short_help="Write the work of all batches, week by week, as PDF.")
@click.argument("file")
@click.option("--from", "start", metavar="DAY", help="Leave out weeks before this day; today unless told.")
@ON_PAPER
@IN_UNITS
@options.PLACE
def week(file: str, start: str | None, on: str | None, units: str | None, as_json: bool, **given: Any) -> None:
    """Write one plan of work for all batches with a pick-up day to FILE: days, hours, shared dough and icing."""
    from api.prints.printing import printed_weeks

    with asking(given) as at:
        made = printed_weeks(at.store, at.shelf.id, at.today, start, on, units)
    _write(file, made.data)
    answer = {"file": file, "bytes": len(made.data), "not_printed": list(made.not_printed)}
    telling.show(answer, as_json, lambda: _written(answer, "work of the weeks"))


def _step(name: str, about: str) -> None:
    """One command that brings a batch a step further; repeating it changes nothing."""

    @command.command(name, short_help=about, help=about + " Repeating it changes nothing.")
    @ID
    @options.PLACE
    def step(id: str, as_json: bool, **given: Any) -> None:
        from api.commands.batch_telling import step_lines
        from api.works import batches_of

        with asking(given) as at:
            row = getattr(batches_of(at.store), name)(at.shelf.id, _id(id))
            telling.show(row, as_json, lambda: step_lines(row, paper()))


for _name, _about in _STEPS.items():
    _step(_name, _about)


def _row(at: Asking, id: str) -> Json:
    from api.works import batches_of

    found: Json = batches_of(at.store).get(at.shelf.id, _id(id))
    return found


def _id(given: str) -> int:
    """An id as it was typed. Raises `InvalidValue` for what is no whole number."""
    from api.bodies import number_in
    from themekit.errors import InvalidValue, Problem

    number = number_in(given.strip())
    if not isinstance(number, int):
        hint = "See themekit batch list."
        raise InvalidValue("There is no such batch.", [Problem("id", given, "the id of a batch", hint)])
    return number


def _idea_number(given: str | None) -> int:
    from api.bodies import number_in
    from themekit.errors import InvalidValue, Problem
    from themekit.suggest.asked import MOST_IDEAS

    number = 1 if given is None else number_in(given.strip())
    if not isinstance(number, int) or not 1 <= number <= MOST_IDEAS:
        allowed = f"a whole number from 1 to {MOST_IDEAS}"
        raise InvalidValue("There is no such idea.", [Problem("idea", given, allowed, "See themekit ideas.")])
    return number


def _chosen(ideas: list[Json], number: int) -> Json:
    """The idea of that number. Raises `InvalidValue` where there are fewer."""
    from themekit.errors import InvalidValue, Problem

    if number > len(ideas):
        allowed = f"one of the {telling.plural(len(ideas), 'idea')} that there are"
        hint = "See themekit ideas with the same words."
        raise InvalidValue("There is no such idea.", [Problem("idea", number, allowed, hint)])
    return ideas[number - 1]


def _needs(answer: Json) -> Json:
    """The needs that the ideas kept, those read from the text among them, as a batch takes them."""
    needs: Json = {}
    for applied in answer["needs"]["applied"]:
        name, value = applied["need"], applied["value"]
        if name in ("youngest_age", "diet", "in_stock_only"):
            needs[name] = value
        else:
            needs.setdefault(name, []).append(value)
    return needs


def _write(file: str, data: bytes) -> None:
    """Write a file. Raises `InvalidValue` where that cannot be done."""
    from pathlib import Path

    from themekit.errors import InvalidValue, Problem

    try:
        Path(file).write_bytes(data)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "it is no name of a file"
        problem = Problem("path", file, "a file that can be written, in a folder that is there", f"{why}.")
        raise InvalidValue("The file could not be written.", [problem]) from error


def _written(answer: Json, document: str) -> list[str]:
    lines = paper().wrapped(f"Wrote the {document} to {answer['file']}.")
    if answer["not_printed"]:
        signs = " ".join(f"{sign} (U+{ord(sign):04X})" for sign in answer["not_printed"])
        lines += paper().wrapped(f"No font of ours has {signs}: printed as \ufffd.")
    return lines
