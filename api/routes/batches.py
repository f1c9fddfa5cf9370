"""Batches: sketch, promise, pack, end or drop; and everything that follows from one, as JSON."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Response, request, url_for
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import json_body, query, query_text, wanted_version
from api.routes.documented import ETAG, IF_MATCH, KEY, LOCATION, number_in_query, operation, text_in_query
from api.routes.replies import reply, row_reply
from api.routes.things import USUAL_PAGE_SIZE
from api.schemas.batches import BatchChange, BatchIn, BatchOut, BatchPage, OutcomeIn, WeeksOut, WorkOut
from api.service import service
from api.weeks import weeks
from api.works import PARTS, check_needs, work_json

blp = Blueprint("batches", __name__, url_prefix="/api/v1/batches", description="Ideas made for a number of kits")

_EXAMPLE: dict[str, Any] = {
    "theme": "owl party",
    "kits": 12,
    "tints": ["#2a9d8f", "#e9c46a", "#6b4a2f"],
    "jars": [1, 2, 3],
    "cutters": [{"id": 1, "cookies": 8}],
}


def key() -> str | None:
    """The request's Idempotency-Key."""
    return request.headers.get("Idempotency-Key")


@blp.route("")
class Batches(MethodView):
    """All batches."""

    @operation(
        200,
        BatchPage,
        "the batches",
        parameters=(
            number_in_query("page", 1, "which page; past the end it is empty"),
            number_in_query("page_size", USUAL_PAGE_SIZE, "how many rows on a page"),
            text_in_query("state", "only those in this state"),
            text_in_query("order", "only those of this order", "integer"),
        ),
    )
    def get(self) -> Response:
        """List batches by id."""
        asked = Body(query(), ("page", "page_size", "state", "order"))
        page, page_size = asked.whole("page", 1), asked.whole("page_size", USUAL_PAGE_SIZE)
        asked.done()
        at = service()
        found = at.batches.list(at.shelf_id, page, page_size, asked.raw.get("state"), asked.raw.get("order"))
        return reply({"items": found[0], "page": page, "page_size": page_size, "total": found[1]})

    @operation(
        201,
        BatchOut,
        "the new batch, sketched",
        takes=BatchIn,
        example=_EXAMPLE,
        headers={**LOCATION, **ETAG},
        parameters=(KEY,),
    )
    def post(self) -> Response:
        """Sketch a batch from an idea; nothing is held yet."""
        body, at = json_body(), service()
        check_needs(body)
        row = at.batches.create(at.shelf_id, body, key())
        made = row_reply(row, 201)
        made.headers["Location"] = url_for("batches.One", id=row["id"])
        return made


@blp.route("/weeks")
class Weeks(MethodView):
    """Batches that are due together."""

    @operation(
        200,
        WeeksOut,
        "the work of each week and one shopping list for it",
        parameters=(text_in_query("from", "weeks that end before this day are left out, YYYY-MM-DD"),),
    )
    def get(self) -> Response:
        """Plan the weeks of all batches with a pick-up day that are sketched or promised."""
        asked = Body(query(), ("from",))
        start = asked.checks.day("from", query_text(asked, "from"))
        asked.done()
        at = service()
        return reply(weeks(at.store, at.shelf_id, at.today(), date.fromisoformat(start) if start else None))


@blp.route("/<row:id>")
class One(MethodView):
    """One batch."""

    @operation(200, BatchOut, "the batch", headers=ETAG)
    def get(self, id: int) -> Response:
        """Read a batch."""
        at = service()
        return row_reply(at.batches.get(at.shelf_id, id))

    @operation(
        200,
        BatchOut,
        "the batch as changed; what is promised is checked and held anew",
        takes=BatchChange,
        headers=ETAG,
        errors=(409, 412),
        parameters=(IF_MATCH,),
    )
    def patch(self, id: int) -> Response:
        """Change what is named."""
        changes, at = json_body(), service()
        check_needs(changes)
        return row_reply(at.batches.change(at.shelf_id, id, changes, wanted_version()))

    @operation(204, None, "the batch is off the list, what it held is free", errors=(412,), parameters=(IF_MATCH,))
    def delete(self, id: int) -> Response:
        """Take a batch off the list."""
        at = service()
        at.batches.remove(at.shelf_id, id, wanted_version())
        return Response(status=204)


def _step(name: str, about: str, *errors: int) -> None:
    """One address that brings a batch a step further; repeating it changes nothing."""

    @blp.route(f"/<row:id>/{name}", endpoint=name)
    class Step(MethodView):
        @operation(
            200, BatchOut, about, headers=ETAG, errors=errors, parameters=() if name == "unpack" else (KEY,)
        )
        def post(self, id: int) -> Response:
            at = service()
            step = getattr(at.batches, name)
            return row_reply(step(at.shelf_id, id) if name == "unpack" else step(at.shelf_id, id, key()))

    Step.__doc__ = about


_step("promise", "the batch with what it needs held for it", 409)
_step("pack", "the batch, packed: what it held is taken off the shelf", 409)
_step("unpack", "the batch, promised again: every move of its packing is undone", 409)
_step("drop", "the batch, given up: what it held is free")


@blp.route("/<row:id>/end")
class End(MethodView):
    """What became of the kits."""

    @operation(
        200,
        BatchOut,
        "the batch with its end",
        takes=OutcomeIn,
        example={"sold": 10, "left over": 2},
        headers=ETAG,
    )
    def post(self, id: int) -> Response:
        """Say how many kits were sold, left over, marked down or spoiled."""
        body, at = json_body(), service()
        return row_reply(at.batches.end(at.shelf_id, id, body))


def _part(name: str, parts: tuple[str, ...], about: str) -> None:
    """One address that reads a part of a batch's work."""

    @blp.route(f"/<row:id>/{name}", endpoint=name)
    class Part(MethodView):
        @operation(200, WorkOut, about)
        def get(self, id: int) -> Response:
            at = service()
            batch = at.batches.get(at.shelf_id, id)
            return reply(work_json(at.store, at.shelf_id, batch, at.today(), parts))

    Part.__doc__ = about


_part("work", PARTS, "everything that follows from the batch")
for _name in PARTS:
    _part(_name, (_name,), f"the {_name} of the batch")
