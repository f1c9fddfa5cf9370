"""`themekit ideas`: whole kits for a theme, a season or a customer's request."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from api.commands import in_short, options, pictures, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("ideas", short_help="Whole kits for a theme or a customer's request.")
@options.TEXT
@options.KITS
@options.COUNT
@options.COOKIES
@options.SERVE
@options.NEEDS
@options.FULL
@options.SCORES
@options.PICTURE
@options.PLACE
def command(
    text: tuple[str, ...], full: bool, scores: bool, picture: str | None, as_json: bool, **given: Any
) -> None:
    """Ideas for TEXT, such as "owl party in teal and gold" or a customer's own sentence.

    Each has three icing tints that your gels can mix, three jars and cutters from your
    shelf, with reasons and cautions.
    """
    from api import questions

    path = pictures.path_for(picture)
    with asking(given) as at:
        answer = at.ask(questions.ideas, at.body(theme=" ".join(text)), at.today)
        files = (
            pictures.written(path, pictures.kits(answer, " ".join(text), at.store.read(at.shelf.id)))
            if path
            else []
        )
        if files:
            answer = {**answer, "pictures": files}
        telling.show(
            answer,
            as_json,
            lambda: [
                *(lines if full else in_short.ideas)(answer, at.shelf.name, at.jar_names(), paper(), scores),
                *pictures.told(files),
            ],
        )


def lines(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Ideas for people; what is not met leads, and cautions that all share come once, below."""
    kits = telling.plural(answer["kits"], "kit")
    title = f"Ideas from the shelf {shelf}, for {kits} of {telling.plural(answer['cookies'], 'cookie')}"
    out = [*sheet.wrapped(title), *telling.opening(answer, jars, sheet)]
    told = telling.unmet_sentences(answer)
    cautions = [[c for c in idea["cautions"] if c not in told] for idea in answer["ideas"]]
    shared = telling.common(cautions)
    if shared:
        count = telling.plural(len(shared), "caution")
        out += sheet.wrapped(f"With {count} below the ideas: read them before you promise anything.", "! ", "  ")
    for number, (idea, own) in enumerate(zip(answer["ideas"], cautions, strict=True), start=1):
        out += _idea(number, idea, answer["kits"], sheet, scores)
        out += telling.caution_lines([c for c in own if c not in shared], sheet)
    return out + telling.shared_lines(cautions, "idea", sheet)


def _idea(number: int, idea: Json, kits: int, sheet: Paper, scores: bool) -> Lines:
    palette, trio = idea["palette"], idea["trio"]
    name = telling.listed(tint["name"] for tint in palette["tints"])
    out = sheet.heading(f"Idea {number}{' (many-coloured, a fallback)' if idea['fallback'] else ''}: {name}")
    match = [f"{what} {telling.word_for(idea['parts'][part])}" for what, part in _MATCHED]
    out += sheet.wrapped(f"How well it suits: {', '.join(match)}.", "  ")
    if scores:
        out += telling.score_lines("Idea", idea, sheet)
        out += telling.score_lines("Icing", palette, sheet) + telling.score_lines("Toppings", trio, sheet)
    out += ["  Icing, with the gel for 100 g:", *telling.tint_lines(palette["tints"], sheet)]
    out += sheet.wrapped(" ".join(palette["reasons"]), "    ")
    out += [f"  {telling.cups_title(trio)}:", *telling.cup_lines(trio, kits, sheet)]
    out += sheet.wrapped(" ".join(trio["reasons"]), "    ")
    out += sheet.wrapped(_cookies(idea), "  ", "    ")
    return out


_MATCHED = (("icing", "palette"), ("toppings", "trio"), ("cutters", "cutters"))


def _cookies(idea: Json) -> str:
    """Cutters with their cookies, why these, and what the toppings cost."""
    cut = telling.listed(f"{cutter['cookies']} {cutter['name']}" for cutter in idea["cutters"])
    told = [f"Cookies: {cut}."] if cut else []
    elsewhere = {*idea["palette"]["reasons"], *idea["trio"]["reasons"]}
    told += [reason for reason in idea["reasons"] if reason not in elsewhere]
    price, currency = idea["cost"]["toppings_per_kit"], idea["cost"]["currency"]
    if price is not None:
        told.append(f"The toppings cost {' '.join(filter(None, (price, currency)))} a kit.")
    return " ".join(told)
