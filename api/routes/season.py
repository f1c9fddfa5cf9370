"""The season: the joint plan, its promise, and the calendar ahead."""

from __future__ import annotations

from typing import Any

from flask import Response
from flask_smorest import Blueprint

from api import seasons
from api.reading import json_body, query
from api.routes.batches import key
from api.routes.documented import KEY, operation, text_in_query
from api.routes.replies import reply
from api.schemas.season import CalendarOut, PromisedOut, PromiseIn, SeasonIn, SeasonOut, UseUpIn, UseUpOut
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


def _day(name: str, about: str) -> dict[str, Any]:
    asked = text_in_query(name, about)
    return asked | {"schema": {"type": "string", "format": "date"}}


@blp.route("/season", methods=["POST"])
@operation(200, SeasonOut, "the joint plan", takes=SeasonIn, example=_EXAMPLE)
def season() -> Response:
    """Choose palettes, trios and cutters for all planned kits together, from what is on the shelf."""
    body, at = json_body(), service()
    return reply(seasons.season(at.store, at.shelf_id, body, at.today()))


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
    return reply(seasons.use_up(at.store, at.shelf_id, body, at.today()))


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
    return reply(seasons.calendar_ahead(at.store, at.shelf_id, query(), at.today()))
