"""Questions about the season: the joint plan, its promise, and the calendar ahead.

Like `api.questions`, for the service and the command line alike: from a plain body to the
answer as a JSON dict.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from api import answers
from api.answers import Json, money
from api.bodies import Body
from api.works import batches_of, check_needs, needs_body, order_of, settings_of, tastes_of
from catalog import calendar
from catalog import lexicon as built_in
from catalog.lookup import LARGEST_ID
from catalog.store import Store
from themekit.colour.names import Names, names_of
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.make.settings import Settings
from themekit.make.week import week_plan
from themekit.season.plan import MOST_LINES, season_plan
from themekit.season.selling import SellingDays, selling_days
from themekit.season.told import better_told
from themekit.season.use_up import MOST_CHOSEN, UseUp
from themekit.season.use_up import use_up as core_use_up
from themekit.season.values import Bought, LinePlan, Planned, Progress, SeasonPlan, Stop, Worth, never, untold
from themekit.suggest.asked import MOST_KITS, Asked
from themekit.values import Shelf

LINE = ("theme", "kits", "date", "needs", "serve")
SEASON = ("kits", "buy", "time_limit_s", "further")
CALENDAR = ("from", "to", "country", "region")
USUAL_LIMIT_S, MOST_LIMIT_S = 20.0, 120.0
#: Days ahead that the calendar tells of unless asked for others.
USUAL_AHEAD = 120


def season(
    store: Store, shelf_id: int, body: Any, today: date, progress: Progress = untold, stop: Stop = never
) -> Json:
    """The joint plan for {"kits": [{"theme"?, "kits", "date"?, "needs"?, "serve"?}], "buy"?, "time_limit_s"?}.

    Raises `InvalidValue`, `ThemeNotUnderstood` or `NeedConflict`.
    """
    return season_work(store, shelf_id, body, today)(progress, stop)


def season_work(store: Store, shelf_id: int, body: Any, today: date) -> Callable[[Progress, Stop], Json]:
    """The same, checked but not yet worked out, to be done here or in the background.

    Raises `InvalidValue` at once with every problem of the body; a theme that means nothing
    is found only by the work.
    """
    checked = Body(body, SEASON)
    lines = _lines(checked, today)
    buy = checked.checks.yes_no("buy", checked.raw.get("buy"))
    further = checked.checks.yes_no("further", checked.raw.get("further"))
    limit = checked.checks.number(
        "time_limit_s", checked.raw.get("time_limit_s"), least=0.1, most=MOST_LIMIT_S, unit="s"
    )
    checked.done()

    def work(progress: Progress, stop: Stop) -> Json:
        shelf, record = store.read(shelf_id), store.shelf_record(shelf_id)
        settings = settings_of(record["settings"], None)
        plan = season_plan(
            lines,
            shelf,
            built_in.lexicon(),
            today=today,
            settings=settings,
            buy=True if buy is None else buy,
            time_limit_s=USUAL_LIMIT_S if limit is None else limit,
            further=True if further is None else further,
            taste=tastes_of(store).taste(shelf_id),
            progress=progress,
            stop=stop,
        )
        return _season(plan, shelf, record, settings, today)

    return work


def _lines(checked: Body, today: date) -> list[Planned]:
    """The planned lines; problems are told by line, "kits.2.date"."""
    given = checked.raw.get("kits")
    if not isinstance(given, list | tuple) or not 1 <= len(given) <= MOST_LINES:
        got = given if not isinstance(given, list | tuple) else f"a list of {len(given)}"
        allowed = f"a list of 1 to {MOST_LINES} objects with " + ", ".join(LINE)
        checked.checks.wrong("kits", got, allowed, "Send the kits that are planned.")
        return []
    out = []
    for number, raw in enumerate(given):
        one = Body(raw, LINE)
        theme = one.text("theme") if one.has("theme") else None
        kits = one.checks.whole("kits", one.raw.get("kits"), least=1, most=MOST_KITS)
        if not one.has("kits"):
            one.checks.wrong("kits", None, f"a whole number from 1 to {MOST_KITS}", "Say how many kits.")
        told = one.checks.day("date", one.raw.get("date"))
        day = date.fromisoformat(told) if told else None
        if day is not None and day < today:
            one.checks.wrong("date", told, f"{today.isoformat()} or later", "Give a day to come.")
        needs, serve = one.needs(), one.serve()
        for p in one.checks.problems:
            checked.checks.wrong(f"kits.{number}.{p.field}", p.got, p.allowed, p.hint)
        out.append(Planned(theme, kits or 1, day, needs, serve))
    return out


def _season(plan: SeasonPlan, shelf: Shelf, record: Mapping[str, Any], settings: Settings, today: date) -> Json:
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
        "batch": None,
        "days": None,
    }
    if offer is not None:
        by_id = {p.jar.id: p.jar.name for p in offer.trio.portions}
        made["takes"] = [{"jar": id, "name": by_id[id], "grams": mg / 1000} for id, mg in offer.taken]
        made["batch"] = _batch(planned, offer.theme, made["idea"], line.asked)
    if day is not None:
        made["days"] = _days(selling_days(day, settings, planned.kits, today=today))
    return made


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


def _days(days: SellingDays) -> Json:
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


def promise(store: Store, shelf_id: int, body: Any, key: str | None = None) -> Json:
    """Sketch and promise {"batches": [...]}, the `batch` of each line of a plan: all or none.

    Raises `InvalidValue` with every problem, or `Short`; then nothing was made.
    """
    checked = Body(body, ("batches",))
    given = checked.raw.get("batches")
    if not isinstance(given, list | tuple) or not 1 <= len(given) <= MOST_LINES:
        got = given if not isinstance(given, list | tuple) else f"a list of {len(given)}"
        allowed = f"a list of 1 to {MOST_LINES} batches"
        checked.checks.wrong("batches", got, allowed, "Send the batch of each line of a plan.")
    checked.done()
    problems: list[Problem] = []
    for number, one in enumerate(given or ()):
        try:
            check_needs(one)
        except InvalidValue as error:
            problems += [replace(p, field=f"batches.{number}.{p.field}") for p in error.problems]
    raise_all(problems, "These batches cannot be made.")
    return batches_of(store).create_promised(shelf_id, list(given or ()), key)


def use_up(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """The fewest kits or blends that bring {"jars": [ids]} to zero, each above the quality floor.

    Raises `InvalidValue` with every jar that cannot be planned for.
    """
    checked = Body(body, ("jars",))
    given = checked.raw.get("jars")
    ids: list[int] = []
    if not isinstance(given, list | tuple) or not 1 <= len(given) <= MOST_CHOSEN:
        got = given if not isinstance(given, list | tuple) else f"a list of {len(given)}"
        checked.checks.wrong(
            "jars", got, f"a list of 1 to {MOST_CHOSEN} ids of jars", "Choose the most idle ones."
        )
    else:
        for number, one in enumerate(given):
            if isinstance(one, bool) or not isinstance(one, int) or not 1 <= one <= LARGEST_ID:
                allowed = "the id of a jar, a whole number from 1"
                checked.checks.wrong(f"jars.{number}", one, allowed, "Look the id up in the list of jars.")
            else:
                ids.append(one)
    checked.done()
    shelf, record = store.read(shelf_id), store.shelf_record(shelf_id)
    lexicon = built_in.lexicon()
    plan = core_use_up(ids, shelf, lexicon, today, settings_of(record["settings"], None))
    names = names_of(lexicon.colour_basics)
    return {
        "kits": plan.kits,
        "suggestions": [
            {
                "theme": one.theme.name,
                "kits": one.kits,
                "trio": answers.trio_facts(one.trio, names),
                "of_best": one.of_best,
                "takes": [{"jar": jar.id, "name": jar.name, "grams": grams} for jar, grams in one.takes],
            }
            for one in plan.suggestions
        ],
        "rests": [
            {"jar": rest.jar.id, "name": rest.jar.name, "grams": rest.grams, "cups": rest.cups}
            for rest in plan.rests
        ],
        "optimal": plan.optimal,
        "status": plan.status,
        "message": plan.message,
        "gap": plan.gap,
        "candidates": plan.candidates,
        "notes": _use_up_notes(plan),
    }


def _use_up_notes(plan: UseUp) -> list[str]:
    notes = ["Used up means that less than one cup is left: strew it over the last kits."]
    notes += [
        f"{rest.jar.name} keeps {rest.cups} cups: nothing else on the shelf that suits it holds enough."
        for rest in plan.rests
        if rest.cups
    ]
    return notes


def calendar_ahead(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """Feasts and holidays for {"from"?, "to"?, "country"?, "region"?}, with what to plan and by when.

    Country and region are the shelf's unless they are given.
    """
    checked = Body(body, CALENDAR)
    first, last = (_day(checked, name) for name in ("from", "to"))
    place = [_text(checked, name) for name in ("country", "region")]
    record, shelf = store.shelf_record(shelf_id), store.read(shelf_id)
    country, region, problems = _place(place[0], place[1], record["region"])
    checked.checks.problems += problems
    checked.done()
    first = first or today
    last = last or first + timedelta(days=USUAL_AHEAD)
    lexicon = built_in.lexicon()
    themes = (*shelf.themes, *lexicon.themes)
    settings = settings_of(record["settings"], None)
    found = calendar.events(first, last, country, region, themes)
    return {
        "from": first.isoformat(),
        "to": last.isoformat(),
        "country": country,
        "region": region,
        "note": None if country else "Name the shelf's country and region to see its own holidays too.",
        "items": [_event(e, settings, today) for e in found],
    }


def _text(checked: Body, name: str) -> str | None:
    given = checked.raw.get(name)
    told = str(given) if isinstance(given, int) and not isinstance(given, bool) else given
    return checked.checks.text(name, told, longest=20, required=name in checked.raw)


def _day(checked: Body, name: str) -> date | None:
    told = checked.checks.day(name, checked.raw.get(name))
    return date.fromisoformat(told) if told else None


def _place(
    country: str | None, region: str | None, of_shelf: str | None
) -> tuple[str | None, str | None, list[Problem]]:
    """Country and region asked for; else the shelf's, as far as its region names a country."""
    if country is not None:
        return calendar.place_of(country if region is None else f"{country}-{region}")
    found, of_country, problems = calendar.place_of(of_shelf)
    if region is None or found is None:
        if region is not None:
            hint = "Name the country too, or the shelf's region, such as US-CA."
            return None, None, [Problem("region", region, "a region of a country that is named", hint)]
        return (None, None, []) if problems and found is None else (found, of_country, [])
    return calendar.place_of(f"{found}-{region}")


def _event(event: calendar.Event, settings: Settings, today: date) -> Json:
    """A day ahead; where a theme suits it, by when kits have to be ready, and the days before that."""
    days = None
    if event.theme is not None:
        ready = event.day - timedelta(days=settings.work.ready_days_before)
        days = _days(selling_days(ready, settings, today=today))
    return {
        "date": event.day.isoformat(),
        "name": event.name,
        "theme": event.theme,
        "public": event.public,
        "doubt": event.doubt or None,
        "source": event.source,
        "days": days,
    }
