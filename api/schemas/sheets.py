"""Shapes of a baker's file tried out and brought in."""

from __future__ import annotations

from marshmallow import fields

from api.schemas.base import Strict, sentences, told
from api.schemas.errors import Problem


class ColumnRead(Strict):
    """One column of a sheet and what it is taken for."""

    title = fields.String(required=True)
    field = fields.String(required=True, allow_none=True, metadata=told("null: it is left out"))
    how = fields.String(
        required=True,
        metadata=told(
            "our name, chosen, or what only proposes: as you chose last time, a usual word, likeness, left out"
        ),
    )
    unit = fields.String(required=True, allow_none=True, metadata=told("of bare figures, from the title"))
    samples = fields.List(fields.String(), required=True, metadata=told("the first cells"))


class SheetRead(Strict):
    """One sheet and what it holds."""

    sheet = fields.String(required=True)
    what = fields.String(required=True, allow_none=True, metadata=told("null: left out, or not known"))
    how = fields.String(required=True, metadata=told("its name, its columns, chosen, left out or not known"))
    titles_row = fields.Integer(required=True)
    rows = fields.Integer(required=True)
    columns = fields.List(fields.Nested(ColumnRead), required=True)


class Doubt(Strict):
    """A cell that may be read in two ways."""

    place = fields.String(required=True)
    cell = fields.String(required=True)
    readings = fields.Dict(keys=fields.String(), values=fields.String(), required=True)


class QuestionAsked(Strict):
    """What one choice in `ways` settles for the whole file."""

    about = fields.String(required=True, metadata=told("the field of ways: days, decimal or repeats"))
    text = fields.String(required=True)
    choices = fields.List(fields.String(), required=True)
    count = fields.Integer(required=True, metadata=told("how many cells or rows are in doubt"))
    cells = fields.List(fields.Nested(Doubt), required=True, metadata=told("the first of them"))


class FieldChange(Strict):
    """One field before and after, as a sheet's cell writes it; blank is unknown."""

    field = fields.String(required=True)
    old = fields.String(required=True)
    new = fields.String(required=True)


class RowChange(Strict):
    """One row and what becomes of its thing."""

    sheet = fields.String(required=True)
    row = fields.Integer(required=True)
    what = fields.String(required=True)
    name = fields.String(required=True)
    becomes = fields.String(required=True, metadata=told("added, changed or as it is"))
    fields_ = fields.List(fields.Nested(FieldChange), required=True, data_key="fields")


class RowCounts(Strict):
    """What becomes of the rows of one kind of thing."""

    created = fields.Integer(required=True)
    changed = fields.Integer(required=True)
    kept = fields.Integer(required=True)


class WaysRead(Strict):
    """The choices that the file was read with."""

    sheets = fields.Dict(keys=fields.String(), values=fields.String(), required=True)
    columns = fields.Dict(keys=fields.String(), values=fields.Dict(values=fields.String()), required=True)
    days = fields.String(required=True, allow_none=True)
    decimal = fields.String(required=True, allow_none=True)
    repeats = fields.String(required=True, allow_none=True)
    blanks = fields.String(required=True, allow_none=True)


class ImportRead(Strict):
    """What a file would do to the shelf, or has done."""

    imported = fields.Boolean(required=True)
    file = fields.String(required=True)
    sheets = fields.List(fields.Nested(SheetRead), required=True)
    questions = fields.List(fields.Nested(QuestionAsked), required=True)
    rows = fields.Dict(keys=fields.String(), values=fields.Nested(RowCounts), required=True)
    changes = fields.List(fields.Nested(RowChange), required=True)
    notes = sentences("what is told though it stops nothing, such as columns left out")
    ways = fields.Nested(WaysRead, required=True)
    shown = fields.String(
        required=True, allow_none=True, metadata=told("send it back to bring in just this; null with problems")
    )
    problems = fields.List(fields.Nested(Problem), required=True, metadata=told("by sheet, row and column"))
