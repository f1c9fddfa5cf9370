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
        (Composition(allergens=()), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=(), may_contain=()), Needs(avoid_allergens=("milk",)), False),
        (Composition(allergens=("milk",)), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=("egg",), may_contain=()), Needs(avoid_allergens=("milk",)), False),
        (Composition(allergens=(), may_contain=("milk",)), Needs(avoid_allergens=("milk",)), True),
        (Composition(allergens=("wheat",)), Needs(avoid_allergens=("gluten",)), True),
        (Composition(), Needs(avoid_additives=("E129",)), True),
        (Composition(additives=()), Needs(avoid_additives=("E129",)), False),
        (Composition(additives=("E129",)), Needs(avoid_additives=("E129",)), True),
        (Composition(additives=("E160b(ii)",)), Needs(avoid_additives=("E160b",)), True),
        (Composition(additives=("E160b",)), Needs(avoid_additives=("E160b(ii)",)), True),
        (Composition(additives=("E160b(i)",)), Needs(avoid_additives=("E160b(ii)",)), False),
        (Composition(additives=("E160a",)), Needs(avoid_additives=("E160b",)), False),
        (Composition(additives=("E150d",)), Needs(avoid_additives=("E150",)), True),
        (Composition(additives=("E150",)), Needs(avoid_additives=("E150d",)), True),
        (Composition(additives=("E150a",)), Needs(avoid_additives=("E150d",)), False),
        (Composition(additives=("E1505",)), Needs(avoid_additives=("E150",)), False),
        (Composition(additives=("beet red",)), Needs(avoid_additives=("E160",)), False),
        (Composition(additives=("e160B(II)",)), Needs(avoid_additives=("E160b",)), True),
        (Composition(), Needs(diet="vegan"), True),
        (Composition(diet="vegetarian"), Needs(diet="vegan"), True),
        (Composition(diet="vegan"), Needs(diet="vegetarian"), False),
        (Composition(diet="neither"), Needs(diet="vegetarian"), True),
    ],
)
def test_what_breaks_a_need(composition: Composition, needs: Needs, breaks: bool) -> None:
    assert bool(broken(composition, needs)) is breaks


@pytest.mark.parametrize(
    ("entered", "asked", "why"),
    [
        ("E129", "E129", "contains E129"),
        ("E160b(ii)", "E160b", "contains E160b(ii) (E160b)"),
        ("E160b", "E160b(ii)", "contains E160b, which may be E160b(ii)"),
    ],
)
def test_which_class_of_an_additive_was_found_is_told(entered: str, asked: str, why: str) -> None:
    """Classes and sub-classes as in Regulation (EC) 1333/2008, Annex II part B."""
    needs = Needs(avoid_additives=(asked,))
    assert broken(Composition(additives=(entered,)), needs) == [(f"no {asked}", why)]


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


def test_included_colours_are_there_and_avoided_ones_are_not(suggester: Ask) -> None:
    """Over random colours, on real gels: within ΔE00 10 when included, none within 15 when avoided.

    Half are drawn near what the gels make, so that enough are in reach, half from all of sRGB.
    """
    reached = {"included": 0, "avoided": 0, "out": 0}
    makes = suggester("owls").tints().hex

    @settings(max_examples=70, deadline=None, derandomize=True)
    @given(st.one_of(st.sampled_from(makes), st.binary(min_size=3, max_size=3).map(lambda c: "#" + c.hex())))
    def check(colour: str) -> None:
        lab = hex_to_lab(colour)
        nearest = min(float(delta_e_2000(hex_to_lab(made), lab)) for made in makes[::7])
        try:
            with_it = suggester("owls", needs=Needs(include_colours=(colour,))).palette_search().best(1)
        except NeedConflict:
            assert nearest > 10, "told as out of reach although a tint is near"
            reached["out"] += 1
        else:
            assert len(with_it) == 1
            assert delta_e_2000(with_it[0].labs, lab).min() <= 10
            reached["included"] += 1
        without = suggester("owls", needs=Needs(avoid_colours=(colour,))).palette_search().best(1)
        assert len(without) == 1
        assert delta_e_2000(without[0].labs, lab).min() >= 15 - 1e-6
        reached["avoided"] += 1

    check()
    assert reached["included"] >= 40, reached
    assert reached["avoided"] >= 60, reached
    assert reached["out"] >= 1, reached


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


def _nutty(jar: Make) -> dict[str, Jar]:
    return {
        "peanuts": jar(
            901, name="chopped roasted peanuts", kind="chopped nuts", composition=Composition(("peanut",))
        ),
        "brittle": jar(
            902, name="almond brittle bits", kind="crushed candy", composition=Composition(("tree nut",))
        ),
        "unlabelled": jar(903, name="chopped hazelnuts", kind="chopped nuts", composition=Composition()),
        "traces": jar(904, name="mini chips", kind="mini chips", composition=Composition((), ("peanut",))),
        "coconut": jar(905, name="coconut shreds", kind="shredded coconut", composition=Composition(())),
        "doughnut": jar(906, name="doughnut quins", kind="shaped quins", composition=Composition(())),
    }


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("owls", False),
        ("little peanut baby shower", False),  # a name for a baby
        ("squirrels and acorns", False),  # whose motifs hold nuts that nobody named
        ("teal and gold with peanuts", True),
        ("hazelnut and cream", True),
    ],
)
def test_nuts_are_suggested_only_when_named(suggester: Ask, jar: Make, demo: Shelf, text: str, kept: bool) -> None:
    """Own rule, no outside source: a party's allergies are seldom all known."""
    nuts = _nutty(jar)
    shelf = replace(demo, jars=(*demo.jars[:20], *nuts.values()))
    left = suggester(text, shelf).allowed
    ids = {j.id for j in left.jars}
    assert {nuts[n].id for n in ("traces", "coconut", "doughnut")} <= ids
    assert {nuts[n].id in ids for n in ("peanuts", "brittle", "unlabelled")} == {kept}
    assert left.ruled_out.get("nuts only when asked for") == (None if kept else 3)


def test_nuts_that_are_to_be_used_are_used_and_cautioned(suggester: Ask, demo: Shelf) -> None:
    peanuts = next(j for j in demo.jars if "peanut" in j.name)
    answer = suggester("owls", needs=Needs(use_jars=(peanuts.id,))).ideas(2)
    assert answer.ideas
    for idea in answer.ideas:
        assert peanuts.id in {j.id for j in idea.trio.trio.jars}
        assert any(c.startswith("Contains") and "peanut (chopped roasted peanuts)" in c for c in idea.cautions)


@pytest.mark.parametrize("text", ["owls, no coconut", "owls, allergic to coconut", "owls without coconut"])
def test_coconut_is_avoided_as_a_topping_of_any_kind(suggester: Ask, demo: Shelf, text: str) -> None:
    """Coconut is no tree nut to the law (US FDA, Questions and Answers Regarding Food Allergens,
    edition 5, January 2025), so the word is no allergen here; but who says it gets none."""
    fresh = replace(demo, jars=tuple(replace(j, best_before=None) for j in demo.jars))
    coconut = {j.id for j in fresh.jars if "coconut" in j.name}
    assert len({j.kind for j in fresh.jars if j.id in coconut}) == 2
    asked = suggester(text, fresh)
    assert coconut <= {j.id for j in suggester("owls", fresh).allowed.jars}
    assert not coconut & {j.id for j in asked.allowed.jars}
    assert asked.asked.needs.avoid_allergens == ()
    assert asked.asked.reading.unknown == ()


def test_no_nuts_does_not_take_coconut_for_a_nut(suggester: Ask, jar: Make, demo: Shelf) -> None:
    """What its label says counts: tree nuts named there, or none (FDA, as above)."""
    own = jar(907, name="coconut", kind="shredded coconut", composition=Composition((), ()))
    traces = jar(908, name="other coconut", kind="flaked coconut", composition=Composition((), ("tree nut",)))
    left = suggester("owls, no nuts", replace(demo, jars=(*demo.jars, own, traces))).allowed
    assert own.id in {j.id for j in left.jars}
    assert traces.id not in {j.id for j in left.jars}


@pytest.mark.parametrize(
    ("text", "gone", "stay"),
    [
        ("owls, no chocolate", "chocolate", "nonpareils"),
        ("owls, no marshmallows", "marshmallow", "nonpareils"),
        ("owls without hearts", "heart", "star"),
    ],
)
def test_a_thing_that_is_avoided_is_avoided_in_names_too(
    suggester: Ask, demo: Shelf, text: str, gone: str, stay: str
) -> None:
    left = suggester(text).allowed.jars
    assert any(gone in j.name for j in demo.jars)
    assert not [j.name for j in left if gone in j.name]
    assert [j.name for j in left if stay in j.name]
