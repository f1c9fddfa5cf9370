"""Days worked back from the pick-up: dates by calendar, minutes by the labour of the costing, dates that hold.

No published day plan is known; the dates are checked by the calendar (a printed 2026 calendar: 5 December is
a Saturday), the minutes by hand, and the rest by common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.days import STEPS, day_plan, told_day
from themekit.make.dough import dough_plan
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.settings import Settings, checked
from themekit.values import Cutter, Jar, Tint

Make = Callable[..., Jar]
DUE = date(2026, 12, 5)
ROUND = Cutter(1, "round", width_mm=76.2, height_mm=76.2)
TINTS = tuple(Tint((90.0, 0.0, 0.0), "#e2e2e2", name, ()) for name in ("white", "grey", "silver"))


def order(*jars: Jar, kits: int = 25, cutter: Cutter = ROUND, cookies: int = 3, **groups: dict[str, Any]) -> Order:
    made, problems = checked(groups)
    assert not problems
    toppings = tuple(Topping(jar, 1 / len(jars)) for jar in jars)
    return Order(Kit("test", TINTS, toppings, (Cut(cutter, cookies),)), kits, made)


def test_days_are_counted_back_from_the_pick_up() -> None:
    plan = day_plan(order(), DUE)
    assert [(s.name, told_day(s.day)) for s in plan.steps] == [
        ("shop", "Sun 29 Nov 2026"),
        ("bake", "Wed 2 Dec 2026"),
        ("icing", "Thu 3 Dec 2026"),
        ("pack", "Fri 4 Dec 2026"),
        ("hand over", "Sat 5 Dec 2026"),
    ]
    assert (plan.problems, plan.warnings, plan.missing) == ((), (), ())
    # Over the end of February in a leap year and in a common one.
    assert day_plan(order(), date(2028, 3, 1)).step("icing").day == date(2028, 2, 28)
    assert day_plan(order(), date(2027, 3, 1)).step("icing").day == date(2027, 2, 27)


def test_minutes_are_the_labour_of_the_costing() -> None:
    """79 cookies at 12 a tray are 7 trays, 4 loads: 60 min; 60 min once, 25 kits × 12 min halved over two days."""
    plan = day_plan(order(dough={"spread_share": 0.0, "tray_width_mm": 330.2, "tray_length_mm": 457.2}), DUE)
    assert {s.name: s.minutes for s in plan.steps} == {
        "shop": None, "bake": 4 * 15.0, "icing": 60 + 25 * 6.0, "pack": 25 * 6.0, "hand over": None
    }  # fmt: skip
    assert plan.minutes == 60 + 60 + 25 * 12
    assert not plan.at_least
    uneven = day_plan(order(work={"filling_share": 0.25}), DUE)
    assert (uneven.step("icing").minutes, uneven.step("pack").minutes) == (60 + 75, 225)


def test_best_before_is_the_earliest_of_all(jar: Make) -> None:
    """Baked 3 days, mixed 2 days and packed 1 day before; each limit in turn is made the tightest."""
    keep = {"label": {"best_before_days": 40}, "dough": {"cookies_keep_days": 40}, "icing": {"keeps_days": 40}}
    far = jar(1, best_before=DUE + timedelta(days=300))
    cases = [
        ({"label": {"best_before_days": 20}}, 19, "label.best_before_days"),
        ({"dough": {"cookies_keep_days": 20}}, 17, "dough.cookies_keep_days"),
        ({"icing": {"keeps_days": 20}}, 18, "icing.keeps_days"),
    ]
    for tightest, days, by in cases:
        plan = day_plan(order(far, **(keep | tightest)), DUE)
        assert (plan.best_before, plan.days_to_use) == (DUE + timedelta(days=days), days)
        assert by in plan.best_before_by
        assert plan.problems == ()
    soon = jar(2, best_before=DUE + timedelta(days=10))
    plan = day_plan(order(far, soon, **keep), DUE)
    assert (plan.days_to_use, plan.best_before_by) == (10, "jar 2")
    assert len(plan.warnings) == 1
    assert plan.warnings[0].startswith("jar 2 is best before Tue 15 Dec 2026, sooner than Thu 14 Jan 2027")


def test_a_jar_must_outlast_the_days_after_pick_up(jar: Make) -> None:
    """On the very day it is enough, one day less is told; before the pick-up it cannot go in."""
    days = Settings().label.best_before_days
    enough = day_plan(order(jar(1, best_before=DUE + timedelta(days=days))), DUE)
    short = day_plan(order(jar(1, best_before=DUE + timedelta(days=days - 1))), DUE)
    last = day_plan(order(jar(1, best_before=DUE)), DUE)
    past = day_plan(order(jar(1, best_before=DUE - timedelta(days=1))), DUE)
    assert [len(p.warnings) for p in (enough, short, last, past)] == [0, 1, 1, 0]
    assert [len(p.problems) for p in (enough, short, last, past)] == [0, 0, 0, 1]
    assert past.problems[0].field == "jar 1"
    assert past.problems[0].got == "good until Fri 4 Dec 2026"
    assert past.days_to_use == -1
    assert day_plan(order(jar(1, best_before=None)), DUE).missing == ("No best-before date is entered for jar 1.",)


def test_what_does_not_keep_until_pick_up_is_a_problem() -> None:
    stale = day_plan(order(work={"bake_days_before": 15, "shop_days_before": 20}), DUE)
    assert [p.field for p in stale.problems] == ["cookies (dough.cookies_keep_days)"]
    assert stale.days_to_use == -1
    icing = day_plan(order(icing={"keeps_days": 1}), DUE)
    assert [p.field for p in icing.problems] == ["icing (icing.keeps_days)"]
    # Without tints there is no icing to spoil.
    plain = order(icing={"keeps_days": 1})
    assert day_plan(replace(plain, kit=replace(plain.kit, tints=())), DUE).problems == ()


@pytest.mark.parametrize(
    ("work", "fields"),
    [
        ({"bake_days_before": 1}, ["work.bake_days_before"]),
        ({"bake_days_before": 0, "icing_days_before": 0}, []),
        ({"icing_days_before": 0}, ["work.icing_days_before"]),
        ({"shop_days_before": 2}, ["work.shop_days_before"]),
        ({"shop_days_before": 2, "icing_days_before": 0}, ["work.shop_days_before", "work.icing_days_before"]),
        ({"shop_days_before": 1, "bake_days_before": 1, "icing_days_before": 1, "pack_days_before": 1}, []),
    ],
)
def test_order_of_days(work: dict[str, int], fields: list[str]) -> None:
    """Shop, bake, ice, pack, hand over; two on one day are fine."""
    if fields == [] and work.get("bake_days_before") == 0:
        work = work | {"pack_days_before": 0}
    problems = day_plan(order(work=work), DUE).problems
    assert [p.field for p in problems] == fields
    if fields == ["work.bake_days_before"]:
        assert problems[0].got == "bake on Fri 4 Dec 2026"
        assert problems[0].allowed == "not after icing on Thu 3 Dec 2026"


def test_start_in_the_past_is_told() -> None:
    on_time = day_plan(order(), DUE, today=DUE - timedelta(days=6))
    late = day_plan(order(), DUE, today=DUE - timedelta(days=2))
    over = day_plan(order(), DUE, today=DUE + timedelta(days=1))
    assert (on_time.warnings, on_time.problems, late.problems) == ((), (), ())
    assert day_plan(order(), DUE, today=DUE).problems == ()
    (told,) = late.warnings
    assert told.startswith(
        "This would have had to start on Sun 29 Nov 2026 (today is Thu 3 Dec 2026): "
        "shop on Sun 29 Nov 2026 and bake on"
    )
    assert "icing" not in told
    assert [p.field for p in over.problems] == ["due"]


def test_a_day_with_too_little_time_is_told() -> None:
    """25 kits: 3.5 h on the icing day, 2.5 h on the packing day; both on one day are 6 h."""
    assert day_plan(order(), DUE, 3.5).warnings == ()
    assert [w[:15] for w in day_plan(order(), DUE, 3.0).warnings] == ["Thu 3 Dec 2026 "]
    one_day = {"icing_days_before": 1, "pack_days_before": 1}
    (told,) = day_plan(order(work=one_day), DUE, 5.0).warnings
    assert told == "Fri 4 Dec 2026 is too full: icing and pack take 6.0 h of 5 h."


def test_unknown_loads_are_not_nothing() -> None:
    plan = day_plan(order(cutter=Cutter(2, "moon")), DUE)
    assert plan.step("bake").minutes is None
    assert plan.at_least
    assert plan.minutes == 60 + 25 * 12
    assert any("time for baking is not counted" in told for told in plan.missing)
    giant = day_plan(order(cutter=Cutter(3, "giant", width_mm=500, height_mm=500)), DUE)
    assert giant.at_least


def test_shared_days_go_first() -> None:
    early = date(2026, 11, 27)
    plan = day_plan(order(), DUE, shop_on=date(2026, 11, 20), bake_on=early, icing_on=date(2026, 12, 1))
    assert [s.day.day for s in plan.steps] == [20, 27, 1, 4, 5]
    assert plan.best_before == early + timedelta(days=14)
    assert plan.problems == ()


def test_dates_out_of_the_calendar() -> None:
    for due in (date.min, date.max):
        with pytest.raises(InvalidValue) as caught:
            day_plan(order(), due)
        assert caught.value.problems[0].field == "due"


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    st.dates(date(2024, 1, 1), date(2032, 12, 31)),
    st.lists(st.integers(0, 60), min_size=4, max_size=4).map(sorted),
    st.integers(1, 200),
)
def test_sane_days_are_never_a_problem(due: date, before: list[int], kits: int) -> None:
    """Days in order, within what keeps: no problem, and the minutes are the costing's labour."""
    pack, icing, bake, shop = before
    made = order(
        kits=kits,
        work={
            "pack_days_before": pack, "icing_days_before": icing,
            "bake_days_before": bake, "shop_days_before": shop,
        },
        dough={"cookies_keep_days": 90}, icing={"keeps_days": 90}, label={"best_before_days": 90},
    )  # fmt: skip
    plan = day_plan(made, due)
    assert plan.problems == ()
    assert [s.day for s in plan.steps] == sorted(s.day for s in plan.steps)
    assert [s.name for s in plan.steps] == [name for name, _, _ in STEPS]
    loads = dough_plan(made).baking.loads
    assert plan.minutes == pytest.approx(60 + 12 * kits + 15 * loads)
    assert plan.best_before == due + timedelta(days=90 - bake)
