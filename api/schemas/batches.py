"""Batches, moves and orders as the API takes and gives them."""

from __future__ import annotations

from marshmallow import Schema, fields
from marshmallow.validate import Length, Range

from api.schemas.base import Strict, amount, choice, hex_out, row_id, told, version
from api.schemas.things import page_of
from catalog.batch_fields import MOST_KITS
from catalog.fields import MOST_GRAMS
from catalog.move_fields import ENTERED, LEVELS
from catalog.stock_tables import OUTCOMES, STATES

_ID = {"validate": Range(1)}


def _maybe(description: str, longest: int) -> fields.String:
    return fields.String(allow_none=True, validate=Length(max=longest), metadata=told(description))


def _any(description: str, **schema: object) -> fields.Raw:
    return fields.Raw(metadata=told(description, **schema))


class BatchIn(Strict):
    """A batch: an idea, as it was given or by its parts, and how many kits of it."""

    name = _maybe("its name; the theme where left out", 120)
    theme = _maybe("what it was asked for", 2000)
    kits = fields.Integer(required=True, validate=Range(1, MOST_KITS), metadata=told("how many kits"))
    due = fields.Date(allow_none=True, metadata=told("the day of the pick-up"))
    order = fields.Integer(allow_none=True, metadata=told("the order that it belongs to"), **_ID)
    idea = _any("an idea as POST /api/v1/ideas gives it", type=["object", "null"])
    tints = _any("hex colours, or tints with hex and recipe", type=["array", "null"])
    jars = _any("ids of jars, or objects with id and share", type=["array", "null"])
    cutters = _any("objects with id and cookies", type=["array", "null"])
    serve = choice("how the toppings are served", ("apart", "mixed"))
    needs = _any("what the whole kit must respect", type=["object", "null"])
    settings = _any("settings that differ from the shelf's, by group", type=["object", "null"])
    note = _maybe("a note", 2000)


class BatchChange(BatchIn):
    """What is to change; what is promised is checked and held anew."""

    kits = fields.Integer(validate=Range(1, MOST_KITS), metadata=told("how many kits"))


class StockTold(Strict):
    """What a batch needs of one item, and holds of it."""

    of = fields.String(required=True, metadata=told("jars, gels, boxes or supplies"))
    item = fields.Integer(required=True, metadata=told("its id"))
    name = fields.String(required=True, metadata=told("its name"))
    needed = fields.Float(required=True, metadata=told("in the unit"))
    held = fields.Float(required=True, metadata=told("in the unit"))
    unit = fields.String(required=True, metadata=told("g, piece, or of its unit"))


class _Dose(Strict):
    gel = fields.String(required=True)
    gel_id = fields.Integer(required=True, allow_none=True)
    g_per_100g = fields.Float(required=True)


class _BatchTint(Strict):
    hex = hex_out()
    recipe = fields.List(fields.Nested(_Dose), required=True)


class _BatchJar(Strict):
    id = row_id()
    share = fields.Float(required=True)
    name = fields.String(required=True)


class _BatchCutter(Strict):
    id = row_id()
    cookies = fields.Integer(required=True)
    name = fields.String(required=True)


class _Outcome(Strict):
    sold = fields.Integer(required=True)
    left_over = fields.Integer(required=True, data_key="left over")
    marked_down = fields.Integer(required=True, data_key="marked down")
    spoiled = fields.Integer(required=True)


def _moment(description: str) -> fields.String:
    return fields.String(required=True, allow_none=True, metadata=told(description))


def _stock(description: str) -> fields.List:
    return fields.List(fields.Nested(StockTold), required=True, metadata=told(description))


class BatchOut(Strict):
    """A batch."""

    id = row_id()
    version = version()
    name = fields.String(required=True)
    theme = fields.String(required=True)
    kits = fields.Integer(required=True)
    state = choice("what became of it so far", STATES, required=True, allow_none=False)
    due = fields.Date(required=True, allow_none=True)
    order = fields.Integer(required=True, allow_none=True)
    tints = fields.List(fields.Nested(_BatchTint), required=True)
    jars = fields.List(fields.Nested(_BatchJar), required=True)
    cutters = fields.List(fields.Nested(_BatchCutter), required=True)
    serve = fields.String(required=True)
    needs = fields.Dict(required=True)
    settings = fields.Dict(required=True)
    note = fields.String(required=True, allow_none=True)
    stock = _stock("what it needs and holds of the shelf")
    short = _stock("what a later count took from what was promised")
    outcome = fields.Nested(_Outcome, required=True)
    created_at = _moment("UTC")
    promised_at = _moment("UTC")
    packed_at = _moment("UTC")


def _kits(word: str) -> fields.Integer:
    return fields.Integer(
        allow_none=True, validate=Range(0, MOST_KITS), data_key=word, metadata=told(f"kits that were {word}")
    )


class OutcomeIn(Strict):
    """What became of the packed kits."""

    sold, left_over, marked_down, spoiled = map(_kits, OUTCOMES)


class WorkOut(Schema):
    """A batch worked out, by parts; each is an object of its own."""

    batch = fields.Integer(required=True)
    name = fields.String(required=True)
    kits = fields.Integer(required=True)
    breaks = fields.List(fields.String(), required=True, metadata=told("needs that the kit does not keep"))
    problems = fields.List(fields.Dict(), required=True, metadata=told("what cannot be done so"))
    missing = fields.List(fields.String(), required=True, metadata=told("what is not known"))
    contents = _any("what one kit and the batch hold")
    dough = _any("cookies by cutter, recipe, trays and oven loads")
    icing = _any("white icing, gels by colour, thickness, whether it suffices")
    packing = _any("each box, how the kit lies in it, its weight")
    shopping = _any("what to buy, to check, and what is there")
    cost = _any("cost, price, margin and markup")
    label = _any("the label by her jurisdiction's rules")
    cautions = _any("cautions, the most serious first")
    days = _any("the days worked back from the pick-up, null without one")


class WeeksOut(Schema):
    """Weeks of work."""

    weeks = fields.List(
        fields.Raw(),
        required=True,
        metadata=told(
            "tasks, dough, icing, hours, full_days (days too full, in words), due (batches picked up in it), "
            "shopping (what has to be bought in it, by the shopping days of the batches in shop_for, most of them "
            "due in a later week; where a shopping day is past, in the first week told)"
        ),
    )
    batches = fields.Raw(required=True, metadata=told("each batch with its days"))
    whose = fields.Raw(
        required=True,
        metadata=told(
            "by the name that each batch has here: its id, name, kits and due day, its order with customer, day "
            "and time, and what was asked for in words"
        ),
    )
    told_ = fields.List(fields.String(), required=True, data_key="told", metadata=told("what else to know"))
    problems = fields.List(fields.Raw(), required=True, metadata=told("what cannot be done so"))
    warnings_ = fields.List(fields.String(), required=True, data_key="warnings", metadata=told("what to mind"))
    missing = fields.List(fields.String(), required=True, metadata=told("what is not known"))


class MoveIn(Strict):
    """One move: of which item, what happened, how much; or the id of a move to undo."""

    jar = fields.Integer(allow_none=True, metadata=told("id of a jar"), **_ID)
    gel = fields.Integer(allow_none=True, metadata=told("id of a gel"), **_ID)
    box = fields.Integer(allow_none=True, metadata=told("id of a box"), **_ID)
    supply = fields.Integer(allow_none=True, metadata=told("id of a supply"), **_ID)
    kind = choice("what happened", ENTERED)
    grams = fields.Float(allow_none=True, validate=Range(0, MOST_GRAMS), metadata=told("g, of jars and gels"))
    pieces = fields.Integer(allow_none=True, validate=Range(0), metadata=told("pieces, of boxes"))
    amount = fields.Float(allow_none=True, validate=Range(0, MOST_GRAMS), metadata=told("in a supply's unit"))
    gross_g = fields.Float(
        allow_none=True, validate=Range(0, MOST_GRAMS), metadata=told("a counted jar on the scale, with the jar")
    )
    level = choice("a counted jar by eye", tuple(LEVELS))
    full_g = fields.Float(
        allow_none=True,
        validate=Range(0.001, MOST_GRAMS),
        metadata=told("beside level: g in a full jar, kept with the jar; needed where it is not known yet"),
    )
    note = _maybe("a note", 500)
    undo = fields.Integer(metadata=told("id of the move to undo"), **_ID)


class MoveOut(Strict):
    """A line of the ledger."""

    id = row_id()
    of = fields.String(required=True, metadata=told("jars, gels, boxes or supplies"))
    item = fields.Integer(required=True, metadata=told("its id"))
    name = fields.String(required=True)
    kind = fields.String(required=True)
    amount = fields.Float(required=True, metadata=told("what it changed, in the unit"))
    unit = fields.String(required=True)
    uncertain = fields.Float(required=True, metadata=told("by how much that may be off"))
    at = fields.String(required=True, metadata=told("UTC"))
    cause = fields.String(required=True)
    note = fields.String(required=True, allow_none=True)
    lot = fields.String(required=True, allow_none=True)
    batch = fields.Integer(required=True, allow_none=True)
    undoes = fields.Integer(required=True, allow_none=True)


class OrderIn(Strict):
    """What one customer wants by a day; a market has no customer."""

    customer = _maybe("her customer's name", 120)
    contact = _maybe("how to reach the customer", 200)
    due = fields.Date(allow_none=True, metadata=told("the day of the pick-up"))
    time = _maybe("time of the pick-up, HH:MM", 5)
    total = amount("the price agreed")
    deposit = amount("what was paid ahead")
    paid = fields.Boolean(allow_none=True, metadata=told("whether all is paid"))
    note = _maybe("a note", 2000)
    said = _maybe("the customer's own words", 4000)
    letter = _maybe("the letter that answered them", 20_000)
    needs = _any("what they asked for: needs as POST /api/v1/ideas takes them", type=["object", "null"])


class BriefBatch(Strict):
    """A batch in short."""

    id = row_id()
    name = fields.String(required=True)
    theme = fields.String(required=True)
    kits = fields.Integer(required=True)
    state = fields.String(required=True)
    due = fields.Date(required=True, allow_none=True)
    order = fields.Integer(required=True, allow_none=True)
    packed_at = _moment("UTC")
    jars = fields.List(fields.String(), required=True)


class OrderOut(Strict):
    """An order with its batches and what the customer had before."""

    id = row_id()
    version = version()
    customer = fields.String(required=True, allow_none=True)
    contact = fields.String(required=True, allow_none=True)
    due = fields.Date(required=True, allow_none=True)
    time = fields.String(required=True, allow_none=True)
    total = fields.Float(required=True, allow_none=True)
    deposit = fields.Float(required=True, allow_none=True)
    paid = fields.Boolean(required=True)
    note = fields.String(required=True, allow_none=True)
    said = fields.String(required=True, allow_none=True)
    letter = fields.String(required=True, allow_none=True)
    needs = fields.Dict(required=True, metadata=told("what they asked for; its batches have to keep it"))
    balance = fields.Float(required=True, allow_none=True, metadata=told("still to be paid"))
    batches = fields.List(fields.Nested(BriefBatch), required=True)
    before = fields.List(fields.Nested(BriefBatch), required=True)


class RecallOrder(Strict):
    """An order that a lot went into."""

    id = row_id()
    customer = fields.String(required=True, allow_none=True)
    contact = fields.String(required=True, allow_none=True)
    due = fields.Date(required=True, allow_none=True)


class RecallOut(Strict):
    """Where a maker's lot went."""

    lot = fields.String(required=True)
    jars = fields.List(fields.Integer(), required=True)
    batches = fields.List(fields.Nested(BriefBatch), required=True)
    promised = fields.List(fields.Nested(BriefBatch), required=True)
    orders = fields.List(fields.Nested(RecallOrder), required=True)


class RuleOut(Strict):
    """One setting of kits."""

    group = fields.String(required=True)
    name = fields.String(required=True)
    about = fields.String(required=True)
    value = fields.Raw(required=True, allow_none=True, metadata=told("as the shelf has it"))
    default = fields.Raw(required=True, allow_none=True)
    unit = fields.String(required=True)
    least = fields.Float(required=True, allow_none=True)
    most = fields.Float(required=True, allow_none=True)
    choices = fields.List(fields.String(), required=True)
    source = fields.String(required=True)


class SettingsOut(Strict):
    """Every setting of kits with its default, range and source."""

    items = fields.List(fields.Nested(RuleOut), required=True)


BatchPage = page_of(BatchOut, "BatchPage")
MovePage = page_of(MoveOut, "MovePage")
OrderPage = page_of(OrderOut, "OrderPage")
