"""Every request gets an id and is told of when it is answered: one line in the log, one count in the metrics."""

from __future__ import annotations

import re
import time
import uuid
from typing import Any, cast

from flask import Flask, Response, current_app, g, has_request_context, request
from flask.wrappers import Request
from werkzeug.exceptions import HTTPException

from api.upkeep.log import log, told
from api.upkeep.metrics import Metrics

HEADER = "X-Request-ID"
_EXTENSION = "themekit.metrics"
_PERSONAL = "THEMEKIT_LOG_PERSONAL"
_WELL_FORMED = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{7,63}")
#: Bytes of a body that a personal log shows.
_MOST_SHOWN = 4_000


def register(app: Flask, personal: bool = False) -> None:
    """Watch an application. To be called before anything else may answer or refuse a request.

    `personal` also logs queries and bodies, and the texts of errors.
    """
    app.extensions[_EXTENSION] = Metrics()
    app.config[_PERSONAL] = personal
    app.before_request(_began)
    app.after_request(_answered)
    app.teardown_request(_ended)


def request_id() -> str:
    """The id of the present request."""
    return cast(str, g.request_id)


def metrics() -> Metrics:
    """The counts of the application that answers."""
    return cast(Metrics, current_app.extensions[_EXTENSION])


def of_shelf(shelf_id: int) -> None:
    """Note which shelf the present request is about."""
    if has_request_context():
        g.shelf_id = shelf_id


def failed(error: BaseException, foreseen: bool = False) -> None:
    """Log what kept the present request from being answered."""
    if not foreseen:
        metrics().failed()
    log.error("failed", **_which(), **told(error, current_app.config[_PERSONAL]))


def _began() -> None:
    given = request.headers.get(HEADER, "")
    g.request_id = given if _WELL_FORMED.fullmatch(given) else uuid.uuid4().hex
    g.began = time.perf_counter()
    metrics().began()


def _answered(response: Response) -> Response:
    took = time.perf_counter() - g.began
    response.headers[HEADER] = request_id()
    facts: dict[str, Any] = {**_which(), "status": response.status_code, "ms": round(1000 * took, 1)}
    # Passphrases and links are secrets, which no log may hold.
    if current_app.config[_PERSONAL] and request.blueprint not in ("door", "phone"):
        facts |= _personal(request)
    log.info("request", **facts)
    metrics().answered(request.method, facts["route"], response.status_code, took)
    return response


def _ended(_: BaseException | None) -> None:
    if "began" in g:
        metrics().ended()


def _which() -> dict[str, Any]:
    rule = request.url_rule
    return {
        "request": request_id(),
        "shelf": g.get("shelf_id"),
        "method": request.method,
        "route": None if rule is None else rule.rule,
    }


def _personal(sent: Request) -> dict[str, Any]:
    try:
        body = sent.get_data()[:_MOST_SHOWN] if sent.content_length else b""
    except HTTPException:
        # Too large to be read at all.
        body = b""
    return {
        "path": sent.path,
        "query": sent.query_string.decode("utf-8", "replace"),
        "body": body.decode("utf-8", "replace"),
    }
