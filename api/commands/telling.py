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
#: Gel below this per 100 g of icing is a trace: no kitchen scale weighs it.
_TRACE_G = 0.02
#: From these scores on a part is called by these words; where to draw the lines was judged by eye.
_WORDS = ((0.75, "very good"), (0.6, "good"), (0.45, "fair"), (0.0, "weak"))


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
    if answer["theme"]:
        for sentence in _meant(answer["theme"]):
            lines += sheet.wrapped(sentence, hanging="  ")
    if answer["needs"]["applied"]:
        by = " by toppings and gels" if lines and answer["unmet"] else ""
        lines += sheet.wrapped(f"Needs kept{by}: {'; '.join(needs_told(answer, jars))}.", hanging="  ")
    if answer["ruled_out"]:
        from themekit.suggest.left_out import left_out

        lines += sheet.wrapped(f"Left out: {'; '.join(left_out(answer['ruled_out']))}.", hanging="  ")
    for note in answer["notes"]:
        lines += sheet.wrapped(note, hanging="  ")
    return lines


def people(theme: Json) -> Lines:
    """What was taken for people's names."""
    return [one["words"].title() for one in theme["understood"] if one["as"] == "name"]


def _meant(theme: Json) -> Lines:
    """What each phrase stands for in the theme, and by itself what is only a guess."""
    from themekit.suggest.draft import guessed

    sure: dict[str, Lines] = {}
    guesses: dict[tuple[str, str], Lines] = {}
    for one in theme["understood"]:
        if one["as"] in ("theme", "thing", "colour"):
            how = guessed(one["how"])
            place = (
                sure.setdefault(one["words"], []) if how is None else guesses.setdefault((one["words"], how), [])
            )
            place.append(one["name"])
    out = []
    if sure:
        little = "Only a little was understood" if theme["fallback"] else "Understood"
        out.append(f"{little}: {listed(_as(words, names) for words, names in sure.items())}.")
    if guesses:
        told = "; ".join(f"“{words}” perhaps as {listed(names)}, {how}" for (words, how), names in guesses.items())
        out.append(f"A guess: {told}.")
    out = out or ["Nothing was understood."]
    names = people(theme)
    if names:
        out.append(f"Taken for names: {listed(names)}.")
    dates = [one["words"] for one in theme["understood"] if one["as"] == "date"]
    if dates:
        out.append(f"Read as the day, which ideas do not hang on: {listed(dates)}.")
    return out


def _as(words: str, names: Sequence[str]) -> str:
    others = [name for name in names if name != words]
    return f"“{words}” as {listed(others)}" if others else f"“{words}”"


def needs_told(answer: Json, jars: Mapping[int, str]) -> Lines:
    """The needs that were applied, those read from the same words together, with these words."""
    by_source: dict[str, Lines] = {}
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
            told, source = f"“{source}”, every sort of it", "given"
        by_source.setdefault(told if source == "given" else source, []).append(told)
    out = []
    for source, told_of in by_source.items():
        needs = listed(told_of)
        out.append(needs if source == needs else f"{needs} (“{source}”)")
    return out


def tint_told(tint: Json) -> str:
    """A tint with its recipe in g of gel per 100 g of icing."""
    doses = ", ".join(
        _dose(number(dose["g_per_100g"]), dose["gel"], dose["g_per_100g"]) for dose in tint["recipe"]
    )
    return f"{tint['name']}: {doses or 'no gel, the icing as it is'}"


def _dose(told: str, gel: str, grams: float) -> str:
    return f"{told} g {gel}" if grams >= _TRACE_G else f"a trace of {gel} ({told} g)"


def tint_lines(tints: Sequence[Json], sheet: Paper) -> Lines:
    """Each tint with its recipe in g of gel per 100 g of icing."""
    return [line for tint in tints for line in sheet.coloured([tint["hex"]], tint_told(tint))]


def jar_colours(jar: Json) -> Lines:
    """A jar's colours as hex, the largest share first."""
    return [share["hex"] for share in sorted(jar["colours"], key=lambda c: -c["share"])]


def cup_told(jar: Json, serve: str, kits: int) -> str:
    """A jar with its grams for one kit, and for all kits where there are several."""
    grams = jar["grams_per_kit"]
    told = "grams not known" if grams is None else f"{number(grams)} g"
    if grams is not None and kits > 1:
        told += f" ({number(grams * kits)} g for {kits} kits)"
    if serve == "mixed":
        told = f"{round(100 * jar['share'])} % of the volume, {told}"
    return f"{jar['name']}: {told}"


def cup_lines(trio: Json, kits: int, sheet: Paper) -> Lines:
    """Each jar of a trio with its grams for one kit, and for all kits where there are several."""
    lines = []
    for jar in trio["jars"]:
        lines += sheet.coloured(jar_colours(jar), cup_told(jar, trio["serve"], kits))
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
    title = f"Take care with every {what}:" if len(cautions) > 1 else "Take care:"
    return [*sheet.heading(title), *caution_lines(found, sheet)] if found else []
