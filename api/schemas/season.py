"""The season and the calendar as the API takes and gives them."""

from __future__ import annotations

from typing import Any

from marshmallow import fields
from marshmallow.validate import Length, Range

from api.bodies import SERVES
from api.schemas.answers import IdeaTold, TrioFacts
from api.schemas.base import Strict, choice, many, money_out, row_id, sentences, text, told
from api.schemas.batches import BatchIn, BatchOut
from api.schemas.errors import ErrorFacts
from api.schemas.questions import Needs
from api.schemas.understood import NeedsTold
from api.seasons import MOST_LIMIT_S, USUAL_LIMIT_S
from catalog.lookup import LARGEST_ID
from themekit.season.plan import MOST_LINES
from themekit.season.use_up import MOST_CHOSEN
from themekit.suggest.asked import MOST_KITS
from themekit.suggest.words import MAX_TEXT


def _number(description: str, **more: Any) -> fields.Float:
    return fields.Float(required=True, metadata=told(description), **more)


class KeepKit(Strict):
    """A kit by which a line is to be made, as a plan named it."""

    theme = text("the theme it is made for", MAX_TEXT, required=True)
    tints = fields.List(fields.String(), required=True, validate=Length(3, 3), metadata=told("three colours"))
    jars = fields.List(row_id(), required=True, validate=Length(3, 3), metadata=told("ids of three jars"))


class LineIn(Strict):
    """Kits that are planned."""

    theme = text("a theme in plain words; null or left out for a free choice", MAX_TEXT, allow_none=True)
    kits = fields.Integer(required=True, validate=Range(1, MOST_KITS), metadata=told("how many"))
    date = fields.Date(allow_none=True, metadata=told("the day on which they are handed over"))
    needs = fields.Nested(Needs, allow_none=True)
    serve = choice("apart in three cups, or mixed in one blend; apart where left out", SERVES)
    keep = fields.Nested(
        KeepKit,
        allow_none=True,
        metadata=told("the kit it has to be: `keep` of the same line of a plan, or of one of its `others`"),
    )


class SeasonIn(Strict):
    """A season to plan."""

    kits = fields.List(
        fields.Nested(LineIn), required=True, validate=Length(1, MOST_LINES), metadata=told("the lines")
    )
    buy = fields.Boolean(
        allow_none=True, metadata=told("whether toppings may be bought where stock does not suffice; true")
    )
    time_limit_s = fields.Float(
        allow_none=True,
        validate=Range(0.1, MOST_LIMIT_S),
        metadata=told(f"seconds that the solver may take; {USUAL_LIMIT_S:g} where left out"),
    )
    further = fields.Boolean(
        allow_none=True, metadata=told("also solve with twice the candidates, to tell what they change; true")
    )


class BuyTold(Strict):
    """What to buy of a jar."""

    jar = row_id()
    name = fields.String(required=True)
    grams = _number("g")
    cost = money_out("at the jar's price, null where that is not known")


class TakesTold(Strict):
    """What a line takes of a jar."""

    jar = row_id()
    name = fields.String(required=True)
    grams = _number("g for all its kits, waste included")


class DaysTold(Strict):
    """The days of selling and making."""

    open_orders = fields.Date(required=True)
    last_orders = fields.Date(required=True, metadata=told("the last day for orders"))
    shop = fields.Date(required=True)
    bake = fields.Date(required=True)
    icing = fields.Date(required=True)
    pack = fields.Date(required=True)
    ready_by = fields.Date(required=True, metadata=told("the day on which kits are handed over"))
    hours = _number("of work; null where the number of kits is open", allow_none=True)
    weeks = fields.Integer(required=True, metadata=told("weeks of work that this takes"))
    most_kits_a_week = fields.Integer(required=True, metadata=told("usual kits that a week's hours make"))
    told = sentences("what to mind")


class TintNamed(Strict):
    """An icing by its colour."""

    hex = fields.String(required=True)
    name = fields.String(required=True)


class JarNamed(Strict):
    """A jar by name."""

    jar = row_id()
    name = fields.String(required=True)


class OtherTold(Strict):
    """Another kit for a line, were the rest of the plan kept."""

    keep = fields.Nested(KeepKit, required=True, metadata=told("to plan again with it"))
    tints = many(TintNamed, "its icing")
    jars = many(JarNamed, "its toppings")
    points = _number("by how much it is better by itself than the kit of the plan")
    short = many(BuyTold, "what would be short of its jars; empty where stock suffices")


class LineOut(Strict):
    """A line as planned."""

    theme = fields.String(required=True, allow_none=True, metadata=told("as asked; null for a free choice"))
    chosen = fields.String(required=True, allow_none=True, metadata=told("the theme it is made for"))
    kits = fields.Integer(required=True)
    date = fields.Date(required=True, allow_none=True)
    idea = fields.Nested(IdeaTold, required=True, allow_none=True, metadata=told("null where it is left out"))
    takes = many(TakesTold, "what it takes of each jar")
    buy = many(BuyTold, "what of that has to be bought, lines in order of days")
    needs = fields.Nested(
        NeedsTold,
        required=True,
        allow_none=True,
        metadata=told("as applied, also those read from the theme's words"),
    )
    reasons = sentences("why this one")
    why_not = fields.String(required=True, allow_none=True, metadata=told("why it is left out"))
    keep = fields.Nested(
        KeepKit, required=True, allow_none=True, metadata=told("to plan again with this very kit")
    )
    others = many(OtherTold, "other kits for it, those first that stock suffices for beside the rest of the plan")
    batch = fields.Nested(BatchIn, required=True, allow_none=True, metadata=told("to promise it with the others"))
    days = fields.Nested(DaysTold, required=True, allow_none=True, metadata=told("null without a date"))


class WorthTold(Strict):
    """What a choice is worth, in points: 1 is one line with a perfect idea."""

    points = _number("quality and idle, less repeats, buying and what is left out")
    quality = _number("the ideas' scores added up")
    idle = _number("for jars used that stood idle")
    repeats = _number("taken off for jars and palettes used again")
    buying = _number("taken off for what is bought")
    left_out = fields.Integer(required=True, metadata=told("lines that cannot be made"))
    idle_jars_used = fields.Integer(required=True)
    buy = many(BuyTold, "what has to be bought")
    buy_cost = money_out("what that costs, null where a price is not known")
    currency = fields.String(required=True, allow_none=True, metadata=told("ISO 4217"))


class Totals(WorthTold):
    """The plan as a whole."""

    kits = fields.Integer(required=True)


class BetterTold(Strict):
    """What the joint choice gains on choosing kit by kit."""

    points = _number("points more")
    told = fields.String(required=True)


class WeekTold(Strict):
    """A week of work."""

    monday = fields.Date(required=True)
    hours = _number("of work counted")
    capacity_hours = _number("that she has")
    at_least = fields.Boolean(required=True, metadata=told("whether some work is not known"))
    over = fields.Boolean(required=True, metadata=told("more hours than there are"))
    told = fields.String(required=True, allow_none=True)


class SeasonOut(Strict):
    """The joint plan."""

    lines = many(LineOut, "in the order asked")
    totals = fields.Nested(Totals, required=True)
    one_by_one = fields.Nested(WorthTold, required=True, metadata=told("what kit by kit would give"))
    better_than_one_by_one = fields.Nested(BetterTold, required=True)
    optimal = fields.Boolean(required=True, metadata=told("proven best among the candidates"))
    gap = _number("how far at most from the best, as the solver reports it", allow_none=True)
    bound = _number("points that no choice of these candidates exceeds", allow_none=True)
    status = fields.String(required=True, metadata=told("optimal, time limit, infeasible, stopped or other"))
    message = fields.String(required=True, metadata=told("the solver's own words"))
    candidates = fields.Integer(required=True)
    kept = fields.Integer(required=True, metadata=told("lines made by a kit that was given, not chosen"))
    how = fields.String(required=True, metadata=told("how candidates were chosen"))
    more = fields.String(required=True, metadata=told("what more of them would change; empty if not looked at"))
    weeks = many(WeekTold, "the work of all dated lines by week")
    notes = sentences("what else to know")


class SeasonJobOut(Strict):
    """A plan that is worked on in the background."""

    id = fields.String(required=True)
    state = fields.String(required=True, metadata=told("running, done, stopped or failed"))
    stage = fields.String(required=True, metadata=told("what is being done, in words"))
    done = fields.Float(required=True, validate=Range(0, 1), metadata=told("how much of the whole is done"))
    answer = fields.Nested(
        SeasonOut, required=True, allow_none=True, metadata=told("the plan; of a stopped one as far as it came")
    )
    error = fields.Nested(ErrorFacts, required=True, allow_none=True, metadata=told("why it failed"))


class PromiseIn(Strict):
    """A plan to promise, as a whole or not at all."""

    batches = fields.List(
        fields.Nested(BatchIn), required=True, validate=Length(1, MOST_LINES), metadata=told("the lines' batches")
    )


class PromisedOut(Strict):
    """The batches, promised."""

    items = many(BatchOut, "in the order sent")


class UseUpIn(Strict):
    """Jars to use up."""

    jars = fields.List(
        fields.Integer(validate=Range(1, LARGEST_ID)),
        required=True,
        validate=Length(1, MOST_CHOSEN),
        metadata=told("ids of jars"),
    )


class SuggestionTold(Strict):
    """So many kits of one trio."""

    theme = fields.String(required=True)
    kits = fields.Integer(required=True, validate=Range(1))
    trio = fields.Nested(TrioFacts, required=True, metadata=told("apart in cups, or mixed as a blend"))
    of_best = _number("its score as a part of the best trio's for that theme, at least the quality floor")
    takes = many(TakesTold, "what its kits take of each jar")


class RestTold(Strict):
    """What is left of a jar."""

    jar = row_id()
    name = fields.String(required=True)
    grams = _number("g")
    cups = fields.Integer(required=True, metadata=told("whole cups, 0 where it is used up"))


class UseUpOut(Strict):
    """The fewest kits that use jars up."""

    kits = fields.Integer(required=True)
    suggestions = many(SuggestionTold, "the most kits first")
    rests = many(RestTold, "what is left of the jars chosen")
    optimal = fields.Boolean(required=True, metadata=told("proven fewest among the candidates"))
    status = fields.String(required=True)
    message = fields.String(required=True, metadata=told("the solver's own words"))
    gap = _number("as the solver reports it", allow_none=True)
    candidates = fields.Integer(required=True)
    notes = sentences("what else to know")


class EventTold(Strict):
    """A day ahead."""

    date = fields.Date(required=True)
    name = fields.String(required=True)
    theme = fields.String(required=True, allow_none=True, metadata=told("the theme to plan for, null for none"))
    public = fields.Boolean(required=True, metadata=told("a public holiday there"))
    doubt = fields.String(required=True, allow_none=True, metadata=told("how unsure the date is"))
    source = fields.String(required=True, metadata=told("what the date follows from"))
    days = fields.Nested(DaysTold, required=True, allow_none=True, metadata=told("null without a theme"))


class CalendarOut(Strict):
    """The calendar ahead."""

    from_ = fields.Date(required=True, data_key="from")
    to = fields.Date(required=True)
    country = fields.String(required=True, allow_none=True, metadata=told("ISO 3166"))
    region = fields.String(required=True, allow_none=True)
    note = fields.String(required=True, allow_none=True)
    items = many(EventTold, "by day")
