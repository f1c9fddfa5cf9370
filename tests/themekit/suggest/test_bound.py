"""Cutters that say a season, an occasion or love come only where that is meant.

Judgement of our own on the built-in themes; no outside source.
"""

from __future__ import annotations

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.suggest.asked import ask
from themekit.suggest.cutters import Chosen, search_for
from themekit.values import Cutter, Shelf

PALETTE = np.array([[90.0, 0, 0], [60.0, 20, 20], [30.0, 0, -20]])
SHELF = (
    "owl: owl, bird, animal|maple leaf: leaf, maple leaf|fir tree: tree, christmas tree|snowflake: snowflake|"
    "balloon: balloon|gift box: gift|rattle: rattle, baby|mitten: mitten|heart: heart|star: star|"
    "circle: circle|scalloped round: circle|square: square|cupcake: cupcake|car: car"
)


def chosen(text: str) -> dict[str, Chosen]:
    cutters = [
        Cutter(at, name, tuple(motifs.strip().split(", ")))
        for at, (name, motifs) in enumerate((one.split(":") for one in SHELF.split("|")), start=1)
    ]
    asked = ask(text, Shelf(1, "cutters", cutters=tuple(cutters)), lexicon())
    return {one.cutter.name: one for one in search_for(cutters, asked).choose(8, PALETTE)}


@pytest.mark.parametrize(
    ("text", "out"),
    [
        ("swans", {"owl"}),
        ("sunset", {"owl"}),
        ("lion", {"fir tree", "maple leaf"}),
        ("tiger", {"maple leaf"}),
        ("koala", {"fir tree"}),
        ("pizza", {"maple leaf", "heart"}),
        ("black and gold", {"balloon", "gift box"}),
        ("popcorn", {"balloon"}),
        ("elephants", {"balloon", "heart"}),
        ("roller skating", {"heart"}),
        ("jungle animals", {"rattle"}),
        ("tailor", {"mitten", "heart"}),
    ],
)
def test_what_is_bound_elsewhere_fills_no_kit(text: str, out: set[str]) -> None:
    assert not out & set(chosen(text))


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("owls", "owl"),
        ("birds", "owl"),
        ("autumn leaves", "maple leaf"),
        ("christmas", "fir tree"),
        ("forest", "fir tree"),
        ("penguins", "snowflake"),
        ("a birthday", "balloon"),
        ("balloons", "balloon"),
        ("baby shower", "rattle"),
        ("engagement", "heart"),
        ("nurses", "heart"),
        ("mother's day", "heart"),
        ("hot air balloons", "balloon"),
        ("hearts and pizza", "heart"),
    ],
)
def test_where_it_is_meant_it_stays(text: str, kept: str) -> None:
    assert chosen(text)[kept].how


def test_plain_shapes_fill_up_and_differ() -> None:
    """A round and a square before two rounds, and no heart without love."""
    plain = chosen("volcano")
    assert list(plain) == ["circle", "square"]
    assert not any(one.how for one in plain.values())
