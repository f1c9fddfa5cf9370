"""Palettes for a theme, and a palette of her own judged."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api import questions
from api.reading import json_body
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.answers import Palettes, PaletteScore
from api.schemas.questions import AskPalettes, ScorePalette
from api.service import service

blp = Blueprint("palettes", __name__, url_prefix="/api/v1/palettes", description="Three icing tints")


@blp.route("", methods=["POST"])
@operation(
    200,
    Palettes,
    "palettes, the best first",
    takes=AskPalettes,
    example={"theme": "owl party in teal", "count": 3},
)
def palettes() -> Response:
    """Palettes that her gels can make for a theme."""
    body, at = json_body(), service()
    return reply(questions.palettes(at.store, at.shelf_id, body, at.today()))


@blp.route("/score", methods=["POST"])
@operation(
    200,
    PaletteScore,
    "the score and what makes it",
    takes=ScorePalette,
    example={"colours": ["#1d8a8a", "#d9a93b", "#ffffff"]},
)
def score() -> Response:
    """What the tool makes of three colours of her own."""
    body, at = json_body(), service()
    return reply(questions.score_palette(at.store, at.shelf_id, body))
