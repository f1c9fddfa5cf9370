"""Questions about the season: the joint plan, and its promise.

Like `api.questions`, for the service and the command line alike: from a plain body to the
answer as a JSON dict. What else concerns the season is in `calendars` and `using_up`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

from api.answers import Json
from api.bodies import Body
from api.season_answers import plan_told
from api.works import batches_of, check_needs, settings_of, tastes_of
from catalog import lexicon as built_in
from catalog.store import Store
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.season.plan import MOST_LINES, season_plan
from themekit.season.values import Keep, Planned, Progress, Stop, never, untold
from themekit.suggest.asked import MOST_KITS

LINE = ("theme", "kits", "date", "needs", "serve", "keep")
KEEP = ("theme", "tints", "jars")
SEASON = ("kits", "buy", "time_limit_s", "further")
USUAL_LIMIT_S, MOST_LIMIT_S = 20.0, 120.0


def season(
    store: Store, shelf_id: int, body: Any, today: date, progress: Progress = untold, stop: Stop = never
) -> Json:
    """The joint plan for {"kits": [{"theme"?, "kits", "date"?, "needs"?, "serve"?, "keep"?}], "buy"?,
    "time_limit_s"?}; `keep` is a kit of an earlier plan, {"theme", "tints", "jars"}, that a line has to be.

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
        return plan_told(plan, shelf, record, settings, today)

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
        keep = _keep(one)
        for p in one.checks.problems:
            checked.checks.wrong(f"kits.{number}.{p.field}", p.got, p.allowed, p.hint)
        out.append(Planned(theme, kits or 1, day, needs, serve, keep))
    return out


def _keep(one: Body) -> Keep | None:
    """The kit that a line has to be, as an answer named it."""
    if not one.has("keep"):
        return None
    kept = Body(one.raw["keep"], KEEP)
    theme, tints = kept.text("theme"), kept.three_colours("tints")
    jars = kept.raw.get("jars")
    if not isinstance(jars, list | tuple) or len(jars) != 3 or not all(type(j) is int for j in jars):
        kept.checks.wrong("jars", jars, "the ids of three jars", "Send `keep` as the plan gave it.")
    for p in kept.checks.problems:
        one.checks.wrong(f"keep.{p.field}", p.got, p.allowed, p.hint)
    return None if kept.checks.problems else Keep(theme, tuple(tints), tuple(jars or ()))


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
