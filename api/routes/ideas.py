"""Ideas: a palette, a trio and cutters for a theme."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api import questions
from api.reading import json_body
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.answers import Ideas
from api.schemas.questions import AskIdeas
from api.service import service

blp = Blueprint("ideas", __name__, url_prefix="/api/v1/ideas", description="Whole kits")


@blp.route("", methods=["POST"])
@operation(
    200, Ideas, "ideas, the best first", takes=AskIdeas, example={"theme": "owl party in teal and gold", "kits": 4}
)
def ideas() -> Response:
    """Ideas for a theme, a season or a customer's request, each with its reasons."""
    body, at = json_body(), service()
    return reply(questions.ideas(at.store, at.shelf_id, body, at.today()))
