"""What each operation takes and gives, for the OpenAPI document."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from http import HTTPStatus
from typing import Any, TypeVar, cast

from flask import Response
from flask_smorest import Blueprint
from marshmallow import Schema

from api.bodies import RANGES
from catalog.lookup import LARGEST_ID

View = TypeVar("View", bound=Callable[..., Response])

# Every operation passes the gate and reads the shelf, so each may find none, several, or no database.
_ALWAYS = (401, 403, 404, 421, 422, 500, 503)
_WITH_BODY = (400, 413, 415)
ETAG = {"ETag": {"description": "the row's version, for If-Match", "schema": {"type": "string"}}}
LOCATION = {"Location": {"description": "where the new row is", "schema": {"type": "string"}}}
IF_MATCH = {
    "in": "header",
    "name": "If-Match",
    "description": "the ETag that was read; the change is refused when someone else came first",
    "schema": {"type": "string"},
}

KEY = {
    "in": "header",
    "name": "Idempotency-Key",
    "description": "a key of the caller's own; repeating it is answered alike and changes nothing",
    "schema": {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!-~]+$"},
}


def operation(
    status: int,
    gives: type[Schema] | None,
    description: str,
    *,
    takes: type[Schema] | None = None,
    example: dict[str, Any] | None = None,
    headers: dict[str, Any] | None = None,
    errors: Iterable[int] = (),
    parameters: Iterable[dict[str, Any]] = (),
    other: dict[int, tuple[type[Schema], str]] | None = None,
    media: str | None = None,
) -> Callable[[View], View]:
    """Document an operation: its answer, its body, its errors, and answers of another shape.

    `media` is that of an answer which is no JSON.
    """
    answer: dict[str, Any] = {"description": description}
    if gives is not None:
        answer["content"] = {"application/json": {"schema": gives}}
    if media is not None:
        answer["content"] = {media: {}}
    if headers:
        answer["headers"] = headers
    wrong = {*_ALWAYS, *errors, *(_WITH_BODY if takes else ())}
    responses: dict[str, Any] = {str(status): answer}
    responses |= {str(code): HTTPStatus(code).name for code in sorted(wrong)}
    for code, (schema, why) in (other or {}).items():
        responses[str(code)] = {"description": why, "content": {"application/json": {"schema": schema}}}
    doc: dict[str, Any] = {"responses": responses}
    if takes is not None:
        content: dict[str, Any] = {"schema": takes} | ({"example": example} if example else {})
        doc["requestBody"] = {"required": True, "content": {"application/json": content}}
    if parameters:
        doc["parameters"] = list(parameters)
    return cast(Callable[[View], View], Blueprint.doc(**doc))


def text_in_query(name: str, description: str, kind: str = "string", required: bool = False) -> dict[str, Any]:
    """A text, or the id of a row, in the query."""
    schema: dict[str, Any] = {"type": kind}
    schema |= {"minimum": 1, "maximum": LARGEST_ID} if kind == "integer" else {"minLength": 1, "maxLength": 120}
    return {"in": "query", "name": name, "description": description, "schema": schema, "required": required}


def number_in_query(name: str, usual: int, description: str, most: int | None = None) -> dict[str, Any]:
    """A whole number in the query."""
    least, usual_most = RANGES[name]
    return {
        "in": "query",
        "name": name,
        "description": description,
        "schema": {"type": "integer", "minimum": least, "maximum": most or usual_most, "default": usual},
    }


def choice_in_query(name: str, allowed: tuple[str, ...], description: str) -> dict[str, Any]:
    """One of a few words in the query."""
    schema = {"type": "string", "enum": list(allowed)}
    return {"in": "query", "name": name, "description": description, "schema": schema}
