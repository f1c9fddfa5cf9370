"""Every idea shows both halves of a wish, and several themes make one picture."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest.anchors import Source, combined_anchors
from themekit.suggest.halves import halves
from themekit.suggest.ideas import Suggester
from themekit.values import Lab

Ask = Callable[..., Suggester]


def lab(colour: str) -> Lab:
    L, a, b = hex_to_lab(colour).tolist()
    return (L, a, b)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("burgundy and blush", ["burgundy", "blush"]),
        ("owls and moons", ["owl", "moon and stars"]),
        ("hedgehog birthday", ["hedgehog", "birthday"]),
        ("owls in teal", ["teal", "owl"]),
        ("hedgehog", []),
        ("teal", []),
        ("red, teal, gold and plum", ["red", "teal", "gold"]),
    ],
)
def test_the_halves_of_a_wish(suggester: Ask, text: str, names: list[str]) -> None:
    assert [half.name for half in halves(suggester(text).asked)] == names


def test_a_halfs_colours_are_its_own(suggester: Ask) -> None:
    """Snails and mushrooms are both brown, so brown shows neither of them, but for what a theme is known by."""
    snail, mushroom = halves(suggester("snails and mushrooms").asked)
    brown, red = hex_to_lab(["#9b7049", "#c23a2e"])
    assert delta_e_2000(mushroom.labs, brown).min() > 10
    assert delta_e_2000(mushroom.labs, red).min() < 1
    assert delta_e_2000(snail.labs, hex_to_lab("#b5885a")).min() < 1
    both = suggester("snails and mushrooms, no red").asked
    assert all(delta_e_2000(half.labs, red).min() >= 15 for half in halves(both))
    pirate, wedding = halves(suggester("pirate wedding").asked)
    black, white = hex_to_lab(["#1e1b1f", "#fdfbf6"])
    assert delta_e_2000(pirate.labs, black).min() < 1, "a theme's heaviest colour, though grey"
    assert delta_e_2000(wedding.labs, white).min() < 1, "an event's white shows it"


@pytest.mark.parametrize("text", ["owls and moons", "hedgehog birthday", "foxes and frogs", "penguin wedding"])
def test_every_palette_shows_both_themes(suggester: Ask, text: str) -> None:
    asked = suggester(text)
    both = halves(asked.asked)
    assert len(both) == 2
    found = asked.palette_search().diverse(5)
    assert len(found) >= 2
    for palette in found:
        for half in both:
            assert half.shown_by(palette.labs).min() <= 14.1, half.name
    one, other = both
    if len(one.foreign) and len(other.foreign):
        # No tint stands for both.
        shown = np.isfinite([half.shown_by(found[0].labs) for half in both])
        assert not shown.all(axis=0).any()


@pytest.mark.parametrize(
    ("text", "colours"),
    [
        ("burgundy and blush", ("burgundy", "blush")),
        ("owls in teal and gold", ("teal", "gold")),
        ("wedding in plum, sage and ivory", ("plum", "sage", "ivory")),
    ],
)
def test_said_colours_are_in_every_palette_as_far_as_the_gels_reach(
    suggester: Ask, text: str, colours: tuple[str, ...]
) -> None:
    asked = suggester(text)
    tints = asked.tints()
    answer = asked.ideas(5).ideas
    assert len(answer) >= 2
    for word in colours:
        wanted = np.array(lexicon().colour_words[word])
        nearest = delta_e_2000(tints.lab, wanted).min()
        for idea in answer:
            assert delta_e_2000(idea.palette.palette.labs, wanted).min() <= nearest + 4.1, word


def test_what_several_themes_share_keeps_its_weight_and_what_is_foreign_loses() -> None:
    sand, coral, mint = lab("#e6c9a8"), lab("#e88f7a"), lab("#b9dcc0")
    one = Source("one", ((coral, 0.5), (sand, 0.5)), 1.0)
    two = Source("two", ((sand, 0.4), (coral, 0.3), (mint, 0.3)), 1.0)
    weight = {a.lab: a.weight for a in combined_anchors([one, two])}
    plain = {sand: 0.45, coral: 0.4, mint: 0.15}
    assert weight[mint] < 0.75 * plain[mint]
    assert weight[sand] > plain[sand]
    assert sum(weight.values()) == pytest.approx(1)
    # Its heaviest colour is what a theme is known by, foreign or not.
    alone = Source("three", ((mint, 0.6), (coral, 0.4)), 1.0)
    mixed = {a.lab: a.weight for a in combined_anchors([one, alone])}
    assert mixed[mint] == pytest.approx(0.3)
    assert combined_anchors([two]) == combined_anchors([two, Source("no mass", ((mint, 1.0),), 0.0)])


def test_beside_two_others_a_colour_foreign_to_both_is_left_out() -> None:
    sand, coral, mint, plum = lab("#e6c9a8"), lab("#e88f7a"), lab("#b9dcc0"), lab("#84508f")
    three = [
        Source("desert", ((sand, 0.7), (coral, 0.3)), 1.0),
        Source("sunset", ((coral, 0.6), (plum, 0.4)), 1.0),
        Source("shower", ((mint, 0.6), (sand, 0.4)), 1.0),
    ]
    assert {a.lab for a in combined_anchors(three)} == {sand, coral, mint}
    assert plum in {a.lab for a in combined_anchors(three[:2])}


def test_what_both_are_known_by_shows_either(suggester: Ask) -> None:
    """Ramadan and moons both have a navy, so gold, navy and cream show both."""
    ramadan, moon = halves(suggester("Ramadan moon").asked)
    navy = hex_to_lab(["#2d3766"])
    assert np.isfinite(ramadan.shown_by(navy)).all()
    assert np.isfinite(moon.shown_by(hex_to_lab(["#ebe4cf"]))).all()


def test_an_event_counts_less_beside_a_picture(suggester: Ask) -> None:
    sand, mint = lab("#e6c9a8"), lab("#3fae4f")
    both = [Source("desert", ((sand, 1.0),), 1.0), Source("wedding", ((mint, 1.0),), 1.0)]
    assert [a.source for a in combined_anchors(both, ["wedding"])] == ["desert", "wedding"]
    assert combined_anchors(both, ["wedding"])[0].weight == pytest.approx(1 / 1.7)
    assert combined_anchors(both, ["wedding", "desert"])[0].weight == pytest.approx(0.5)
    assert suggester("fox wedding").anchors[0].source == "fox"
    assert suggester("wedding").anchors[0].source == "wedding"
