"""`themekit palettes`: three icing tints for a theme."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from api.commands import in_short, options, pictures, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("palettes", short_help="Three icing tints, with recipes.")
@options.TEXT
@options.KITS
@options.COUNT
@options.LIGHT
@options.NEEDS
@options.FULL
@options.SCORES
@options.PICTURE
@options.PLACE
def command(
    text: tuple[str, ...], full: bool, scores: bool, picture: str | None, as_json: bool, **given: Any
) -> None:
    """Three icing tints for TEXT that your gels can mix, with their recipes."""
    from api import questions

    path = pictures.path_for(picture)
    with asking(given) as at:
        answer = at.ask(questions.palettes, at.body(theme=" ".join(text)), at.today)
        files = pictures.written(path, pictures.palettes(answer)) if path else []
        if files:
            answer = {**answer, "pictures": files}
        telling.show(
            answer,
            as_json,
            lambda: [
                *(lines if full else in_short.palettes)(answer, at.shelf.name, at.jar_names(), paper(), scores),
                *pictures.told(files),
            ],
        )


def lines(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Palettes for people."""
    out = [*sheet.wrapped(f"Palettes from the shelf {shelf}"), *telling.opening(answer, jars, sheet)]
    told = telling.unmet_sentences(answer)
    cautions = [[c for c in one["cautions"] if c not in told] for one in answer["palettes"]]
    out += telling.shared_lines(cautions, "palette", sheet)
    shared = telling.common(cautions)
    for number, (one, own) in enumerate(zip(answer["palettes"], cautions, strict=True), start=1):
        name = telling.listed(tint["name"] for tint in one["tints"])
        out += sheet.heading(f"Palette {number}: {name}")
        out += telling.score_lines("Icing", one, sheet) if scores else []
        out += ["  Gel for 100 g of icing:", *telling.tint_lines(one["tints"], sheet)]
        out += sheet.wrapped(" ".join(one["reasons"]), "    ")
        out += telling.caution_lines([c for c in own if c not in shared], sheet)
    return out
