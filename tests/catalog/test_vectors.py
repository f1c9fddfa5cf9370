"""The distilled word vectors against the sentence model they are distilled from.

The tables were computed with the full model and its own tokenizer: tests/reference/meaning.source.txt.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from catalog.lexicon.vectors_io import load_meaning
from themekit.suggest.meaning import Meaning

REFERENCE = Path(__file__).parents[1] / "reference"
FOLDER = Path(__file__).parents[2] / "catalog" / "lexicon" / "vectors"


def table(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.fixture(scope="module")
def meaning() -> Meaning:
    return load_meaning()


def test_the_nearest_themes_agree_with_the_full_model(meaning: Meaning) -> None:
    """Reached on 113 phrases among 127 themes: the same first 0.71, the model's first in three 0.92."""
    themes = [row["theme"] for row in table("meaning_themes.csv")]
    matrix = meaning.embed_many(themes)
    pairs = table("meaning_pairs.csv")
    assert len(pairs) >= 110
    found = [[themes[i] for i, _ in meaning.nearest(row["phrase"], matrix, 3)] for row in pairs]
    same = np.mean([row["first"] == near[0] for row, near in zip(pairs, found, strict=True)])
    among = np.mean([row["first"] in near for row, near in zip(pairs, found, strict=True)])
    assert same >= 0.70
    assert among >= 0.91


def test_words_are_split_as_the_models_tokenizer_splits_them(meaning: Meaning) -> None:
    rows = table("word_pieces.csv")
    assert len(rows) >= 500
    assert [r for r in rows if " ".join(meaning.pieces_of(r["word"])) != r["pieces"]] == []


def test_real_words_are_known_and_nonsense_is_not(meaning: Meaning) -> None:
    """Reached: 12 of 282 real words unknown (4.3 %), 3 of 199 nonsense words known (1.5 %)."""
    rows = table("word_pieces.csv")
    real = [meaning.knows(r["word"]) for r in rows if r["kind"] == "real"]
    nonsense = [meaning.knows(r["word"]) for r in rows if r["kind"] == "nonsense"]
    assert len(real) >= 280
    assert len(nonsense) >= 199
    assert 1 - np.mean(real) <= 0.05
    assert np.mean(nonsense) <= 0.02


@pytest.mark.parametrize("name", ["jessica", "Ferguson", "kevin", "gottfried"])
def test_names_of_persons_carry_no_meaning(meaning: Meaning, name: str) -> None:
    """Whole to the tokenizer; WordNet has them neither in lower case nor as a place."""
    assert meaning.pieces_of(name) == (name.lower(),)
    assert not meaning.knows(name)
    assert meaning.embed(name) is None


@pytest.mark.parametrize("name", ["Paris", "Mexican", "Hanukkah", "december", "Viking", "chihuahua"])
def test_names_of_places_peoples_and_times_do(meaning: Meaning, name: str) -> None:
    assert meaning.knows(name)


def test_the_files_are_small_and_agree_with_one_another(meaning: Meaning) -> None:
    assert sum(f.stat().st_size for f in FOLDER.iterdir()) < 2_900_000
    assert meaning.vectors.dtype == np.int8
    assert meaning.vectors.shape[1] == 96
    assert sorted(r for r in meaning.place.values() if r >= 0) == list(range(len(meaning.vectors)))


def test_loading_again_gives_the_same_meaning(meaning: Meaning) -> None:
    load_meaning.cache_clear()
    again = load_meaning()
    assert again is not meaning
    np.testing.assert_array_equal(again.embed_many(["pirate ship"]), meaning.embed_many(["pirate ship"]))


def test_the_licence_notices_travel_with_the_vectors() -> None:
    notice = (FOLDER / "NOTICE").read_text("utf-8")
    assert "Apache License, Version 2.0" in notice
    assert "WordNet 3.0 Copyright 2006 by Princeton University" in notice
