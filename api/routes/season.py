"""The season: the joint plan, its promise, and the calendar ahead."""

from __future__ import annotations

from typing import Any

from flask import Response, request, url_for
from flask.views import MethodView
from flask_smorest import Blueprint

from api import calendars, seasons, using_up
from api.reading import json_body, query
from api.routes.batches import key
from api.routes.documented import KEY, operation, text_in_query
from api.routes.replies import reply
from api.schemas.season import (
    CalendarOut,
    PromisedOut,
    PromiseIn,
    SeasonIn,
    SeasonJobOut,
    SeasonOut,
    UseUpIn,
    UseUpOut,
)
from api.season_jobs import job_json
from api.service import service

blp = Blueprint("season", __name__, url_prefix="/api/v1", description="Many kits planned at once")

_EXAMPLE: dict[str, Any] = {
    "kits": [{"theme": "owl party", "kits": 12, "date": "2099-12-05"}, {"theme": None, "kits": 6}],
    "further": False,
}
_BATCH: dict[str, Any] = {
    "theme": "owl party", "kits": 2, "tints": ["#2a9d8f", "#e9c46a", "#6b4a2f"], "jars": [1, 2, 3],
    "cutters": [{"id": 1, "cookies": 8}],
}  # fmt: skip

_RESPOND_ASYNC = "respond-async"
_PREFER: dict[str, Any] = {
    "in": "header",
    "name": "Prefer",
    "description": "respond-async (RFC 7240) has the plan worked on in the background, and is answered at once",
    "schema": {"type": "string"},
}


def _day(name: str, about: str) -> dict[str, Any]:
    asked = text_in_query(name, about)
    return asked | {"schema": {"type": "string", "format": "date"}}


@blp.route("/season", methods=["POST"])
@operation(
    200,
    SeasonOut,
    "the joint plan",
    takes=SeasonIn,
    example=_EXAMPLE,
    parameters=(_PREFER,),
    other={202: (SeasonJobOut, "it is worked on; Location tells where to ask how far it is")},
)
def season() -> Response:
    """Choose palettes, trios and cutters for all planned kits together, from what is on the shelf."""
    body, at = json_body(), service()
    # It is only a preference: of several processes another might be asked for the job.
    if not (at.alone and _wants_to_go_on()):
        return reply(seasons.season(at.store, at.shelf_id, body, at.today()))
    job = at.jobs.start(at.shelf_id, seasons.season_work(at.store, at.shelf_id, body, at.today()))
    made = reply(job_json(job), 202)
    made.headers["Location"] = url_for("season.SeasonJob", job=job.id)
    made.headers["Preference-Applied"] = _RESPOND_ASYNC
    return made


def _wants_to_go_on() -> bool:
    """Whether the caller prefers not to wait (RFC 7240, 4.1)."""
    given = ",".join(request.headers.getlist("Prefer"))
    return _RESPOND_ASYNC in (one.split(";")[0].strip().lower() for one in given.split(","))


@blp.route("/season/jobs/<job>")
class SeasonJob(MethodView):
    """A plan that is being worked on, or was lately."""

    @operation(200, SeasonJobOut, "how far it is; with its answer once it has ended")
    def get(self, job: str) -> Response:
        """How far a plan is, and what came of it."""
        at = service()
        return reply(job_json(at.jobs.get(at.shelf_id, job)))

    @operation(204, None, "it stops, and is forgotten")
    def delete(self, job: str) -> Response:
        """Stop working on a plan, and forget it."""
        at = service()
        at.jobs.forget(at.shelf_id, job)
        return Response(status=204)


@blp.route("/season/promise", methods=["POST"])
@operation(
    201,
    PromisedOut,
    "the batches, all of them promised",
    takes=PromiseIn,
    example={"batches": [_BATCH]},
    errors=(409,),
    parameters=(KEY,),
)
def promise() -> Response:
    """Sketch and promise the batches of a plan: all of them, or none."""
    body, at = json_body(), service()
    return reply(seasons.promise(at.store, at.shelf_id, body, key()), 201)


@blp.route("/jars/use-up", methods=["POST"])
@operation(200, UseUpOut, "the fewest kits that use the jars up", takes=UseUpIn, example={"jars": [59, 61]})
def use_up() -> Response:
    """The fewest kits or blends that bring jars to zero, every one of them above the quality floor."""
    body, at = json_body(), service()
    return reply(using_up.use_up(at.store, at.shelf_id, body, at.today()))


@blp.route("/calendar")
@operation(
    200,
    CalendarOut,
    "feasts and holidays by day, with the days of selling and making",
    parameters=(
        _day("from", "the first day; today where left out"),
        _day("to", "the last day; some months later where left out"),
        text_in_query("country", "of ISO 3166, such as GB or GB-ENG; the shelf's where left out"),
        text_in_query("region", "of that country, such as ENG"),
    ),
)
def calendar() -> Response:
    """What is ahead: themes to plan, by when to have them ready, when to open and close orders."""
    at = service()
    return reply(calendars.calendar_ahead(at.store, at.shelf_id, query(), at.today()))
