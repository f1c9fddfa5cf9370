"""Trios of jars for a theme or a palette."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api import questions
from api.reading import json_body
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.answers import Trios
from api.schemas.questions import AskTrios
from api.service import service

blp = Blueprint("trios", __name__, url_prefix="/api/v1/trios", description="Three jars")


@blp.route("", methods=["POST"])
@operation(
    200,
    Trios,
    "trios, the best first",
    takes=AskTrios,
    example={"palette": ["#1d8a8a", "#d9a93b", "#ffffff"], "serve": "mixed"},
)
def trios() -> Response:
    """Three jars from her shelf for a theme, or for three icing colours."""
    body, at = json_body(), service()
    return reply(questions.trios(at.store, at.shelf_id, body, at.today()))
