"""Jars belong with the icing or the theme: kin of colours, neutrals, strays that are told, obvious jars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.suggest.ideas import Suggester
from themekit.suggest.ties import chocolate, kin, neutral, theme_ties
from themekit.suggest.trios import strays
from themekit.values import Anchor, ColourShare, Jar, Shelf

Ask = Callable[..., Suggester]
Make = Callable[..., Jar]
#: One word of each kind, none of many colours.
FEW_COLOURED = (
    "hedgehog", "desert", "fox", "golden anniversary", "driving test", "chess club", "snails", "flamingo",
    "firefighter", "lavender", "campfire", "penguins",
)  # fmt: skip


@pytest.mark.filterwarnings("ignore::Warning")  # colour-science tells what it lacks
def test_lightness_counts_half_as_for_textiles() -> None:
    """kL = 2 against colour-science's formula for textiles, over random pairs."""
    from colour.difference import delta_E_CIE2000

    draw = np.random.default_rng(5)
    one, other = draw.uniform((0, -100, -100), (100, 100, 100), (2, 2000, 3))
    assert np.allclose(delta_e_2000(one, other, 2.0), delta_E_CIE2000(one, other, textiles=True), atol=1e-9)
    assert not np.allclose(delta_e_2000(one, other), delta_e_2000(one, other, 2.0))


@pytest.mark.parametrize(
    ("one", "other", "least", "most"),
    [
        ("#f08a74", "#f48c67", 1.0, 1.0),  # two corals
        ("#4b2b1c", "#8b6440", 0.9, 1.0),  # chocolate and a paler brown
        ("#3f9440", "#a8dcc2", 0.2, 0.5),  # leaf green on mint
        ("#a8dcc2", "#3f9440", 0.5, 0.8),  # mint on leaf green
        ("#ee7b1f", "#bf9b6e", 0.1, 0.35),  # loud orange on tan
        ("#5aaed0", "#795036", 0.0, 0.0),  # sky blue and brown
        ("#14868c", "#c3714b", 0.0, 0.0),  # teal and terracotta
        ("#7fbfe6", "#9aa0a6", 0.0, 0.0),  # sky blue and a grey that is near it
    ],
)
def test_kin_are_shades_of_one_colour(one: str, other: str, least: float, most: float) -> None:
    """Judged by eye, no source."""
    assert least <= kin(hex_to_lab([one]), hex_to_lab([other]))[0] <= most


def test_neutrals() -> None:
    """White, cream, silver grey and metals, not pink, pale blue, black or brown; judged by eye, no source."""
    plain = hex_to_lab(["#f8f6f1", "#f1e6c9", "#b7b9bd", "#f5c3cd", "#a9d3ec", "#1f1d1f", "#5a3520", "#d49a3a"])
    assert neutral(plain, np.zeros(8, bool)).tolist() == [True, True, True] + [False] * 5
    assert neutral(hex_to_lab(["#c9a24a"]), np.ones(1, bool)).all()
    brown = hex_to_lab(["#4b2b1c", "#1f1d1f", "#b98a58", "#7b3561", "#a08672"])
    assert chocolate(brown).tolist() == [True, False, False, False, False]


def test_every_colour_of_a_many_coloured_theme_ties_mixes_alone() -> None:
    """What the theme leads with ties anything; the rest of a theme of few colours ties nothing."""
    labs = hex_to_lab(["#d3262f", "#2f7fd6", "#2f7fd6"])
    red, blue = (
        Anchor((lab[0], lab[1], lab[2]), weight) for lab, weight in zip(labs[:2], (0.7, 0.3), strict=True)
    )
    mixed = np.array([False, False, True])
    assert theme_ties(labs, mixed, (red, blue), 1.0).tolist() == [1.0, 0.0, 1.0]
    assert theme_ties(labs, mixed, (red, blue), 0.4) == pytest.approx([1.0, 0.0, 0.4])
    assert theme_ties(labs, mixed, (), 0.0).tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("text", FEW_COLOURED)
def test_no_stray_is_among_the_first_ideas(suggester: Ask, text: str) -> None:
    """Every jar's larger part is kin to an icing, of what the theme leads with, or neutral."""
    asked = suggester(text)
    for idea in asked.ideas(3).ideas:
        palette = idea.palette.palette.labs
        assert strays(idea.trio.trio.jars, palette, asked.anchors) == ()
        assert not any("returns in" in r and r.startswith("None") for r in idea.trio.reasons)


def test_a_stray_is_told_where_the_shelf_has_nothing_better(suggester: Ask, demo: Shelf, jar: Make) -> None:
    blue = jar(3, "#2f6fc0", name="bright blue beads")
    shelf = replace(demo, jars=(jar(1, "#7d5b41"), jar(2, "#d8bd98"), blue))
    (idea,) = suggester("hedgehog", shelf).ideas(1).ideas
    assert strays(idea.trio.trio.jars, idea.palette.palette.labs, suggester("hedgehog").anchors) == (blue,)
    assert any(
        r == "None of the icings returns in bright blue beads: no jar left to choose from suits better all in all."
        for r in idea.trio.reasons
    )


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("octopus", "deep purple jimmies"),
        ("fish", "orange nonpareils"),
        ("red panda", "red nonpareils"),
    ],
)
def test_what_the_first_idea_leaves_lying_is_in_the_second(suggester: Ask, text: str, name: str) -> None:
    """Of each the jar in the theme's own colour, which by its score alone stays on the shelf."""
    first, second = (idea.trio.trio.jars for idea in suggester(text).ideas(2).ideas)
    assert name not in {j.name for j in first}
    assert name in {j.name for j in second}


def test_a_jar_of_the_themes_own_colour_is_in_one_of_the_first_two_ideas(
    suggester: Ask, demo: Shelf, jar: Make
) -> None:
    """A plain jar on the theme's heaviest anchor, among those of the shelf; found whatever its form is."""
    for text in ("hedgehog", "fox", "lavender", "frog", "lemons"):
        anchor = suggester(text).anchors[0].lab
        for form in ("rod", "crystal", "sphere"):
            own = jar(999, name="the very colour", colours=(ColourShare(anchor, 1.0),))
            own = replace(own, texture=replace(own.texture, form=form))
            shelf = replace(
                demo, jars=(*(j for j in demo.jars if len(j.colours) > 1 or j.motifs), own, *_plain(jar))
            )
            ideas = suggester(text, shelf).ideas(2).ideas
            assert any(j.id == 999 for idea in ideas for j in idea.trio.trio.jars), (text, form)


def _plain(jar: Make) -> list[Jar]:
    """Whites, a gold and a chocolate to go with anything."""
    colours = ("#f8f6f1", "#f1e6c9", "#efe8d8", "#f3f5f6", "#c9a24a", "#4b2b1c")
    made = [jar(900 + n, colour) for n, colour in enumerate(colours)]
    return [replace(j, texture=replace(j.texture, grain_mm=1.0 + n)) for n, j in enumerate(made)]


def test_many_coloured_jars_still_win_where_the_theme_is_many_coloured(suggester: Ask) -> None:
    for text in ("rainbow", "holi", "pride"):
        asked = suggester(text)
        (idea,) = asked.ideas(1).ideas
        assert any(len(j.colours) >= 5 for j in idea.trio.trio.jars), text
    for text in FEW_COLOURED:
        for idea in suggester(text).ideas(2).ideas:
            assert not any(len(j.colours) >= 5 for j in idea.trio.trio.jars), text
