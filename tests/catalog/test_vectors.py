"""The distilled word vectors against the sentence model they are distilled from, and what they were made from.

The tables were computed with the full model: tests/reference/meaning.source.txt.
"""

from __future__ import annotations

import csv
import hashlib
import json
import random
import string
from pathlib import Path

import numpy as np
import pytest

from catalog.lexicon.build_vectors import names_hash
from catalog.lexicon.build_words import lexicon_phrases
from catalog.lexicon.vectors_io import load_meaning
from themekit.suggest.meaning import Meaning, phrase_key

REFERENCE = Path(__file__).parents[1] / "reference"
FOLDER = Path(__file__).parents[2] / "catalog" / "lexicon" / "vectors"
REBUILD = "build the vectors anew: python -m catalog.lexicon.build_vectors (its docstring says what it needs)"


def table(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.fixture(scope="module")
def meaning() -> Meaning:
    return load_meaning()


@pytest.fixture(scope="module")
def about() -> dict[str, object]:
    return json.loads((FOLDER / "about.json").read_text("utf-8"))


def test_the_vectors_are_made_from_the_names_there_are_now(about: dict[str, object]) -> None:
    assert about["made_from"] == names_hash(lexicon_phrases()), f"names of themes or things changed: {REBUILD}"


def test_the_vectors_are_what_the_build_wrote(about: dict[str, object]) -> None:
    found = {
        name: hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() for name in ("vectors.npy", "words.txt")
    }
    assert about["made"] == found, f"the files were edited by hand: {REBUILD}"


def test_every_name_of_several_words_is_known_as_a_whole(meaning: Meaning) -> None:
    for phrase in lexicon_phrases():
        if " " in phrase_key(phrase):
            assert len(meaning.rows_of(phrase)) == 1, phrase


def test_the_nearest_themes_agree_with_the_full_model(meaning: Meaning) -> None:
    """Reached on 113 phrases among 127 themes: the same first 0.83, the model's first in three 0.97."""
    themes = [row["theme"] for row in table("meaning_themes.csv")]
    matrix = meaning.embed_many(themes)
    pairs = table("meaning_pairs.csv")
    assert len(pairs) >= 110
    found = [[themes[i] for i, _ in meaning.nearest(row["phrase"], matrix, 3)] for row in pairs]
    same = np.mean([row["first"] == near[0] for row, near in zip(pairs, found, strict=True)])
    among = np.mean([row["first"] in near for row, near in zip(pairs, found, strict=True)])
    assert same >= 0.80
    assert among >= 0.93


def test_real_words_are_known_and_nonsense_is_not(meaning: Meaning) -> None:
    """Reached: 12 of 282 real words unknown, none of 199 nonsense words known."""
    rows = table("real_words.csv")
    real = [meaning.knows(r["word"]) for r in rows if r["kind"] == "real"]
    nonsense = [meaning.knows(r["word"]) for r in rows if r["kind"] == "nonsense"]
    assert len(real) >= 280
    assert len(nonsense) >= 199
    assert 1 - np.mean(real) <= 0.05
    assert np.mean(nonsense) <= 0.01


def test_random_letters_are_hardly_ever_known(meaning: Meaning) -> None:
    """Reached: none of 2,000 strings of five to ten letters."""
    draw = random.Random(11)
    words = ["".join(draw.choices(string.ascii_lowercase, k=draw.randint(5, 10))) for _ in range(2000)]
    assert np.mean([meaning.knows(w) for w in words]) <= 0.005


@pytest.mark.parametrize(
    "name", ["jessica", "Ferguson", "kevin", "gottfried", "Charlotte", "Henry", "Smith", "Maria"]
)
def test_names_of_persons_carry_no_meaning(meaning: Meaning, name: str) -> None:
    """WordNet has them not at all, or rather as persons' names than as words or places."""
    assert not meaning.knows(name)
    assert meaning.embed(name) is None


@pytest.mark.parametrize("word", ["robin", "rose", "king", "Washington", "Christian", "woods", "baker"])
def test_words_that_are_also_names_keep_theirs(meaning: Meaning, word: str) -> None:
    assert meaning.knows(word)


@pytest.mark.parametrize("name", ["Paris", "Mexican", "Hanukkah", "december", "Viking", "chihuahua"])
def test_names_of_places_peoples_and_times_do(meaning: Meaning, name: str) -> None:
    assert meaning.knows(name)


def test_the_files_are_small_and_agree_with_one_another(meaning: Meaning) -> None:
    assert sum(f.stat().st_size for f in FOLDER.iterdir()) < 3_500_000
    assert meaning.vectors.dtype == np.int8
    assert meaning.vectors.shape[1] == 96
    assert sorted(meaning.place.values()) == list(range(len(meaning.vectors)))
    assert meaning.vectors.any(axis=1).all()


def test_loading_again_gives_the_same_meaning(meaning: Meaning) -> None:
    load_meaning.cache_clear()
    again = load_meaning()
    assert again is not meaning
    np.testing.assert_array_equal(again.embed_many(["pirate ship"]), meaning.embed_many(["pirate ship"]))


def test_the_licence_notices_travel_with_the_vectors() -> None:
    notice = (FOLDER / "NOTICE").read_text("utf-8")
    assert "Apache License, Version 2.0" in notice
    assert "WordNet 3.0 Copyright 2006 by Princeton University" in notice
