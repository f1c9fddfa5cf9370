"""What a phrase is understood to mean."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api import questions
from api.reading import json_body
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.questions import ReadTheme
from api.schemas.understood import ThemeRead
from api.service import service

blp = Blueprint("reading", __name__, url_prefix="/api/v1/themes", description="What a phrase means")


@blp.route("/read", methods=["POST"])
@operation(
    200,
    ThemeRead,
    "what was understood; no anchors where nothing was",
    takes=ReadTheme,
    example={"text": "owls in teal and gold, no nuts"},
)
def read() -> Response:
    """Read a phrase: its colours and motifs, from what and how surely."""
    body, at = json_body(), service()
    return reply(questions.read_theme(at.store, at.shelf_id, body))
