"""Idle jars and what to do with them."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api import questions
from api.bodies import USUAL_DAYS, USUAL_IDLE
from api.reading import query
from api.routes.documented import number_in_query, operation
from api.routes.replies import reply
from api.schemas.idle import IdleJars
from api.service import service
from themekit.suggest.idle import MOST_JARS

blp = Blueprint("idle", __name__, url_prefix="/api/v1/jars", description="Jars that stand idle")

_ASKED = (
    number_in_query("days", USUAL_DAYS, "not used for so many days"),
    number_in_query("count", USUAL_IDLE, "how many jars at most", MOST_JARS),
)


@blp.route("/idle")
@operation(200, IdleJars, "idle jars, the most idle first", parameters=_ASKED)
def idle() -> Response:
    """The least used and soonest dated jars, each with its best use."""
    at = service()
    return reply(questions.idle(at.store, at.shelf_id, query(), at.today()))
