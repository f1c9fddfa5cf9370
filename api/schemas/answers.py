"""What questions are answered with; `api.answers` makes it."""

from __future__ import annotations

from typing import Any

from marshmallow import fields
from marshmallow.validate import Length, Range

from api.bodies import SERVES
from api.schemas.base import Strict, choice, hex_out, lab_out, money_out, row_id, sentences, share, told


def _text(description: str, **more: Any) -> fields.String:
    return fields.String(required=True, metadata=told(description), **more)


def _score() -> fields.Float:
    return share("0–1, higher is better", required=True)


def _parts() -> fields.Dict:
    part = fields.Float(validate=Range(0, 1))
    return fields.Dict(
        keys=fields.String(), values=part, required=True, metadata=told("what the score is made of, each 0–1")
    )


def _whole(description: str, least: int = 0, **more: Any) -> fields.Integer:
    return fields.Integer(required=True, validate=Range(least), metadata=told(description), **more)


def _many(schema: Any, description: str, **more: Any) -> fields.List:
    return fields.List(fields.Nested(schema), required=True, metadata=told(description), **more)


class AnchorTold(Strict):
    """A colour of a theme; the weights add up to 1."""

    hex = hex_out()
    lab = lab_out()
    name = _text("the nearest plain colour name")
    weight = share("how much it belongs", required=True)
    from_ = _text("the words, theme or thing that brought it", data_key="from")


class MotifTold(Strict):
    """A thing to see."""

    word = _text("a plain noun")
    weight = share("how much it belongs", required=True)
    kind = choice(
        "how it came: of the theme, a guess at a word, near to a thing named, of what is celebrated",
        ("theme", "guess", "near", "occasion"),
        required=True,
        allow_none=False,
    )
    of = _text("the words guessed at, the thing it is near to or the occasion; empty for the theme's own")


class UnderstoodTold(Strict):
    """One part of the phrase and what it was taken for."""

    words = _text("the words as written")
    as_ = _text("colour, theme, thing, need, kits, cookies or date", data_key="as")
    name = _text("what they were taken for")
    how = _text("by what: by name, by meaning, or the need that it fills")
    sureness = share("0 for not at all, 1 for sure", required=True)


class ThemeTold(Strict):
    """What a phrase was understood to mean."""

    text = _text("the phrase")
    anchors = _many(AnchorTold, "the theme's colours, none where nothing was understood")
    motifs = _many(MotifTold, "things to see")
    understood = _many(UnderstoodTold, "what was read, and from what")
    unknown_ = fields.List(
        fields.String(), required=True, data_key="unknown", metadata=told("words that were not understood")
    )
    sureness = share("0 for not at all, 1 for sure", required=True)
    fallback = fields.Boolean(required=True, metadata=told("whether too little was understood"))


class AppliedNeed(Strict):
    """One need as applied."""

    need = _text("the field of needs, or avoid_motifs")
    value = fields.Raw(required=True, metadata=told("the value applied"))
    source = _text("given, or the words it was read from")


class NeedsTold(Strict):
    """The needs as applied."""

    applied = _many(AppliedNeed, "each with its source")


class OrderTold(Strict):
    """Facts of an order that the phrase names."""

    kits = _whole("how many kits", 1, allow_none=True)
    cookies = _whole("cookies in a kit", 1, allow_none=True)
    date = _text("month and day as MM-DD", allow_none=True)


class ThemeRead(ThemeTold):
    """What a phrase was understood to mean, with its needs and facts."""

    needs = fields.Nested(NeedsTold, required=True)
    order = fields.Nested(OrderTold, required=True)
    hint = _text("what to do where little or nothing was understood", allow_none=True)


class UnmetTold(Strict):
    """A need that the standing dough or icing breaks."""

    need = _text("the need")
    of = _text("dough or icing")
    why = _text("why it is not met")


class UnreachedTold(Strict):
    """A colour of the theme that the gels cannot make."""

    hex = hex_out()
    name = _text("its plain name")
    nearest = hex_out()
    delta_e = fields.Float(required=True, metadata=told("CIEDE2000 between the two"))


class DoseTold(Strict):
    """So much of one gel."""

    gel = _text("its name")
    gel_id = _whole("its id, null for a kitchen staple", 1, allow_none=True)
    g_per_100g = fields.Float(required=True, metadata=told("g of gel in 100 g of icing"))


class ColourTold(Strict):
    """A colour."""

    hex = hex_out()
    lab = lab_out()
    name = _text("the nearest plain colour name")


class TintTold(ColourTold):
    """An icing colour with its recipe."""

    recipe = _many(DoseTold, "empty for plain icing")


class PaletteTold(Strict):
    """Three tints."""

    score = _score()
    parts = _parts()
    tints = _many(TintTold, "three of them", validate=Length(equal=3))
    reasons = sentences("why they suit")
    cautions = sentences("what to mind")


class PaletteScore(Strict):
    """What the tool makes of three colours."""

    theme = fields.Nested(ThemeTold, required=True, allow_none=True)
    score = _score()
    parts = _parts()
    colours = _many(ColourTold, "the three colours", validate=Length(equal=3))
    reasons = sentences("what makes the score")


class JarShare(Strict):
    """One colour of a jar."""

    hex = hex_out()
    share = share("its part of the jar", required=True)


class PortionTold(Strict):
    """One jar's part in a kit."""

    id = row_id()
    name = _text("its name")
    kind = _text("its trade kind")
    colours = _many(JarShare, "its colours")
    grams_per_kit = fields.Float(
        required=True, allow_none=True, metadata=told("g in one kit, null where density is unknown")
    )
    share = share("its part of the volume", required=True)


class TrioFacts(Strict):
    """Three jars."""

    score = _score()
    parts = _parts()
    serve = choice("apart or mixed", SERVES, required=True, allow_none=False)
    jars = _many(PortionTold, "three of them", validate=Length(equal=3))
    blend = fields.Nested(
        ColourTold, required=True, allow_none=True, metadata=told("the blend's mean colour, of a mixed trio")
    )
    makes_kits = _whole(
        "about how many kits the jars on hand make, no waste counted, null where unknown", allow_none=True
    )
    price_per_kit = money_out("what the toppings of one kit cost, null where unknown")
    proven = fields.Boolean(required=True, metadata=told("whether no better trio can exist"))


class TrioTold(TrioFacts):
    """Three jars with reasons and cautions."""

    reasons = sentences("why they suit")
    cautions = sentences("what to mind")


class CutterTold(Strict):
    """A cutter and the cookies to cut with it."""

    id = row_id()
    name = _text("its name")
    cookies = _whole("how many", 1)
    motif = _text("what it was taken for, null for a plain shape", allow_none=True)


class CostTold(Strict):
    """What one kit costs, as far as it is known."""

    toppings_per_kit = money_out("the toppings, null where a price or density is unknown")
    currency = _text("ISO 4217, null where the shelf names none", allow_none=True)


class IdeaTold(Strict):
    """A palette, a trio and cutters that suit each other."""

    score = _score()
    parts = _parts()
    palette = fields.Nested(PaletteTold, required=True)
    trio = fields.Nested(TrioTold, required=True)
    cutters = _many(CutterTold, "spread over the kit's cookies")
    makes_kits = _whole(
        "about how many kits the jars on hand make, no waste counted, null where unknown", allow_none=True
    )
    cost = fields.Nested(CostTold, required=True)
    fallback = fields.Boolean(
        required=True, metadata=told("a many-coloured idea, offered because little was understood")
    )
    reasons = sentences("why it suits")
    cautions = sentences("what to mind, the most serious first")


class ToldFirst(Strict):
    """What leads every answer."""

    unmet = _many(UnmetTold, "needs that the standing dough or icing breaks")
    theme = fields.Nested(ThemeTold, required=True, allow_none=True)
    kits = _whole("for how many kits", 1)
    needs = fields.Nested(NeedsTold, required=True)
    ruled_out = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(),
        required=True,
        metadata=told("how many jars each need ruled out"),
    )


class Palettes(ToldFirst):
    """Palettes for a theme, the best first."""

    unreached = _many(UnreachedTold, "colours of the theme that the gels cannot make")
    palettes = _many(PaletteTold, "each apart from those before it")
    notes = sentences("what else to know")


class Trios(ToldFirst):
    """Trios for a theme or a palette, the best first."""

    palette = _many(ColourTold, "the palette that was given", allow_none=True)
    trios = _many(TrioTold, "no two share more than one jar")
    notes = sentences("what else to know")


class Ideas(ToldFirst):
    """Ideas for a theme, the best first."""

    cookies = _whole("cookies in a kit", 1)
    unreached = _many(UnreachedTold, "colours of the theme that the gels cannot make")
    ideas = _many(IdeaTold, "each apart from those before it")
    notes = sentences("what else to know")


class ReadTold(Strict):
    """What was read from a customer's message, to be corrected."""

    theme = _text("the words understood as the theme, with commas between")
    kits = _whole("how many kits, null where not said", 1, allow_none=True)
    cookies = _whole("cookies in a kit", 1)
    date = _text("the day, YYYY-MM-DD", allow_none=True)
    date_doubt = _text("what is doubtful about the day", allow_none=True)
    colours_unwanted = fields.List(
        fields.String(), required=True, metadata=told("by the words they were read from")
    )
    not_understood = fields.List(fields.String(), required=True)


class OfferTold(Strict):
    """One idea as it is offered: its price and its allergens, dough and icing included."""

    price_per_kit = money_out("null where costs are not known")
    cost_per_kit = money_out("what it costs her")
    at_least = fields.Boolean(required=True, metadata=told("whether some cost is not known"))
    missing = sentences("what of the cost is not known")
    makes_kits = _whole("kits that can be promised of what is free, null where unknown", allow_none=True)
    late = fields.String(required=True, metadata=told("that the day is too near, in words; empty where it is not"))
    contains = fields.List(fields.String(), required=True, metadata=told("allergens in it"))
    traces = fields.List(fields.String(), required=True, metadata=told("allergens of which there may be traces"))


class RequestTold(Ideas):
    """A customer's message answered: what was read, ideas, an offer for each, and a reply to send."""

    read = fields.Nested(ReadTold, required=True)
    offers = _many(OfferTold, "one for each idea, in their order")
    reply = _text("ready to send; plain text")


class UseTold(Strict):
    """A use for an idle jar."""

    theme = _text("the theme that suits it")
    own = fields.Boolean(required=True, metadata=told("whether the theme is the baker's own"))
    score = fields.Float(required=True, metadata=told("fit of theme and trio together"))
    by_colour = fields.Boolean(
        required=True,
        metadata=told("whether the jar's shapes are none of the theme's, so that its colour alone suits"),
    )
    anchors = _many(AnchorTold, "the theme's colours")
    trio = fields.Nested(TrioFacts, required=True)


class IdleJarTold(Strict):
    """A jar that stands idle."""

    id = row_id()
    name = _text("its name")
    kind = _text("its trade kind")
    colours = _many(JarShare, "its colours")
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
    uses = _many(UseTold, "the best of all themes, then the best of the days ahead; none for a jar past its date")


class AheadTold(Strict):
    """A feast of the coming weeks."""

    date = fields.Date(required=True)
    name = _text("what the day is called")
    theme = _text("its theme")


class AtRisk(Strict):
    """What idle jars put at risk."""

    grams = fields.Float(required=True, metadata=told("g"))
    money = money_out("what they cost, null where no price is known")
    at_least = fields.Boolean(required=True, metadata=told("whether some amounts or prices are not known"))


class IdleJars(Strict):
    """Idle jars, the most idle first."""

    days = _whole("unused for so many days", 1)
    currency = _text("ISO 4217, null where the shelf names none", allow_none=True)
    ahead = _many(AheadTold, "feasts of the coming weeks, whose themes are tried for each jar")
    at_risk = fields.Nested(AtRisk, required=True)
    items = _many(IdleJarTold, "the jars")


class Alive(Strict):
    """That the service lives."""

    alive = fields.Boolean(required=True)
    version = _text("of the program")


class Health(Alive):
    """Whether the service can answer."""

    ready = fields.Boolean(required=True)
    why = sentences("what is missing, empty when ready")
