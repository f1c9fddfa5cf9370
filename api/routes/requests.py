"""A customer's message: read, answered with ideas and prices, and a reply to send."""

from __future__ import annotations

from flask import Response
from flask.views import MethodView
from flask_smorest import Blueprint

from api.reading import json_body
from api.requests import request
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.questions import RequestAsked
from api.schemas.requests import RequestTold
from api.service import service

blp = Blueprint("requests", __name__, url_prefix="/api/v1/requests", description="Customers' messages")


@blp.route("")
class Requests(MethodView):
    """Answers to customers."""

    @operation(
        200,
        RequestTold,
        "what was read, ideas with prices, and a reply to send",
        takes=RequestAsked,
        example={"text": "owl party on 5 December, twelve kits, no milk, one child is three, loves purple"},
    )
    def post(self) -> Response:
        """Answer a customer's message; what is given besides the text goes before what was read."""
        body, at = json_body(), service()
        return reply(request(at.store, at.shelf_id, body, at.today()))
