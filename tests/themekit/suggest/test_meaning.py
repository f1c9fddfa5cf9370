"""Open vocabulary: word pieces, known words, and nearness in meaning."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.lexicon.vectors_io import load_meaning
from themekit.suggest.meaning import Meaning, WordSet


@pytest.fixture(scope="module")
def meaning() -> Meaning:
    return load_meaning()


@pytest.mark.parametrize(
    ("word", "pieces"),
    [
        ("owl", ("owl",)),
        ("gingerbread", ("ginger", "##bread")),
        ("snowman", ("snow", "##man")),
        ("Quinceañera", None),
        ("spooky", ("sp", "##ook", "##y")),
    ],
)
def test_words_are_split_by_longest_match(meaning: Meaning, word: str, pieces: tuple[str, ...] | None) -> None:
    """WordPiece as the model's tokenizer does it (Wu et al. 2016); pieces seen there."""
    found = meaning.pieces_of(word)
    assert found if pieces is None else found == pieces
    assert "".join(p.removeprefix("##") for p in found).isascii()


@pytest.mark.parametrize(
    "word", ["snowman", "gingerbread", "spooky", "owls", "lighthouse", "knitting", "eggplant"]
)
def test_dictionary_words_are_known(meaning: Meaning, word: str) -> None:
    assert meaning.knows(word)


@pytest.mark.parametrize("word", ["qzx", "vrrk", "zxcvbnm", "brrtz", "xkcdq", "的", "🎂", ""])
def test_nonsense_is_not_known(meaning: Meaning, word: str) -> None:
    assert not meaning.knows(word)
    assert meaning.embed(word) is None


def test_few_random_letters_pass_for_words(meaning: Meaning) -> None:
    """Of 2,000 random strings of six letters at most one in fifty."""
    draw = np.random.default_rng(5)
    letters = np.array(list("abcdefghijklmnopqrstuvwxyz"))
    strings = {"".join(row) for row in letters[draw.integers(0, 26, (2000, 6))]}
    assert sum(meaning.knows(s) for s in strings) <= len(strings) / 50


@pytest.mark.parametrize(
    ("word", "near", "far"),
    [
        ("kitten", "cat", "tractor"),
        ("yacht", "sailing boat", "carrot"),
        ("haunted", "ghost", "picnic"),
        ("blizzard", "snow", "beach"),
        ("orchestra", "music", "football"),
        ("volcano", "lava", "ribbon"),
    ],
)
def test_near_in_meaning_is_near(meaning: Meaning, word: str, near: str, far: str) -> None:
    """Own knowledge of English, no outside source."""
    rows = meaning.embed_many([near, far])
    found = dict(meaning.nearest(word, rows, 2))
    assert found[0] > found[1] + 0.2


def test_vectors_are_units_or_zero(meaning: Meaning) -> None:
    rows = meaning.embed_many(["owl party", "qzx", "moss and fern"])
    assert np.linalg.norm(rows, axis=1) == pytest.approx([1, 0, 1], abs=1e-5)


@given(st.sets(st.text("abcdef", min_size=1, max_size=8), max_size=50))
def test_a_word_set_finds_all_it_was_given(words: set[str]) -> None:
    made = WordSet.of(words)
    assert all(word in made for word in words)


def test_a_word_set_seldom_finds_others() -> None:
    """A Bloom filter of 12 bits a word and 8 hashes: about 0.3 % (Bloom 1970), here under 1 %."""
    made = WordSet.of(f"word{i}" for i in range(5000))
    assert sum(f"other{i}" in made for i in range(5000)) < 50
