"""What a customer's message is answered with; `api.requests` makes it."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.answers import Ideas
from api.schemas.base import Strict, many, money_out, sentences, text_out, told, whole_out


class ReadTold(Strict):
    """What was read from a customer's message, to be corrected."""

    theme = text_out("the words understood as the theme, with commas between")
    kits = whole_out("how many kits, null where not said", 1, allow_none=True)
    cookies = whole_out("cookies in a kit", 1)
    date = text_out("the day, YYYY-MM-DD", allow_none=True)
    date_doubt = text_out("what is doubtful about the day", allow_none=True)
    colours_unwanted = fields.List(
        fields.String(), required=True, metadata=told("by the words they were read from")
    )
    not_understood = fields.List(fields.String(), required=True)
    customer = fields.String(
        required=True, metadata=told("the name that the message is signed with; empty where none is")
    )


class OfferTold(Strict):
    """One idea as it is offered: its price and its allergens, dough and icing included."""

    price_per_kit = money_out("null where costs are not known")
    cost_per_kit = money_out("what it costs her")
    at_least = fields.Boolean(required=True, metadata=told("whether some cost is not known"))
    missing = sentences("what of the cost is not known")
    makes_kits = whole_out("kits that can be promised of what is free, null where unknown", allow_none=True)
    late = fields.String(required=True, metadata=told("that the day is too near, in words; empty where it is not"))
    contains = fields.List(fields.String(), required=True, metadata=told("allergens in it"))
    traces = fields.List(fields.String(), required=True, metadata=told("allergens of which there may be traces"))


class RequestTold(Ideas):
    """A customer's message answered: what was read, ideas, an offer for each, and a reply to send."""

    read = fields.Nested(ReadTold, required=True)
    offers = many(OfferTold, "one for each idea, in their order")
    reply = text_out("ready to send; plain text")
