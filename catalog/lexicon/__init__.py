"""The built-in knowledge as frozen values: read once from the tables beside this file.

What each table holds, its source and its licence stand in SOURCES.md.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files
from io import StringIO

from themekit.colour.space import hex_to_lab
from themekit.values import Anchor, Gel, Kind, Lab, Lexicon, Texture, Theme, Thing

_HERE = files(__package__)
#: Groups of themes whose names win where two groups share one; the rest follow by name.
_FIRST = ("holidays", "seasons", "life", "parties")


def _groups() -> list[str]:
    """The groups of themes there are, one file each."""
    found = sorted(
        f.name.removesuffix(".csv") for f in _HERE.joinpath("themes").iterdir() if f.name.endswith(".csv")
    )
    return sorted(found, key=lambda group: (_FIRST.index(group) if group in _FIRST else len(_FIRST), group))


def _rows(name: str) -> Iterator[dict[str, str]]:
    return csv.DictReader(StringIO(_HERE.joinpath(name).read_text("utf-8")))


def _split(cell: str) -> tuple[str, ...]:
    return tuple(filter(None, map(str.strip, cell.split("|")))) if cell else ()


def _weighted(cell: str) -> list[tuple[str, float]]:
    """Hex colours with weights that add up to 1, from "#rrggbb 3|#rrggbb 1"."""
    pairs = [part.split() for part in _split(cell)]
    total = sum(float(weight) for _, weight in pairs)
    return [(colour, float(weight) / total) for colour, weight in pairs]


def _labs(hexes: Iterable[str]) -> dict[str, Lab]:
    """CIELAB of many hex colours in one vectorised step."""
    unique = sorted(set(hexes))
    labs = hex_to_lab(unique).tolist()
    return {h: (lab[0], lab[1], lab[2]) for h, lab in zip(unique, labs, strict=True)}


@cache
def lexicon() -> Lexicon:
    """Everything built in, loaded once per process."""
    from catalog.lexicon.vectors_io import load_meaning

    theme_rows = [(group, row) for group in _groups() for row in _rows(f"themes/{group}.csv")]
    thing_rows = list(_rows("things.csv"))
    words = {row["name"]: row["hex"] for row in _rows("colour_words.csv")}
    basics = {row["name"]: row["hex"] for row in _rows("colour_basics.csv")}
    seen_with = _seen_with()
    anchors = [_weighted(row["anchors"]) for _, row in theme_rows]
    colours = [_weighted(row["colours"]) for row in thing_rows]
    lab = _labs([h for pairs in (*anchors, *colours) for h, _ in pairs] + [*words.values(), *basics.values()])
    return Lexicon(
        themes=tuple(
            Theme(
                name=row["name"],
                aliases=_split(row["aliases"]),
                anchors=tuple(Anchor(lab[h], weight, row["name"]) for h, weight in pairs),
                motifs=_split(row["motifs"]),
                months=tuple(int(m) for m in _split(row["months"])),
                group=group,
            )
            for (group, row), pairs in zip(theme_rows, anchors, strict=True)
        ),
        colour_words=_named(words, lab),
        colour_basics=_named(basics, lab),
        things=tuple(
            Thing(
                row["name"],
                _split(row["aliases"]),
                tuple((lab[h], weight) for h, weight in pairs),
                seen_with.get(row["name"], ()),
            )
            for row, pairs in zip(thing_rows, colours, strict=True)
        ),
        kinds=kinds(),
        staples=staples(),
        meaning=load_meaning(),
        opposites=_opposites(),
        is_word=lambda word: word in _english(),
    )


def _seen_with() -> dict[str, tuple[str, ...]]:
    """For each thing of seen_with.csv what it is often seen with; a row tells of several alike."""
    rows = [(_split(row["things"]), _split(row["seen_with"])) for row in _rows("seen_with.csv")]
    return {name: words for names, words in rows for name in names}


@cache
def _english() -> frozenset[str]:
    """English words beside those of the vectors; read only when a typo is in question."""
    return frozenset(_HERE.joinpath("english.txt").read_text("utf-8").splitlines())


def _opposites() -> dict[str, list[str]]:
    told: dict[str, list[str]] = json.loads(_HERE.joinpath("opposites.json").read_text("utf-8"))["opposites"]
    return told


def _named(words: Mapping[str, str], lab: Mapping[str, Lab]) -> dict[str, Lab]:
    return {name: lab[colour] for name, colour in words.items()}


@cache
def kinds() -> tuple[Kind, ...]:
    """The trade kinds of toppings with their defaults."""
    return tuple(
        Kind(
            name=row["name"],
            aliases=_split(row["aliases"]),
            texture=Texture(
                row["form"] or None, _number(row["grain_mm"]), row["finish"] or None, row["hardness"] or None
            ),
            density_g_per_ml=_number(row["density_g_per_ml"]),
            density_low=_number(row["density_low"]),
            density_high=_number(row["density_high"]),
            melts_in_heat=_yes(row["melts_in_heat"]),
            hard_small_pieces=_yes(row["hard_small_pieces"]),
            source=row["source"],
        )
        for row in _rows("kinds.csv")
    )


@cache
def staples() -> tuple[Gel, ...]:
    """Kitchen staples that tint without a gel, with ids below zero."""
    from themekit.colour.tint import gel_absorption

    made = []
    for number, row in enumerate(_rows("staples.csv"), start=1):
        swatch = _labs([row["swatch"]])[row["swatch"]]
        dose = float(row["dose_g_per_100g"])
        made.append(
            Gel(
                id=-number,
                name=row["name"],
                swatch=swatch,
                dose_g_per_100g=dose,
                k=gel_absorption(swatch, dose),
                max_g_per_100g=_number(row["max_g_per_100g"]),
                natural=True,
            )
        )
    return tuple(made)


def _number(cell: str) -> float | None:
    return float(cell) if cell else None


def _yes(cell: str) -> bool | None:
    return {"yes": True, "no": False}.get(cell)
