"""Needs are hard limits; unknown fails them; the dough's and icing's facts lead."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.errors import InvalidValue, NeedConflict, TooFewCandidates
from themekit.suggest.ideas import Suggester
from themekit.suggest.needs import allowed, broken, choking, grams_per_tablespoon
from themekit.values import Composition, Jar, Needs, Shelf

Ask = Callable[..., Suggester]
Make = Callable[..., Jar]
TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("composition", "needs", "breaks"),
    [
        (Composition(), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=()), Needs(avoid_allergens=("milk",)), False),
        (Composition(allergens=("milk",)), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=("egg",)), Needs(avoid_allergens=("milk",)), False),
        (Composition(allergens=(), may_contain=("milk",)), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=("wheat",)), Needs(avoid_allergens=("gluten",)), True),
        (Composition(), Needs(avoid_additives=("E129",)), True),
        (Composition(additives=()), Needs(avoid_additives=("E129",)), False),
        (Composition(additives=("E129",)), Needs(avoid_additives=("E129",)), True),
        (Composition(), Needs(diet="vegan"), True),
        (Composition(diet="vegetarian"), Needs(diet="vegan"), True),
        (Composition(diet="vegan"), Needs(diet="vegetarian"), False),
        (Composition(diet="neither"), Needs(diet="vegetarian"), True),
    ],
)
def test_what_breaks_a_need(composition: Composition, needs: Needs, breaks: bool) -> None:
    assert bool(broken(composition, needs)) is breaks


@pytest.mark.parametrize(
    ("density", "grams", "source"),
    [
        (0.845, 12.5, "granulated sugar, USDA SR28 NDB 19335: 200 g a cup"),
        (0.710, 10.5, "semisweet chips, USDA SR28 NDB 19080: 168 g a cup"),
        (0.211, 3.1, "mini marshmallows, USDA SR28 NDB 19116: 50 g a cup"),
        (1.0, 14.787, "US tablespoon: 231 cubic inches a gallon, 256 spoons (NIST SP 430)"),
    ],
)
def test_grams_of_a_tablespoon(jar: Make, density: float, grams: float, source: str) -> None:
    assert grams_per_tablespoon(jar(1, density_g_per_ml=density)) == pytest.approx(grams, rel=0.01), source
    assert grams_per_tablespoon(jar(1, density_g_per_ml=None)) is None


def test_young_children_get_no_hard_or_sticky_pieces(jar: Make) -> None:
    """Under four: American Academy of Pediatrics, Pediatrics 125(3):601 (2010), and lists after it."""
    pearls, unknown = jar(1, hard_small_pieces=True), jar(2, hard_small_pieces=None)
    marshmallow = jar(3, kind="mini marshmallows")
    coconut, plain = jar(4, kind="shredded coconut"), jar(5)
    assert [choking(j) for j in (pearls, marshmallow, coconut, plain)] == [True, True, False, False]
    shelf = Shelf(1, "s", jars=(pearls, unknown, marshmallow, coconut, plain))
    at_three = allowed(shelf, Needs(youngest_age=3))
    assert [j.id for j in at_three.jars] == [4, 5]
    assert at_three.ruled_out == {"youngest age 3": 3}
    assert len(allowed(shelf, Needs(youngest_age=4)).jars) == 5


def test_stock_and_dates(jar: Make) -> None:
    shelf = Shelf(
        1, "s",
        jars=(
            jar(1), jar(2, on_hand_g=20.0), jar(3, on_hand_g=None), jar(4, density_g_per_ml=None),
            jar(5, best_before=date(2026, 11, 24)), jar(6, best_before=TODAY),
        ),
    )  # fmt: skip
    found = allowed(shelf, Needs(in_stock_only=True), kits=2, today=TODAY)
    assert [j.id for j in found.jars] == [1, 6]
    assert found.ruled_out == {"in stock only": 3, "past best-before": 1}


def test_conflicts_are_told_all_at_once(jar: Make) -> None:
    needs = Needs(use_jars=(1,), skip_jars=(1,), include_colours=("#ff0000",), avoid_colours=("#fe0505",))
    with pytest.raises(NeedConflict) as caught:
        allowed(Shelf(1, "s", jars=(jar(1),)), needs)
    assert [p.field for p in caught.value.problems] == ["needs.use_jars", "needs.include_colours"]


def test_an_avoided_colour_rules_out_mixes_that_show_it(jar: Make) -> None:
    red_in_ten = jar(1, "#ffffff", "#d00010")
    shelf = Shelf(1, "s", jars=(red_in_ten, jar(2, "#ffffff")))
    assert [j.id for j in allowed(shelf, Needs(avoid_colours=("#d00010",))).jars] == [2]


def test_the_butter_dough_is_told_first(suggester: Ask) -> None:
    answer = suggester("owls, no milk").ideas(2)
    assert [(u.need, u.of) for u in answer.allowed.unmet] == [("no milk", "dough")]
    for idea in answer.ideas:
        assert idea.cautions[0].startswith("The dough contains milk")
        listed = [j.composition.allergens for j in idea.trio.trio.jars]
        assert all(found is not None and "milk" not in found for found in listed)


def test_jars_to_use_are_in_every_idea_and_skipped_ones_in_none(suggester: Ask, demo: Shelf) -> None:
    one, other, skipped = demo.jars[2].id, demo.jars[5].id, demo.jars[0].id
    answer = suggester("owls", needs=Needs(use_jars=(one, other), skip_jars=(skipped,))).ideas(4)
    assert answer.ideas
    for idea in answer.ideas:
        ids = {j.id for j in idea.trio.trio.jars}
        assert ids & {one, other}
        assert skipped not in ids


def test_a_jar_that_is_not_there_is_a_problem(suggester: Ask) -> None:
    with pytest.raises(InvalidValue) as caught:
        suggester("owls", needs=Needs(use_jars=(999_999,), skip_jars=(999_998,)))
    assert [p.field for p in caught.value.problems] == ["needs.use_jars", "needs.skip_jars"]


@settings(max_examples=12, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_included_colours_are_there_and_avoided_ones_are_not(rgb: list[float]) -> None:
    """Over random colours, on real gels: within ΔE00 10 when included, none within 15 when avoided."""
    suggester = _GELS["make"]
    colour = "#" + bytes(round(255 * x) for x in rgb).hex()
    lab = hex_to_lab(colour)
    try:
        with_it = suggester("owls", needs=Needs(include_colours=(colour,))).palette_search().best(1)
    except NeedConflict:
        with_it = []  # out of the gels' reach, told so
    for palette in with_it:
        assert delta_e_2000(palette.labs, lab).min() <= 10
    for palette in suggester("owls", needs=Needs(avoid_colours=(colour,))).palette_search().best(1):
        assert delta_e_2000(palette.labs, lab).min() >= 15 - 1e-6


_GELS: dict[str, Ask] = {}


@pytest.fixture(autouse=True)
def _gels(suggester: Ask) -> None:
    _GELS["make"] = suggester


def test_a_colour_out_of_reach_is_told_with_the_nearest(suggester: Ask) -> None:
    with pytest.raises(NeedConflict) as caught:
        suggester("owls", needs=Needs(include_colours=("#00ff00",))).palette_search()
    problem = caught.value.problems[0]
    assert problem.field == "needs.include_colours"
    assert "nearest" in problem.hint


def test_when_needs_leave_too_little_it_says_what_to_relax(suggester: Ask, demo: Shelf) -> None:
    bare = replace(demo, jars=tuple(replace(j, composition=Composition()) for j in demo.jars))
    with pytest.raises(TooFewCandidates) as caught:
        suggester("owls, no milk", bare).ideas(1)
    assert "no milk" in caught.value.problems[0].hint
