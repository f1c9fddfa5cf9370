"""A customer's message: what was read from it, three kits with prices, and a reply to send."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, request

from api.bodies import number_in
from api.pages.base import show, told
from api.pages.ideas import table_address
from api.pages.needs import needs_given
from api.pages.pictures import kit_of_idea, picture_of
from api.requests import request as answer_request
from api.service import service
from themekit.errors import ThemekitError

blp = Blueprint("reply_page", __name__)


@blp.get("/reply")
def reply() -> Response:
    """The message and its answer; what is corrected goes before what was read."""
    args = request.args
    text = args.get("text", "").strip()
    given = {name: args.get(name, "").strip() for name in ("kits", "date", "age")}
    values: dict[str, Any] = {"text": text, "given": given}
    if not text:
        return show("reply.html", **values)
    body: dict[str, Any] = {"text": text}
    body |= {"kits": number_in(given["kits"])} if given["kits"] else {}
    body |= {"date": given["date"]} if given["date"] else {}
    needs = needs_given(args)
    body |= {"needs": needs} if needs else {}
    at = service()
    try:
        answer = answer_request(at.store, at.shelf_id, body, at.today())
    except ThemekitError as error:
        return show("reply.html", 422, error=told(error), **values)
    shelf = at.store.read(at.shelf_id)
    shown = [
        {
            "picture": picture_of(kit_of_idea(idea, text, shelf), f"r{n}", f"Kit {n} from above"),
            "table": table_address(idea, text, answer["kits"], needs),
            "offer": offer,
            "idea": idea,
        }
        for n, (idea, offer) in enumerate(zip(answer["ideas"], answer["offers"], strict=True), 1)
    ]
    return show("reply.html", answer=answer, shown=shown, **values)
