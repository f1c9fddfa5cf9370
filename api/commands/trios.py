"""`themekit trios`: three jars for a theme or for three colours of her own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from api.commands import in_short, options, pictures, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("trios", short_help="Three jars of toppings, with grams.")
@options.TEXT
@click.option("--palette", metavar="HEX HEX HEX", nargs=3, help="Three icing colours instead of TEXT.")
@options.KITS
@options.COUNT
@options.SERVE
@options.NEEDS
@options.FULL
@options.SCORES
@options.PICTURE
@options.PLACE
def command(
    text: tuple[str, ...],
    palette: tuple[str, ...] | None,
    full: bool,
    scores: bool,
    picture: str | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Three jars for TEXT, or for a --palette of three colours, with grams for each kit."""
    from api import questions

    path = pictures.path_for(picture)
    with asking(given) as at:
        body = at.body(theme=" ".join(text), palette=list(palette or ()))
        answer = at.ask(questions.trios, body, at.today)
        files = pictures.written(path, pictures.trios(answer, at.store.read(at.shelf.id))) if path else []
        if files:
            answer = {**answer, "pictures": files}
        telling.show(
            answer,
            as_json,
            lambda: [
                *(lines if full else in_short.trios)(answer, at.shelf.name, at.jar_names(), paper(), scores),
                *pictures.told(files),
            ],
        )


def lines(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Trios for people."""
    out = [*sheet.wrapped(f"Toppings from the shelf {shelf}, for {telling.plural(answer['kits'], 'kit')}")]
    out += telling.opening(answer, jars, sheet)
    if answer["palette"]:
        out.append("To go with the icing:")
        for colour in answer["palette"]:
            out += sheet.coloured([colour["hex"]], colour["name"], "  ")
    told = telling.unmet_sentences(answer)
    cautions = [[c for c in one["cautions"] if c not in told] for one in answer["trios"]]
    out += telling.shared_lines(cautions, "trio", sheet)
    shared = telling.common(cautions)
    for number, (one, own) in enumerate(zip(answer["trios"], cautions, strict=True), start=1):
        out += sheet.heading(f"Trio {number}. {telling.cups_title(one)}:")
        out += telling.score_lines("Toppings", one, sheet) if scores else []
        out += telling.cup_lines(one, answer["kits"], sheet)
        out += sheet.wrapped(" ".join(one["reasons"]), "    ")
        out += telling.caution_lines([c for c in own if c not in shared], sheet)
    return out
