"""What people write about people: ages told by birthdays, names, listed colours, colours not wanted.

The sentences are our own; English usage, no outside source, where none is named.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.lexicon import lexicon
from catalog.lexicon.build_english import english_words
from catalog.lexicon.build_words import HERE
from themekit.suggest.asked import Asked, ask
from themekit.suggest.lookup import lookup_for
from themekit.suggest.needs import allowed
from themekit.suggest.shades import BASIC, sorts
from themekit.values import Shelf

WORDNET = Path("/usr/share/wordnet")


def put(text: str, shelf: Shelf | None = None) -> Asked:
    return ask(text, shelf or Shelf(1, "empty"), lexicon())


def names(text: str) -> set[str]:
    return {u.name for u in put(text).reading.understood}


@pytest.mark.parametrize(
    ("text", "age"),
    [
        ("dinosaurs for a 3rd birthday", 3),
        ("third birthday, mermaids", 3),
        ("first birthday", 1),
        ("Mia's 2nd birthday", 2),
        ("a sixth birth day", 6),
        ("pirates, he'll be three", 3),
        ("She's four. Trains please", 4),
        ("30th birthday party", None),
        ("our fifth wedding anniversary", None),
        ("the third week, owls", None),
    ],
)
def test_a_birthday_tells_the_childs_age(text: str, age: int | None) -> None:
    assert put(text).needs.youngest_age == age


@pytest.mark.parametrize(
    ("text", "name", "meant"),
    [
        ("my daughter Lily loves ladybugs", "lily", False),
        ("dinosaurs for Lily's 3rd birthday", "lily", False),
        ("my niece Rose is six, unicorns", "roses", False),
        ("Could we have ten kits of trains? Thanks, Marion", "maroon", False),
        ("Owls please. Best wishes,\nRose Miller", "roses", False),
        ("thank you, autumn leaves", "autumn leaves", True),
        ("our daughter loves lilies", "lily", True),
        ("DAUGHTER LILY", "lily", True),
        ("Mother's Day party", "mother's day", True),
    ],
)
def test_a_persons_name_is_no_theme(text: str, name: str, meant: bool) -> None:
    assert (name in names(text)) is meant


@pytest.mark.parametrize(("text", "sailors"), [("navy, rust & cream", False), ("cream and navy", False)])
def test_a_colour_in_a_row_of_colours_is_only_a_colour(text: str, sailors: bool) -> None:
    assert ("sailor" in names(text)) is sailors
    assert "navy" in names(text)


@pytest.mark.parametrize(
    "text", ["ice hockey tournament", "show jumping competition", "celebrating fifty years of trains"]
)
def test_words_of_any_event_bring_no_theme(text: str) -> None:
    how = {u.how for u in put(text).reading.understood}
    assert how
    assert "by meaning" not in how


def test_a_number_is_no_decade() -> None:
    assert "fifties" not in " ".join(names("fifty balloons"))
    assert any("fifties" in name or "50s" in name for name in names("a fifties diner"))


def test_an_english_word_is_no_typo() -> None:
    """ "Adores" is a letter from "adobe", and a word itself; "adobr" is none."""
    assert "adobe" not in names("my sister adores peonies")
    assert "pirate" in names("pirat party")
    assert not lexicon().is_word("pirat")
    assert lexicon().is_word("adore")


@pytest.mark.skipif(not WORDNET.exists(), reason="WordNet is not on this machine")
def test_the_english_words_are_what_the_build_makes() -> None:
    known = set((HERE / "vectors" / "words.txt").read_text("utf-8").splitlines())
    made = [word for word in english_words(WORDNET) if word not in known]
    assert (HERE / "english.txt").read_text("utf-8").splitlines() == made


def test_who_wants_no_pink_wants_no_sort_of_it(demo: Shelf) -> None:
    asked = put("owls, no pink", demo)
    left = {jar.name for jar in allowed(demo, asked.needs).jars}
    assert left.isdisjoint({"pale pink nonpareils", "hot pink jimmies", "rose sugar pearls, 6 mm"})
    assert {"bright white nonpareils", "orange nonpareils", "deep purple jimmies"} <= left
    assert list(allowed(demo, asked.needs).ruled_out)[0:1] == ["no pink"]


@pytest.mark.parametrize("name", ["pink", "blue", "green"])
def test_sorts_of_a_colour_are_apart_and_no_other_colour(name: str) -> None:
    known = dict(lookup_for(lexicon()).colours.values())
    made = sorts(name, known[name], known)
    assert made[0] == known[name]
    assert len(made) > 3
    assert not {known[other] for other in BASIC if other != name} & set(made)
    assert sorts("teal", known["teal"], known) == [known["teal"]]


@pytest.mark.parametrize(
    ("text", "people", "meant"),
    [
        ("My son Oskar adores submarines. Best, Ingrid", {"oskar", "ingrid"}, {"submarine"}),
        ("cookies for Wren, planets in lilac", {"wren"}, {"planet", "outer space", "space", "lilac"}),
        ("twins Felix and Flora, ballet", {"felix", "flora"}, {"siblings", "ballet", "ballerina"}),
        ("cookies about Lisbon with Wilhelmina, tuna", {"wilhelmina"}, {"portugal", "tuna"}),
        ("Kits for Frogs and Owls", set(), {"frog", "owl"}),
        ("Easter chicks, 6 kits. Love, June", {"june"}, {"easter", "chicken", "chick"}),
        ("NEED PIRATES FOR SAM", set(), {"pirate"}),
        ("It is for him. He likes foxes", set(), {"fox"}),
    ],
)
def test_a_capital_amid_a_sentence_is_a_name(text: str, people: set[str], meant: set[str]) -> None:
    """Told as taken for a name, never mended into a theme; festivals, places and several of a kind are none."""
    read = put(text).reading
    assert {u.words for u in read.understood if u.taken_as == "name"} == people
    found = {u.name for u in read.understood if u.taken_as in ("theme", "thing", "colour")}
    assert found <= meant
    assert found
    assert not people.intersection(read.unknown)


@pytest.mark.parametrize(
    ("text", "age"),
    [("her fourth birthday, puppies", 4), ("fifth bday, rockets", 5), ("his seventieth birthday", None)],
)
def test_an_ordinal_is_never_unknown(text: str, age: int | None) -> None:
    asked = put(text)
    assert asked.needs.youngest_age == age
    assert asked.reading.unknown == ()


def test_shop_talk_is_no_unknown_word_and_content_is() -> None:
    """What every message holds is passed over; a word with a meaning of its own is told."""
    assert put("hi! 12 pax, frogs plz, obviously w/ pick up, thx xx").reading.unknown == ()
    assert put("frogs but girly, for ward 7").reading.unknown == ("girly", "ward")
