"""`themekit season FILE`: all planned kits at once, from a list of them."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines

COLUMNS = ("theme", "kits", "date")


@click.command("season", short_help="Plan many kits at once from a list of themes, kits and dates.")
@click.argument("file")
@click.option("--no-buying", is_flag=True, help="Only what is on the shelf; what cannot be made is left out.")
@click.option("--seconds", metavar="N", help="How long the solver may take; 20 unless told.")
@options.PLACE
def command(file: str, no_buying: bool, seconds: str | None, as_json: bool, **given: Any) -> None:
    """Choose palettes, trios and cutters for all kits in FILE together.

    FILE is a CSV with the columns theme, kits and date (an empty theme is a free choice), or
    JSON as POST /api/v1/season takes it.
    """
    from api import seasons

    body = read_plan(file)
    if isinstance(body, dict):
        body |= {"buy": False} if no_buying else {}
        body |= {"time_limit_s": _number(seconds)} if seconds is not None else {}
    with asking(given) as at:
        with _quiet_stdout():
            answer = at.ask(seasons.season, body, at.today, _progress(as_json))
        telling.show(answer, as_json, lambda: lines(answer, at.shelf.name, paper()))


def read_plan(file: str) -> Any:
    """The body that a file stands for: JSON as it is, or the rows of a CSV."""
    from api.bodies import number_in
    from api.reading import read_json
    from catalog.sheet_files import MOST_BYTES, open_sheets
    from themekit.errors import InvalidValue, Problem, raise_all

    path = Path(file)
    if path.suffix.lower() == ".json":
        try:
            if path.stat().st_size > MOST_BYTES:
                raise_all([Problem("path", f"{path.stat().st_size:,} bytes", f"at most {MOST_BYTES:,} bytes")])
            return read_json(path.read_bytes())
        except OSError as error:
            problem = Problem("path", file, "a CSV or JSON file", "Check the path and its name.")
            raise InvalidValue("The file cannot be read.", [problem]) from error
    sheets, problems = open_sheets(path)
    raise_all(problems, "The file cannot be used.")
    header = [name.strip().casefold() for name in sheets[0].header]
    raise_all(
        [
            Problem(f"columns.{name}", name, "the columns " + ", ".join(COLUMNS), "Rename it, or leave it out.")
            for name in header
            if name and name not in COLUMNS
        ]
        + ([] if "kits" in header else [Problem("columns", header, "a column named kits", "Add it.")])
    )
    rows = [dict(zip(header, (cell.strip() for cell in cells), strict=False)) for _, cells in sheets[0].rows]
    lines = []
    for row in rows:
        line = {name: row[name] for name in COLUMNS if row.get(name)}
        if line:
            lines.append(line | ({"kits": number_in(line["kits"])} if "kits" in line else {}))
    return {"kits": lines}


def _number(text: str) -> Any:
    try:
        return float(text)
    except ValueError:
        return text


def _progress(as_json: bool) -> Any:
    """Stages told on a terminal's stderr, one line that is written over."""
    shown = not as_json and sys.stderr.isatty()

    def tell(stage: str, done: float) -> None:
        if shown:
            end = "\r" if (stage, done) != ("more candidates", 1.0) else "\n"
            click.echo(f"{stage}: {done:4.0%}".ljust(40) + end, nl=False, err=True)

    return tell


@contextmanager
def _quiet_stdout() -> Iterator[None]:
    """Keep what the solver's library may print by itself out of the answer."""
    try:
        own = os.dup(1)
    except OSError:
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        sys.stdout.flush()
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(own, 1)
        os.close(own)
        os.close(nowhere)


def lines(answer: Json, shelf: str, sheet: Paper) -> Lines:
    """A plan for people: what it gains and buys, then line by line."""
    totals = answer["totals"]
    out = sheet.wrapped(
        f"The season on the shelf {shelf}: {telling.plural(len(answer['lines']), 'line')}, "
        f"{telling.plural(totals['kits'], 'kit')}"
    )
    out += sheet.wrapped(_sureness(answer), hanging="  ")
    out += sheet.wrapped(answer["better_than_one_by_one"]["told"], hanging="  ")
    if totals["buy"]:
        cost = totals["buy_cost"]
        money = f" for {' '.join(filter(None, (cost, totals['currency'])))}" if cost else ""
        out += sheet.wrapped(f"To buy{money}: {telling.listed(map(_bought, totals['buy']))}.", hanging="  ")
    for week in answer["weeks"]:
        if week["told"]:
            out += sheet.wrapped(week["told"], hanging="  ")
    for note in (answer["more"], *answer["notes"]):
        out += sheet.wrapped(note, hanging="  ") if note else []
    cautions = [line["idea"]["cautions"] for line in answer["lines"] if line["idea"]]
    out += telling.shared_lines(cautions, "line", sheet)
    shared = telling.common(cautions)
    for number, line in enumerate(answer["lines"], start=1):
        out += _line(number, line, shared, sheet)
    return out


def _sureness(answer: Json) -> str:
    if answer["optimal"]:
        return f"Proven best of {answer['candidates']} candidates."
    gap = "of unknown size" if answer["gap"] is None else f"of {answer['gap']:.2%}"
    return f"Not proven best ({answer['status']}, a gap {gap} is left)."


def _bought(one: Json) -> str:
    return f"{telling.number(one['grams'])} g {one['name']}"


def _line(number: int, line: Json, shared: Lines, sheet: Paper) -> Lines:
    theme = line["theme"] or line["chosen"] or "free choice"
    due = f", for {line['date']}" if line["date"] else ""
    out = sheet.heading(f"{number}. {theme}: {telling.plural(line['kits'], 'kit')}{due}")
    if line["idea"] is None:
        return [*out, *sheet.wrapped(f"Left out: {line['why_not']}", "  ", "    ")]
    idea: Mapping[str, Any] = line["idea"]
    out += ["  Icing, with the gel for 100 g:", *telling.tint_lines(idea["palette"]["tints"], sheet)]
    out += [f"  {telling.cups_title(idea['trio'])}:", *telling.cup_lines(idea["trio"], line["kits"], sheet)]
    cookies = telling.listed(f"{cutter['cookies']} {cutter['name']}" for cutter in idea["cutters"])
    out += sheet.wrapped(f"Cookies: {cookies}.", "  ", "    ") if cookies else []
    if line["buy"]:
        out += sheet.wrapped(f"To buy for it: {telling.listed(map(_bought, line['buy']))}.", "  ", "    ")
    out += sheet.wrapped(" ".join(line["reasons"]), "  ", "    ")
    if line["days"]:
        out += sheet.wrapped(days_told(line["days"]), "  ", "    ")
    return out + telling.caution_lines([c for c in idea["cautions"] if c not in shared], sheet)


def days_told(days: Json) -> str:
    """The days of selling and making in one line."""
    told = (
        f"Orders from {days['open_orders']} to {days['last_orders']}; shop {days['shop']}, bake {days['bake']}, "
        f"icing {days['icing']}, pack {days['pack']}, ready {days['ready_by']}."
    )
    return " ".join([told, *days["told"]])
