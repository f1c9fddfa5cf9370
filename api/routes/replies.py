"""Answers as JSON, with the headers that rows carry."""

from __future__ import annotations

from typing import Any

from flask import Response

from api.answers import to_json


def reply(body: Any, status: int = 200) -> Response:
    """A JSON answer."""
    return Response(to_json(body), status, mimetype="application/json")


def row_reply(row: dict[str, Any], status: int = 200) -> Response:
    """A row with its version as ETag."""
    made = reply(row, status)
    made.set_etag(str(row["version"]))
    return made
