"""The shelf itself: its name, money and place, and the standing dough and icing."""

from __future__ import annotations

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.reading import json_body, wanted_version
from api.routes.documented import ETAG, IF_MATCH, operation
from api.routes.replies import row_reply
from api.schemas.things import ShelfIn, ShelfOut
from api.service import service

blp = Blueprint("shelf", __name__, url_prefix="/api/v1/shelf", description="The shelf itself")


@blp.route("")
class Shelf(MethodView):
    """The shelf that is served."""

    @operation(200, ShelfOut, "the shelf", headers=ETAG)
    def get(self) -> Response:
        """The shelf and what its standing recipes hold."""
        at = service()
        return row_reply(at.store.shelf_record(at.shelf_id))

    @operation(
        200,
        ShelfOut,
        "the shelf as changed",
        takes=ShelfIn,
        example={"currency": "EUR", "dough": {"allergens": ["milk", "egg", "wheat", "gluten"]}},
        headers=ETAG,
        errors=(412,),
        parameters=(IF_MATCH,),
    )
    def patch(self) -> Response:
        """Change what is named; null makes a field unknown."""
        changes, at = json_body(), service()
        return row_reply(at.store.change_shelf(at.shelf_id, changes, wanted_version()))
