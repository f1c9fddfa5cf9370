"""Every error as one JSON shape: {"error": {"code", "message", "problems"}}, never exception text."""

from __future__ import annotations

from typing import Any

from flask import Flask, Response
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from api.access.errors import FromElsewhere, NotSignedIn, TooManyTries, WrongHost
from api.answers import to_json
from api.jobs import TooBusy
from api.reading import NotMultipart, Unreadable
from api.upkeep.watching import failed, request_id
from catalog.errors import NotAsShown, NotFound, StaleVersion, StoreUnusable
from catalog.fields import shown
from catalog.holding import Short
from themekit.errors import Problem, ThemekitError

MOST_BYTES = 1_000_000
#: What is not listed is answered with 422.
_STATUS: tuple[tuple[type[ThemekitError], int], ...] = (
    (Unreadable, 400),
    (FromElsewhere, 403),
    (NotSignedIn, 401),
    (TooManyTries, 429),
    (WrongHost, 421),
    (NotFound, 404),
    (StaleVersion, 412),
    (Short, 409),
    (NotAsShown, 409),
    (NotMultipart, 415),
    (StoreUnusable, 503),
    (TooBusy, 503),
)
#: Code, message, and what is allowed, of the errors that the web itself knows.
_WEB: dict[int, tuple[str, str, str, str]] = {
    404: ("not_found", "There is nothing at this address.", "an address of the API", "See /api/v1/docs."),
    405: ("method_not_allowed", "This address does not take that method.", "", "See /api/v1/docs."),
    413: (
        "too_large",
        "The body is too large.",
        f"at most {MOST_BYTES:,} bytes",
        "Send less at once.",
    ),
    415: (
        "not_json",
        "The body has to be JSON.",
        "the header Content-Type: application/json",
        "Set the header.",
    ),
    500: ("internal_error", "Something went wrong here; nothing was changed.", "", ""),
}


def error_body(code: str, message: str, problems: list[Problem] | tuple[Problem, ...] = ()) -> dict[str, Any]:
    """The one shape of every error."""
    told = [
        {"field": p.field, "got": shown(p.got), "allowed": p.allowed, "hint": p.hint or None} for p in problems
    ]
    return {"error": {"code": code, "message": message, "problems": told}}


def _answer(status: int, body: dict[str, Any]) -> Response:
    return Response(to_json(body), status, mimetype="application/json")


def status_of(error: ThemekitError) -> int:
    """The HTTP status of an error raised on purpose."""
    return next((s for kind, s in _STATUS if isinstance(error, kind)), 422)


def answer_own(error: ThemekitError) -> Response:
    """An error raised on purpose, with all its problems."""
    body, status = error_body(error.code, error.message, error.problems), status_of(error)
    if isinstance(error, Short):
        body["error"]["short"] = error.short
    if status >= 500:
        failed(error, foreseen=True)
        body["error"]["request"] = request_id()
    return _answer(status, body)


def answer_web(error: HTTPException) -> Response:
    """An error of the web itself, such as an unknown address."""
    status = error.code or 500
    usual = ("http_error", "This request cannot be answered.", "", "")
    code, message, allowed, hint = _WEB.get(status, usual)
    methods = sorted(getattr(error, "valid_methods", None) or ())
    if methods:
        allowed = "one of " + ", ".join(methods)
    got = {404: "path", 405: "method", 413: "body", 415: "Content-Type"}.get(status)
    problems = [Problem(got, _received(got), allowed, hint)] if got else []
    response = _answer(status, error_body(code, message, problems))
    if isinstance(error, MethodNotAllowed):
        response.headers["Allow"] = ", ".join(methods)
    return response


def _received(what: str) -> Any:
    from flask import request

    return {
        "path": request.path,
        "method": request.method,
        "body": f"{request.content_length or 'too many'} bytes",
        "Content-Type": request.headers.get("Content-Type"),
    }[what]


def answer_unforeseen(error: Exception) -> Response:
    """Anything else: logged in full, told without any of it."""
    failed(error)
    body = unforeseen_body()
    body["error"]["request"] = request_id()
    return _answer(500, body)


def unforeseen_body() -> dict[str, Any]:
    """A fault of the program, told without any of it."""
    code, message, _, _ = _WEB[500]
    return error_body(code, message)


def register(app: Flask) -> None:
    """Answer every error of `app` in the one shape."""
    app.register_error_handler(ThemekitError, answer_own)
    app.register_error_handler(HTTPException, answer_web)
    app.register_error_handler(Exception, answer_unforeseen)
