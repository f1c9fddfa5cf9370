"""`themekit bulk FILE`: many requests over many shelves, on all cores or on a cluster."""

from __future__ import annotations

import gc
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.commands import options, telling
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines

if TYPE_CHECKING:
    from api.bulk.running import Outcome

_ENDING = ".answers.jsonl"


@click.command("bulk", short_help="Answer many requests over many shelves.")
@click.argument("file")
@click.option("--to", metavar="FILE", help="Where the answers go; beside the requests unless told.")
@click.option("--scheduler", metavar="ADDRESS", help="A Dask scheduler, tcp://host:8786; else this machine.")
@click.option("--workers", metavar="N", help="Processes on this machine; one for each core unless told.")
@options.PLACE
def command(
    file: str, to: str | None, scheduler: str | None, workers: str | None, as_json: bool, **given: str | None
) -> None:
    """Answer every request in FILE with ideas, each answer a JSON line with the request's number and hash.

    FILE has JSON lines {"shelf": NAME, "theme": TEXT, and what else POST /api/v1/ideas takes}, or is a
    CSV with such columns. A run that was cut short goes on where it stopped when it is started
    again; nothing is answered twice. --shelf is for requests that name none.

    Ends with exit code 1 when a request could not be answered.
    """
    # Long enough a run to have garbage.
    gc.enable()
    answer = run(file, to or file + _ENDING, scheduler, workers, given["database"], given["shelf"])
    telling.show(answer, as_json, lambda: lines(answer, paper()))
    if answer["failed"]:
        sys.exit(1)


def run(
    file: str, to: str, scheduler: str | None, workers: str | None, database: str | None, shelf: str | None = None
) -> Json:
    """A whole run, with progress on a terminal; returns its counts."""
    from api.bulk.answered import AnswerFile
    from api.bulk.asked import read_requests
    from api.bulk.running import Outcome, answer_all, cluster
    from catalog.engine import database_url
    from catalog.store import Store

    number = _workers(workers)
    requests = read_requests(file, shelf)
    url = database_url(database).render_as_string(hide_password=False)
    # Once here, so that a database that is none is told before anything starts.
    Store(url).close()
    with AnswerFile(to, requests) as answers:
        before = len(answers.done)
        left = len(requests) - before
        if not left:
            return _counts(to, len(requests), before, Outcome())
        with (
            click.progressbar(length=left, label="Answering", file=sys.stderr, show_pos=True) as bar,
            cluster(scheduler, number) as client,
        ):
            done = answer_all(client, url, requests, answers, date.today(), bar.update)
    return _counts(to, len(requests), before, done)


def _counts(to: str, asked: int, before: int, done: Outcome) -> Json:
    return {
        "to": to,
        "requests": asked,
        "before": before,
        "answered": done.answered,
        "refused": done.refused,
        "failed": [{"request": number, "error": kind} for number, kind in sorted(done.failed)],
    }


def _workers(given: str | None) -> int | None:
    from api.bodies import number_in
    from themekit.errors import InvalidValue, Problem

    number = None if given is None else number_in(given.strip())
    if number is not None and (not isinstance(number, int) or not 1 <= number <= 256):
        problem = Problem("workers", number, "a whole number from 1 to 256", "Leave it out for one a core.")
        raise InvalidValue("There cannot be so many workers.", [problem])
    return number


def lines(answer: Json, sheet: Paper) -> Lines:
    """The counts for people."""
    told = f"{answer['requests']} requests: {answer['answered']} answered and {answer['refused']} refused just now"
    told += f", {answer['before']} before" if answer["before"] else ""
    out = sheet.wrapped(f"{told}. The answers are in {Path(answer['to'])}.")
    if answer["failed"]:
        numbers = ", ".join(str(one["request"]) for one in answer["failed"][:20])
        out += sheet.wrapped(
            f"{len(answer['failed'])} could not be answered by a fault of ours: {numbers}. Run it again to retry."
        )
    return out
