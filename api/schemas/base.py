"""Fields that several schemas share."""

from __future__ import annotations

from typing import Any

from marshmallow import RAISE, Schema, fields
from marshmallow.validate import Length, OneOf, Range, Regexp

from catalog.fields import LONGEST_NAME, LONGEST_WORD, MOST_MONEY, MOST_WORDS

HEX_OUT = r"^#[0-9a-f]{6}$"
HEX_IN = r"^#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})$"
#: Text that holds something besides blanks.
NOT_BLANK = r"\S"


class Strict(Schema):
    """An object without any other fields."""

    class Meta:
        """Unknown fields are refused."""

        unknown = RAISE


def told(description: str, **more: Any) -> dict[str, Any]:
    """Metadata of a field for the OpenAPI document."""
    return {"description": description, **more}


def text(description: str, longest: int = LONGEST_NAME, **more: Any) -> fields.String:
    """Text that is given."""
    return fields.String(
        validate=[Length(min=1, max=longest), Regexp(NOT_BLANK)], metadata=told(description), **more
    )


def number(description: str, least: float | None, most: float, **more: Any) -> fields.Float:
    """A number that may be unknown."""
    more.setdefault("allow_none", True)
    return fields.Float(validate=Range(least, most), metadata=told(description), **more)


def amount(description: str) -> fields.Raw:
    """Money as it is entered: a number, or text with a decimal point."""
    kinds = {"type": ["number", "string", "null"], "minimum": 0, "maximum": MOST_MONEY}
    return fields.Raw(metadata=told(description, **kinds))


def words(description: str, *, none: bool = True, **more: Any) -> fields.List:
    """A list of short plain words."""
    word = fields.String(validate=[Length(min=1, max=LONGEST_WORD), Regexp(NOT_BLANK)])
    return fields.List(word, validate=Length(max=MOST_WORDS), allow_none=none, metadata=told(description), **more)


def choice(description: str, allowed: tuple[str, ...], **more: Any) -> fields.String:
    """One of a few words, or unknown."""
    more.setdefault("allow_none", True)
    # With null among the words, the enumeration also admits what is not known.
    listed = [*allowed, None] if more["allow_none"] else list(allowed)
    return fields.String(validate=OneOf(listed), metadata=told(description), **more)


def lab_in(**more: Any) -> fields.List:
    """[L, a, b] as it is entered."""
    return fields.List(
        fields.Float(validate=Range(-150, 150)),
        validate=Length(equal=3),
        metadata=told("CIELAB under D65 and the 2° observer: L 0–100, a and b −150 to 150"),
        **more,
    )


def lab_out() -> fields.List:
    """[L, a, b] with two decimals."""
    return fields.List(
        fields.Float(),
        required=True,
        validate=Length(equal=3),
        metadata=told("CIELAB under D65 and the 2° observer, two decimals"),
    )


def hex_in(**more: Any) -> fields.String:
    """A colour in hex, in any usual writing."""
    return fields.String(validate=Regexp(HEX_IN), metadata=told("sRGB in hex"), **more)


def hex_out() -> fields.String:
    """A colour in hex."""
    return fields.String(required=True, validate=Regexp(HEX_OUT), metadata=told("sRGB in hex, lower case"))


def share(description: str, **more: Any) -> fields.Float:
    """A part of 1."""
    return fields.Float(validate=Range(0, 1), metadata=told(description), **more)


def row_id() -> fields.Integer:
    """The id of a row."""
    return fields.Integer(required=True, validate=Range(1), metadata=told("unique in the database"))


def version() -> fields.Integer:
    """The version of a row."""
    return fields.Integer(required=True, validate=Range(1), metadata=told("grows with each change; also the ETag"))


def text_out(description: str, **more: Any) -> fields.String:
    """Text that is told."""
    return fields.String(required=True, metadata=told(description), **more)


def whole_out(description: str, least: int = 0, **more: Any) -> fields.Integer:
    """A whole number that is told."""
    return fields.Integer(required=True, validate=Range(least), metadata=told(description), **more)


def many(schema: Any, description: str, **more: Any) -> fields.List:
    """A list of objects that is told."""
    return fields.List(fields.Nested(schema), required=True, metadata=told(description), **more)


def score() -> fields.Float:
    """How good something is."""
    return share("0–1, higher is better", required=True)


def parts() -> fields.Dict:
    """What a score is made of."""
    part = fields.Float(validate=Range(0, 1))
    return fields.Dict(
        keys=fields.String(), values=part, required=True, metadata=told("what the score is made of, each 0–1")
    )


def sentences(description: str) -> fields.List:
    """Plain sentences."""
    return fields.List(fields.String(), required=True, metadata=told(description))


def money_out(description: str) -> fields.String:
    """Money with two decimals as text, or unknown."""
    return fields.String(
        required=True, allow_none=True, validate=Regexp(r"^\d+\.\d{2}$"), metadata=told(description)
    )
