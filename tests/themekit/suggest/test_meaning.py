"""Word meaning on a table small enough to check by hand, and on the built-in one."""

from __future__ import annotations

import numpy as np
import pytest

from catalog.lexicon.vectors_io import load_meaning
from themekit.suggest.meaning import Meaning, phrase_key

PLACE = {"snow": 0, "sand": 1, "castle": 2, "ball": 3, "pretzel": 4, "berry": 5, "snow castle": 6}
VECTORS = np.array(
    [[100, 0, 0], [0, 100, 0], [0, 0, 50], [0, 60, 80], [-100, 0, 0], [0, 0, 9], [0, -3, 4]], np.int8
)


@pytest.fixture(scope="module")
def small() -> Meaning:
    return Meaning(PLACE, VECTORS)


@pytest.fixture(scope="module")
def built_in() -> Meaning:
    return load_meaning()


@pytest.mark.parametrize(
    ("phrase", "rows"),
    [
        ("snow", (0,)),
        ("SNÖW", (0,)),
        ("ｓｎｏｗ", (0,)),
        ("Pretzels", (4,)),
        ("berries", (5,)),
        ("sandcastles", (1, 2)),
        ("snowball", (0, 3)),
        ("ballsnow, qzx", (3, 0)),
        ("Snow-Castle", (6,)),
        ("snow castle ball", (0, 2, 3)),
        ("the qzx", ()),
        ("snowsno", ()),
        ("snow" + "x" * 40, ()),
        ("", ()),
        ("🎂", ()),
        ("雪", ()),
    ],
)
def test_a_phrase_is_made_of_words_plurals_joined_words_or_is_known_whole(
    small: Meaning, phrase: str, rows: tuple[int, ...]
) -> None:
    assert small.rows_of(phrase) == rows


@pytest.mark.parametrize("word", ["snow", "Pretzels", "berries", "sandcastle", "SNOWBALLS"])
def test_words_with_a_vector_plurals_and_joined_words_are_known(small: Meaning, word: str) -> None:
    assert small.knows(word)


@pytest.mark.parametrize("word", ["the", "qzx", "", "snowsno", "castl", "🎂", "雪"])
def test_others_are_not_known(small: Meaning, word: str) -> None:
    assert not small.knows(word)


def test_pieces_tell_what_words_have_in_common(built_in: Meaning) -> None:
    assert built_in.pieces_of("Cupcake") == ("cupcake", "cup", "cake")
    assert "cake" in built_in.pieces_of("pancake")
    assert built_in.pieces_of("owl") == ("owl",)
    assert built_in.pieces_of("qzx") == ()


def test_a_phrase_is_the_mean_of_its_known_words(small: Meaning) -> None:
    found = small.embed("the Snow, sand castle-qzx!")
    assert found is not None
    assert found.dtype == np.float32
    np.testing.assert_allclose(found, np.array([1, 1, 0.5]) / 1.5, atol=1e-6)


def test_words_that_cancel_or_are_unknown_have_no_meaning(small: Meaning) -> None:
    assert small.embed("snow pretzel") is None
    assert small.embed("qzx vrrk the") is None
    assert small.nearest("qzx", small.embed_many(["snow"]), 3) == []


def test_many_phrases_give_a_row_each_and_zeros_for_the_unknown(small: Meaning) -> None:
    phrases = ["snow", "qzx", "ball", "snow pretzel", "sandcastle ball", ""]
    rows = small.embed_many(phrases)
    for row, phrase in zip(rows, phrases, strict=True):
        one = small.embed(phrase)
        np.testing.assert_allclose(row, np.zeros(3) if one is None else one, atol=1e-6)
    assert small.embed_many([]).shape == (0, 3)


def test_the_nearest_come_best_first_and_ties_in_order(small: Meaning) -> None:
    matrix = small.embed_many(["castle", "ball", "snow", "ball"])
    found = small.nearest("balls", matrix, 3)
    assert [i for i, _ in found] == [1, 3, 0]
    assert [c for _, c in found] == pytest.approx([1, 1, 0.8], abs=1e-6)
    assert small.nearest("ball", np.zeros((0, 3), np.float32), 3) == []


def test_keys_of_phrases_are_plain() -> None:
    assert phrase_key("St. Patrick’s  Day") == "st patrick s day"
    assert phrase_key("Crème brûlée") == "creme brulee"


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
def test_near_in_meaning_is_near(built_in: Meaning, word: str, near: str, far: str) -> None:
    """Own knowledge of English, no outside source."""
    found = dict(built_in.nearest(word, built_in.embed_many([near, far]), 2))
    assert found[0] > found[1] + 0.2


def test_vectors_are_units_or_zero(built_in: Meaning) -> None:
    rows = built_in.embed_many(["owl party", "qzx", "moss and fern"])
    assert np.linalg.norm(rows, axis=1) == pytest.approx([1, 0, 1], abs=1e-5)
