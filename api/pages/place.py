"""The shelf's own place: its name, money, and how days and numbers are written there."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Blueprint, Response, redirect, request

from api.local import Local
from api.pages.amiss import FormFields
from api.pages.base import show, told
from api.service import service
from themekit.errors import ThemekitError

blp = Blueprint("place_page", __name__)
FIELDS = ("name", "currency", "locale", "region")
_FORM = FormFields("p-", FIELDS)
_SHOWN = ("en-US", "en-GB", "en-CA", "en-AU", "de-DE", "fr-FR", "nl-NL", "sv-SE", "pl-PL", "es-ES")
_EXAMPLE_DAY, _EXAMPLE = date(2026, 12, 5), "1234.5"


@blp.route("/shelf/place", methods=["GET", "POST"])
def place() -> Response:
    """See and change it; a form that someone else overtook overwrites nothing."""
    at = service()
    row = at.store.shelf_record(at.shelf_id)
    if request.method == "GET":
        return _shown(row, row)
    given: dict[str, Any] = {name: request.form.get(name, "").strip() or None for name in FIELDS}
    try:
        at.store.change_shelf(at.shelf_id, given, request.form.get("version", type=int))
    except ThemekitError as error:
        return _shown(row, given, error)
    made: Any = redirect("/shelf/place?kept=1", 303)
    return made  # type: ignore[no-any-return]


def _shown(row: Any, given: Any, error: ThemekitError | None = None) -> Response:
    write = Local(row["locale"])
    example = f"{write.day(_EXAMPLE_DAY)}; {write.money(_EXAMPLE, row['currency'] or '')}"
    values = {"row": row, "given": given, "example": example, "locales": _SHOWN, "kept": request.args.get("kept")}
    return show("place.html", 422 if error else 200, **values, **({"error": told(error, _FORM)} if error else {}))
