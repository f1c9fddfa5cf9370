"""The week: what to bake, mix and pack, of all batches that are due together."""

from __future__ import annotations

from flask import Blueprint, Response, request

from api.pages.base import show, told
from api.prints.printing import weeks_of
from api.service import service
from api.works import plain
from themekit.errors import ThemekitError

blp = Blueprint("week_page", __name__)


@blp.get("/week")
def week() -> Response:
    """Weeks of work from now on, or from a day."""
    at = service()
    start = request.args.get("from", "") or at.today().isoformat()
    try:
        plan, rows = weeks_of(at.store, at.shelf_id, at.today())
    except ThemekitError as error:
        return show("week.html", 422, error=told(error), weeks=[], rows=[], start=start)
    made = plain(plan)
    weeks = [one for one in made["weeks"] if one["tasks"] and max(t["day"] for t in one["tasks"]) >= start]
    ids = {row["name"]: row["id"] for row in rows}
    return show("week.html", plan=made, weeks=weeks, rows=rows, ids=ids, start=start)
