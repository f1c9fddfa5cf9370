"""What a phrase was understood to mean, and what leads every answer."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.base import Strict, choice, hex_out, lab_out, many, share, text_out, told, whole_out


class AnchorTold(Strict):
    """A colour of a theme; the weights add up to 1."""

    hex = hex_out()
    lab = lab_out()
    name = text_out("the nearest plain colour name")
    weight = share("how much it belongs", required=True)
    from_ = text_out("the words, theme or thing that brought it", data_key="from")


class MotifTold(Strict):
    """A thing to see."""

    word = text_out("a plain noun")
    weight = share("how much it belongs", required=True)
    kind = choice(
        "how it came: of the theme, a guess at a word, near to a thing named, of what is celebrated",
        ("theme", "guess", "near", "occasion"),
        required=True,
        allow_none=False,
    )
    of = text_out("the words guessed at, the thing it is near to or the occasion; empty for the theme's own")


class UnderstoodTold(Strict):
    """One part of the phrase and what it was taken for."""

    words = text_out("the words as written")
    as_ = text_out("colour, theme, thing, need, kits, cookies, date or name", data_key="as")
    name = text_out("what they were taken for")
    how = text_out("by what: by name, by meaning, or the need that it fills")
    sureness = share("0 for not at all, 1 for sure", required=True)


class ThemeTold(Strict):
    """What a phrase was understood to mean."""

    text = text_out("the phrase")
    anchors = many(AnchorTold, "the theme's colours, none where nothing was understood")
    motifs = many(MotifTold, "things to see")
    understood = many(UnderstoodTold, "what was read, and from what")
    unknown_ = fields.List(
        fields.String(), required=True, data_key="unknown", metadata=told("words that were not understood")
    )
    sureness = share("0 for not at all, 1 for sure", required=True)
    fallback = fields.Boolean(required=True, metadata=told("whether too little was understood"))


class AppliedNeed(Strict):
    """One need as applied."""

    need = text_out("the field of needs, or avoid_motifs")
    value = fields.Raw(required=True, metadata=told("the value applied"))
    source = text_out("given, or the words it was read from")


class NeedsTold(Strict):
    """The needs as applied."""

    applied = many(AppliedNeed, "each with its source")


class OrderTold(Strict):
    """Facts of an order that the phrase names."""

    kits = whole_out("how many kits", 1, allow_none=True)
    cookies = whole_out("cookies in a kit", 1, allow_none=True)
    date = text_out("month and day as MM-DD", allow_none=True)


class ThemeRead(ThemeTold):
    """What a phrase was understood to mean, with its needs and facts."""

    needs = fields.Nested(NeedsTold, required=True)
    order = fields.Nested(OrderTold, required=True)
    hint = text_out("what to do where little or nothing was understood", allow_none=True)


class UnmetTold(Strict):
    """A need that the standing dough or icing breaks."""

    need = text_out("the need")
    of = text_out("dough or icing")
    why = text_out("why it is not met")


class ToldFirst(Strict):
    """What leads every answer."""

    unmet = many(UnmetTold, "needs that the standing dough or icing breaks")
    theme = fields.Nested(ThemeTold, required=True, allow_none=True)
    kits = whole_out("for how many kits", 1)
    needs = fields.Nested(NeedsTold, required=True)
    ruled_out = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(),
        required=True,
        metadata=told("how many jars each need ruled out"),
    )
