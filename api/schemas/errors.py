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


class StandInTold(Strict):
    """A jar that looks alike and has enough."""

    jar = fields.Integer(required=True, metadata=told("its id"))
    name = fields.String(required=True, metadata=told("its name"))
    have_g = fields.Float(required=True, allow_none=True, metadata=told("g of it that nobody else has"))
    delta_e = fields.Float(required=True, metadata=told("CIEDE2000 between the two"))


class ShortTold(Strict):
    """A jar of which there is too little."""

    batch = fields.Integer(metadata=told("the batch that lacks it, where it is there already"))
    jar = fields.Integer(required=True, metadata=told("its id"))
    name = fields.String(required=True, metadata=told("its name"))
    need_g = fields.Float(required=True, allow_none=True, metadata=told("g needed; null where not known"))
    have_g = fields.Float(required=True, allow_none=True, metadata=told("g nobody else has; null: not counted"))
    instead = fields.List(fields.Nested(StandInTold), required=True, metadata=told("jars that look alike"))


class ErrorFacts(Strict):
    """What went wrong."""

    code = fields.String(required=True, metadata=told("stable name of the error"))
    message = fields.String(required=True, metadata=told("one plain sentence"))
    problems = fields.List(fields.Nested(Problem), required=True, metadata=told("all of them, not the first"))
    request = fields.String(metadata=told("with statuses from 500 on: the id under which the log tells more"))
    short = fields.List(fields.Nested(ShortTold), metadata=told("with short_stock: what there is too little of"))


class ErrorBody(Strict):
    """Every error of the API has this shape."""

    error = fields.Nested(ErrorFacts, required=True)
