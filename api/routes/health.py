"""Whether the service lives, and whether it can answer."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.health import Alive, Health
from api.service import service
from catalog import lexicon as built_in
from themekit import __version__

blp = Blueprint("health", __name__, url_prefix="/api/v1/health", description="Whether it lives and is ready")


@blp.route("")
@operation(200, Health, "ready", other={503: (Health, "not ready, and why")})
def health() -> Response:
    """Ready or not, and why: database there and up to date, built-in knowledge whole."""
    why = [*service().store.unready(), *_knowledge_missing()]
    body = {"alive": True, "ready": not why, "why": why, "version": __version__}
    return reply(body, 503 if why else 200)


@blp.route("/alive")
@operation(200, Alive, "alive, ready or not")
def alive() -> Response:
    """That the process answers; looks at nothing else, so that a database away restarts nobody."""
    return reply({"alive": True, "version": __version__})


def _knowledge_missing() -> list[str]:
    try:
        built_in.lexicon()
    except (OSError, ValueError, KeyError):
        return ["The built-in themes or colours cannot be read: install themekit again."]
    return []
