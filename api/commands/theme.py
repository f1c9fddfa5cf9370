"""`themekit theme`: what a phrase is understood to mean, and from which words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from api.commands import options, telling
from api.commands.opening import asking
from api.commands.paper import Paper, paper
from api.commands.telling import Json, Lines


@click.command("theme", short_help="What is understood of a phrase.")
@options.TEXT
@options.PLACE
def command(text: tuple[str, ...], as_json: bool, **given: Any) -> None:
    """Show what is understood of TEXT: colours, things to see and needs, each with its words."""
    from api import questions

    with asking(given) as at:
        answer = at.ask(questions.read_theme, {"text": " ".join(text)})
        telling.show(answer, as_json, lambda: lines(answer, at.jar_names(), paper()))


#: How things to see are told apart, by the way they came.
_SEEN = {
    "theme": "Things to see",
    "guess": "By a guess at words",
    "near": "Often seen with them",
    "occasion": "For the occasion",
}


def lines(answer: Json, jars: Mapping[int, str], sheet: Paper) -> Lines:
    """A reading for people: from what, as what, how, and what was not understood."""
    from themekit.suggest.draft import guessed

    if answer["understood"]:
        out = sheet.wrapped(f"Understood, {100 * answer['sureness']:.0f} % sure:")
    else:
        out = ["Nothing was understood."]
    for one in answer["understood"]:
        if one["as"] in ("theme", "thing", "colour"):
            guess = guessed(one["how"])
            how = one["how"] if guess is None else f"a guess {guess}"
            told = f"“{one['words']}” as the {one['as']} {one['name']}, {how}"
            told += f" ({100 * one['sureness']:.0f} % sure)" if one["sureness"] < 1 else ""
            out += sheet.wrapped(told, "  ", "    ")
    names = telling.people(answer)
    out += sheet.wrapped(f"Taken for names: {telling.listed(names)}.", hanging="  ") if names else []
    if answer["unknown"]:
        unknown = telling.listed(f"“{word}”" for word in answer["unknown"])
        out += sheet.wrapped(f"Not understood: {unknown}.", hanging="  ")
    out += sheet.wrapped(answer["hint"], hanging="  ") if answer["hint"] else []
    if answer["anchors"]:
        out += sheet.heading("Colours:")
        for anchor in answer["anchors"]:
            source = f", from “{anchor['from']}”" if anchor["from"] else ""
            text = f"{anchor['name']}: {100 * anchor['weight']:.0f} %{source}"
            out += sheet.coloured([anchor["hex"]], text, "  ")
    out += [""] if answer["motifs"] else []
    for kind, title in _SEEN.items():
        words = [motif["word"] for motif in answer["motifs"] if motif["kind"] == kind]
        out += sheet.wrapped(f"{title}: {telling.listed(words)}.", hanging="  ") if words else []
    if answer["needs"]["applied"]:
        out += ["", *sheet.wrapped(f"Needs: {'; '.join(telling.needs_told(answer, jars))}.", hanging="  ")]
    facts = [f"{name}: {value}" for name, value in answer["order"].items() if value is not None]
    out += sheet.wrapped(f"Of the order: {', '.join(facts)}.", hanging="  ") if facts else []
    return out
