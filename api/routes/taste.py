"""Learning from choices: what became of ideas, and what it does to the weights."""

from __future__ import annotations

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.reading import json_body
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.taste import ChoiceIn, TasteOut
from api.service import service
from api.tastes import taste_json
from api.works import tastes_of

blp = Blueprint("taste", __name__, url_prefix="/api/v1/taste", description="Learning from what became of ideas")


@blp.route("")
class Taste(MethodView):
    """The taste of the shelf."""

    @operation(200, TasteOut, "every weight beside its default, and what it was learned from")
    def get(self) -> Response:
        """What was learned so far."""
        at = service()
        return reply(taste_json(at.store, at.shelf_id))

    @operation(
        200,
        TasteOut,
        "what is learned with this choice",
        takes=ChoiceIn,
        example={
            "what": "kept",
            "idea": {"palette": {"parts": {"fit": 0.8, "contrast": 0.6}, "tints": [{"hex": "#2a9d8f"}]}},
            "theme": "owl party",
        },
    )
    def post(self) -> Response:
        """Say that an idea was kept, passed over, sold out or left over; said again it replaces."""
        body, at = json_body(), service()
        shelf_id = at.shelf_id
        tastes_of(at.store).record(shelf_id, body)
        return reply(taste_json(at.store, shelf_id))

    @operation(204, None, "everything learned is forgotten, and every weight is the default")
    def delete(self) -> Response:
        """Forget all choices."""
        at = service()
        tastes_of(at.store).reset(at.shelf_id)
        return Response(status=204)
