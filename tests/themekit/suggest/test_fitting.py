"""Mixes that speak of another feast stay aside, and hard balls where small children eat."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from catalog.lexicon import lexicon
from themekit.suggest.asked import ask
from themekit.suggest.fitting import of_another_feast, too_little, too_little_told
from themekit.suggest.ideas import Suggester
from themekit.suggest.needs import allowed
from themekit.values import Jar, Needs, Shelf, Texture

Ask = Callable[..., Suggester]
Make = Callable[..., Jar]
RED_GREEN, AUTUMN = "red, green and white nonpareils", "autumn jimmies blend"


@pytest.mark.parametrize(
    ("text", "aside"),
    [
        ("driving test", {RED_GREEN}),
        ("fox", {RED_GREEN}),
        ("dinosaur christmas", {AUTUMN}),
        ("santa", set()),
        ("reindeer", set()),
        ("italy", set()),
        ("watermelon", {AUTUMN}),  # of summer
        ("easter", {RED_GREEN, AUTUMN}),
    ],
)
def test_mixes_of_another_feast_stay_aside(demo: Shelf, text: str, aside: set[str]) -> None:
    """Red with green stands for Christmas; common practice, no source."""
    found = of_another_feast(demo.jars, ask(text, demo, lexicon()), lexicon().themes)
    names = {j.name for j in demo.jars if j.id in found}
    assert names & {RED_GREEN, AUTUMN} == aside
    assert not any(len(j.colours) == 1 for j in demo.jars if j.id in found)


def test_a_mix_that_is_to_be_used_stays(suggester: Ask, demo: Shelf) -> None:
    mix = next(j for j in demo.jars if j.name == RED_GREEN)
    assert mix not in suggester("fox").trio_search().jars
    assert mix in suggester("fox", needs=Needs(use_jars=(mix.id,))).trio_search().jars


def test_orange_with_black_speaks_of_halloween(demo: Shelf, jar: Make) -> None:
    """Common practice, no source."""
    mix = jar(999, "#e8731a", "#1f1d1f")
    for text, aside in (("wedding", {999}), ("halloween", set()), ("bats and pumpkins", set())):
        assert of_another_feast([mix], ask(text, demo, lexicon()), lexicon().themes) == aside


def test_too_little_for_the_kits(jar: Make) -> None:
    """A tablespoon a kit, 14.787 mL (NIST), of 0.9 g/mL."""
    jars = [
        jar(1, on_hand_g=3 * 0.9 * 14.786764), jar(2, on_hand_g=3 * 0.9 * 14.787), jar(3, on_hand_g=None),
        jar(4, on_hand_g=0.0), jar(5, density_g_per_ml=None), jar(6, on_hand_g=1.0), jar(7, on_hand_g=2.0),
        jar(8, on_hand_g=3.0),
    ]  # fmt: skip
    short = too_little(jars, 3, use=(7,))
    assert [j.id for j in short] == [1, 4, 6, 8]
    told = "Left aside, with too little for 3 kits: jar 1, jar 4, jar 6 and 1 more."
    assert too_little_told(short, 3) == told
    assert too_little_told(short[:1], 1) == "Left aside, with too little for 1 kit: jar 1."


@pytest.mark.parametrize(
    ("age", "kept"), [(4, [1, 3, 4]), (5, [1, 3, 4]), (6, [1, 2, 3, 4]), (None, [1, 2, 3, 4])]
)
def test_hard_balls_of_six_millimetres_are_left_out_up_to_five_years(
    jar: Make, age: int | None, kept: list[int]
) -> None:
    """For round foods "until at least 5 years" (University of British Columbia); the size is our own caution."""
    jars = (
        jar(1, texture=Texture("sphere", 5.9, "pearl", "hard")),
        jar(2, texture=Texture("sphere", 6.0, "pearl", "hard")),
        jar(3, texture=Texture("sphere", 8.0, "pearl", "crisp")),
        jar(4, texture=Texture("disc", 8.0, "matte", "hard")),
    )
    found = allowed(Shelf(1, "s", jars=jars), Needs(youngest_age=age))
    assert [j.id for j in found.jars] == kept
    told = {f"hard balls of 6 mm and more, youngest age {age}": 1}
    assert found.ruled_out == (told if len(kept) == 3 else {})


def test_no_idea_for_a_child_of_five_has_what_its_own_caution_leaves_out(suggester: Ask) -> None:
    for text in ("wedding, my son is 4", "princess party, she is turning 5", "snow queen, one child is 5"):
        for idea in suggester(text).ideas(3).ideas:
            assert not any("can block a windpipe" in caution for caution in idea.cautions)
    older = suggester("wedding, youngest is 6").ideas(5).ideas
    assert any("can block a windpipe" in caution for idea in older for caution in idea.cautions)


def test_what_stays_aside_comes_back_where_few_are_left(suggester: Ask, demo: Shelf) -> None:
    few = replace(
        demo, jars=tuple(j for j in demo.jars if j.name in (RED_GREEN, "black nonpareils", "mini white chips"))
    )
    assert len(suggester("fox", few).trio_search().jars) == 3
