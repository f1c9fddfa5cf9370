"""The week: what to bake, mix and pack, of all batches that are due together."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, Response, request

from api.pages.base import show, told
from api.service import service
from api.weeks import weeks as weeks_ahead
from themekit.errors import ThemekitError

blp = Blueprint("week_page", __name__)


@blp.get("/week")
def week() -> Response:
    """Weeks of work from now on, or from a day."""
    at = service()
    start = _day(request.args.get("from", ""), at.today())
    try:
        made = weeks_ahead(at.store, at.shelf_id, at.today(), date.fromisoformat(start))
    except ThemekitError as error:
        return show("week.html", 422, error=told(error), weeks=[], rows=[], start=start)
    due = [batch for week in made["weeks"] for batch in week["due"]]
    return show("week.html", plan=made, weeks=made["weeks"], rows=due, whose=made["whose"], start=start)


def _day(text: str, otherwise: date) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return otherwise.isoformat()
