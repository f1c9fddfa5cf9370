"""Whether the service can answer."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.answers import Health
from api.service import Service, service
from catalog import lexicon as built_in
from themekit import __version__
from themekit.errors import ThemekitError

blp = Blueprint("health", __name__, url_prefix="/api/v1/health", description="Whether it is ready")


@blp.route("")
@operation(200, Health, "ready", other={503: (Health, "not ready, and why")})
def health() -> Response:
    """Ready or not, and why."""
    why = [*_shelf_missing(service()), *_knowledge_missing()]
    return reply({"ready": not why, "why": why, "version": __version__}, 503 if why else 200)


def _shelf_missing(at: Service) -> list[str]:
    try:
        at.shelf_row()
    except ThemekitError as error:
        return [error.message, *(p.hint for p in error.problems if p.hint)]
    return []


def _knowledge_missing() -> list[str]:
    try:
        built_in.lexicon()
    except (OSError, ValueError, KeyError):
        return ["The built-in themes or colours cannot be read: install themekit again."]
    return []
