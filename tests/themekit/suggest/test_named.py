"""What a phrase names is shown if the shelf has it, and told by name if it has not."""

from __future__ import annotations

import pytest

from catalog.lexicon import lexicon
from themekit.colour.space import hex_to_lab
from themekit.suggest.asked import Asked, ask
from themekit.suggest.cutters import CutterSearch, cutters_part, search_for
from themekit.suggest.lookup import lookup_for
from themekit.suggest.named import Named, age_in, named_in
from themekit.suggest.reasons import cutter_reasons
from themekit.values import Cutter, Shelf

PALETTE = hex_to_lab(["#ffffff", "#888888", "#222222"])
#: Own choice of a home shelf's cutters.
CUTTERS = tuple(
    Cutter(at, words.split(":")[0], tuple(words.split(":")[1].split("|")), (), 80, 80)
    for at, words in enumerate(
        (
            "owl:owl|bird|animal", "fir tree:tree|christmas tree", "gift box:gift", "dinosaur:dinosaur|animal",
            "bone:bone", "star:star", "ghost:ghost", "bat:bat|animal", "skull:skull",
            "bear:bear|teddy bear|animal",
            "fish:fish|animal", "maple leaf:leaf|maple leaf", "apple:apple", "cat:cat|animal", "dog:dog|animal",
            "rabbit:rabbit|bunny|animal", "horseshoe:horseshoe|horse", "number plaque:plaque|number",
            "unicorn head:unicorn|horse|animal", "open book:book", "balloon:balloon", "cupcake:cupcake",
            "rocket:rocket", "circle:circle", "baby bottle:baby bottle|bottle|baby",
        )
    )
)  # fmt: skip


def asked(text: str) -> Asked:
    return ask(text, Shelf(id=1, name="own", cutters=CUTTERS), lexicon())


def search(text: str, without: str = "") -> CutterSearch:
    return search_for([c for c in CUTTERS if c.name != without], asked(text))


def names(text: str, taken: dict[int, int] | None = None, without: str = "") -> list[str]:
    return [c.cutter.name for c in search(text, without).choose(8, PALETTE, taken)]


def told(text: str, without: str = "") -> list[str]:
    found = search(text, without)
    return cutter_reasons(found.choose(8, PALETTE), found.named, found.lacking)


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("bears", ["Bear shows the theme; fish and fir tree go with it."]),
        ("retirement gift for a plumber", ["No cutter on the shelf shows a plumber."]),
        ("spooky circus", ["No cutter on the shelf shows a circus."]),
        ("hedgehog", ["No cutter on the shelf shows a hedgehog.", "Maple leaf and apple go with the theme."]),
        ("astronaut and dinosaur", ["No cutter on the shelf shows an astronaut."]),
    ],
)
def test_what_is_named_and_not_shown_is_told_by_name(text: str, sentences: list[str]) -> None:
    found = told(text)
    assert all(sentence in found for sentence in sentences), found


@pytest.mark.parametrize("text", ["birthday", "retirement", "owl party in teal", "fancy dress for a queen bee"])
def test_an_occasion_is_not_missed_nor_what_is_there(text: str) -> None:
    assert not any(s.startswith("No cutter") and "retirement" in s for s in told(text))
    assert not any("owl" in s and s.startswith("No cutter") for s in told(text))


def test_a_cutter_taken_away_is_missed() -> None:
    assert told("bears", without="bear")[0] == "No cutter on the shelf shows a bear."


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("dinosaur Christmas", {"dinosaur", "fir tree", "gift box"}),
        ("farm animals", {"cat", "dog", "rabbit"}),
        ("turning 5 unicorn party", {"unicorn head", "number plaque"}),
        ("5th birthday", {"number plaque", "balloon"}),
        ("her fifth birthday, owls", {"owl", "number plaque"}),
    ],
)
def test_what_fits_goes_before_companions(text: str, first: set[str]) -> None:
    """Own judgement: the named things, an age's number, then what goes with them."""
    assert first <= set(names(text))


def test_every_idea_shows_both_that_are_named() -> None:
    taken: dict[int, int] = {}
    for _ in range(4):
        chosen = search("owls and bears").choose(8, PALETTE, taken)
        assert {"owl", "bear"} <= {c.cutter.name for c in chosen}
        for one in chosen:
            taken[one.cutter.id] = taken.get(one.cutter.id, 0) + 1


def test_the_part_is_never_very_good_where_nothing_named_is_shown() -> None:
    """0.75 is where the words "very good" begin."""
    found = search("hedgehog")
    chosen = found.choose(8, PALETTE)
    part = cutters_part(chosen, 8, found.named)
    assert 0 < part <= 0.6 < cutters_part(chosen, 8)
    shown = search("owl")
    owl = shown.choose(8, PALETTE)
    assert cutters_part(owl, 8, shown.named) == cutters_part(owl, 8)


@pytest.mark.parametrize(
    ("text", "age"),
    [
        ("turning 5", 5), ("she turns six, foxes", 6), ("5th birthday", 5), ("a fifth birthday", 5),
        ("30th birthday", 30), ("birthday", None), ("5 kits, birthday", None), ("ages 4 to 6, owls", None),
    ],
)  # fmt: skip
def test_the_age_that_is_celebrated(text: str, age: int | None) -> None:
    assert age_in(asked(text).reading) == age


def test_a_six_is_no_cutter_for_a_fifth_birthday() -> None:
    six, five = Cutter(1, "number 6", ("number",), (), 80, 80), Cutter(2, "number 5", ("number",), (), 80, 80)
    found = search_for([six, five], asked("5th birthday"))
    assert [c.cutter.name for c in found.choose(8, PALETTE) if c.motif] == ["number 5"]


def test_named_things_in_their_order_and_parts_of_words_are_none() -> None:
    found = asked("pirate ship and an owl")
    got = [one.name for one in named_in(found.reading, lookup_for(lexicon()))]
    assert got == ["pirate ship", "owl"]
    assert Named("plumber", frozenset()).told == "a plumber"
    assert Named("owl", frozenset()).told == "an owl"
    assert Named("honey", frozenset()).told == "honey"
    assert Named("christmas", frozenset(), thing=False).told == "“christmas”"
