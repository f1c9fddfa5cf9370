"""What she thinks of ideas, and what was learned from it: said on a kit, told and taken back on its own page."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import parse_qsl

from flask import Blueprint, Response, redirect, request
from werkzeug.datastructures import MultiDict

from api.pages.answering import form_stands_at
from api.pages.base import show, told
from api.pages.kit_address import laid_of
from api.service import service
from api.tables import Table, judged
from api.tastes import taste_json
from api.works import tastes_of
from catalog import lexicon as built_in
from themekit.errors import ThemekitError

blp = Blueprint("taste_page", __name__, url_prefix="/taste")
_LONGEST = 8000


@blp.get("")
def taste() -> Response:
    """What was learned so far, in plain sentences."""
    at = service()
    return show("taste.html", taste=taste_json(at.store, at.shelf_id))


@blp.post("")
def say() -> Response:
    """Say that a kit is liked or passed over; said again of the same kit it counts once."""
    at, form = service(), request.form
    form_stands_at(_back())
    query = MultiDict(parse_qsl(form.get("kit", "")[:_LONGEST]))
    try:
        laid = laid_of(query, built_in.lexicon().colour_words).laid
        table = judged(at.store, at.shelf_id, laid, at.today())
        body = {"what": form.get("what"), "theme": table.laid.theme, "idea": _idea_of(table)}
        tastes_of(at.store).record(at.shelf_id, body)
    except ThemekitError as error:
        return show("plain.html", 422, heading="This was not noted", error=told(error), back=_back())
    # Back to where the button stood, where the thanks are.
    spot = form.get("spot", "")
    return _to(_back() + (f"#{spot}" if re.fullmatch(r"said\d{0,3}", spot, re.ASCII) else ""))


@blp.post("/reset")
def reset() -> Response:
    """Forget everything that was said and learned."""
    at = service()
    tastes_of(at.store).reset(at.shelf_id)
    return _to("/taste")


def said_of(theme: str, ideas: Sequence[Mapping[str, Any]]) -> tuple[str | None, ...]:
    """What was said of each idea of a theme before."""
    at = service()
    return tastes_of(at.store).said(at.shelf_id, theme, ideas)


def said_of_table(table: Table) -> str | None:
    """What was said of the kit on the table."""
    return said_of(table.laid.theme, [_idea_of(table)])[0]


def _idea_of(table: Table) -> dict[str, Any]:
    """The kit as `POST /api/v1/taste` takes it: its parts, and what tells it from others."""
    palette, trio = table.idea.palette.palette, table.idea.trio.trio
    return {
        "palette": {"parts": palette.parts, "tints": [{"hex": tint.hex} for tint in table.kit.tints]},
        "trio": {"parts": trio.parts, "jars": [{"id": jar.id} for jar in trio.jars]},
        "parts": table.idea.parts,
    }


def _back() -> str:
    back = request.form.get("back", "/")
    # Only an address of this page; "//elsewhere" would lead away.
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"


def _to(address: str) -> Response:
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]
