"""Batches due together as one plan of work.

Weeks are those of ISO 8601 (Monday first; week 1 holds the first Thursday). Hours and grams are checked
against the single batches and by hand; no published plan of such work is known.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.days import day_plan
from themekit.make.dough import dough_plan
from themekit.make.icing import icing_plan, white_recipe
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.settings import Settings, checked
from themekit.make.week import WeekPlan, week_plan
from themekit.values import Cutter, Dose, Jar, Tint

Make = Callable[..., Jar]
SAT = date(2026, 12, 5)
LARGE = Cutter(1, "circle", width_mm=76.2, height_mm=76.2)
MINI = Cutter(2, "mini circle", width_mm=36.0, height_mm=34.0)
TINTS = tuple(
    Tint((60.0, 10.0, 10.0), hex_, name, (Dose("any", 1, dose),))
    for name, hex_, dose in (("teal", "#118888", 0.8), ("gold", "#cc9911", 0.4), ("white", "#ffffff", 0.0))
)


def order(kits: int = 10, cookies: int = 8, cutter: Cutter = LARGE, *jars: Jar, **groups: dict[str, Any]) -> Order:
    made, problems = checked(groups)
    assert not problems
    toppings = tuple(Topping(jar, 1 / len(jars)) for jar in jars)
    return Order(Kit("test", TINTS, toppings, (Cut(cutter, cookies),)), kits, made)


def sessions(plan: WeekPlan) -> list[tuple[date, tuple[str, ...]]]:
    return [(s.day, s.batches) for week in plan.weeks for s in week.dough]


def test_one_dough_and_one_icing_for_one_weekend() -> None:
    """A kit batch for Saturday and a class tray of mini cookies for Friday: grams add up, the oven is shared."""
    kits, tray = order(20), order(30, 2, MINI, contents={"icing_g_per_bag": 15.0})
    plan = week_plan([("kits", kits, SAT), ("tray", tray, SAT - timedelta(days=1))])
    alone = [dough_plan(kits), dough_plan(tray)]
    (dough,) = [s for week in plan.weeks for s in week.dough]
    assert (dough.day, dough.batches) == (date(2026, 12, 1), ("tray", "kits"))
    assert dough.dough_g == sum(p.dough_g for p in alone) == sum(i.g for i in dough.ingredients)
    assert dough.cookies == 168 + 63
    # Each alone: 14 trays of 12 in 7 loads, and 63 minis at 5 × 7 in 2 trays, 1 load. Together 16 trays, 8 loads.
    assert [p.baking.trays for p in alone] == [14, 2]
    assert (dough.baking.trays, dough.baking.loads, dough.minutes) == (16, 8, 8 * 15.0)
    (icing,) = [s for week in plan.weeks for s in week.icing]
    assert icing.day == date(2026, 12, 2)
    white = icing_plan(kits, (), {}).white_g + icing_plan(tray, (), {}).white_g
    assert icing.white_g == pytest.approx(white)
    assert sum(icing.recipe.values()) == pytest.approx(white)
    assert icing.recipe == white_recipe(Settings().icing, icing.white_g)
    assert sum(portion.white_g for portion in icing.portions) == pytest.approx(white)
    assert [(p.batch, p.colour) for p in icing.portions] == [
        (name, tint.name) for name in ("tray", "kits") for tint in TINTS
    ]
    # 20 kits of 75 g and 30 of 15 g in three colours, a tenth more for bowls and bags.
    assert sum(portion.grams for portion in icing.portions) == pytest.approx(3 * (20 * 75 + 30 * 15) * 1.1)
    assert any(
        text.startswith("kits is baked with the others on Tue 1 Dec 2026, 1 day earlier") for text in plan.told
    )


def test_hours_by_week_and_full() -> None:
    """10 kits twice: 2 × (60 + 10 × 12) min and one baking of 14 trays, 7 loads of 15 min, is 7.75 h."""
    two = [("Ada", order(), SAT), ("Bo", order(), SAT)]
    free, exact, over = (week_plan(two, hours).weeks[-1] for hours in (8.0, 7.75, 7.0))
    assert free.hours == exact.hours == over.hours == pytest.approx(7.75)
    assert [(w.full, w.over) for w in (free, exact, over)] == [(False, False), (True, False), (True, True)]
    assert free.told == ""
    assert exact.told == "That week is full: 7.75 h of 7.75 h from Mon 30 Nov 2026, for Ada and Bo."
    assert over.told.startswith("That week is full: 7.75 h of 7 h from Mon 30 Nov 2026, for Ada and Bo. Move a")
    assert week_plan(two, 7.0).told[0] == over.told
    # Her own capacity holds where none is given, the least of several.
    own = [("Ada", order(work={"hours_per_week": 9.0}), SAT), ("Bo", order(work={"hours_per_week": 30.0}), SAT)]
    assert week_plan(own).weeks[-1].capacity_hours == 9.0


def test_work_counts_in_the_week_in_which_it_is_done() -> None:
    """Due on Tuesday of week 50: baked on Saturday and iced on Sunday of week 49."""
    plan = week_plan([("Ada", order(), date(2026, 12, 8))])
    assert [(w.year, w.week, [t.name for t in w.tasks]) for w in plan.weeks] == [
        (2026, 49, ["shop", "bake", "icing"]),
        (2026, 50, ["pack", "hand over"]),
    ]
    assert [w.hours for w in plan.weeks] == [pytest.approx((60 + 60 + 60) / 60), pytest.approx(1.0)]
    # The turn of the year: 1 January 2027 is a Friday of week 53 of 2026 by ISO 8601.
    turn = week_plan([("Ada", order(), date(2027, 1, 1))])
    assert [(w.year, w.week, w.monday) for w in turn.weeks][-1] == (2026, 53, date(2026, 12, 28))


def test_different_recipes_are_not_merged_silently() -> None:
    rich = order(dough={"butter_per_100": 60.0, "sugar_per_100": 40.0})
    plan = week_plan([("Ada", order(), SAT), ("Bo", rich, SAT), ("Cy", order(), SAT)])
    assert sorted(sessions(plan)) == [(date(2026, 12, 2), ("Ada", "Cy")), (date(2026, 12, 2), ("Bo",))]
    (told,) = [text for text in plan.told if "Two lots of dough" in text]
    assert told == (
        "Two lots of dough in one week, Ada and Cy apart from Bo: their settings differ in dough.butter_per_100 "
        "and dough.sugar_per_100."
    )
    hot = week_plan([("Ada", order(), SAT), ("Bo", order(dough={"oven_c": 190.0}), SAT)])
    assert len(sessions(hot)) == 2
    whites = order(icing={"recipe": "pasteurised whites"})
    icings = week_plan([("Ada", order(), SAT), ("Bo", whites, SAT)])
    assert len(sessions(icings)) == 1
    assert [s.batches for w in icings.weeks for s in w.icing] == [("Ada",), ("Bo",)]
    assert any(
        "Two lots of white icing" in text and "meringue powder, water and pasteurised egg white" in text
        for text in icings.told
    )
    # Thickness and loss change the grams, not what is mixed: one dough.
    thin = order(dough={"thickness_mm": 4.0, "scrap_share": 0.1, "cookies_keep_days": 20})
    assert len(sessions(week_plan([("Ada", order(), SAT), ("Bo", thin, SAT)]))) == 1


def test_nothing_is_baked_too_early_to_keep() -> None:
    """Baking days Tuesday and Sunday of one week: together only if the later batch keeps from Tuesday on."""
    later = SAT + timedelta(days=4)
    for keeps, expected in ((9, 1), (8, 1), (7, 2)):
        batches = [
            ("Ada", order(dough={"cookies_keep_days": keeps}), SAT - timedelta(days=1)),
            ("Bo", order(dough={"cookies_keep_days": keeps}), later),
        ]
        plan = week_plan(batches)
        assert len(sessions(plan)) == expected, keeps
        assert plan.problems == ()
        assert any("it would not keep until pick-up" in text for text in plan.told) == (expected == 2)
    # In the next ISO week there is a session of its own, and nothing to explain.
    apart = week_plan([("Ada", order(), SAT), ("Bo", order(), SAT + timedelta(days=7))])
    assert len(sessions(apart)) == 2
    assert apart.told == ()


def test_icing_is_not_mixed_before_its_cookies_are_baked() -> None:
    """Ada is iced on Thursday; Bo, of another dough, is baked on Saturday: two lots of icing."""
    other = order(dough={"butter_per_100": 50.0})
    plan = week_plan([("Ada", order(), SAT), ("Bo", other, date(2026, 12, 8))])
    assert [(s.day.day, s.batches) for w in plan.weeks for s in w.icing] == [(3, ("Ada",)), (6, ("Bo",))]
    assert plan.problems == ()


def test_one_shopping_day_before_all_baking() -> None:
    plan = week_plan([("Ada", order(), SAT), ("Bo", order(), SAT + timedelta(days=1))])
    shops = [task for week in plan.weeks for task in week.tasks if task.name == "shop"]
    assert [(t.day, t.batches, t.minutes) for t in shops] == [(date(2026, 11, 29), ("Ada", "Bo"), None)]


def test_best_before_follows_the_shared_baking(jar: Make) -> None:
    soon = jar(1, best_before=SAT - timedelta(days=2))
    plan = week_plan([("Ada", order(), SAT - timedelta(days=2)), ("Bo", order(10, 8, LARGE, soon), SAT)])
    days = {batch.name: batch.plan for batch in plan.batches}
    assert days["Bo"].step("bake").day == date(2026, 11, 30)
    alone = day_plan(order(), SAT)
    shared = day_plan(order(), SAT, bake_on=date(2026, 11, 30))
    assert (alone.best_before - shared.best_before).days == 2
    assert [p.field for p in plan.problems] == ["Bo: jar 1"]


def test_unknown_and_unbakeable_cutters_make_it_at_least() -> None:
    moon = order(10, 8, Cutter(3, "moon"))
    plan = week_plan([("Ada", order(), SAT), ("Bo", moon, SAT)], 5.0)
    week = plan.weeks[-1]
    assert week.at_least
    assert "full: at least" in week.told
    assert any(text.startswith("Bo: Width or height is not known of moon") for text in plan.missing)
    alone = week_plan([("Bo", moon, SAT)]).weeks[-1]
    assert [t.minutes for t in alone.tasks if t.name == "bake"] == [None]
    giant = week_plan([("Bo", order(10, 1, Cutter(4, "giant", width_mm=600, height_mm=600)), SAT)])
    assert [p.field for p in giant.problems] == ["Bo: cutter giant"]
    assert giant.weeks[-1].at_least


def test_kits_without_icing_still_have_their_minutes() -> None:
    plain = order()
    plain = replace(plain, kit=replace(plain.kit, tints=()))
    plan = week_plan([("Ada", order(), SAT), ("Bo", plain, SAT)])
    assert [s.batches for w in plan.weeks for s in w.icing] == [("Ada",)]
    icing = [t for w in plan.weeks for t in w.tasks if t.name == "icing"]
    assert sorted(t.batches for t in icing) == [("Ada",), ("Bo",)]
    assert sum(t.minutes or 0 for t in icing) == 2 * (60 + 60)


def test_every_problem_of_every_batch_at_once() -> None:
    flat = Cutter(5, "flat", width_mm=-1.0, height_mm=20.0)
    with pytest.raises(InvalidValue) as caught:
        week_plan([("Ada", order(0), SAT), ("Bo", order(1, 8, flat), SAT), ("Ada", order(), date.max)], 0.0)
    assert [p.field for p in caught.value.problems] == [
        "capacity_hours", "batches", "Ada: kits", "Bo: cutter flat, width_mm", "Ada: due"
    ]  # fmt: skip
    assert week_plan([]) == WeekPlan((), (), (), (), (), ())


def test_today_is_told_for_each() -> None:
    plan = week_plan([("Ada", order(), SAT)], today=SAT - timedelta(days=1))
    assert plan.warnings[0].startswith("Ada: This would have had to start on ")
    assert "(today is Fri 4 Dec 2026)" in plan.warnings[0]


due_days = st.dates(SAT, SAT + timedelta(days=16))
some = st.lists(st.tuples(due_days, st.integers(1, 40), st.sampled_from([LARGE, MINI])), min_size=1, max_size=6)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(some, st.randoms(use_true_random=False))
def test_shared_work_is_all_the_work(chosen: list[tuple[date, int, Cutter]], random: Any) -> None:
    """Nothing is lost, done twice or stale; the oven never works more; the order given does not matter."""
    batches = [(f"b{n}", order(kits, 8, cutter), due) for n, (due, kits, cutter) in enumerate(chosen)]
    plan = week_plan(batches)
    alone = {name: dough_plan(made) for name, made, _ in batches}
    dough = [s for w in plan.weeks for s in w.dough]
    assert sorted(name for s in dough for name in s.batches) == sorted(alone)
    assert sum(s.dough_g for s in dough) == sum(p.dough_g for p in alone.values())
    for s in dough:
        assert sum(i.g for i in s.ingredients) == s.dough_g
        assert s.baking.loads <= sum(alone[name].baking.loads for name in s.batches)
        assert s.baking.trays >= math.ceil(max(alone[name].baking.trays for name in s.batches))
    icing = [s for w in plan.weeks for s in w.icing]
    assert sum(s.white_g for s in icing) == pytest.approx(
        sum(icing_plan(o, (), {}).white_g for _, o, _ in batches)
    )
    labour = sum(60 + 12 * o.kits for _, o, _ in batches) + sum(s.minutes for s in dough)
    assert sum(w.hours for w in plan.weeks) * 60 == pytest.approx(labour)
    assert all(not batch.plan.problems for batch in plan.batches)
    assert all(w.monday <= t.day < w.monday + timedelta(days=7) for w in plan.weeks for t in w.tasks)
    mixed = list(batches)
    random.shuffle(mixed)
    assert week_plan(mixed) == plan
