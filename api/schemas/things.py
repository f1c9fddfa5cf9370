"""Things on the shelf as they are entered and as they are given; `catalog.rows` checks them.

Of what is entered every field but the required ones may be left out; null is unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from marshmallow import Schema, fields
from marshmallow.validate import Length, Range, Regexp

from api.schemas.base import (
    Strict,
    amount,
    choice,
    hex_in,
    hex_out,
    lab_in,
    lab_out,
    number,
    row_id,
    share,
    text,
    told,
    version,
    words,
)
from catalog.colours import MOST_COLOURS
from catalog.fields import LONGEST_NAME, LONGEST_WORD, MOST_GRAMS, MOST_MM, MOST_PIECES
from catalog.rows import UNITS
from themekit.values import ALLERGENS, DIETS, FINISHES, FORMS, HARDNESSES


class ColourIn(Strict):
    """A colour as hex, as CIELAB, or as both where they agree."""

    hex = hex_in(allow_none=True)
    lab = lab_in(allow_none=True)


class ShareIn(ColourIn):
    """A colour with its share; all shares add up to 1, or all are left out."""

    share = share("its part of the whole", allow_none=True)


class WeightIn(ColourIn):
    """A colour with its weight; all weights add up to 1, or all are left out."""

    weight = share("how much it belongs", allow_none=True)


class ColourOut(Strict):
    """A colour; the hex is mapped into what sRGB can show."""

    lab = lab_out()
    hex = hex_out()


class ShareOut(ColourOut):
    """A colour with its share; all shares add up to 1."""

    share = share("its part of the whole", required=True)


class WeightOut(ColourOut):
    """A colour with its weight; all weights add up to 1."""

    weight = share("how much it belongs", required=True)


def _yes_no(description: str) -> fields.Boolean:
    return fields.Boolean(allow_none=True, metadata=told(description))


def _day(description: str) -> fields.Date:
    return fields.Date(allow_none=True, metadata=told(description))


def _mm(description: str) -> fields.Float:
    return number(f"{description}, mm", 0.001, MOST_MM)


def _allergens(description: str) -> fields.List:
    known = ", ".join(ALLERGENS)
    return words(f"{description}: {known}; null is unknown and fails every need, [] is none")


class TextureIn(Strict):
    """What a topping is to eye and mouth; blanks are filled by the kind."""

    form = choice("its form", FORMS)
    grain_mm = _mm("longest usual size of a grain")
    finish = choice("how it shines", FINISHES)
    hardness = choice("how hard it is to bite", HARDNESSES)


class Composed(Strict):
    """What needs are judged by; nothing here is ever filled by a default."""

    allergens = _allergens("allergens in it")
    may_contain = _allergens("allergens of which there may be traces")
    additives = words("additives by E number or name")
    diet = choice("what it suits", DIETS)


class JarIn(Composed):
    """A jar of sprinkles or of another topping."""

    name = text("unique on the shelf", required=True)
    kind = text("its trade kind, such as nonpareils", required=True)
    colours = fields.List(
        fields.Nested(ShareIn), required=True, validate=Length(1, MOST_COLOURS), metadata=told("its colours")
    )
    texture = fields.Nested(TextureIn, allow_none=True)
    density_g_per_ml = number("bulk density, g/mL", 0.01, 5)
    on_hand_g = number("g on hand; a change is written as a count", 0, MOST_GRAMS)
    full_g = number("g in a full jar, for counting by eye", 0.001, MOST_GRAMS)
    empty_jar_g = number("g of the empty jar, for counting on a scale", 0, MOST_GRAMS)
    best_before = _day("best-before day")
    last_used = _day("day of last use")
    price_per_kg = amount("price of a kg in the shelf's currency")
    motifs = words("things that it shows, as plain nouns")
    hard_small_pieces = _yes_no("whether it holds hard small pieces")
    melts_in_heat = _yes_no("whether it melts in a warm room")
    lot = fields.String(allow_none=True, validate=Length(max=LONGEST_NAME), metadata=told("the maker's lot"))


class CutterIn(Strict):
    """A cookie cutter."""

    name = text("unique on the shelf", required=True)
    motifs = words("things that it shows, as plain nouns, the plainest first")
    colours = fields.List(
        fields.Nested(ColourIn),
        allow_none=True,
        validate=Length(max=MOST_COLOURS),
        metadata=told("its usual colours"),
    )
    width_mm = _mm("width of the outline")
    height_mm = _mm("height of the outline")
    thickness_mm = _mm("thickness of the dough it is made for")
    thin_parts = _yes_no("whether it has thin parts that break")


class GelIn(Composed):
    """A gel food colour, known by one swatch."""

    name = text("unique on the shelf", required=True)
    swatch = fields.Nested(ColourIn, required=True, metadata=told("the icing it gives at the dose"))
    dose_g_per_100g = number(
        "g of gel in 100 g of icing of the swatch", 0.0001, 50, required=True, allow_none=False
    )
    max_g_per_100g = number("the maker's limit, g in 100 g of icing", 0.0001, 50)
    natural = _yes_no("whether its colours are natural ones")
    on_hand_g = number("g on hand", 0, MOST_GRAMS)
    price_per_kg = amount("price of a kg in the shelf's currency")


class BoxIn(Strict):
    """A carton to pack a kit in; inside measures."""

    name = text("unique on the shelf", required=True)
    length_mm = _mm("length")
    width_mm = _mm("width")
    height_mm = _mm("height")
    window = _yes_no("whether it has a window")
    on_hand = fields.Integer(allow_none=True, validate=Range(0, MOST_PIECES), metadata=told("pieces on hand"))
    price = amount("price of one")


class SupplyIn(Strict):
    """Anything else that is bought for kits."""

    name = text("unique on the shelf", required=True)
    kind = fields.String(allow_none=True, validate=Length(max=LONGEST_WORD), metadata=told("flour, bags, ties …"))
    unit = choice("what it is counted in", UNITS)
    on_hand = number("on hand, in its unit", 0, MOST_GRAMS)
    pack_size = number("size of a pack, in its unit", 0.001, MOST_GRAMS)
    pack_price = amount("price of a pack")
    allergens = _allergens("allergens in it")
    may_contain = _allergens("allergens of which there may be traces")


class OwnThemeIn(Strict):
    """A theme of the baker's own."""

    name = text("unique on the shelf", required=True)
    aliases = words("other names")
    anchors = fields.List(
        fields.Nested(WeightIn), required=True, validate=Length(1, MOST_COLOURS), metadata=told("its colours")
    )
    motifs = words("things to see, as plain nouns")
    months = fields.List(
        fields.Integer(validate=Range(1, 12)),
        allow_none=True,
        validate=Length(max=12),
        metadata=told("months in which it is asked for"),
    )


class TextureOut(TextureIn):
    """What a topping is to eye and mouth."""


class CompositionOut(Composed):
    """What is in the standing dough or icing; null is unknown."""


def _changes(entered: type[Schema], name: str) -> type[Schema]:
    """The schema of a change: the same fields, each of which may be left out."""
    made: dict[str, Any] = {"__doc__": "What is to change; null makes a field unknown."}
    for field, known in entered._declared_fields.items():
        if known.required:
            made[field] = deepcopy(known)
            made[field].required = False
    return type(name, (entered,), made)


def _given(entered: type[Schema], name: str, doc: str, **instead: fields.Field) -> type[Schema]:
    """The schema of rows as given: every field is there, money is a number, lists may be null
    only where null means unknown."""
    declared: Mapping[str, fields.Field] = entered._declared_fields
    made: dict[str, Any] = {"__doc__": doc, "id": row_id(), "version": version()}
    for field, known in declared.items():
        made[field] = instead.get(field) or _always(known)
    made |= {field: extra for field, extra in instead.items() if field not in declared}
    return type(name, (Strict,), made)


def _stocked(of: str, unit: str) -> dict[str, fields.Field]:
    """What the ledger keeps of an item, set by moves and promises alone."""
    told_of = {"reserved": "of it promised to batches", "uncertain": "by how much the last count may be off"}
    return {
        f"{name}{of}": fields.Float(required=True, metadata=told(f"{about}, {unit}"))
        for name, about in told_of.items()
    }


def _always(known: fields.Field) -> fields.Field:
    """A copy of a field that is always there."""
    if isinstance(known, fields.Raw):
        return fields.Float(
            required=True, allow_none=True, metadata={"description": known.metadata["description"]}
        )
    kind, options = type(known), {"allow_none": known.allow_none, "metadata": known.metadata}
    if isinstance(known, fields.List):
        return fields.List(known.inner, required=True, **options)
    return kind(required=True, validate=known.validate, **options)


def _list(inner: fields.Field[Any], description: str) -> fields.List[Any]:
    return fields.List(inner, required=True, metadata=told(description))


_MOTIFS = _list(fields.String(), "things to see, as plain nouns")

JarOut = _given(
    JarIn,
    "JarOut",
    "A jar; what its kind's default filled is named in `defaults`.",
    colours=_list(fields.Nested(ShareOut), "its colours"),
    texture=fields.Nested(TextureOut, required=True),
    motifs=_MOTIFS,
    defaults=_list(fields.String(), "fields filled by the kind's default"),
    **_stocked("_g", "g"),
)
CutterOut = _given(
    CutterIn,
    "CutterOut",
    "A cutter.",
    motifs=_MOTIFS,
    colours=_list(fields.Nested(ColourOut), "its usual colours"),
)
GelOut = _given(GelIn, "GelOut", "A gel.", swatch=fields.Nested(ColourOut, required=True), **_stocked("_g", "g"))
BoxOut = _given(BoxIn, "BoxOut", "A box.", **_stocked("", "pieces"))
SupplyOut = _given(SupplyIn, "SupplyOut", "A supply.", **_stocked("", "in its unit"))
OwnThemeOut = _given(
    OwnThemeIn,
    "OwnThemeOut",
    "A theme of the baker's own.",
    aliases=_list(fields.String(), "other names"),
    anchors=_list(fields.Nested(WeightOut), "its colours"),
    motifs=_MOTIFS,
    months=_list(fields.Integer(), "months in which it is asked for"),
)


class ShelfIn(Strict):
    """The shelf itself: what is named changes."""

    name = text("unique in the database")
    currency = fields.String(
        allow_none=True, validate=Regexp(r"^\s*([A-Z]{3})?\s*$"), metadata=told("ISO 4217, such as EUR")
    )
    locale = fields.String(allow_none=True, validate=Length(max=35), metadata=told("language and country"))
    region = fields.String(allow_none=True, validate=Length(max=LONGEST_NAME), metadata=told("where she sells"))
    dough = fields.Nested(Composed, metadata=told("her standing dough: the fields named change"))
    icing = fields.Nested(Composed, metadata=told("her standing icing: the fields named change"))
    settings = fields.Dict(
        allow_none=True, metadata=told("settings of kits by group: those named change, null is the default again")
    )


ShelfOut = _given(
    ShelfIn,
    "ShelfOut",
    "The shelf itself; its version grows with every change of anything on it.",
    dough=fields.Nested(CompositionOut, required=True),
    icing=fields.Nested(CompositionOut, required=True),
    settings=fields.Dict(required=True, metadata=told("settings of kits that differ from the defaults, by group")),
)


def page_of(row: type[Schema], name: str) -> type[Schema]:
    """One page of rows."""
    made: dict[str, Any] = {
        "__doc__": "One page of rows by id; past the end there are none.",
        "items": fields.List(fields.Nested(row), required=True),
        "page": fields.Integer(required=True, validate=Range(1)),
        "page_size": fields.Integer(required=True, validate=Range(1, 200)),
        "total": fields.Integer(required=True, validate=Range(0), metadata=told("how many there are in all")),
    }
    return type(name, (Strict,), made)


@dataclass(frozen=True)
class Resource:
    """One kind of thing on the shelf, with the schemas that describe it."""

    name: str
    one: str
    entered: type[Schema]
    changes: type[Schema]
    given: type[Schema]
    page: type[Schema]
    example: dict[str, Any]


_EXAMPLES: dict[str, dict[str, Any]] = {
    "jars": {
        "name": "teal and white mix",
        "kind": "nonpareils",
        "colours": [{"hex": "#1d8a8a", "share": 0.6}, {"hex": "#ffffff", "share": 0.4}],
        "on_hand_g": 120,
        "allergens": ["soy"],
        "may_contain": [],
    },
    "cutters": {"name": "sitting owl", "motifs": ["owl"], "width_mm": 70, "height_mm": 85},
    "gels": {"name": "sea teal", "swatch": {"hex": "#1d8a8a"}, "dose_g_per_100g": 0.5},
    "boxes": {"name": "flat carton", "length_mm": 300, "width_mm": 220, "height_mm": 45, "on_hand": 12},
    "supplies": {"name": "piping bags", "kind": "bags", "unit": "piece", "on_hand": 90},
    "themes": {
        "name": "harbour morning",
        "anchors": [{"hex": "#2f5fb3", "weight": 0.5}, {"hex": "#f5d33f", "weight": 0.5}],
        "motifs": ["boat", "gull"],
    },
}

RESOURCES = tuple(
    Resource(
        name,
        one,
        entered,
        _changes(entered, f"{stem}Change"),
        given,
        page_of(given, f"{stem}Page"),
        _EXAMPLES[name],
    )
    for name, one, stem, entered, given in (
        ("jars", "jar", "Jar", JarIn, JarOut),
        ("cutters", "cutter", "Cutter", CutterIn, CutterOut),
        ("gels", "gel", "Gel", GelIn, GelOut),
        ("boxes", "box", "Box", BoxIn, BoxOut),
        ("supplies", "supply", "Supply", SupplyIn, SupplyOut),
        ("themes", "theme of her own", "OwnTheme", OwnThemeIn, OwnThemeOut),
    )
)
