"""A form that is answered with a page leads to an address of that page, so that it is sent once only.

A browser that goes back to, or loads anew, what answered a form would ask whether to send it
again. So the page is kept for a short while and the browser led to it, at the form's own
address: back and reload show it again with all that was typed, with and without script.
Programs, which do not ask for a page by name, are answered at once.
"""

from __future__ import annotations

import secrets
from typing import Any
from urllib.parse import parse_qsl, urlencode

from flask import Flask, Response, current_app, g, make_response, redirect, request

from api.access.who import present
from api.service import service
from themekit.errors import ThemekitError

#: The field of an address that names the page kept for it.
FIELD = "answer"
#: What tells her something; a fault of ours or of the way is answered at once, to be sent again.
_STATUSES = (200, 404, 409, 412, 422)


def register(app: Flask) -> None:
    """Keep the answers to forms of an application; after whatever finds out who asks."""
    app.before_request(again)
    app.after_request(led)


def form_stands_at(address: str) -> None:
    """Say where the form of the present request stands, if not at its own address or the one above."""
    path, _, query = address.partition("?")
    g.form_stands_at = _without(path, query)


def answer_address() -> str:
    """Where the page that answers the present form will be found."""
    if "answer_name" not in g:
        g.answer_name = secrets.token_urlsafe(18)
    place = _place()
    return f"{place}{'&' if '?' in place else '?'}{urlencode({FIELD: g.answer_name})}"


def again() -> Response | None:
    """Show the page that answered a form before; one that is gone says so and leads to the form."""
    name = request.args.get(FIELD)
    if request.method != "GET" or name is None or request.path.startswith("/api/") or present().by == "nobody":
        return None
    from api.pages.base import POLICY, show

    at = service()
    page = at.answered.get(at.shelf_id, _of_asker(name))
    if page is None:
        back = _without(request.path, request.query_string.decode("latin-1"))
        lines = [
            "What was typed in a form is kept here for an hour, and this was longer ago or is erased.",
            "What you kept since is on the shelf.",
        ]
        return show("plain.html", 410, heading="This answer is no longer kept", lines=lines, back=back)
    made = make_response(page)
    made.mimetype = "text/html"
    made.headers["Content-Security-Policy"] = POLICY
    return made


def led(response: Response) -> Response:
    """Keep a page that answers a form of a browser, and lead there."""
    if (
        request.method != "POST"
        or request.endpoint is None
        or request.path.startswith("/api/")
        or response.mimetype != "text/html"
        or response.status_code not in _STATUSES
        or "text/html" not in request.headers.get("Accept", "")
    ):
        return response
    address = answer_address()
    try:
        at = service()
        kept = at.answered.put(at.shelf_id, _of_asker(g.answer_name), response.get_data())
    except ThemekitError:
        return response
    if not kept:
        return response
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]


def _without(path: str, query: str) -> str:
    """An address without the name of a page that was kept."""
    rest = urlencode([one for one in parse_qsl(query, keep_blank_values=True) if one[0] != FIELD])
    return f"{path}?{rest}" if rest else path


def _of_asker(name: str) -> str:
    """The page's name for this browser alone: of another sign-in it is another."""
    return f"{present().csrf}:{request.path if request.method == 'GET' else _place().partition('?')[0]}:{name}"


def _place() -> str:
    """The address at which the present form stands."""
    told: str | None = g.get("form_stands_at")
    if told is not None:
        return told
    can_be_opened = current_app.create_url_adapter(request).test(request.path, "GET")
    return request.path if can_be_opened else request.path.rpartition("/")[0] or "/"
