"""What questions take; `api.bodies` checks it."""

from __future__ import annotations

from marshmallow import fields
from marshmallow.validate import Length, Range

from api.bodies import LIGHT_NAMES, MOST_AGE, MOST_COLOURS, MOST_IDS, NEED_DIETS, RANGES, SERVES, USUAL_COUNT
from api.schemas.base import Strict, choice, hex_in, text, told, words
from catalog.lookup import LARGEST_ID
from themekit.suggest.asked import USUAL_COOKIES
from themekit.suggest.words import MAX_TEXT

_THEME = "a theme, a season or a customer's request, in plain words"


def _whole(name: str, description: str) -> fields.Integer:
    return fields.Integer(allow_none=True, validate=Range(*RANGES[name]), metadata=told(description))


def _count() -> fields.Integer:
    return _whole("count", f"how many at most; {USUAL_COUNT} where left out")


def _kits() -> fields.Integer:
    return _whole("kits", "for how many kits; by the text, else 1, where left out")


def _theme(**more: bool) -> fields.String:
    return text(_THEME, MAX_TEXT, **more)


def _jar_ids(description: str) -> fields.List:
    jar = fields.Integer(validate=Range(1, LARGEST_ID))
    return fields.List(jar, allow_none=True, validate=Length(max=MOST_IDS), metadata=told(description))


def _colours(description: str) -> fields.List:
    listed = Length(max=MOST_COLOURS)
    return fields.List(hex_in(), allow_none=True, validate=listed, metadata=told(description))


def _three(description: str, **more: bool) -> fields.List:
    return fields.List(hex_in(), validate=Length(equal=3), metadata=told(description), **more)


class Needs(Strict):
    """What the whole kit must respect; what is unknown on a label breaks every need on it."""

    avoid_allergens = words("allergens to keep out, such as milk or tree nut")
    avoid_additives = words("additives to keep out, by E number or name")
    youngest_age = fields.Integer(
        allow_none=True, validate=Range(0, MOST_AGE), metadata=told("age in years of the youngest who eats")
    )
    diet = choice("what all of the kit must suit", NEED_DIETS)
    use_jars = _jar_ids("each suggestion uses at least one of these jars")
    skip_jars = _jar_ids("jars to leave out")
    include_colours = _colours("colours of which the icing has a tint within ΔE00 10")
    avoid_colours = _colours("colours that icing and jars keep ΔE00 15 away from")
    in_stock_only = fields.Boolean(
        allow_none=True, metadata=told("only jars of which there is enough for the kits")
    )


class ReadTheme(Strict):
    """A phrase to read."""

    text = text(_THEME, MAX_TEXT, required=True)


class AskPalettes(Strict):
    """A question for palettes."""

    theme = _theme(required=True)
    count = _count()
    kits = _kits()
    light = choice("also told: how the colours look under this light", LIGHT_NAMES)
    needs = fields.Nested(Needs, allow_none=True)


class ScorePalette(Strict):
    """Three colours of her own to judge, by themselves or for a theme."""

    colours = _three("three colours", required=True)
    theme = _theme(allow_none=True)


class AskTrios(Strict):
    """A question for trios: for a theme, or for a palette of three colours; one of the two."""

    theme = _theme(allow_none=True)
    palette = _three("three icing colours", allow_none=True)
    count = _count()
    kits = _kits()
    serve = choice("apart in three cups, or mixed in one blend; apart where left out", SERVES)
    needs = fields.Nested(Needs, allow_none=True)


class RequestAsked(Strict):
    """A customer's message; what is given besides goes before what it says."""

    text = _theme(required=True)
    theme = _theme(allow_none=True)
    count = _count()
    kits = _kits()
    cookies = _whole("cookies", f"cookies in a kit; by the text, else {USUAL_COOKIES}, where left out")
    date = fields.Date(allow_none=True, metadata=told("the day of the pick-up"))
    serve = choice("apart in three cups, or mixed in one blend; apart where left out", SERVES)
    needs = fields.Nested(Needs, allow_none=True)


class AskIdeas(Strict):
    """A question for ideas."""

    theme = _theme(required=True)
    count = _count()
    kits = _kits()
    cookies = _whole("cookies", f"cookies in a kit; by the text, else {USUAL_COOKIES}, where left out")
    serve = choice("apart in three cups, or mixed in one blend; apart where left out", SERVES)
    needs = fields.Nested(Needs, allow_none=True)
