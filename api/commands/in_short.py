"""Suggestions for those who want to decide: what goes into the kit, why, how far it reaches, what to mind.

Each caution stands in few words and none is left out; `--full` tells everything with its sources.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from api.commands import telling
from api.commands.paper import Paper
from api.commands.telling import Json, Lines

#: How wide the titles at the side are, and where what stands beside them begins.
_TITLE = 9
_BESIDE = " " * (_TITLE + 2)
#: What the grams beside a tint are.
_MEASURES = "Grams of gel are for 100 g of icing."
#: What begins a sentence on what no cutter shows, which leads where it holds for all.
_LACKING = "No cutter"


def ideas(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Ideas in about a dozen lines each; what holds for all comes once."""
    kits, told = answer["kits"], answer["ideas"]
    of = f"{telling.plural(kits, 'kit')} of {telling.plural(answer['cookies'], 'cookie')}"
    out = [*sheet.wrapped(f"Ideas from the shelf {shelf}, for {of}"), *telling.opening(answer, jars, sheet)]
    everywhere = _shared(told, "why")
    lacking = [sentence for sentence in everywhere if sentence.startswith(_LACKING)]
    for sentence in lacking:
        out += sheet.wrapped(sentence, hanging="  ")
    out += _announced(told, "ideas", sheet)
    out += sheet.wrapped(f"{_MEASURES} {telling.cups_title(told[0]['trio'])}.", hanging="  ")
    for number, idea in enumerate(told, start=1):
        fallback = " (many-coloured, a fallback)" if idea["fallback"] else ""
        out += sheet.heading(f"Idea {number}{fallback}: {_name(idea['palette'])}")
        if scores:
            out += telling.score_lines("Idea", idea, sheet)
            out += telling.score_lines("Icing", idea["palette"], sheet)
            out += telling.score_lines("Toppings", idea["trio"], sheet)
        out += _tints(idea["palette"], sheet) + _cups(idea["trio"], kits, sheet)
        own = [sentence for sentence in idea["in_short"]["why"] if sentence not in everywhere]
        out += _cookies(idea["cutters"], own, sheet)
        out += _beside("Why", [*idea["palette"]["in_short"]["why"], *idea["trio"]["in_short"]["why"][:-1]], sheet)
        out += _makes(idea["trio"], idea["cost"]["currency"], sheet)
        out += _own_cautions(idea, told, sheet)
    rest = [sentence for sentence in everywhere if sentence not in lacking]
    return out + _for_all(told, "idea", [*rest, *_unreached(answer["unreached"])], sheet)


def palettes(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Palettes with their gels and what makes them suit."""
    told = answer["palettes"]
    out = [*sheet.wrapped(f"Palettes from the shelf {shelf}"), *telling.opening(answer, jars, sheet)]
    out += sheet.wrapped(_MEASURES)
    for number, one in enumerate(told, start=1):
        out += sheet.heading(f"Palette {number}: {_name(one)}")
        out += telling.score_lines("Icing", one, sheet) if scores else []
        light = [reason for reason in one["reasons"] if reason.startswith("Under a ")]
        out += _tints(one, sheet) + _beside("Why", [*one["in_short"]["why"], *light], sheet)
        out += _own_cautions(one, told, sheet)
    return out + _for_all(told, "palette", _unreached(answer["unreached"]), sheet)


def trios(answer: Json, shelf: str, jars: Mapping[int, str], sheet: Paper, scores: bool = False) -> Lines:
    """Trios with their grams and how far they reach."""
    told = answer["trios"]
    out = sheet.wrapped(f"Toppings from the shelf {shelf}, for {telling.plural(answer['kits'], 'kit')}")
    out += telling.opening(answer, jars, sheet)
    if answer["palette"]:
        out += sheet.wrapped(f"To go with icing in {telling.listed(c['name'] for c in answer['palette'])}.")
    out += sheet.wrapped(f"{telling.cups_title(told[0])}.")
    for number, one in enumerate(told, start=1):
        out += sheet.heading(f"Trio {number}")
        out += telling.score_lines("Toppings", one, sheet) if scores else []
        out += _cups(one, answer["kits"], sheet) + _beside("Why", one["in_short"]["why"][:-1], sheet)
        out += _makes(one, None, sheet)
        out += _own_cautions(one, told, sheet)
    return out + _for_all(told, "trio", [], sheet)


def _name(palette: Json) -> str:
    return telling.listed(tint["name"] for tint in palette["tints"])


def _tints(palette: Json, sheet: Paper) -> Lines:
    return _rows("Icing", [([tint["hex"]], telling.tint_told(tint)) for tint in palette["tints"]], sheet)


def _cups(trio: Json, kits: int, sheet: Paper) -> Lines:
    """Each jar with its grams, and the colour of a blend."""
    rows = [(telling.jar_colours(jar), telling.cup_told(jar, trio["serve"], kits)) for jar in trio["jars"]]
    out = _rows("Cups" if trio["serve"] == "apart" else "One cup", rows, sheet, codes=False)
    if trio["blend"]:
        out += sheet.coloured([trio["blend"]["hex"]], f"together about {trio['blend']['name']}", _BESIDE)
    return out


def _makes(trio: Json, currency: str | None, sheet: Paper) -> Lines:
    """What the toppings of a kit weigh and cost, and for how many kits the jars are enough."""
    *_, reach = trio["in_short"]["why"]
    grams = [jar["grams_per_kit"] for jar in trio["jars"]]
    a_kit = [] if None in grams else [f"{telling.number(sum(grams))} g"]
    if trio["price_per_kit"] is not None:
        a_kit.append(" ".join(filter(None, (trio["price_per_kit"], currency))))
    told = [f"A kit's toppings: {' for '.join(a_kit)}."] if a_kit else []
    return _beside("Makes", [reach, *told], sheet)


def _rows(title: str, rows: Iterable[tuple[Sequence[str], str]], sheet: Paper, codes: bool = True) -> Lines:
    lines: Lines = []
    for hexes, text in rows:
        lines += sheet.coloured(hexes, text, _BESIDE if lines else _side(title), _BESIDE + "  ", codes)
    return lines


def _side(title: str) -> str:
    return f"  {title:<{_TITLE}}"


def _beside(title: str, sentences: Iterable[str], sheet: Paper) -> Lines:
    text = " ".join(sentences)
    return sheet.wrapped(text, _side(title), _BESIDE) if text else []


def _cookies(cutters: Sequence[Json], why: Sequence[str], sheet: Paper) -> Lines:
    """The cutters with their cookies, and why these, so far as it does not hold for all."""
    cut = "; ".join(f"{cutter['cookies']} {cutter['name']}" for cutter in cutters)
    return _beside("Cookies", [f"{cut}.", *why] if cut else why, sheet)


def _shared(told: Sequence[Json], what: str) -> Lines:
    """What all of several suggestions have in common; a single one keeps its own."""
    return telling.common([one["in_short"][what] for one in told]) if len(told) > 1 else []


def _announced(told: Sequence[Json], what: str, sheet: Paper) -> Lines:
    count = len(_shared(told, "cautions"))
    if not count:
        return []
    return sheet.wrapped(
        f"With {telling.plural(count, 'caution')} below the {what}: read them before you promise anything.",
        "! ",
        "  ",
    )


def _own_cautions(one: Json, told: Sequence[Json], sheet: Paper) -> Lines:
    """The cautions of one suggestion alone, one after the other."""
    own = [caution for caution in one["in_short"]["cautions"] if caution not in _shared(told, "cautions")]
    return telling.caution_lines([" ".join(own)], sheet) if own else []


def _unreached(found: Sequence[Json]) -> Lines:
    names = telling.listed(one["name"] for one in found)
    return (
        [f"The gels cannot quite make the theme's {names}; the nearest they make stands for it."] if found else []
    )


def _for_all(told: Sequence[Json], what: str, more: Sequence[str], sheet: Paper) -> Lines:
    """What holds for every suggestion, and where the rest is told."""
    shared = _shared(told, "cautions")
    out = sheet.heading(f"With every {what}:") if shared or more else [""]
    for sentence in more:
        out += sheet.wrapped(sentence, "  ", "  ")
    out += telling.caution_lines(shared, sheet)
    return out + sheet.wrapped(
        "All reasons, and cautions with their sources: add --full.", "  " if shared or more else ""
    )
