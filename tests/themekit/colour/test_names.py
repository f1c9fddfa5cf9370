"""The nearest colour name, against scikit-learn's brute force and the survey's own names."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from sklearn.neighbors import NearestNeighbors

from catalog.lexicon import lexicon
from themekit.colour.difference import delta_e_2000
from themekit.colour.names import BASIC, Names, called, lightness_word, names_of
from themekit.colour.space import hex_to_lab

REFERENCE = Path(__file__).parents[2] / "reference" / "colour_survey.csv"


def survey() -> Names:
    """Source: Munroe, R. (2010), colour survey results, CC0."""
    with REFERENCE.open(encoding="utf-8", newline="") as lines:
        return Names.of({r["name"]: tuple(hex_to_lab(r["hex"]).tolist()) for r in csv.DictReader(lines)})


def test_a_named_colour_has_its_own_name() -> None:
    names = survey()
    found = names.nearest_many(names.labs)
    distances = np.array([distance for _, distance in found])
    assert distances.max() < 1e-9


def test_nearest_as_by_brute_force() -> None:
    names = survey()
    draw = np.random.default_rng(1).uniform((5, -70, -70), (98, 70, 70), (60, 3))
    tree = NearestNeighbors(n_neighbors=1, algorithm="brute", metric=lambda a, b: float(delta_e_2000(a, b)))
    distances, _ = tree.fit(names.labs).kneighbors(draw)
    assert np.allclose([d for _, d in names.nearest_many(draw)], distances.ravel(), atol=1e-9)


def test_basic_names_are_honest() -> None:
    """Each basic name that the survey has too lies within ΔE00 20 of the survey's colour."""
    reference = survey()
    at = {word: i for i, word in enumerate(reference.words)}
    shared = {n: lab for n, lab in lexicon().colour_basics.items() if n in at}
    assert len(shared) >= 30
    far = {n for n, lab in shared.items() if delta_e_2000(lab, reference.labs[at[n]]) > 20}
    assert not far


def _called(hex_: str, own: str) -> str:
    lex = lexicon()
    basic = names_of({word: lab for word, lab in lex.colour_words.items() if word in BASIC})
    return called(hex_to_lab(hex_), own, names_of(lex.colour_basics), basic)


def test_what_is_called_red_is_told_as_red() -> None:
    """Survey colours that people themselves called by a basic word, such as "dark red", keep that word."""
    reference = survey()
    sorts = [(n, lab) for n, lab in zip(reference.words, reference.labs, strict=True) if n.split()[-1] in BASIC]
    assert len(sorts) > 200
    lex = lexicon()
    basic = names_of({word: lab for word, lab in lex.colour_words.items() if word in BASIC})
    told = [(n, called(lab, f"{n} sugar", names_of(lex.colour_basics), basic)) for n, lab in sorts]
    agree = sum(any(word in told_.split() for word in name.split()) for name, told_ in told)
    assert agree / len(told) >= 0.88


@pytest.mark.parametrize(
    ("hex_", "own", "told"),
    [
        ("#c22a50", "red sanding sugar", "red"),
        ("#c22a50", "sanding sugar", "raspberry"),
        ("#c72a66", "raspberry crystals", "raspberry"),
        ("#1d8a8a", "red sanding sugar", "teal"),
        ("#fbeecb", "mini white chips", "white"),
        ("#8e9192", "gray pearls", "grey"),
        ("#b0142f", "cherry red jimmies", "cherry red"),
        ("#c8253b", "reddish-blue", "cherry red"),
    ],
)
def test_a_colour_agrees_with_what_its_jar_is_called_where_it_can(hex_: str, own: str, told: str) -> None:
    assert _called(hex_, own) == told


def test_lightness_in_words_rises() -> None:
    words = [lightness_word(L) for L in (5, 20, 40, 55, 70, 95)]
    assert len(set(words)) == 6
    assert (words[0], words[-1]) == ("near-black", "very light")
