"""Jars, cutters, gels, boxes, supplies and own themes: list, create, read, change, remove."""

from __future__ import annotations

from flask import Response, url_for
from flask.views import MethodView
from flask_smorest import Blueprint

from api.bodies import Body
from api.reading import json_body, query, wanted_version
from api.routes.documented import ETAG, IF_MATCH, LOCATION, number_in_query, operation
from api.routes.replies import reply, row_reply
from api.schemas.things import RESOURCES, Resource
from api.service import service

USUAL_PAGE_SIZE = 50


def blueprint(resource: Resource) -> Blueprint:
    """The routes of one kind of thing."""
    name, one = resource.name, resource.one
    blp = Blueprint(name, __name__, url_prefix=f"/api/v1/{name}", description=f"The shelf's {name}")
    paging = (
        number_in_query("page", 1, "which page; past the end it is empty"),
        number_in_query("page_size", USUAL_PAGE_SIZE, "how many rows on a page"),
    )

    @blp.route("")
    class Many(MethodView):
        @operation(200, resource.page, f"the {name}", parameters=paging)
        def get(self) -> Response:
            asked = Body(query(), ("page", "page_size"))
            page, page_size = asked.whole("page", 1), asked.whole("page_size", USUAL_PAGE_SIZE)
            asked.done()
            at = service()
            rows, total = at.store.list(at.shelf_id, name, page, page_size)
            return reply({"items": rows, "page": page, "page_size": page_size, "total": total})

        @operation(
            201,
            resource.given,
            f"the new {one}",
            takes=resource.entered,
            example=resource.example,
            headers={**LOCATION, **ETAG},
        )
        def post(self) -> Response:
            record, at = json_body(), service()
            row = at.store.create(at.shelf_id, name, record)
            made = row_reply(row, 201)
            made.headers["Location"] = url_for(f"{name}.One", id=row["id"])
            return made

    @blp.route("/<row:id>")
    class One(MethodView):
        @operation(200, resource.given, f"the {one}", headers=ETAG)
        def get(self, id: int) -> Response:
            at = service()
            return row_reply(at.store.get(at.shelf_id, name, id))

        @operation(
            200,
            resource.given,
            f"the {one} as changed: the fields that are named, null makes one unknown",
            takes=resource.changes,
            headers=ETAG,
            errors=(412,),
            parameters=(IF_MATCH,),
        )
        def patch(self, id: int) -> Response:
            changes, at = json_body(), service()
            return row_reply(at.store.change(at.shelf_id, name, id, changes, wanted_version()))

        @operation(204, None, f"the {one} is off the shelf", errors=(412,), parameters=(IF_MATCH,))
        def delete(self, id: int) -> Response:
            at = service()
            at.store.remove(at.shelf_id, name, id, wanted_version())
            return Response(status=204)

    return blp


BLUEPRINTS = tuple(blueprint(resource) for resource in RESOURCES)
