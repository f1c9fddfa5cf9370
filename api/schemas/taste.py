"""Choices of ideas and the taste learned from them, as the API takes and gives them."""

from __future__ import annotations

from marshmallow import fields
from marshmallow.validate import Length, Range

from api.schemas.base import Strict, choice, row_id, sentences, share, told
from themekit.suggest.taste import WHAT


class ChoiceIn(Strict):
    """What became of an idea."""

    what = choice("what became of it", tuple(WHAT), required=True, allow_none=False)
    idea = fields.Raw(required=True, metadata=told("an idea as POST /api/v1/ideas gives it", type="object"))
    theme = fields.String(
        allow_none=True, validate=Length(max=2000), metadata=told("what was asked for; only its theme is kept")
    )


class _Counts(Strict):
    kept = fields.Integer(required=True)
    passed_over = fields.Integer(required=True, data_key="passed over")
    sold_out = fields.Integer(required=True, data_key="sold out")
    left_over = fields.Integer(required=True, data_key="left over")


class _Weight(Strict):
    scope = choice("of what score", ("palette", "trio", "idea"), required=True, allow_none=False)
    part = fields.String(required=True, metadata=told("its name among the parts"))
    about = fields.String(required=True, metadata=told("in plain words"))
    default = share("the weight that every shelf begins with", required=True)
    now = share("the weight on this shelf", required=True)
    factor = fields.Float(required=True, validate=Range(0.5, 2), metadata=told("now divided by default"))


class _Theme(Strict):
    theme = fields.String(required=True)
    liking = fields.Float(required=True, validate=Range(-1, 1), metadata=told("−1 never, 1 always went well"))


class _Said(Strict):
    id = row_id()
    what = choice("what became of an idea", tuple(WHAT), required=True, allow_none=False)
    theme = fields.String(required=True, metadata=told("its theme as it was understood; empty where none was"))
    batch = fields.Integer(required=True, allow_none=True, metadata=told("the batch whose end told it"))
    at = fields.String(required=True, metadata=told("UTC"))


class TasteOut(Strict):
    """What was learned from what became of ideas."""

    choices = fields.Integer(required=True, metadata=told("how many it was learned from"))
    counts = fields.Nested(_Counts, required=True)
    trust = share("how surely choices can be foretold from one another", required=True)
    weights = fields.List(fields.Nested(_Weight), required=True)
    themes = fields.List(
        fields.Nested(_Theme),
        required=True,
        metadata=told("the best liked first; used where themes are chosen"),
    )
    latest = fields.List(fields.Nested(_Said), required=True, metadata=told("the latest choices first"))
    # Last, for it hides the helper of that name.
    told = sentences("all of it in plain words")
