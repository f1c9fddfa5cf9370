"""The days of work of one order, worked back from its pick-up, and what they allow.

Minutes are those of the settings of cost: the same labour, laid out over the days.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Literal

from themekit.errors import Problem, raise_all
from themekit.make.dough import DoughPlan, dough_plan
from themekit.make.kit import Order
from themekit.suggest.words import listed

StepName = Literal["shop", "bake", "icing", "pack", "hand over"]
#: What is done on a day, in the order of work, and the setting that names its day.
STEPS: tuple[tuple[StepName, str, str], ...] = (
    ("shop", "shop, count what is on the shelf", "work.shop_days_before"),
    ("bake", "mix the dough, chill, roll, bake and cool", "work.bake_days_before"),
    ("icing", "mix and tint the icing, fill the bags", "work.icing_days_before"),
    ("pack", "fill the cups, bag the cookies, pack the kits", "work.pack_days_before"),
    ("hand over", "hand over", "due"),
)
FIRST_YEAR, LAST_YEAR = 1900, 9000
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Step:
    """One step of work on its day. `minutes` None: not known (bake), or never counted (shop, hand over)."""

    name: StepName
    what: str
    day: date
    minutes: float | None


@dataclass(frozen=True, slots=True)
class DayPlan:
    """An order's days.

    steps             in the order of work: shop, bake, icing, pack, hand over.
    best_before       the day that the kit can carry at most, and `best_before_by` what sets it.
    days_to_use       from pick-up to that day; below 0 the kit would be handed over too late.
    minutes           of all steps that are counted; `at_least` when some are not known.
    problems          what must be changed before this can be done so.
    warnings          what can be done so, but should be looked at.
    late              "" or that the first steps are past already, in words; among the warnings.
    """

    due: date
    steps: tuple[Step, ...]
    best_before: date
    best_before_by: str
    days_to_use: int
    minutes: float
    at_least: bool
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...]
    missing: tuple[str, ...]
    late: str = ""

    def step(self, name: StepName) -> Step:
        """The step of that name."""
        return next(step for step in self.steps if step.name == name)


def told_day(day: date) -> str:
    """A day in words: "Sat 5 Dec 2026"."""
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def day_plan(
    order: Order,
    due: date,
    hours_per_day: float | None = None,
    *,
    today: date | None = None,
    dough: DoughPlan | None = None,
    shop_on: date | None = None,
    bake_on: date | None = None,
    icing_on: date | None = None,
) -> DayPlan:
    """Steps, minutes and best-before of an order that is picked up on `due`.

    A kit's best-before is the earliest of: packing + `label.best_before_days`, baking +
    `dough.cookies_keep_days`, mixing + `icing.keeps_days`, and each jar's own date.

    Parameters
    ----------
    hours_per_day  hours she has on one day; a longer step is told. None: not asked.
    today          steps before it are told; None: not asked.
    dough          the order's dough where it is worked out already.
    shop_on, bake_on, icing_on  days that go before those of the settings, for work shared
                   with other orders.

    Raises `InvalidValue` as `dough_plan` does, and for a pick-up in no year of ours.
    """
    if not FIRST_YEAR <= due.year <= LAST_YEAR:
        allowed = f"a day of the years {FIRST_YEAR} to {LAST_YEAR}"
        raise_all([Problem("due", due.isoformat(), allowed, "Correct the pick-up date.")])
    dough = dough or dough_plan(order)
    work, cost = order.settings.work, order.settings.cost
    unbaked = dough.at_least or bool(dough.problems)
    filling = order.kits * cost.minutes_per_kit * work.filling_share
    days: dict[StepName, date] = {
        "shop": shop_on or due - timedelta(days=work.shop_days_before),
        "bake": bake_on or due - timedelta(days=work.bake_days_before),
        "icing": icing_on or due - timedelta(days=work.icing_days_before),
        "pack": due - timedelta(days=work.pack_days_before),
        "hand over": due,
    }
    minutes: dict[StepName, float | None] = {
        "shop": None,
        "bake": None if unbaked else dough.baking.loads * cost.minutes_per_load,
        "icing": cost.minutes_per_batch + filling,
        "pack": order.kits * cost.minutes_per_kit - filling,
        "hand over": None,
    }
    steps = tuple(Step(name, what, days[name], minutes[name]) for name, what, _ in STEPS)
    ends = _ends(order, days)
    best_before, by = min(ends)
    late = _late(steps, today)
    counted = sum(m for m in minutes.values() if m is not None)
    missing = list(dough.missing)
    if unbaked:
        missing.append("The oven loads are not all known, so the time for baking is not counted.")
    undated = [t.jar.name for t in order.kit.toppings if t.jar.best_before is None]
    if undated:
        missing.append(f"No best-before date is entered for {listed(undated)}.")
    return DayPlan(
        due=due,
        steps=steps,
        best_before=best_before,
        best_before_by=by,
        days_to_use=(best_before - due).days,
        minutes=counted,
        at_least=unbaked,
        problems=(*_disorder(steps), *_too_old(ends, due), *_past_due(due, today)),
        warnings=(*_short(order, due), *filter(None, (late,)), *_long(steps, hours_per_day)),
        missing=tuple(missing),
        late=late,
    )


def _ends(order: Order, days: dict[StepName, date]) -> list[tuple[date, str]]:
    """The last good day of each part of the kit, and what it is."""
    made = order.settings
    ends = [
        (days["pack"] + timedelta(days=made.label.best_before_days), "days from packing (label.best_before_days)"),
        (days["bake"] + timedelta(days=made.dough.cookies_keep_days), "cookies (dough.cookies_keep_days)"),
    ]
    if order.kit.tints:
        ends.append((days["icing"] + timedelta(days=made.icing.keeps_days), "icing (icing.keeps_days)"))
    return ends + [(t.jar.best_before, t.jar.name) for t in order.kit.toppings if t.jar.best_before]


def _disorder(steps: Sequence[Step]) -> list[Problem]:
    """Steps that come before the one that they need."""
    fields = {name: field for name, _, field in STEPS}
    return [
        Problem(
            fields[earlier.name],
            f"{earlier.name} on {told_day(earlier.day)}",
            f"not after {later.name} on {told_day(later.day)}",
            f"Set the days so that {earlier.name} comes first or on the same day.",
        )
        for earlier, later in pairwise(steps)
        if earlier.day > later.day
    ]


def _too_old(ends: Sequence[tuple[date, str]], due: date) -> list[Problem]:
    return [
        Problem(what, f"good until {told_day(end)}", f"good until {told_day(due)} at least, the pick-up",
                "Make it later, or take another jar.")
        for end, what in sorted(ends)
        if end < due
    ]  # fmt: skip


def _past_due(due: date, today: date | None) -> list[Problem]:
    if today is None or due >= today:
        return []
    return [Problem("due", told_day(due), f"today, {told_day(today)}, or later", "Give a day to come.")]


def _short(order: Order, due: date) -> list[str]:
    """Jars that do not last as long after the pick-up as a kit should."""
    wanted = due + timedelta(days=order.settings.label.best_before_days)
    return [
        f"{t.jar.name} is best before {told_day(t.jar.best_before)}, sooner than {told_day(wanted)}, which is "
        f"{order.settings.label.best_before_days} days after pick-up: the kit carries the earlier date, or "
        "another jar goes in."
        for t in order.kit.toppings
        if t.jar.best_before and due <= t.jar.best_before < wanted
    ]


def _late(steps: Sequence[Step], today: date | None) -> str:
    late = [s for s in steps[:-1] if today is not None and s.day < today]
    if not late or today is None:
        return ""
    when = listed([f"{s.name} on {told_day(s.day)}" for s in late])
    return (
        f"This would have had to start on {told_day(min(s.day for s in late))} (today is {told_day(today)}): "
        f"{when}. Do it now, or agree a later pick-up."
    )


def _long(steps: Sequence[Step], hours: float | None) -> list[str]:
    """Days with more work than hours; steps of one day are added up."""
    if hours is None:
        return []
    out = []
    for day in dict.fromkeys(s.day for s in steps):
        minutes = sum(s.minutes or 0 for s in steps if s.day == day)
        if minutes > hours * 60:
            names = listed([s.name for s in steps if s.day == day and s.minutes])
            out.append(f"{told_day(day)} is too full: {names} take {minutes / 60:.1f} h of {hours:g} h.")
    return out
