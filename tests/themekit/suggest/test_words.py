"""Words, singulars, one-letter typos, and numbers in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.lexicon import lexicon
from themekit.suggest.numbers import number_at
from themekit.suggest.words import fold, key_of, mended, one_letter_off, singular, tokens


@pytest.mark.parametrize(
    ("plural", "one"),
    [
        ("owls", "owl"), ("leaves", "leaf"), ("berries", "berry"), ("witches", "witch"), ("boxes", "box"),
        ("wolves", "wolf"), ("potatoes", "potato"), ("bus", "bus"), ("cactus", "cactus"), ("glass", "glass"),
        ("mice", "mouse"), ("iris", "iris"), ("fairies", "fairy"), ("cookies", "cookie"),
    ],
)  # fmt: skip
def test_singulars(plural: str, one: str) -> None:
    assert singular(plural) == one


def test_accents_case_and_possessives_fold_away() -> None:
    assert fold("Quinceañera") == "quinceanera"
    assert key_of("St Patrick's Day") == key_of("st patrick’s day") == key_of("ST PATRICK DAY")
    assert [t.fold for t in tokens("#A1B2C3, Teal!") if t.is_word] == ["#a1b2c3", "teal"]


@pytest.mark.parametrize(
    ("word", "known", "near"),
    [
        ("pirat", "pirate", True), ("pirrate", "pirate", True), ("pitate", "pirate", True),
        ("priate", "pirate", True), ("pirate", "pirate", False), ("pratei", "pirate", False),
        ("pir", "pirate", False), ("ab", "ba", True),
    ],
)  # fmt: skip
def test_one_letter_off(word: str, known: str, near: bool) -> None:
    assert one_letter_off(word, known) is near
    assert one_letter_off(known, word) is near


@given(st.text("abc", min_size=1, max_size=6), st.integers(0, 5), st.sampled_from("abcd"))
def test_every_single_insertion_is_one_letter_off(word: str, at: int, letter: str) -> None:
    at = min(at, len(word))
    assert one_letter_off(word, word[:at] + letter + word[at:])


def test_short_words_are_not_mended_and_the_first_letter_decides() -> None:
    assert mended("owk", ["owl"]) is None
    assert mended("beech", ["leech", "beach"]) == "beach"
    assert mended("zzzz", ["beach"]) is None


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12), ("twelve", 12), ("a dozen", 12), ("two dozen", 24), ("twenty-four", 24), ("ninety nine", 99),
        ("one hundred", 100), ("owl", None), ("5th", None), ("", None),
    ],
)  # fmt: skip
def test_numbers(text: str, value: int | None) -> None:
    found = number_at(tokens(text), 0)
    assert (found and found[0]) == value


def test_ordinals_only_where_asked() -> None:
    assert number_at(tokens("5th"), 0, ordinals=True) == (5, 1)
    assert number_at(tokens("fifth"), 0, ordinals=True) == (5, 1)


def test_plain_names_have_the_same_key_as_by_the_general_way() -> None:
    """Names of letters and spaces alone take a short way; every built-in name is compared."""
    known = lexicon()
    names = [name for one in (*known.themes, *known.things) for name in (one.name, *one.aliases)]
    names += [*known.colour_words, "", "A  Bee", "Bees' Knees", "crème brûlée", "St. Patrick's"]
    for name in names:
        assert key_of(name) == tuple(t.stem for t in tokens(name) if t.is_word)
