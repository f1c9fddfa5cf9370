"""One kit of a plan for another: the rest stays, and what stock then lacks is what the plan itself says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from catalog.lexicon import lexicon
from themekit.errors import InvalidValue
from themekit.season.offers import Breadth
from themekit.season.plan import season_plan
from themekit.season.swap import MOST_OTHERS, keep_of
from themekit.season.values import Keep, Planned, SeasonPlan
from themekit.values import Shelf

TODAY = date(2026, 11, 25)
NARROW = Breadth(palettes=2, best=10, idle=4, themes=2)
LINES = [
    Planned("christmas", 10, TODAY + timedelta(days=12)),
    Planned("winter", 10, TODAY + timedelta(days=20)),
    Planned(None, 6, TODAY + timedelta(days=40)),
]


def planned(shelf: Shelf, lines: list[Planned]) -> SeasonPlan:
    return season_plan(lines, shelf, lexicon(), today=TODAY, breadth=NARROW)


@pytest.fixture(scope="module")
def plan(demo: Shelf) -> SeasonPlan:
    return planned(demo, LINES)


def kept(plan: SeasonPlan) -> list[Planned]:
    return [replace(line.planned, keep=keep_of(line.offer)) for line in plan.lines if line.offer]


def test_a_plan_that_is_kept_is_the_same_plan(demo: Shelf, plan: SeasonPlan) -> None:
    again = planned(demo, kept(plan))
    assert [line.offer for line in again.lines] == [line.offer for line in plan.lines]
    assert again.worth == plan.worth
    assert again.more == ""


@pytest.mark.parametrize("number", [0, 1, 2])
def test_another_kit_takes_one_place_and_the_rest_stays(demo: Shelf, plan: SeasonPlan, number: int) -> None:
    offered = plan.lines[number].others
    assert 2 <= len(offered) <= MOST_OTHERS
    assert [bool(one.short) for one in offered] == sorted(bool(one.short) for one in offered), (
        "what suffices first"
    )
    for other in (offered[0], offered[-1]):
        lines = kept(plan)
        lines[number] = replace(lines[number], keep=other.keep)
        again = planned(demo, lines)
        now, before = ([line.offer for line in one.lines] for one in (again, plan))
        assert now[number] == other.offer
        assert now[:number] + now[number + 1 :] == before[:number] + before[number + 1 :]
        own = {id for id, _ in other.offer.taken}
        assert other.short == tuple(b for b in again.worth.bought if b.jar.id in own)


def test_what_stock_lacks_is_told_before(demo: Shelf) -> None:
    """On a shelf that holds just enough for the chosen kits, another may lack what these take."""
    lines = [replace(LINES[0], kits=4), replace(LINES[0], kits=4, day=TODAY)]
    plan = planned(replace(demo, jars=tuple(replace(j, on_hand_g=70.0) for j in demo.jars)), lines)
    short = [one for line in plan.lines for one in line.others if one.short]
    assert short
    assert all(b.grams > 0 for one in short for b in one.short)


def test_a_kit_that_is_no_candidate_is_refused(demo: Shelf) -> None:
    lines = [replace(LINES[0], keep=Keep("christmas", ("#000000",) * 3, (1, 2, 3))), LINES[1]]
    with pytest.raises(InvalidValue, match="no longer") as caught:
        planned(demo, lines)
    assert [p.field for p in caught.value.problems] == ["kits.0.keep"]
