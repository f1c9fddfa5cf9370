"""The whole way from a word to colours, against a public survey of colour names.

Source: Munroe, R. (2010), colour survey results, CC0: 954 names with the sRGB colours that
some hundred thousand volunteers gave them; tests/reference/colour_survey.csv. Object
words among the names ("moss", "brick") are what people see in their mind at that word.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest.lookup import Lookup, _build
from themekit.suggest.theme import read_theme
from themekit.suggest.words import key_of, singular, tokens
from themekit.values import Lexicon

REFERENCE = Path(__file__).parents[2] / "reference" / "colour_survey.csv"
OBJECTS = (
    "pumpkin moss brick rust slate sand clay straw butter banana lemon lime tangerine peach apricot "
    "salmon coral cherry strawberry raspberry cranberry plum grape eggplant aubergine mulberry lavender "
    "orchid heather sunflower dandelion mustard mahogany chestnut chocolate coffee cocoa caramel "
    "butterscotch cinnamon wheat pine fern grass leaf avocado pea olive seaweed algae sea ocean sky ice "
    "mint sage tomato watermelon melon squash mango asparagus celery pear apple cement putty mud dirt "
    "dust bronze copper gold silver steel ruby sapphire emerald jade amethyst turquoise topaz amber "
    "charcoal wine carnation marigold iris wisteria camel fawn terracotta sandstone stone dusk midnight "
    "spruce pistachio kiwi custard cream eggshell ivory denim cornflower swamp berry blueberry desert "
    "leather"
).split()


@pytest.fixture(scope="module")
def survey() -> dict[str, np.ndarray]:
    with REFERENCE.open(encoding="utf-8", newline="") as lines:
        return {row["name"]: hex_to_lab(row["hex"]) for row in csv.DictReader(lines)}


def without_survey_colours(whole: Lexicon, word: str) -> Lexicon:
    """No colour word of the survey at all: only themes, things and meaning are left."""
    return replace(whole, colour_words={})


def without_the_word(whole: Lexicon, word: str) -> Lexicon:
    """The word held out of every table: colour words, themes, aliases, motifs and things."""
    stem = singular(word)

    def free(name: str) -> bool:
        return stem not in key_of(name)

    def some(words: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(w for w in words if free(w))

    return replace(
        whole,
        themes=tuple(
            replace(t, aliases=some(t.aliases), motifs=some(t.motifs)) for t in whole.themes if free(t.name)
        ),
        things=tuple(replace(t, aliases=some(t.aliases)) for t in whole.things if free(t.name)),
        colour_words={k: v for k, v in whole.colour_words.items() if free(k)},
    )


def figures(held_out: object, words: list[str], survey: dict[str, np.ndarray]) -> tuple[int, float, float]:
    """How many words are read; mean CIEDE2000 of anchors from the word's colour and from any word's.

    An anchor counts by its weight. The baseline is the mean over every shuffling of the
    survey's colours among the words.
    """
    own, any_word = [], []
    targets = np.array([survey[w] for w in words])
    for at, word in enumerate(words):
        lookup: Lookup = _build(held_out(lexicon(), word), ())  # type: ignore[operator]
        anchors = read_theme(word, tokens(word), lookup).anchors
        if anchors:
            labs = np.array([a.lab for a in anchors])
            weights = np.array([a.weight for a in anchors])
            distance = weights @ delta_e_2000(labs[:, None, :], targets[None, :, :])
            own.append(distance[at])
            any_word.append(distance.mean())
    return len(own), float(np.mean(own)), float(np.mean(any_word))


def test_things_have_the_colours_people_give_them(survey: dict[str, np.ndarray]) -> None:
    """Without any colour word at all: CIEDE2000 15.0 against 39.3 shuffled, 108 of 110 words read."""
    words = [w for w in OBJECTS if w in survey]
    assert len(words) >= 60
    count, own, shuffled = figures(without_survey_colours, words, survey)
    print(f"{count} of {len(words)} read; CIEDE2000 {own:.1f}, shuffled {shuffled:.1f}")
    assert count >= 0.9 * len(words)
    assert own < 0.5 * shuffled


def test_meaning_alone_leads_nearer_than_chance(survey: dict[str, np.ndarray]) -> None:
    """The word held out of every table, so that only meaning is left: 33.4 against 40.4, 76 read."""
    words = [w for w in OBJECTS if w in survey]
    count, own, shuffled = figures(without_the_word, words, survey)
    print(f"{count} of {len(words)} read; CIEDE2000 {own:.1f}, shuffled {shuffled:.1f}")
    assert count >= 60
    assert own < 0.9 * shuffled
