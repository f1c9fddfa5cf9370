"""The weeks' sheet: batches due together as one plan of work, a page or more for each week."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from api.prints.amounts import grams
from api.prints.job import PAPERS, Json, Paper
from api.prints.shopping import line as bought_line
from themekit.make.days import STEPS, told_day
from themekit.make.sessions import DoughSession, IcingSession
from themekit.make.shopping import ShoppingLine, ShoppingList
from themekit.make.units import System, spoonfuls, temperature
from themekit.make.week import Week, WeekPlan
from themekit.suggest.words import listed

_WHAT = {name: what for name, what, _ in STEPS}


def week(
    plan: WeekPlan, shelf: str, paper: Paper, system: System, start: date,
    lists: Mapping[date, ShoppingList] | None = None, currency: str = "", handed: Mapping[str, str] | None = None,
) -> Json:  # fmt: skip
    """The data of all weeks that end on `start` or later; what is wrong or shared leads.

    `lists` holds what to buy in each week, by its Monday; `handed` says of each batch to whom it goes.
    """
    weeks = [each for each in plan.weeks if (start - each.monday).days < 7]
    wrong = [problem.sentence() for problem in plan.problems]
    return {
        "paper": PAPERS[paper],
        "shelf": shelf,
        "title": "The weeks' work",
        "alarms": [*wrong, *(told for each in weeks for told in (each.told, *each.full_days) if told)],
        "notes": [
            *(
                line
                for line in plan.told
                if line not in {told for w in plan.weeks for told in (w.told, *w.full_days)}
            ),
            *plan.warnings,
        ],
        "missing": list(plan.missing),
        "weeks": [_week(each, system, (lists or {}).get(each.monday), currency, handed or {}) for each in weeks],
        "empty": "" if weeks else "No batch with a pick-up day is sketched or promised from this day on.",
    }


def _week(
    each: Week, system: System, bought: ShoppingList | None, currency: str, handed: Mapping[str, str]
) -> Json:
    least = "at least " if each.at_least else ""
    return {
        "head": f"Week {each.week}, from {told_day(each.monday)}",
        "hours": f"{least}{round(each.hours, 1):g} h of {each.capacity_hours:g} h",
        "over": each.over,
        "days": _days(each, handed),
        "dough": [_dough(session, system) for session in each.dough],
        "icing": [_icing(session, system) for session in each.icing],
        "buy": [_to_buy(line, system, currency) for line in bought.lines if line.status != "enough"]
        if bought
        else [],
    }


def _to_buy(line: ShoppingLine, system: System, currency: str) -> Json:
    """One line to buy, or to look for where nobody counted."""
    told = bought_line(line, system, currency)
    return {"name": line.name, "amount": told["buy"] or "look", "also": told["price"]}


def _days(each: Week, handed: Mapping[str, str]) -> list[Json]:
    """The tasks by day."""
    found: dict[date, list[Json]] = {}
    for task in each.tasks:
        time = "" if task.minutes is None else f"{round(task.minutes)} min"
        batches = listed(list(task.batches))
        if task.name == "hand over":
            batches = "; ".join(handed.get(name, name) for name in task.batches)
        told = {"what": _WHAT[task.name], "batches": batches, "time": time}
        found.setdefault(task.day, []).append(told)
    return [{"day": told_day(day).rpartition(" ")[0], "tasks": tasks} for day, tasks in found.items()]


def _dough(session: DoughSession, system: System) -> Json:
    least = "at least " if session.at_least else ""
    eggs = f", {session.eggs} {'egg' if session.eggs == 1 else 'eggs'}" if session.eggs else ""
    loads = f"{session.baking.trays} trays, {session.baking.loads} oven loads at"
    return {
        "head": _session("Dough", session.day, session.batches),
        "all": least + grams(session.dough_g, system),
        "lines": [{"name": i.name, "amount": grams(i.g, system), "also": ""} for i in session.ingredients],
        "note": f"{least}{session.cookies} cookies{eggs}; {loads} {temperature(session.oven_c, system)}.",
    }


def _icing(session: IcingSession, system: System) -> Json:
    return {
        "head": _session("White icing", session.day, session.batches),
        "all": grams(session.white_g, system),
        "lines": [
            {"name": name, "amount": grams(g, system), "also": spoonfuls(name, g) or ""}
            for name, g in session.recipe.items()
        ],
        "portions": [
            {"hex": p.hex, "name": f"{p.colour}, {p.batch}", "amount": grams(p.white_g, system)}
            for p in session.portions
        ],
    }


def _session(what: str, day: date, batches: Sequence[str]) -> str:
    return f"{what}, {told_day(day).rpartition(' ')[0]}: {listed(list(batches))}"
