"""Whether the service lives and can answer."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.base import Strict, sentences, text_out


class Alive(Strict):
    """That the service lives."""

    alive = fields.Boolean(required=True)
    version = text_out("of the program")


class Health(Alive):
    """Whether the service can answer."""

    ready = fields.Boolean(required=True)
    why = sentences("what is missing, empty when ready")
