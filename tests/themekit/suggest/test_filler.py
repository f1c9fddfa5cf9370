"""Courtesies of a customer's message are dropped; names that hold the same words stay."""

from __future__ import annotations

import pytest

from catalog.lexicon import lexicon
from themekit.suggest.filler import RELATIONS, WORDS, without_filler
from themekit.suggest.lookup import lookup_for
from themekit.suggest.request import read_request
from themekit.suggest.theme import EMPTY, read_theme
from themekit.suggest.words import tokens

LOOKUP = lookup_for(lexicon())


def left(text: str) -> list[str]:
    return [t.fold for t in without_filler(tokens(text), LOOKUP) if t.is_word and t.fold not in EMPTY]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Could you please let me know if foxes are possible? Thanks, kind regards", ["foxes"]),
        ("Please reply by email asap. Many thanks!", []),
        ("Dear Mrs Miller, I'm writing to ask about owls for Saturday. Best wishes", ["owls"]),
        ("Hi there! We're thinking of a mermaid party", ["mermaid"]),
        ("looking forward to hearing from you", []),
        ("my daughter Emma loves ladybirds", ["ladybirds"]),
        ("our youngest adores frogs", ["frogs"]),
        ("How much would trains cost? Can you deliver on Friday?", ["trains"]),
        ("thank you so much for the owls, thank you", ["owls"]),
        ("Thank you for the quick reply! Owls please", ["quick", "owls"]),
    ],
)
def test_courtesies_are_dropped(text: str, words: list[str]) -> None:
    assert left(text) == words


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("thank you", "thank you"),
        ("thank you teacher", "teacher thank you"),
        ("thank you gift", "thank you"),
        ("thank you for our postman", "thank you"),
        ("Hello spring!", "spring"),
        ("dear deer", "deer"),
        ("lazy sunday in july", "lazy sunday in july"),
        ("grandma's birthday", "grandma's birthday"),
        ("baker", "baker"),
    ],
)
def test_a_theme_that_holds_such_words_stays(text: str, name: str) -> None:
    request = read_request(text, LOOKUP)
    assert name in [u.name for u in read_theme(text, request.rest, LOOKUP).understood]


def test_a_whole_message_is_read_surely() -> None:
    text = (
        "Dear baker, could you let me know whether you can make 12 kits with foxes by 5 December? The youngest "
        "guest is three. No rush, please reply by email. Kind regards"
    )
    request = read_request(text, LOOKUP)
    reading = read_theme(text, request.rest, LOOKUP)
    said = {s.field: s.value for s in request.said}
    assert set(said) == {"kits", "date", "youngest_age"}
    assert (said["kits"], said["youngest_age"]) == (12, 3)
    assert not request.not_understood
    assert {u.name for u in reading.understood} == {"fox"}
    assert reading.unknown == ()
    assert reading.sureness == 1


@pytest.mark.parametrize(
    ("text", "age"),
    [
        ("the youngest is three", 3),
        ("youngest is 3", 3),
        ("our youngest guest will be two", 2),
        ("the youngest child (4) loves cats", 4),
        ("the eldest is nine and the youngest is 2", 2),
        ("the youngest is 18 months old", 1),
        ("the oldest is 9", None),
        ("our youngest loves cats", None),
    ],
)
def test_the_youngests_age_is_a_need_and_nobody_elses(text: str, age: int | None) -> None:
    request = read_request(text, LOOKUP)
    assert request.values("youngest_age") == ([] if age is None else [age])
    assert not request.not_understood
    assert read_theme(text, request.rest, LOOKUP).unknown == ()


def test_no_listed_word_is_the_name_of_anything() -> None:
    """A theme, a thing or a colour called by one of them would never be read inside a message."""
    tables = (LOOKUP.themes, LOOKUP.things, LOOKUP.colours)
    assert not [word for word in WORDS | RELATIONS for table in tables if (word,) in table]


def test_a_short_phrase_of_such_words_is_left_to_its_meaning() -> None:
    assert left("friday") == ["friday"]
    assert left("please reply soon, thanks") == []
