"""Idle jars: what stands unused or dates soon, each with a use for it."""

from __future__ import annotations

from flask import Blueprint, Response, request

from api import questions
from api.pages.amiss import FormFields
from api.pages.base import show, told
from api.service import service
from themekit.errors import ThemekitError

blp = Blueprint("idle_page", __name__)


@blp.get("/idle")
def idle() -> Response:
    """Jars by how badly they want using, each with its best theme and trio."""
    at = service()
    days = request.args.get("days", "")
    body = {"days": int(days)} if days.isascii() and days.isdigit() and len(days) < 6 else {}
    try:
        answer = questions.idle(at.store, at.shelf_id, body, at.today())
    except ThemekitError as error:
        return show("idle.html", 422, error=told(error, FormFields("", ("days",))), days=days, items=[])
    return show("idle.html", days=answer["days"], items=answer["items"], money_in=answer["currency"] or "")
