"""What stands idle and what would use it; `api.answers` makes it."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.answers import JarShare, TrioFacts
from api.schemas.base import Strict, many, money_out, row_id, sentences, share, text_out, told, whole_out
from api.schemas.understood import AnchorTold


class UseTold(Strict):
    """A use for an idle jar."""

    theme = text_out("the theme that suits it")
    own = fields.Boolean(required=True, metadata=told("whether the theme is the baker's own"))
    score = fields.Float(required=True, metadata=told("fit of theme and trio together"))
    by_colour = fields.Boolean(
        required=True,
        metadata=told("whether the jar's shapes are none of the theme's, so that its colour alone suits"),
    )
    anchors = many(AnchorTold, "the theme's colours")
    trio = fields.Nested(TrioFacts, required=True)


class IdleJarTold(Strict):
    """A jar that stands idle."""

    id = row_id()
    name = text_out("its name")
    kind = text_out("its trade kind")
    colours = many(JarShare, "its colours")
    why = sentences("why it counts as idle")
    idle = share("how much it wants to be used", required=True)
    last_used = fields.Date(required=True, allow_none=True)
    best_before = fields.Date(required=True, allow_none=True)
    grams_at_risk = fields.Float(
        required=True, allow_none=True, metadata=told("g on hand, or what will be left at its best-before")
    )
    money_at_risk = money_out("what those grams cost")
    used_g_per_day = fields.Float(
        required=True, allow_none=True, metadata=told("of late; null while the ledger is too young to tell")
    )
    left_g = fields.Float(
        required=True, allow_none=True, metadata=told("g that will be left at its best-before at that rate")
    )
    uses = many(UseTold, "the best of all themes, then the best of the days ahead; none for a jar past its date")


class AheadTold(Strict):
    """A feast of the coming weeks."""

    date = fields.Date(required=True)
    name = text_out("what the day is called")
    theme = text_out("its theme")


class AtRisk(Strict):
    """What idle jars put at risk."""

    grams = fields.Float(required=True, metadata=told("g"))
    money = money_out("what they cost, null where no price is known")
    at_least = fields.Boolean(required=True, metadata=told("whether some amounts or prices are not known"))


class IdleJars(Strict):
    """Idle jars, the most idle first."""

    days = whole_out("unused for so many days", 1)
    currency = text_out("ISO 4217, null where the shelf names none", allow_none=True)
    ahead = many(AheadTold, "feasts of the coming weeks, whose themes are tried for each jar")
    at_risk = fields.Nested(AtRisk, required=True)
    items = many(IdleJarTold, "the jars")
