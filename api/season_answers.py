"""What a season's joint plan is answered with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from api import answers
from api.answers import Json, money
from api.works import needs_body, order_of
from catalog import lexicon as built_in
from themekit.colour.names import Names, names_of
from themekit.errors import InvalidValue
from themekit.make.settings import Settings
from themekit.make.week import week_plan
from themekit.season.selling import SellingDays, selling_days
from themekit.season.swap import keep_of
from themekit.season.told import better_told
from themekit.season.values import Bought, Keep, LinePlan, Offer, Other, Planned, SeasonPlan, Worth
from themekit.suggest.asked import Asked
from themekit.values import Shelf


def plan_told(plan: SeasonPlan, shelf: Shelf, record: Mapping[str, Any], settings: Settings, today: date) -> Json:
    """A plan for this shelf, its lines with their batches and days, and the weeks of work."""
    names = names_of(built_in.lexicon().colour_basics)
    currency = record["currency"]
    lines = [_line(line, names, currency, record, shelf, settings, today) for line in plan.lines]
    return {
        "lines": lines,
        "totals": _worth(plan.worth, currency) | {"kits": sum(line.planned.kits for line in plan.lines)},
        "one_by_one": _worth(plan.one_by_one, currency),
        "better_than_one_by_one": {
            "points": round(plan.worth.value - plan.one_by_one.value, 6),
            "told": better_told(plan.worth, plan.one_by_one),
        },
        "optimal": plan.solved.optimal,
        "gap": None if plan.solved.gap is None else round(plan.solved.gap, 9),
        "bound": plan.solved.bound,
        "status": plan.solved.status,
        "message": plan.solved.message,
        "candidates": plan.candidates,
        "kept": sum(line.planned.keep is not None for line in plan.lines),
        "how": plan.how,
        "more": plan.more,
        "weeks": _weeks(lines, shelf, record, settings, today),
        "notes": list(plan.notes),
    }


def _line(
    line: LinePlan, names: Names, currency: str | None, record: Mapping[str, Any], shelf: Shelf,
    settings: Settings, today: date,
) -> Json:  # fmt: skip
    planned, offer = line.planned, line.offer
    day = planned.day
    made: Json = {
        "theme": planned.theme,
        "chosen": None if offer is None else offer.theme,
        "kits": planned.kits,
        "date": day and day.isoformat(),
        "idea": None if line.idea is None else answers.idea(line.idea, names, currency),
        "takes": [],
        "buy": [_bought(b) for b in line.bought],
        "needs": None if line.asked is None else answers.applied_needs(line.asked, shelf),
        "reasons": list(line.reasons),
        "why_not": line.why_none or None,
        "keep": None if offer is None else _keep(keep_of(offer)),
        "others": [_other(one, offer, names) for one in line.others],
        "batch": None,
        "days": None,
    }
    if offer is not None:
        by_id = {p.jar.id: p.jar.name for p in offer.trio.portions}
        made["takes"] = [{"jar": id, "name": by_id[id], "grams": mg / 1000} for id, mg in offer.taken]
        made["batch"] = _batch(planned, offer.theme, made["idea"], line.asked)
    if day is not None:
        made["days"] = days_told(selling_days(day, settings, planned.kits, today=today))
    return made


def _keep(keep: Keep) -> Json:
    return {"theme": keep.theme, "tints": list(keep.tints), "jars": list(keep.jars)}


def _other(one: Other, chosen: Offer | None, names: Names) -> Json:
    """Another kit for a line; `points` by how much it is better by itself than the one that was chosen."""
    tints = one.offer.palette.tints
    return {
        "keep": _keep(one.keep),
        "tints": [{"hex": t.hex, "name": names.nearest(t.lab)[0]} for t in tints],
        "jars": [{"jar": j.id, "name": j.name} for j in one.offer.trio.jars],
        "points": round(one.offer.quality - (chosen.quality if chosen else 0.0), 6),
        "short": [_bought(b) for b in one.short],
    }


def _batch(planned: Planned, theme: str, idea: Json, asked: Asked | None) -> Json:
    """The body with which the line can be sketched as a batch, or promised with the others.

    Its needs are all that are kept, those that the theme's words told among them.
    """
    needs = planned.needs if asked is None else asked.needs
    named = {} if needs is None else needs_body(needs)
    return {
        "theme": planned.theme or theme,
        "kits": planned.kits,
        "due": planned.day and planned.day.isoformat(),
        "tints": [{"hex": t["hex"], "recipe": t["recipe"]} for t in idea["palette"]["tints"]],
        "jars": [{"id": j["id"], "share": j["share"]} for j in idea["trio"]["jars"]],
        "cutters": [{"id": c["id"], "cookies": c["cookies"]} for c in idea["cutters"]],
        "serve": idea["trio"]["serve"],
        "needs": named,
    }


def _worth(worth: Worth, currency: str | None) -> Json:
    costs = [b.cost for b in worth.bought]
    known = [c for c in costs if c is not None]
    return {
        "points": worth.value,
        "quality": worth.quality,
        "idle": worth.idle,
        "repeats": worth.again,
        "buying": worth.buying,
        "left_out": worth.lines_left_out,
        "idle_jars_used": worth.idle_jars_used,
        "buy": [_bought(b) for b in worth.bought],
        "buy_cost": money(sum(known)) if known and len(known) == len(costs) else ("0.00" if not costs else None),
        "currency": currency,
    }


def _bought(one: Bought) -> Json:
    return {"jar": one.jar.id, "name": one.jar.name, "grams": round(one.grams, 3), "cost": money(one.cost)}


def days_told(days: SellingDays) -> Json:
    """The days before kits are handed over."""
    return {
        "open_orders": days.open_orders.isoformat(),
        "last_orders": days.last_orders.isoformat(),
        "shop": days.shop.isoformat(),
        "bake": days.bake.isoformat(),
        "icing": days.icing.isoformat(),
        "pack": days.pack.isoformat(),
        "ready_by": days.ready_by.isoformat(),
        "hours": days.hours,
        "weeks": days.weeks,
        "most_kits_a_week": days.most_kits,
        "told": list(days.told),
    }


def _weeks(
    lines: Sequence[Json], shelf: Shelf, record: Mapping[str, Any], settings: Settings, today: date
) -> list[Json]:
    """The weeks of work of all dated lines together, with their hours and what is too full."""
    dated = [(n, line) for n, line in enumerate(lines, start=1) if line["batch"] and line["date"]]
    made = []
    for number, line in dated:
        order = order_of({**line["batch"], "settings": {}}, shelf, record["settings"])
        name = f"{line['batch']['theme'][:60]} ({number})"
        made.append((name, order, date.fromisoformat(line["date"])))
    try:
        plan = week_plan(made, settings.work.hours_per_week, today=today)
    except InvalidValue:
        return []
    return [
        {
            "monday": week.monday.isoformat(),
            "hours": round(week.hours, 2),
            "capacity_hours": week.capacity_hours,
            "at_least": week.at_least,
            "over": week.over,
            "told": week.told or None,
        }
        for week in plan.weeks
    ]
