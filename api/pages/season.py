"""The season: the days ahead, a joint plan for several kits, and its promise as a whole."""

from __future__ import annotations

import json
from secrets import token_hex
from typing import Any

from flask import Blueprint, Response, redirect, request

from api import seasons
from api.pages.base import show, told
from api.pages.pictures import kit_of_idea, picture_of
from api.service import service
from themekit.errors import ThemekitError

blp = Blueprint("season_page", __name__, url_prefix="/season")
_LIMIT_S = 8


@blp.get("")
def season() -> Response:
    """What lies ahead, to choose from."""
    return show("season.html", calendar=_calendar(), plan=None)


@blp.post("")
def plan() -> Response:
    """Plan what was ticked together."""
    at, form = service(), request.form
    lines: list[dict[str, Any]] = []
    for number in form.getlist("line"):
        theme, day, kits = (form.get(f"{name}{number}", "").strip() for name in ("theme", "date", "kits"))
        if kits:
            lines.append({"theme": theme or None, "date": day or None, "kits": _whole(kits)})
    if not lines:
        message = {"message": "Write a number of kits beside at least one day.", "problems": [], "short": []}
        return show("season.html", 422, error=message, calendar=_calendar(), plan=None)
    try:
        made = seasons.season(at.store, at.shelf_id, {"kits": lines, "time_limit_s": _LIMIT_S}, at.today())
    except ThemekitError as error:
        return show("season.html", 422, error=told(error), calendar=_calendar(), plan=None)
    shelf = at.store.read(at.shelf_id)
    shown = []
    for number, line in enumerate(made["lines"], 1):
        idea = line.get("idea")
        picture = None
        if idea:
            title = f"Kit {number} of the plan"
            picture = picture_of(kit_of_idea(idea, line.get("theme") or "", shelf), f"s{number}", title)
        shown.append({**line, "picture": picture})
    batches = [line["batch"] for line in made["lines"] if line.get("batch")]
    return show(
        "season.html",
        calendar=None,
        plan=made,
        lines=shown,
        # A second press of the button repeats this key, and is answered alike.
        key=token_hex(12),
        batches=json.dumps(batches) if len(batches) == len(made["lines"]) else None,
    )


@blp.post("/promise")
def promise() -> Response:
    """Promise the whole plan, or nothing of it."""
    at = service()
    try:
        batches = json.loads(request.form.get("batches", ""))
    except (ValueError, RecursionError):
        batches = None
    try:
        seasons.promise(at.store, at.shelf_id, {"batches": batches}, request.form.get("key") or None)
    except ThemekitError as error:
        return show("season.html", 422, error=told(error), calendar=_calendar(), plan=None)
    made: Any = redirect("/week", 303)
    return made  # type: ignore[no-any-return]


def _calendar() -> dict[str, Any]:
    at = service()
    return seasons.calendar_ahead(at.store, at.shelf_id, {}, at.today())


def _whole(text: str) -> Any:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 8 else text
