"""The one shape of errors."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.base import Strict, told


class Problem(Strict):
    """One thing that is wrong and how to mend it."""

    field = fields.String(required=True, metadata=told("where it is, as a dotted path"))
    got = fields.Raw(required=True, metadata=told("the value received, shortened where it is long"))
    allowed = fields.String(required=True, metadata=told("what would have been accepted"))
    hint = fields.String(required=True, allow_none=True, metadata=told("what to do next"))


class ErrorFacts(Strict):
    """What went wrong."""

    code = fields.String(required=True, metadata=told("stable name of the error"))
    message = fields.String(required=True, metadata=told("one plain sentence"))
    problems = fields.List(fields.Nested(Problem), required=True, metadata=told("all of them, not the first"))


class ErrorBody(Strict):
    """Every error of the API has this shape."""

    error = fields.Nested(ErrorFacts, required=True)
