"""The season: the days ahead, a joint plan for several kits, and its promise as a whole."""

from __future__ import annotations

import json
from typing import Any

from flask import Blueprint, Response, redirect, request

from api import calendars, seasons
from api.jobs import Job
from api.pages.base import show, told
from api.pages.done import say
from api.pages.pictures import kit_of_idea, picture_of
from api.pages.season_lines import Line, by_line, in_address, lines_of, typed_into
from api.season_jobs import done_of, stage_told
from api.service import service
from api.together import all_batches
from catalog.errors import NotFound
from themekit.errors import ThemekitError

blp = Blueprint("season_page", __name__, url_prefix="/season")
#: Of the solver; what it has by then is shown with what it may lack.
_LIMIT_S = 8
#: A plan that is there at once needs no page that asks to wait.
_AT_ONCE_S = 0.3
_NOTHING = {"message": "Write a number of kits beside at least one day.", "problems": [], "short": []}
_LOST = {"message": "This plan is no longer kept. Plan these lines again.", "problems": [], "short": []}
_FAULT = {"message": "Something went wrong here; nothing was changed.", "problems": [], "short": []}


@blp.get("")
def season() -> Response:
    """What lies ahead, to choose from; what the address holds is typed in already."""
    return _form(lines_of(request.args))


@blp.post("")
def plan() -> Response:
    """Begin to plan what was typed, and go to where it can be watched."""
    lines = lines_of(request.form)
    if not lines:
        return _form(lines, _NOTHING)
    return _begun(lines, [line.body() for line in lines])


@blp.post("/swap")
def swap() -> Response:
    """Plan once more with another kit for one line and the kits of the others kept."""
    lines = lines_of(request.form)
    keeps = [_kept(text) for text in request.form.getlist("keep")]
    number, _, other = request.form.get("other", "").partition(":")
    if not lines or len(keeps) != len(lines) or number not in {str(n) for n in range(1, len(lines) + 1)}:
        return _form(lines, _LOST)
    keeps[int(number) - 1] = _kept(other)
    bodies = [line.body() | {"keep": keep} for line, keep in zip(lines, keeps, strict=True)]
    return _begun(lines, bodies, f"#kit{number}")


def _begun(lines: list[Line], bodies: list[dict[str, Any]], spot: str = "") -> Response:
    """Begin to plan, and go to where that is watched; `spot` is the part of the plan to look at."""
    at, body = service(), {"kits": bodies, "time_limit_s": _LIMIT_S}
    try:
        job = at.jobs.start(at.shelf_id, seasons.season_work(at.store, at.shelf_id, body, at.today()))
    except ThemekitError as error:
        return _form(lines, by_line(error, lines))
    if not at.alone:
        # Another process may be asked next, and knows nothing of it.
        job.ended.wait()
        return _ended(job, lines)
    job.ended.wait(_AT_ONCE_S)
    return _to(f"/season/plan/{job.id}?{in_address(lines)}{spot}")


def _kept(text: str) -> Any:
    """A kit as a form carries it, None for none; what is none is told by whoever reads it."""
    try:
        return json.loads(text) if text else None
    except (ValueError, RecursionError):
        return text


@blp.get("/plan/<job>")
def planned(job: str) -> Response:
    """How far a plan is; once it has ended, the plan."""
    at, lines = service(), lines_of(request.args)
    try:
        found = at.jobs.get(at.shelf_id, job)
    except NotFound:
        return _form(lines, _LOST, 404)
    return _ended(found, lines) if found.ended.is_set() else _waiting(found, lines)


@blp.post("/plan/<job>/stop")
def stop(job: str) -> Response:
    """Stop planning; what was chosen so far is shown."""
    at, lines = service(), lines_of(request.form)
    try:
        at.jobs.stop(at.shelf_id, job).ended.wait(_AT_ONCE_S)
    except NotFound:
        return _form(lines, _LOST, 404)
    return _to(f"/season/plan/{job}?{in_address(lines)}")


@blp.post("/promise")
def promise() -> Response:
    """Promise the whole plan, or nothing of it."""
    at, lines = service(), lines_of(request.form)
    try:
        batches = json.loads(request.form.get("batches", ""))
    except (ValueError, RecursionError):
        batches = None
    try:
        made = seasons.promise(at.store, at.shelf_id, {"batches": batches}, request.form.get("key") or None)
    except ThemekitError as error:
        return _form(lines, told(error))
    return say(_to("/week"), "promised", len(made["items"]))


def _form(lines: list[Line], error: dict[str, Any] | None = None, status: int = 422) -> Response:
    """The days ahead with what was typed."""
    at = service()
    rows = [row for state in ("promised", "sketched") for row in all_batches(at.store, at.shelf_id, state)]
    ahead = typed_into(calendars.calendar_ahead(at.store, at.shelf_id, {}, at.today()), lines, rows)
    more = {} if error is None else {"error": error}
    return show("season.html", 200 if error is None else status, ahead=ahead, **more)


def _waiting(job: Job, lines: list[Line]) -> Response:
    return show(
        "season_wait.html",
        job=job,
        stage=stage_told(job),
        done=done_of(job),
        lines=lines,
        address=f"/season/plan/{job.id}?{in_address(lines)}",
    )


def _ended(job: Job, lines: list[Line]) -> Response:
    """The plan, or the days ahead with why there is none."""
    if job.answer is None:
        return _form(lines, _FAULT if job.error is None else by_line(job.error, lines), 422)
    at, made = service(), job.answer
    shelf = at.store.read(at.shelf_id)
    shown = []
    for number, line in enumerate(made["lines"], 1):
        idea, picture = line["idea"], None
        if idea:
            title = f"Kit {number} of the plan"
            picture = picture_of(kit_of_idea(idea, line["theme"] or "", shelf), f"s{number}", title)
        others = [{**one, "as_text": json.dumps(one["keep"])} for one in line["others"]]
        shown.append({**line, "number": number, "picture": picture, "others": others})
    shown.sort(key=lambda line: (line["date"] or "9999", line["number"]))
    batches = [line["batch"] for line in made["lines"] if line["batch"]]
    return show(
        "season_plan.html",
        plan=made,
        stopped=job.state == "stopped",
        lines=shown,
        typed=lines,
        keeps=[json.dumps(line["keep"]) if line["keep"] else "" for line in made["lines"]],
        again="/season?" + in_address(lines),
        # A second press of the button, also after a reload, repeats this key and is answered alike.
        key=f"season-{job.id}",
        batches=json.dumps(batches) if batches and len(batches) == len(made["lines"]) else None,
    )


def _to(address: str) -> Response:
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]
