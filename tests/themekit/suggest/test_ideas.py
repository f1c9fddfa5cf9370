"""Ideas on the demo shelf: apart, whole, honest; distances and recipes worked out again by other means."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.colour.mixing import predict
from themekit.errors import InvalidValue, ThemeNotUnderstood, TooFewCandidates
from themekit.suggest.cutters import CutterSearch
from themekit.suggest.ideas import Idea, Suggester, _in_order, _notes
from themekit.values import Jar, Shelf

Ask = Callable[..., Suggester]
THEMES = (
    "owl party", "halloween", "rainbow", "monochrome", "pirates in teal and gold", "baby shower", "diwali",
    "under the sea", "autumn leaves", "paris", "robots", "tea party", "snowy woodland", "lemonade stand",
)  # fmt: skip


@pytest.mark.filterwarnings("ignore::Warning")  # colour-science tells what it lacks
def test_ideas_lie_apart(suggester: Ask) -> None:
    """Palettes differ by a mean ΔE00 of 8 under the best matching (by colour-science); trios share one jar."""
    from colour.difference import delta_E_CIE2000

    for text in THEMES[:6]:
        ideas = suggester(text).ideas(5).ideas
        assert len(ideas) >= 3
        for one, other in itertools.combinations(ideas, 2):
            a, b = one.palette.palette.labs, other.palette.palette.labs
            matched = min(
                np.mean(delta_E_CIE2000(a, b[list(order)])) for order in itertools.permutations(range(3))
            )
            assert matched >= 8 - 1e-6
            assert len({j.id for j in one.trio.trio.jars} & {j.id for j in other.trio.trio.jars}) <= 1


@pytest.mark.parametrize("text", THEMES)
def test_every_idea_is_whole(suggester: Ask, demo: Shelf, text: str) -> None:
    answer = suggester(text).ideas(5)
    best = answer.ideas[0]
    gels = {g.id: g for g in demo.gels} | {g.name: g for g in lexicon().staples}
    for idea in answer.ideas:
        tints = idea.palette.palette.tints
        labs = idea.palette.palette.labs
        assert (labs[:, 0] < 34).sum() <= 1, "at most one very dark tint"
        assert ((labs[:, 0] > 91) & (np.hypot(labs[:, 1], labs[:, 2]) < 7)).sum() <= 1, "at most one white"
        for tint in tints:
            used = [gels[d.gel_id if d.gel_id is not None else d.gel] for d in tint.recipe]
            doses = np.array([[d.g_per_100g for d in tint.recipe]])
            made = predict(np.array([g.k for g in used]).reshape(-1, 31), doses)[0]
            assert np.abs(made - tint.lab).max() < 0.01, "the recipe makes the tint"
            for gel, dose in zip(used, tint.recipe, strict=True):
                assert gel.max_g_per_100g is None or dose.g_per_100g <= gel.max_g_per_100g + 1e-9
        assert sum(c.cookies for c in idea.cutters) == 8
        assert 2 <= len(idea.cutters) <= 4
        for parts in (idea.parts, idea.palette.palette.parts, idea.trio.trio.parts):
            assert parts
            assert all(0 <= value <= 1 for value in parts.values())
        assert idea.parts["palette"] >= 0.8 * best.parts["palette"] - 1e-9
        assert idea.reasons
        assert idea.cautions
        assert 0 <= idea.score <= 1


@pytest.mark.parametrize("text", THEMES)
def test_nothing_is_ever_called_safe(suggester: Ask, text: str) -> None:
    answer = suggester(text + ", no nuts, one child is three").ideas(3)
    told = [*answer.notes, *(s for i in answer.ideas for s in (*i.reasons, *i.cautions))]
    assert not [s for s in told if re.search(r"\bsafe\b|free from|allergen.free|nut.free", s, re.IGNORECASE)]


def test_makes_kits_is_the_jar_that_runs_out_first(suggester: Ask) -> None:
    """One US tablespoon of each jar a kit: common practice, no source."""
    known = unknown = 0
    for text in ("owl party", "christmas", "rainbow", "grandmother", "mint and white"):
        for idea in suggester(text).ideas(5).ideas:
            spoons = [
                None if j.on_hand_g is None or j.density_g_per_ml is None
                else int(j.on_hand_g // (j.density_g_per_ml * 14.78676478125))
                for j in idea.trio.trio.jars
            ]  # fmt: skip
            counts = [s for s in spoons if s is not None]
            if len(counts) == 3:
                assert idea.trio.trio.makes_kits == min(counts)
                known += 1
            else:
                assert idea.trio.trio.makes_kits is None
                unknown += 1
    assert known >= 10, "too few ideas were checked"
    assert unknown >= 1, "no jar of unknown stock was met"


@pytest.mark.parametrize("text", ["rainbow", "rainbow party", "rainbow birthday", "over the rainbow"])
def test_a_many_coloured_jar_is_in_the_first_idea_of_a_many_coloured_theme(suggester: Ask, text: str) -> None:
    first = suggester(text).ideas(1).ideas[0]
    assert any(len(j.colours) >= 5 for j in first.trio.trio.jars)
    assert any(len(j.colours) >= 5 for j in suggester(text).trio_search().best(1)[0].jars)


def test_a_theme_of_two_colours_gets_no_many_coloured_jar(suggester: Ask) -> None:
    two = suggester("teal and gold").trio_search().best(1)[0]
    assert all(len(j.colours) <= 2 for j in two.jars)


def test_the_same_question_gets_the_same_answer(suggester: Ask, demo: Shelf) -> None:
    first = suggester("pirates in teal and gold, 12 kits").ideas(5)
    again = suggester("pirates in teal and gold, 12 kits", replace(demo, name="again")).ideas(5)
    assert first.ideas == again.ideas


def test_fewer_ideas_are_said_so(suggester: Ask, demo: Shelf) -> None:
    """Of five jars no three trios share at most one jar with each other."""
    answer = suggester("owl party", replace(demo, jars=demo.jars[:5])).ideas(5)
    assert 1 <= len(answer.ideas) <= 2
    assert any("instead of 5" in note for note in answer.notes)


def test_little_understood_gives_a_fallback_that_is_named(suggester: Ask) -> None:
    answer = suggester("qzxv vrrk brrt zzkt owl").ideas(3)
    assert answer.asked.reading.fallback
    assert [i.fallback for i in answer.ideas] == [False, False, True]
    assert any("many-coloured" in note for note in answer.notes)
    assert any("Not understood" in note for note in answer.notes)


def test_a_phrase_without_meaning_asks_for_colours(suggester: Ask) -> None:
    with pytest.raises(ThemeNotUnderstood) as caught:
        suggester("qzx vrrk").ideas(5)
    assert "colours" in caught.value.problems[0].hint


@pytest.mark.parametrize("count", [0, 21, -3])
def test_a_count_out_of_range_is_refused(suggester: Ask, count: int) -> None:
    with pytest.raises(InvalidValue) as caught:
        suggester("owls").ideas(count)
    assert caught.value.problems[0].field == "count"


@pytest.mark.parametrize("jars", [0, 1, 2])
def test_fewer_than_three_jars_is_a_clear_answer(suggester: Ask, demo: Shelf, jars: int) -> None:
    with pytest.raises(TooFewCandidates) as caught:
        suggester("owls", replace(demo, jars=demo.jars[:jars])).ideas(1)
    assert caught.value.problems[0].got == jars


def test_without_gels_the_kitchen_still_makes_natural_tints(suggester: Ask, demo: Shelf) -> None:
    idea = suggester("chocolate", replace(demo, gels=())).ideas(1).ideas[0]
    assert all(dose.gel_id is None for tint in idea.palette.palette.tints for dose in tint.recipe)


def test_without_cutters_it_says_so(suggester: Ask, demo: Shelf) -> None:
    idea = suggester("owls", replace(demo, cutters=())).ideas(1).ideas[0]
    assert idea.cutters == ()
    assert any("no cutters" in reason for reason in idea.reasons)


def test_cookies_of_every_count_add_up(suggester: Ask) -> None:
    """Two to four cutters on the real shelf, for every number of cookies that may be asked."""
    asked = suggester("owls")
    palette = asked.palette_search().best(1)[0].labs
    search = CutterSearch(asked.shelf.cutters, asked.asked.reading.motifs, asked.asked.lookup)
    for cookies in range(1, 101):
        chosen = search.choose(cookies, palette)
        assert sum(c.cookies for c in chosen) == cookies
        assert all(c.cookies >= 1 for c in chosen)
        assert min(2, cookies) <= len(chosen) <= 4


def test_cutters_show_the_theme_or_it_is_said_that_none_does(suggester: Ask) -> None:
    owls = suggester("owls").ideas(1).ideas[0]
    assert owls.cutters[0].motif == "owl"
    none = suggester("#123456 and #fedcba").ideas(1).ideas[0]
    assert not any(c.motif for c in none.cutters)
    assert any("No cutter on the shelf shows this theme" in reason for reason in none.reasons)


def test_a_mixed_trio_is_a_whole_blend(suggester: Ask) -> None:
    for trio in suggester("autumn leaves").trio_search().best(5, serve="mixed"):
        shares = [p.share for p in trio.portions]
        assert sum(shares) == pytest.approx(1)
        assert min(shares) >= 0.10 - 1e-9
        for portion in trio.portions:
            if portion.jar.density_g_per_ml:
                spoon = portion.jar.density_g_per_ml * 14.78676478125
                assert portion.grams_per_kit == pytest.approx(3 * portion.share * spoon)


def test_below_the_quality_floor_no_idea_is_given(suggester: Ask, demo: Shelf, jar: Callable[..., Jar]) -> None:
    """Three jars fit the theme; a second trio would need two that don't."""
    three = (jar(1, "#1d8a8a"), jar(2, "#d9a93b"), jar(3, "#f3ead2"))
    shelf = replace(demo, jars=(*three, jar(4, "#e0207a"), jar(5, "#e0207c")))
    answer = suggester("teal, gold and cream", shelf).ideas(3)
    assert len(answer.ideas) == 1
    assert {j.id for j in answer.ideas[0].trio.trio.jars} == {1, 2, 3}
    assert any("fall below 80%" in note for note in answer.notes)


def test_an_empty_shelf_is_a_clear_answer(suggester: Ask) -> None:
    with pytest.raises(TooFewCandidates) as caught:
        suggester("owls", Shelf(1, "bare")).ideas(1)
    (problem,) = caught.value.problems
    assert (problem.field, problem.got, problem.hint) == ("jars", 0, "Add jars to the shelf.")


def test_when_only_nuts_are_left_the_answer_says_why(suggester: Ask, demo: Shelf) -> None:
    nuts = tuple(j for j in demo.jars if "peanut" in j.name)
    with pytest.raises(TooFewCandidates) as caught:
        suggester("owls", replace(demo, jars=(*demo.jars[:2], *nuts))).ideas(1)
    assert "“nuts only when asked for” ruled out 1" in caught.value.problems[0].hint


def test_a_shelf_without_gels_is_told_what_its_icing_is_made_of(suggester: Ask, demo: Shelf) -> None:
    told = suggester("owls", replace(demo, gels=())).ideas(1).notes[0]
    assert "No gels are entered yet" in told
    assert "cocoa powder" in told
    assert not any("No gels" in note for note in suggester("owls", demo).ideas(1).notes)


def _making(idea: Idea, kits: int | None) -> Idea:
    """The idea from jars that make so many kits, None for jars of which nobody knows."""
    portions = tuple(
        replace(p, jar=replace(p.jar, on_hand_g=None if kits is None else (p.grams_per_kit or 1.0) * (kits + 0.5)))
        for p in idea.trio.trio.portions
    )
    return replace(idea, trio=replace(idea.trio, trio=replace(idea.trio.trio, portions=portions)))


def test_ideas_that_suffice_go_first_and_unknown_amounts_after_their_equals(suggester: Ask) -> None:
    made = suggester("owl party").ideas(3).ideas
    assert len(made) == 3

    def shown(*amounts: tuple[int | None, float]) -> list[Idea]:
        return [
            replace(_making(idea, makes), score=0.8 * share)
            for idea, (makes, share) in zip(made, amounts, strict=True)
        ]

    first, second, third = all_known = shown((3, 1.0), (12, 0.94), (12, 0.86))
    assert _in_order(all_known, 12) == [second, third, first]
    assert _in_order(all_known, 3) == all_known
    first, second, third = unknown = shown((None, 1.0), (12, 0.94), (12, 0.96))
    assert _in_order(unknown, 12) == [third, first, second]
    first, second, third = both = shown((3, 1.0), (None, 0.9), (12, 0.9))
    assert _in_order(both, 12) == [third, second, first]
    notes = _notes(suggester("owl party, 12 kits").asked, [_making(made[0], 3), _making(made[1], 12)], 2)
    assert notes == ["1 of the ideas needs more than is on hand for 12 kits."]


@pytest.mark.parametrize("text", ["spa day", "easter", "mint chocolate"])
def test_a_jar_of_unknown_amount_comes_after_what_is_about_as_good(suggester: Ask, text: str) -> None:
    """The demo shelf's mint jimmies were never weighed."""
    makes = [idea.trio.trio.makes_kits for idea in suggester(text).ideas(5).ideas]
    assert None in makes
    assert set(makes[makes.index(None) :]) == {None}


@pytest.mark.parametrize("kits", [1, 8, 12])
def test_what_makes_too_few_kits_is_left_out_where_enough_others_suffice(
    suggester: Ask, demo: Shelf, kits: int
) -> None:
    for text in ("gold and white wedding", "owl party", "ocean", "golden anniversary"):
        answer = suggester(text, kits=kits).ideas(3)
        for idea in answer.ideas:
            makes = idea.trio.trio.makes_kits
            assert makes is None or makes >= kits
        left = [note for note in answer.notes if note.startswith("Left aside, with too little for ")]
        assert len(left) == 1
        assert left[0].startswith(f"Left aside, with too little for {kits} kit{'s' * (kits > 1)}: ")
        names = {"fine gold dragées, 2 mm", "pale pink nonpareils", "pearl white cereal balls"}
        assert kits > 1 or any(name in left[0] for name in names)
    little = replace(demo, jars=tuple(replace(j, on_hand_g=1.0) for j in demo.jars))
    answer = suggester("owl party", little, kits=2).ideas(2)
    assert len(answer.ideas) == 2, "where nothing suffices the best are still told"
    assert "2 of the ideas need more than is on hand for 2 kits." in answer.notes
