"""`themekit photo`: a jar's colours from a photo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from api.commands import options, telling
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines
from themekit.errors import InvalidValue, Problem


@click.command("photo", short_help="A jar's colours from a photo.")
@click.argument("file")
@click.option("--white", metavar="X,Y,W,H", help="Where white paper or a grey card lies, in pixels.")
@options.PLACE
def command(file: str, white: str | None, as_json: bool, **_: Any) -> None:
    """Read the colours of a jar, or of sprinkles on a plate, off the photo FILE.

    Put a sheet of white paper in the picture. Nothing of the photo is kept.
    """
    from api.photos import colours_of

    try:
        data = Path(file).read_bytes()
    except OSError as error:
        raise InvalidValue(
            "There is no such file.", [Problem("file", file, "a photo", "Check its name.")]
        ) from error
    answer = colours_of(data, white)
    telling.show(answer, as_json, lambda: lines(answer, paper()))


def lines(answer: Json, sheet: Paper) -> Lines:
    """Each colour with its share, a cell for a sheet of jars, and what to do better."""
    out = [f"{c['hex']}  {c['share']:.0%}  {c['name']}" for c in answer["colours"]]
    out.append(f"{100 * answer['sureness']:.0f} % sure; white by {answer['balanced_by'] or 'the camera'}.")
    cell = "|".join(f"{c['hex']} {c['share']:.4f}" for c in answer["colours"])
    out += [f"For the column colours: {cell}"] if cell else []
    for warning in answer["warnings"]:
        out += sheet.wrapped(warning)
    return out
