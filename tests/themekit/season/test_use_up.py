"""The fewest kits that use jars up: against trying every count, and on the demo shelf."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.errors import InvalidValue
from themekit.season.use_up import fewest, use_up
from themekit.suggest.reverse import ReverseSearch
from themekit.suggest.taste import Taste
from themekit.suggest.weights import QUALITY_FLOOR
from themekit.values import Jar, Shelf

TODAY = date(2026, 11, 25)


def _least(takes: np.ndarray, free: np.ndarray, cups: np.ndarray, wanted: list[int]) -> float:  # type: ignore[type-arg]
    """The least of kits and of cups that are left, these counting three, by trying every count."""
    most = [int(np.floor((free[row > 0] / row[row > 0]).min())) for row in takes]
    best = np.inf
    for counts in itertools.product(*[range(m + 1) for m in most]):
        left = free - np.array(counts) @ takes
        if (left < -1e-6).any():
            continue
        over = np.maximum(0, left[wanted] / cups[wanted] - 1 + 1e-6).sum()
        best = min(best, sum(counts) + 3 * over)
    return float(best)


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_needs_fewer_kits(seed: int) -> None:
    """Four candidates on five jars, two of them to use up; what settles ties weighs less than a kit."""
    draw = np.random.default_rng(seed)
    cups = draw.integers(8_000, 15_000, 5).astype(float)
    free = draw.integers(10_000, 70_000, 5).astype(float)
    takes = np.zeros((4, 5))
    for row in takes:
        row[draw.choice(5, 3, replace=False)] = 1
    takes *= cups * draw.choice([1.0, 0.6, 2.1], (4, 1))
    found = fewest(takes, free, cups, np.array([0, 3]), draw.uniform(0.5, 0.9, 4))
    assert found.status == "optimal"
    assert found.proven
    left = free - np.array(found.counts) @ takes
    assert (left >= -1e-3).all()
    over = np.maximum(0, left[[0, 3]] / cups[[0, 3]] - 1 + 1e-6).sum()
    assert sum(found.counts) + 3 * over <= _least(takes, free, cups, [0, 3]) + 0.1


def _idle(demo: Shelf) -> list[Jar]:
    wanted = ("pastel marshmallow bits", "dinosaur quins", "white bone quins", "lilac sanding sugar")
    return [jar for jar in demo.jars if jar.name in wanted]


def test_chosen_jars_of_the_demo_shelf_come_to_zero(demo: Shelf) -> None:
    """Less than a cup is left of each, no jar gives more than it holds, and every trio reaches the floor."""
    chosen = _idle(demo)
    plan = use_up([j.id for j in chosen], demo, lexicon(), TODAY)
    assert plan.optimal
    assert [rest.cups for rest in plan.rests] == [0] * len(chosen)
    taken: dict[int, float] = {}
    for one in plan.suggestions:
        assert QUALITY_FLOOR <= one.of_best <= 1
        assert {j.id for j in one.trio.jars} & {j.id for j in chosen}
        for jar, grams in one.takes:
            taken[jar.id] = taken.get(jar.id, 0) + grams
    for jar in demo.jars:
        assert taken.get(jar.id, 0) <= (jar.on_hand_g or 0) + 0.01
    for rest in plan.rests:
        assert rest.grams == pytest.approx((rest.jar.on_hand_g or 0) - taken[rest.jar.id], abs=0.02)
    assert plan.kits == sum(one.kits for one in plan.suggestions)
    alone = [use_up([j.id], demo, lexicon(), TODAY).kits for j in chosen]
    assert plan.kits < sum(alone), "together they need fewer kits than one after another"


def test_a_jar_with_less_than_a_cup_needs_no_kit(demo: Shelf) -> None:
    jar = _idle(demo)[0]
    nearly = replace(demo, jars=tuple(replace(j, on_hand_g=1.0) if j.id == jar.id else j for j in demo.jars))
    plan = use_up([jar.id], nearly, lexicon(), TODAY)
    assert plan.kits == 0
    assert plan.rests[0].cups == 0


def test_what_finds_no_partners_is_left_and_told(demo: Shelf) -> None:
    """Where all other jars hold one cup, little of a full jar can be used."""
    jar = _idle(demo)[0]
    poor = replace(
        demo, jars=tuple(replace(j, on_hand_g=500.0 if j.id == jar.id else j.on_hand_g and 3.0) for j in demo.jars)
    )
    plan = use_up([jar.id], poor, lexicon(), TODAY)
    assert plan.rests[0].cups > 0


def test_jars_that_cannot_be_planned_for_are_refused_all_at_once(demo: Shelf) -> None:
    chosen = _idle(demo)
    odd = (
        replace(chosen[0], on_hand_g=None),
        replace(chosen[1], density_g_per_ml=None),
        replace(chosen[2], best_before=TODAY - timedelta(days=1)),
    )
    shelf = replace(demo, jars=tuple({j.id: j for j in (*demo.jars, *odd)}.values()))
    with pytest.raises(InvalidValue) as error:
        use_up([10_000, *(j.id for j in odd)], shelf, lexicon(), TODAY)
    assert [p.field for p in error.value.problems] == ["jars.0", "jars.1", "jars.2", "jars.3"]
    with pytest.raises(InvalidValue):
        use_up([], demo, lexicon(), TODAY)


def test_using_up_follows_her_taste(demo: Shelf) -> None:
    """Nothing is otherwise without choices; with them trios are as quiet as she likes, still above the floor."""
    ids = [j.id for j in _idle(demo)]
    plain = use_up(ids, demo, lexicon(), TODAY)
    assert use_up(ids, demo, lexicon(), TODAY, taste=Taste()) == plain
    quiet = Taste({"trio": {"harmony": 2.0, "contrast": 0.5, "coverage": 0.5}})
    hers = use_up(ids, demo, lexicon(), TODAY, taste=quiet)
    search = ReverseSearch(demo.jars, lexicon().themes, TODAY, demo.jars, quiet)
    for one in hers.suggestions:
        at = search.themes.index(one.theme)
        best = search.search(at).best(1)[0].score
        assert one.trio.score >= QUALITY_FLOOR * best - 1e-9
    assert [s.trio.score for s in hers.suggestions] != [s.trio.score for s in plain.suggestions]


def test_of_equal_plans_the_one_with_a_liked_theme_is_taken(demo: Shelf) -> None:
    (jar,) = _idle(demo)[:1]
    first = use_up([jar.id], demo, lexicon(), TODAY)
    disliked = {one.theme.name.casefold(): -1.0 for one in first.suggestions}
    other = use_up([jar.id], demo, lexicon(), TODAY, taste=Taste(themes=disliked))
    assert other.kits == first.kits
    assert {one.theme.name for one in other.suggestions}.isdisjoint(one.theme.name for one in first.suggestions)
