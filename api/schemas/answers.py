"""What questions about palettes, trios and whole ideas are answered with; `api.answers` makes it."""

from __future__ import annotations

from marshmallow import fields
from marshmallow.validate import Length

from api.bodies import SERVES
from api.schemas.base import (
    Strict,
    choice,
    hex_out,
    lab_out,
    many,
    money_out,
    parts,
    row_id,
    score,
    sentences,
    share,
    text_out,
    told,
    whole_out,
)
from api.schemas.understood import ThemeTold, ToldFirst


class UnreachedTold(Strict):
    """A colour of the theme that the gels cannot make."""

    hex = hex_out()
    name = text_out("its plain name")
    nearest = hex_out()
    delta_e = fields.Float(required=True, metadata=told("CIEDE2000 between the two"))


class DoseTold(Strict):
    """So much of one gel."""

    gel = text_out("its name")
    gel_id = whole_out("its id, null for a kitchen staple", 1, allow_none=True)
    g_per_100g = fields.Float(required=True, metadata=told("g of gel in 100 g of icing"))


class ColourTold(Strict):
    """A colour."""

    hex = hex_out()
    lab = lab_out()
    name = text_out("the nearest plain colour name")


class TintTold(ColourTold):
    """An icing colour with its recipe."""

    recipe = many(DoseTold, "empty for plain icing")


class InShortTold(Strict):
    """For those who only want to decide."""

    why = sentences("the telling reasons")
    cautions = sentences("every caution in few words, without sources; what is not met is told by `unmet`")


class PaletteTold(Strict):
    """Three tints."""

    score = score()
    parts = parts()
    tints = many(TintTold, "three of them", validate=Length(equal=3))
    reasons = sentences("why they suit")
    cautions = sentences("what to mind")
    in_short = fields.Nested(InShortTold, required=True)


class PaletteScore(Strict):
    """What the tool makes of three colours."""

    theme = fields.Nested(ThemeTold, required=True, allow_none=True)
    score = score()
    parts = parts()
    colours = many(ColourTold, "the three colours", validate=Length(equal=3))
    reasons = sentences("what makes the score")


class JarShare(Strict):
    """One colour of a jar."""

    hex = hex_out()
    share = share("its part of the jar", required=True)


class PortionTold(Strict):
    """One jar's part in a kit."""

    id = row_id()
    name = text_out("its name")
    kind = text_out("its trade kind")
    colours = many(JarShare, "its colours")
    grams_per_kit = fields.Float(
        required=True, allow_none=True, metadata=told("g in one kit, null where density is unknown")
    )
    share = share("its part of the volume", required=True)


class TrioFacts(Strict):
    """Three jars."""

    score = score()
    parts = parts()
    serve = choice("apart or mixed", SERVES, required=True, allow_none=False)
    jars = many(PortionTold, "three of them", validate=Length(equal=3))
    blend = fields.Nested(
        ColourTold, required=True, allow_none=True, metadata=told("the blend's mean colour, of a mixed trio")
    )
    makes_kits = whole_out(
        "about how many kits the jars on hand make, no waste counted, null where unknown", allow_none=True
    )
    price_per_kit = money_out("what the toppings of one kit cost, null where unknown")
    proven = fields.Boolean(required=True, metadata=told("whether no better trio can exist"))


class TrioTold(TrioFacts):
    """Three jars with reasons and cautions."""

    reasons = sentences("why they suit")
    cautions = sentences("what to mind")
    in_short = fields.Nested(InShortTold, required=True)


class CutterTold(Strict):
    """A cutter and the cookies to cut with it."""

    id = row_id()
    name = text_out("its name")
    cookies = whole_out("how many", 1)
    motif = text_out("what it was taken for, null for a plain shape", allow_none=True)


class CostTold(Strict):
    """What one kit costs, as far as it is known."""

    toppings_per_kit = money_out("the toppings, null where a price or density is unknown")
    currency = text_out("ISO 4217, null where the shelf names none", allow_none=True)


class IdeaTold(Strict):
    """A palette, a trio and cutters that suit each other."""

    score = score()
    parts = parts()
    palette = fields.Nested(PaletteTold, required=True)
    trio = fields.Nested(TrioTold, required=True)
    cutters = many(CutterTold, "spread over the kit's cookies")
    makes_kits = whole_out(
        "about how many kits the jars on hand make, no waste counted, null where unknown", allow_none=True
    )
    cost = fields.Nested(CostTold, required=True)
    fallback = fields.Boolean(
        required=True, metadata=told("a many-coloured idea, offered because little was understood")
    )
    reasons = sentences("why it suits")
    cautions = sentences("what to mind, the most serious first")
    in_short = fields.Nested(InShortTold, required=True)


class Palettes(ToldFirst):
    """Palettes for a theme, the best first."""

    unreached = many(UnreachedTold, "colours of the theme that the gels cannot make")
    palettes = many(PaletteTold, "each apart from those before it")
    notes = sentences("what else to know")


class Trios(ToldFirst):
    """Trios for a theme or a palette, the best first."""

    palette = many(ColourTold, "the palette that was given", allow_none=True)
    trios = many(TrioTold, "no two share more than one jar")
    notes = sentences("what else to know")


class Ideas(ToldFirst):
    """Ideas for a theme, the best first."""

    cookies = whole_out("cookies in a kit", 1)
    unreached = many(UnreachedTold, "colours of the theme that the gels cannot make")
    ideas = many(IdeaTold, "each apart from those before it")
    notes = sentences("what else to know")
