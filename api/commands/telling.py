"""Answers for people: the parts that ideas, palettes, trios and themes have in common.

Everything is told from the same answer that --json prints.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import click

from api.commands.paper import Paper

Json = Mapping[str, Any]
Lines = list[str]
#: From these scores on a part is called by these words; where to draw the lines was judged by eye.
_WORDS = ((0.75, "very good"), (0.6, "good"), (0.45, "fair"), (0.0, "weak"))
_SURENESS = ((0.9, "surely"), (0.6, "fairly surely"), (0.35, "not very surely"), (0.0, "hardly at all"))


def show(answer: Json, as_json: bool, lines: Callable[[], Iterable[str]]) -> None:
    """Print an answer as JSON in UTF-8, as the service sends it, or as lines for people."""
    if as_json:
        from api.answers import to_json

        click.echo(to_json(answer).encode("utf-8"))
    else:
        click.echo("\n".join(lines()))


def listed(words: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c", each once."""
    from themekit.suggest.words import listed as joined

    return joined(list(words))


def word_for(score: float) -> str:
    """A score, 0 to 1, in a word."""
    return next(word for least, word in _WORDS if score >= least)


def number(value: float) -> str:
    """A mass or dose as a baker would read it off a scale: three digits, no trailing zeros."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def plural(count: int, word: str) -> str:
    """ "1 kit", "2 kits"."""
    return f"{count} {word}{'s' * (count != 1)}"


def unmet_sentences(answer: Json) -> Lines:
    """What the standing dough and icing break, which leads every answer."""
    from themekit.suggest.needs import Unmet

    return [Unmet(u["need"], u["of"], u["why"]).sentence() for u in answer["unmet"]]


def opening(answer: Json, jars: Mapping[int, str], sheet: Paper) -> Lines:
    """What is not met, what was understood, which needs were kept, and what to know of it all."""
    lines: Lines = []
    for sentence in unmet_sentences(answer):
        lines += sheet.wrapped(f"NOT MET: {sentence}", hanging="  ")
    theme = answer["theme"]
    if theme:
        told = "; ".join(_meant(theme))
        lines += sheet.wrapped(
            f"Understood {_surely(theme)}: {told}." if told else "Nothing was understood.", hanging="  "
        )
    if answer["needs"]["applied"]:
        lines += sheet.wrapped(f"Needs kept: {'; '.join(needs_told(answer, jars))}.", hanging="  ")
    if answer["ruled_out"]:
        told = listed(f"{plural(count, 'jar')} for “{need}”" for need, count in answer["ruled_out"].items())
        lines += sheet.wrapped(f"Left out: {told}.", hanging="  ")
    for note in answer["notes"]:
        lines += sheet.wrapped(note, hanging="  ")
    return lines


def _meant(theme: Json) -> Lines:
    """What each phrase stands for in the theme, guesses told as such; needs are told by themselves."""
    sure: dict[str, Lines] = {}
    guessed: dict[str, Lines] = {}
    for one in theme["understood"]:
        if one["as"] in ("theme", "thing", "colour"):
            found = guessed if one["how"].startswith("by meaning") else sure
            found.setdefault(one["words"], []).append(one["name"])
    told = [f"“{words}” as {listed(names)}" for words, names in sure.items()]
    return told + [f"“{words}”, by its meaning, perhaps as {listed(names)}" for words, names in guessed.items()]


def _surely(theme: Json) -> str:
    return next(word for least, word in _SURENESS if theme["sureness"] >= least)


def needs_told(answer: Json, jars: Mapping[int, str]) -> Lines:
    """Each need that was applied, with the words that it was read from."""
    lines = []
    for applied in answer["needs"]["applied"]:
        value = applied["value"]
        told = {
            "youngest_age": f"youngest child {value}",
            "diet": str(value),
            "use_jars": f"use {jars.get(value, value)}",
            "skip_jars": f"skip {jars.get(value, value)}",
            "include_colours": f"with {value}",
            "in_stock_only": "only what is in stock",
        }.get(applied["need"], f"no {value}")
        source = applied["source"]
        if applied["need"] == "avoid_colours" and source != "given":
            told = f"“{source}”, every sort of it"
            source = told
        lines.append(told if source in ("given", told) else f"{told} (“{source}”)")
    return list(dict.fromkeys(lines))


def tint_lines(tints: Sequence[Json], sheet: Paper) -> Lines:
    """Each tint with its recipe in g of gel per 100 g of icing."""
    lines = []
    for tint in tints:
        doses = ", ".join(f"{number(dose['g_per_100g'])} g {dose['gel']}" for dose in tint["recipe"])
        lines += sheet.coloured([tint["hex"]], f"{tint['name']}: {doses or 'no gel, the icing as it is'}")
    return lines


def cup_lines(trio: Json, kits: int, sheet: Paper) -> Lines:
    """Each jar of a trio with its grams for one kit, and for all kits where there are several."""
    lines = []
    for jar in trio["jars"]:
        grams = jar["grams_per_kit"]
        told = "grams not known" if grams is None else f"{number(grams)} g"
        if grams is not None and kits > 1:
            told += f" ({number(grams * kits)} g for {kits} kits)"
        if trio["serve"] == "mixed":
            told = f"{round(100 * jar['share'])} % of the volume, {told}"
        colours = [share["hex"] for share in sorted(jar["colours"], key=lambda c: -c["share"])]
        lines += sheet.coloured(colours, f"{jar['name']}: {told}")
    blend = trio["blend"]
    if blend:
        lines += sheet.coloured([blend["hex"]], f"together about {blend['name']}")
    return lines


def cups_title(trio: Json) -> str:
    """How the toppings of a kit are served: the measure is the trade's usual one."""
    mixed = trio["serve"] == "mixed"
    return "One blend, three tablespoons a kit" if mixed else "Three cups, a tablespoon of each a kit"


def caution_lines(cautions: Iterable[str], sheet: Paper, indent: str = "  ") -> Lines:
    """Cautions, each behind an exclamation mark."""
    return [line for text in cautions for line in sheet.wrapped(text, f"{indent}! ", f"{indent}  ")]


def score_lines(name: str, scored: Json, sheet: Paper) -> Lines:
    """A score and its parts in numbers."""
    parts = ", ".join(f"{part} {value:.2f}" for part, value in scored["parts"].items())
    return sheet.wrapped(f"{name} {scored['score']:.2f}: {parts}", "  ", "    ")


def common(cautions: Sequence[Sequence[str]]) -> Lines:
    """The cautions that all of several suggestions share, in order."""
    return [c for c in cautions[0] if all(c in others for others in cautions[1:])] if cautions else []


def shared_lines(cautions: Sequence[Sequence[str]], what: str, sheet: Paper) -> Lines:
    """Cautions that hold for every suggestion, told once before them."""
    found = common(cautions)
    title = f"Mind with every {what}:" if len(cautions) > 1 else "Mind:"
    return [*sheet.heading(title), *caution_lines(found, sheet)] if found else []
