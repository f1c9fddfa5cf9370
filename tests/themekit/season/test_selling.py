"""Days of selling and making, worked back by hand from the usual settings and from others."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from themekit.make.days import day_plan
from themekit.make.kit import Cut, Kit, Order
from themekit.make.settings import Settings
from themekit.season.selling import most_kits, selling_days
from themekit.values import Cutter

READY = date(2026, 12, 20)
USUAL = Settings()


def _back(days: int) -> date:
    return READY - timedelta(days=days)


def test_days_go_back_by_the_settings() -> None:
    """Shopping 6, baking 3, icing 2, packing 1 day before; orders from 35 to 7 days before."""
    days = selling_days(READY, USUAL, 10)
    assert (days.shop, days.bake, days.icing, days.pack) == (_back(6), _back(3), _back(2), _back(1))
    assert (days.open_orders, days.last_orders) == (_back(35), _back(7))
    assert days.weeks == 1
    assert days.told == ()


def test_orders_close_before_the_shopping() -> None:
    """However late the baker would still take them."""
    late = replace(USUAL, work=replace(USUAL.work, orders_close_days=2, orders_open_days=3))
    days = selling_days(READY, late)
    assert days.last_orders == days.shop == _back(6)
    assert days.open_orders <= days.last_orders


def _minutes(kits: int, settings: Settings = USUAL) -> float:
    """60 for the batch, 12 for a kit, 15 for each oven load, by the day plan of round 80 mm cookies."""
    kit = Kit("round", (), (), (Cut(Cutter(1, "round", width_mm=80, height_mm=80), 8),))
    return day_plan(Order(kit, kits, settings), READY).minutes


def test_a_weeks_kits_just_fit_into_its_hours() -> None:
    """So many kits do, one more does not; fewer hours make fewer kits, too few none."""
    most = most_kits(USUAL)
    assert _minutes(most) <= 20 * 60 < _minutes(most + 1)
    assert selling_days(READY, USUAL).most_kits == most
    less = replace(USUAL, work=replace(USUAL.work, hours_per_week=5.0))
    assert 0 < most_kits(less) < most / 3
    none = replace(USUAL, work=replace(USUAL.work, hours_per_week=0.5))
    assert most_kits(none) == 0
    assert any("Not one kit" in told for told in selling_days(READY, none).told)


def test_more_than_a_weeks_work_begins_so_many_weeks_earlier() -> None:
    """Twice a week's kits take two or three weeks; orders open and close that much sooner."""
    kits = 2 * most_kits(USUAL)
    days = selling_days(READY, USUAL, kits)
    assert days.hours is not None
    assert abs(days.hours - _minutes(kits) / 60) < 0.01
    assert days.weeks == -(-_minutes(kits) // (20 * 60)) >= 2
    earlier = 7 * (days.weeks - 1)
    assert (days.open_orders, days.last_orders) == (_back(35 + earlier), _back(7 + earlier))
    assert "more than the 20 h" in days.told[0]


def test_a_chosen_kit_takes_its_own_hours() -> None:
    """Of forty cookies a kit there are more oven loads than of eight."""
    kit = Kit("round", (), (), (Cut(Cutter(1, "round", width_mm=80, height_mm=80), 40),))
    order = Order(kit, 20, USUAL)
    days = selling_days(READY, USUAL, 20, order)
    assert days.hours == round(day_plan(order, READY).minutes / 60, 2)
    assert days.hours > (selling_days(READY, USUAL, 20).hours or 0)


def test_what_is_past_is_told() -> None:
    """A day that is over, and orders that should have closed."""
    over = selling_days(READY, USUAL, today=READY + timedelta(days=1))
    assert "which is past" in over.told[0]
    late = selling_days(READY, USUAL, today=_back(5))
    assert late.told == ("The last day for orders was Sun 13 Dec 2026: take what can still be made.",)
    assert selling_days(READY, USUAL, today=_back(7)).told == ()
