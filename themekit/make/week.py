"""Batches due together as one plan of work: shared sessions, hours by ISO week, what is too full.

Class trays and mini kits are batches like any other: orders with other counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from themekit.errors import InvalidValue, Problem, raise_all
from themekit.make.days import DayPlan, StepName, day_plan, told_day
from themekit.make.dough import AreaShare, dough_plan, drawn_share
from themekit.make.kit import Order
from themekit.make.sessions import (
    OVEN,
    RECIPE,
    DoughSession,
    Due,
    IcingSession,
    Shared,
    dough_alike,
    dough_session,
    icing_alike,
    icing_session,
    shared_days,
)
from themekit.suggest.words import listed


@dataclass(frozen=True, slots=True)
class Task:
    """One line of the bench sheet. `minutes` None: not counted (shopping, handing over)."""

    day: date
    name: StepName
    batches: tuple[str, ...]
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Week:
    """One ISO week of work, from Monday.

    hours      of the tasks that are counted; `at_least` when some loads are not known.
    full       no hour is left; `over` more hours are asked than there are.
    told       "" or that the week is full, in words.
    full_days  each day with more work than its hours, in words.
    """

    year: int
    week: int
    monday: date
    tasks: tuple[Task, ...]
    dough: tuple[DoughSession, ...]
    icing: tuple[IcingSession, ...]
    hours: float
    capacity_hours: float
    at_least: bool
    full: bool
    over: bool
    told: str
    full_days: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BatchDays:
    """One batch of the plan with its days, those of shared work among them."""

    name: str
    plan: DayPlan


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """All work of these batches, week by week.

    told      full weeks first, then what is shared, what is not, and why.
    problems, warnings, missing  of every batch, each with its name.
    """

    weeks: tuple[Week, ...]
    batches: tuple[BatchDays, ...]
    told: tuple[str, ...]
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...]
    missing: tuple[str, ...]


def week_plan(
    batches: Sequence[tuple[str, Order, date]],
    capacity_hours: float | None = None,
    hours_per_day: float | None = None,
    *,
    today: date | None = None,
    area_share: AreaShare = drawn_share,
) -> WeekPlan:
    """One plan of work for batches of (name, order, pick-up day).

    Batches that bake in the same ISO week share one dough on the earliest of their days, if
    their dough and oven settings are the same and the cookies keep until each pick-up; so
    with white icing. What is kept apart is told. Each week's hours stand against capacity.

    Parameters
    ----------
    capacity_hours  hours of work in a week; None: the least `work.hours_per_week` of the batches.
    hours_per_day   hours of work on one day; None: the least `work.hours_per_day` of the batches.

    Raises `InvalidValue`, every problem of every batch at once.
    """
    made = _worked_out(batches, capacity_hours, area_share)
    if not made:
        return WeekPlan((), (), (), (), (), ())
    if capacity_hours is None:
        capacity_hours = min(batch.order.settings.work.hours_per_week for batch in made)
    if hours_per_day is None:
        hours_per_day = min(batch.order.settings.work.hours_per_day for batch in made)
    baking = shared_days(made, _bakes, dough_alike, lambda b: b.order.settings.dough.cookies_keep_days, _any_day)
    bake_on = _days(baking)
    iced = [batch for batch in made if batch.order.kit.tints]
    icing = shared_days(
        iced, _ices, icing_alike, lambda b: b.order.settings.icing.keeps_days, lambda b: min(bake_on[b], _ices(b))
    )
    shop_on = _shopping(baking)
    icing_on = _days(icing)
    plans = {
        batch: day_plan(
            batch.order, batch.due, today=today, dough=batch.dough,
            shop_on=shop_on[batch], bake_on=bake_on[batch], icing_on=icing_on.get(batch),
        )
        for batch in made
    }  # fmt: skip
    dough_sessions = [dough_session(shared) for shared in baking]
    icing_sessions = [
        icing_session(shared, sum(plans[b].step("icing").minutes or 0 for b in shared.members)) for shared in icing
    ]
    weeks = _weeks(plans, dough_sessions, icing_sessions, capacity_hours, hours_per_day)
    told = [week.told for week in weeks if week.told]
    told += [text for week in weeks for text in week.full_days]
    told += _apart(baking, "dough", _dough_differences) + _apart(icing, "white icing", _icing_differences)
    return WeekPlan(
        weeks=weeks,
        batches=tuple(BatchDays(batch.name, plans[batch]) for batch in made),
        told=(*told, *_earlier(bake_on)),
        problems=tuple(
            Problem(f"{b.name}: {p.field}", p.got, p.allowed, p.hint)
            for b, plan in plans.items()
            for p in (*b.dough.problems, *plan.problems)
        ),
        warnings=tuple(f"{b.name}: {text}" for b, plan in plans.items() for text in plan.warnings),
        missing=tuple(f"{b.name}: {text}" for b, plan in plans.items() for text in plan.missing),
    )


def _worked_out(
    batches: Sequence[tuple[str, Order, date]], capacity_hours: float | None, area_share: AreaShare
) -> list[Due]:
    """Every batch with its dough, by pick-up day; all problems at once."""
    made, problems = [], []
    if capacity_hours is not None and not 0 < capacity_hours <= 168:
        problems.append(
            Problem(
                "capacity_hours", str(capacity_hours), "above 0, up to 168 hours", "Leave it out for the setting."
            )
        )
    names = [name for name, _, _ in batches]
    for name in dict.fromkeys(n for n in names if names.count(n) > 1):
        problems.append(Problem("batches", name, "each name once", "Give each batch a name of its own."))
    for name, order, due in batches:
        try:
            made.append(Due(name, order, due, dough_plan(order, area_share)))
            day_plan(order, due, dough=made[-1].dough)
        except InvalidValue as error:
            problems += [Problem(f"{name}: {p.field}", p.got, p.allowed, p.hint) for p in error.problems]
    raise_all(problems, "These batches cannot be planned.")
    return sorted(made, key=lambda batch: (batch.due, batch.name))


def _bakes(batch: Due) -> date:
    return batch.before(batch.order.settings.work.bake_days_before)


def _ices(batch: Due) -> date:
    return batch.before(batch.order.settings.work.icing_days_before)


def _any_day(_: Due) -> date:
    return date.min


def _days(groups: Iterable[Shared]) -> dict[Due, date]:
    return {batch: shared.day for shared in groups for batch in shared.members}


def _shopping(baking: Sequence[Shared]) -> dict[Due, date]:
    """One shopping day in an ISO week, early enough for every dough that is mixed from it."""
    own = {
        shared.day: min(b.before(b.order.settings.work.shop_days_before) for b in shared.members)
        for shared in baking
    }
    trips: dict[tuple[int, int], date] = {}
    for day in sorted(own.values()):
        trips.setdefault(day.isocalendar()[:2], day)
    return {b: trips[own[shared.day].isocalendar()[:2]] for shared in baking for b in shared.members}


def _weeks(
    plans: dict[Due, DayPlan],
    dough: Sequence[DoughSession],
    icing: Sequence[IcingSession],
    capacity: float,
    a_day: float,
) -> tuple[Week, ...]:
    """The tasks by ISO week, with hours against those of a week and of a day."""
    tasks = [Task(s.day, "bake", s.batches, None if s.at_least and not s.minutes else s.minutes) for s in dough]
    tasks += [Task(s.day, "icing", s.batches, s.minutes) for s in icing]
    whole_icing = {name for session in icing for name in session.batches}
    for name in ("shop", "icing", "pack", "hand over"):
        by_day: dict[date, list[tuple[str, float | None]]] = {}
        for batch, plan in plans.items():
            if name != "icing" or batch.name not in whole_icing:
                step = next(s for s in plan.steps if s.name == name)
                by_day.setdefault(step.day, []).append((batch.name, step.minutes))
        for day, did in by_day.items():
            counted = [m for _, m in did if m is not None]
            tasks.append(Task(day, name, tuple(n for n, _ in did), sum(counted) if counted else None))
    order = {name: place for place, name in enumerate(("shop", "bake", "icing", "pack", "hand over"))}
    tasks.sort(key=lambda task: (task.day, order[task.name], task.batches))
    weeks = []
    for monday in sorted({task.day - timedelta(days=task.day.weekday()) for task in tasks}):
        days = {monday + timedelta(days=n) for n in range(7)}
        here = tuple(task for task in tasks if task.day in days)
        baked = tuple(s for s in dough if s.day in days)
        hours = sum(task.minutes or 0 for task in here) / 60
        at_least = any(s.at_least for s in baked)
        # Minutes that add up to the capacity may miss it by a rounding error.
        full, over = hours > capacity - 1e-9, hours > capacity + 1e-9
        year, week, _ = monday.isocalendar()
        told = _full(monday, here, hours, capacity, at_least, over) if full else ""
        weeks.append(
            Week(
                year, week, monday, here, baked, tuple(s for s in icing if s.day in days),
                hours, capacity, at_least, full, over, told, _full_days(here, a_day),
            )
        )  # fmt: skip
    return tuple(weeks)


def _full(monday: date, tasks: Sequence[Task], hours: float, capacity: float, at_least: bool, over: bool) -> str:
    names = listed([name for task in tasks if task.minutes for name in task.batches])
    known = "at least " if at_least else ""
    text = (
        f"That week is full: {known}{round(hours, 2):g} h of {capacity:g} h from {told_day(monday)}, for {names}."
    )
    return text + " Move a batch, make fewer kits or start earlier." if over else text


def _full_days(tasks: Sequence[Task], hours: float) -> tuple[str, ...]:
    """Days whose counted work takes longer than the hours of a day."""
    out = []
    for day in dict.fromkeys(task.day for task in tasks):
        did = [task for task in tasks if task.day == day and task.minutes]
        needed = sum(task.minutes or 0 for task in did) / 60
        if needed > hours + 1e-9:
            names = listed(list(dict.fromkeys(task.name for task in did)))
            out.append(
                f"{told_day(day)} is too full: {names} take {needed:.1f} h of {hours:g} h. Do some of it a day "
                "earlier, or get help."
            )
    return tuple(out)


def _apart(groups: Sequence[Shared], what: str, differences: Callable[[Due, Due], list[str]]) -> list[str]:
    """What one week makes in several sessions, and why not in one."""
    reason = "it would not keep until pick-up"
    if what != "dough":
        reason += ", or come before the baking"
    out = []
    for number, later in enumerate(groups):
        for earlier in groups[:number]:
            if earlier.day.isocalendar()[:2] != later.day.isocalendar()[:2]:
                continue
            first, second = (listed([b.name for b in group.members]) for group in (earlier, later))
            differ = differences(earlier.members[0], later.members[0])
            why = f"their settings differ in {listed(differ)}" if differ else f"of one lot {reason}"
            out.append(f"Two lots of {what} in one week, {first} apart from {second}: {why}.")
    return out


def _dough_differences(one: Due, other: Due) -> list[str]:
    a, b = one.order.settings.dough, other.order.settings.dough
    return [f"dough.{name}" for name in RECIPE + OVEN if getattr(a, name) != getattr(b, name)]


def _icing_differences(one: Due, other: Due) -> list[str]:
    a, b = dict(icing_alike(one)), dict(icing_alike(other))
    return [name for name in dict.fromkeys([*a, *b]) if a.get(name) != b.get(name)]


def _earlier(bake_on: dict[Due, date]) -> list[str]:
    """Batches whose cookies are baked sooner than they would be alone."""
    return [
        f"{batch.name} is baked with the others on {told_day(day)}, {_count((_bakes(batch) - day).days)} "
        "earlier than alone; its cookies count from then."
        for batch, day in bake_on.items()
        if day < _bakes(batch)
    ]


def _count(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"
