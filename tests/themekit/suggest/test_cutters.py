"""Which cutters show a theme: kinds of a thing one way only, names, and likeness told as such."""

from __future__ import annotations

import pytest

from catalog.lexicon import lexicon
from themekit.colour.space import hex_to_lab
from themekit.suggest.cutters import Chosen, CutterSearch, seen_in
from themekit.suggest.lookup import lookup_for
from themekit.suggest.reasons import cutter_reasons
from themekit.suggest.theme import read_theme
from themekit.suggest.words import tokens
from themekit.values import Cutter, Motif

PALETTE = hex_to_lab(["#ffffff", "#888888", "#222222"])
LOOKUP = lookup_for(lexicon())


def cut(number: int, name: str, *motifs: str) -> Cutter:
    return Cutter(number, name, motifs, (), 80, 80)


def search(cutters: list[Cutter], *wanted: str, avoid: tuple[str, ...] = ()) -> CutterSearch:
    return CutterSearch(cutters, [Motif(word, 1.0) for word in wanted], LOOKUP, avoid)


@pytest.mark.parametrize(
    ("motif", "wanted", "shows"),
    [
        ("open book", "book", True),
        ("book", "open book", False),
        ("long-necked dinosaur", "dinosaur", True),
        ("floppy rabbit", "bunny", True),  # by the thing's other name
        ("graduation cap", "cap", False),
        ("cap", "graduation cap", False),
        ("graduation cap", "mortarboard", True),
        ("hot dog", "dog", False),
        ("dog", "hot dog", False),
        ("bat", "baseball bat", False),
        ("baby bottle", "champagne bottle", False),
        ("cupcake", "pancake", False),
        ("star", "star anise", False),
        ("sun", "sunflower", False),
    ],
)
def test_a_kind_of_the_thing_shows_it_and_never_the_other_way(motif: str, wanted: str, shows: bool) -> None:
    """Own judgement, no outside source: an open book is a book, but a hot dog is no dog."""
    match = search([cut(1, "one", motif)], wanted).matched[1]
    assert (match.weight > 0, match.motif) == (shows, wanted if shows else "")
    assert match.how != "near"


def test_the_plain_thing_goes_before_a_kind_of_it_and_that_before_a_special_sort() -> None:
    cutters = [
        cut(1, "witch hat", "witch hat", "hat"),
        cut(2, "open hat", "floppy hat"),
        cut(3, "hat", "hat"),
    ]
    weights = search(cutters, "hat").matched
    assert weights[3].weight == 1
    assert weights[3].weight > weights[2].weight > weights[1].weight > 0
    # A sort that was asked for is no drawback.
    both = search([cut(1, "maple leaf", "leaf", "maple leaf")], "leaf", "maple leaf").matched[1]
    alone = search([cut(1, "maple leaf", "leaf", "maple leaf")], "leaf").matched[1]
    assert both.weight == 1 > alone.weight


@pytest.mark.parametrize(
    ("name", "seen"),
    [
        ("Owl cookie cutter", "Owl"),
        ("fox, 90 mm", "fox"),
        ("3 inch pumpkin", "pumpkin"),
        ("open book (large)", "open book"),
        ("cutter 90 mm", ""),
    ],
)
def test_a_cutter_without_motifs_shows_what_it_is_called(name: str, seen: str) -> None:
    assert seen_in(cut(1, name)) == ((seen,) if seen else ())
    assert seen_in(cut(1, name, "ghost")) == ("ghost",)


def test_a_cutter_known_by_its_name_alone_is_found() -> None:
    chosen = search([cut(1, "circle, 75 mm"), cut(2, "Owl cookie cutter 90 mm")], "owl").choose(8, PALETTE)
    assert (chosen[0].cutter.id, chosen[0].motif) == (2, "owl")


@pytest.mark.parametrize(
    ("avoid", "left"), [("book", [2, 3]), ("hat", [1, 3]), ("tree", [1, 2]), ("christmas tree", [1, 2])]
)
def test_what_is_avoided_is_avoided_with_all_its_kinds(avoid: str, left: list[int]) -> None:
    """Wider than showing: “no hats” leaves the witch hat out as well."""
    cutters = [cut(1, "one", "open book"), cut(2, "two", "witch hat"), cut(3, "three", "christmas tree")]
    assert [c.id for c in search(cutters, "owl", avoid=(avoid,)).cutters] == left


@pytest.mark.parametrize(
    ("text", "cutter"),
    [
        ("library", "open book"), ("bookworm birthday", "open book"), ("good luck", "horseshoe"),
        ("knitting circle", "mitten"), ("ugly sweater party", "mitten"), ("graduation", "graduation cap"),
    ],
)  # fmt: skip
def test_the_fitting_cutter_of_a_theme_is_found(text: str, cutter: str) -> None:
    names = ["open book", "horseshoe", "mitten", "graduation cap", "circle", "rocket"]
    cutters = [cut(i, name, name) for i, name in enumerate(names)]
    reading = read_theme(text, tokens(text), LOOKUP)
    chosen = CutterSearch(cutters, reading.motifs, LOOKUP).choose(8, PALETTE)
    assert chosen[0].cutter.name == cutter


@pytest.mark.parametrize("text", ["baseball", "nurse", "chef", "sailor"])
def test_no_graduation_cap_for_other_caps(text: str) -> None:
    reading = read_theme(text, tokens(text), LOOKUP)
    chosen = CutterSearch([cut(1, "cap", "graduation cap")], [*reading.motifs, Motif("cap")], LOOKUP)
    assert chosen.matched[1].weight == 0


def test_what_is_only_near_in_meaning_is_told_so() -> None:
    truck = search([cut(1, "truck", "truck"), cut(2, "circle", "circle")], "tractor").choose(8, PALETTE)
    assert [(c.motif, c.how) for c in truck] == [("tractor", "near"), ("", "")]
    assert cutter_reasons(truck) == [
        "Near the theme, for want of the thing itself: truck for tractor.",
        "A plain shape fills up: circle.",
    ]
    owl = [Chosen(cut(1, "owl", "owl"), 8, "owl", 0.9)]
    assert cutter_reasons(owl) == ["Cutters that show the theme: owl."]


@pytest.mark.parametrize("cookies", range(1, 101))
def test_cookies_of_every_count_add_up(cookies: int) -> None:
    """Two to four cutters, whole cookies, none left out; one cookie needs one cutter."""
    names = ("owl", "fox", "bear", "leaf", "moon", "star")
    several = search([cut(i, n, n) for i, n in enumerate(names)], *names)
    chosen = several.choose(cookies, PALETTE, {0: 2, 1: 1})
    assert sum(c.cookies for c in chosen) == cookies
    assert min(2, cookies) <= len(chosen) <= min(4, cookies)
    assert all(isinstance(c.cookies, int) and c.cookies >= 1 for c in chosen)
    assert len({c.cutter.id for c in chosen}) == len(chosen)
