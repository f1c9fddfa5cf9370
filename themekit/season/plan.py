"""The joint plan of a season: palettes, trios and cutters for all lines at once from one shelf."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date

from themekit.errors import Problem, raise_all
from themekit.make.settings import Settings
from themekit.season.offers import Breadth, Offering, offering_of
from themekit.season.one_by_one import one_by_one
from themekit.season.programme import solve
from themekit.season.stock import Stock, bought, stock_of, worth
from themekit.season.swap import narrowed, others, places_of
from themekit.season.told import line_reasons, more_told, understood_told
from themekit.season.values import (
    LineOffers,
    LinePlan,
    Planned,
    Progress,
    SeasonPlan,
    Solved,
    Stop,
    Weights,
    Worth,
    in_order,
    never,
    untold,
)
from themekit.suggest.asked import MOST_KITS
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.values import Lexicon, Shelf

MOST_LINES = 40
#: Of a time limit so much goes to the look at more candidates.
_FURTHER = 0.5
#: … and of that look so much is done once the candidates are there.
_LOOKING = 0.9


def season_plan(
    planned: Sequence[Planned],
    shelf: Shelf,
    lexicon: Lexicon,
    *,
    today: date | None = None,
    settings: Settings | None = None,
    buy: bool = True,
    time_limit_s: float | None = None,
    further: bool = True,
    breadth: Breadth | None = None,
    weights: Weights | None = None,
    taste: Taste = NO_TASTE,
    progress: Progress = untold,
    stop: Stop = never,
) -> SeasonPlan:
    """Choose for all lines together, so that stock suffices and quality is highest.

    Parameters
    ----------
    planned       the lines: theme or free choice, kits, day, needs.
    buy           whether toppings may be bought where stock leaves no other way.
    time_limit_s  of the solver; what was found by then is given with its gap.
    further       solve again with twice the candidates, to say what more of them would change.
    taste         what her choices tell: how parts weigh, and which themes a free choice prefers.
    progress      called with a stage and how much of it is done, 0–1.
    stop          asked between steps; once it says True no new step is begun, and what was
                  chosen so far is given (nothing, or the choice kit by kit).

    A line that keeps a kit (`Planned.keep`) is made as that one, whatever it costs the plan;
    the others are chosen around it, and nothing further is looked for.

    The same question always has the same answer, unless a time limit cut it short. Raises
    `InvalidValue`, `ThemeNotUnderstood` or `NeedConflict`; a line without candidates is no
    error but left out with why.
    """
    _check(planned)
    weights, breadth = weights or Weights(), breadth or Breadth()
    offering = offering_of(shelf, lexicon, today, settings or Settings(), taste)
    lines = offering.lines(planned, breadth, lambda done: progress("candidates", done), stop)
    lines += tuple(LineOffers(p, (), "The work was stopped before this line.") for p in planned[len(lines) :])
    stock = stock_of(shelf.jars, lines, today)
    every, lines = lines, narrowed(lines)
    progress("one by one", 0.0)
    alone = one_by_one(lines, stock, weights, buy)
    progress("one by one", 1.0)
    greedy = worth(lines, alone, stock, weights)
    solved = Solved(alone, "stopped", "The work was stopped before the joint choice.", None, None, 0.0)
    if not stop():
        progress("joint choice", 0.0)
        solved = _or_alone(solve(lines, stock, weights, buy, time_limit_s), lines, stock, weights, alone)
        progress("joint choice", 1.0)
    value = worth(lines, solved.chosen, stock, weights)
    more = ""
    if further and not any(p.keep for p in planned) and solved.status in ("optimal", "time limit") and not stop():

        def tell(done: float) -> None:
            progress("more candidates", done)

        tell(0.0)
        more = _further(offering, planned, breadth, (stock, weights, buy, time_limit_s), value, tell, stop)
        tell(1.0)
    return SeasonPlan(
        lines=_told(offering, every, places_of(every, lines, solved.chosen), stock),
        worth=value,
        one_by_one=greedy,
        solved=solved,
        candidates=sum(len(line.offers) for line in every),
        how=breadth.told(),
        more=more,
        notes=tuple(dict.fromkeys(note for line in lines for note in line.notes)),
    )


def _check(planned: Sequence[Planned]) -> None:
    problems = []
    if not 1 <= len(planned) <= MOST_LINES:
        problems.append(
            Problem("kits", f"{len(planned)} lines", f"1 to {MOST_LINES} lines", "Plan the rest apart.")
        )
    problems += [
        Problem(f"kits.{at}.kits", line.kits, f"a whole number from 1 to {MOST_KITS}", "Split a larger batch.")
        for at, line in enumerate(planned)
        if not 1 <= line.kits <= MOST_KITS
    ]
    raise_all(problems, "This season cannot be planned.")


def _or_alone(
    solved: Solved, lines: Sequence[LineOffers], stock: Stock, weights: Weights, alone: tuple[int | None, ...]
) -> Solved:
    """A search cut short may know less than choosing kit by kit does; then that is taken, with its gap."""
    joint, single = worth(lines, solved.chosen, stock, weights), worth(lines, alone, stock, weights)
    if solved.optimal or joint.value >= single.value:
        return solved
    gap = None
    if solved.bound is not None:
        gap = max(0.0, (solved.bound - single.value) / max(abs(single.value), 1e-9))
    return Solved(alone, solved.status, solved.message, gap, solved.bound, solved.seconds)


def _further(
    offering: Offering, planned: Sequence[Planned], breadth: Breadth,
    rules: tuple[Stock, Weights, bool, float | None], value: Worth, tell: Callable[[float], None], stop: Stop,
) -> str:  # fmt: skip
    """What twice as many candidates would change, in words."""
    stock, weights, buy, limit = rules
    lines = offering.lines(planned, breadth.twice(), lambda done: tell(_LOOKING * done), stop)
    if len(lines) < len(planned) or stop():
        return ""
    wider = stock_of(offering.shelf.jars, lines, offering.today)
    # Purchases are weighed as before, or the two values could not be compared.
    wider = Stock(wider.jars, wider.free, wider.idle, wider.price, stock.full)
    found = solve(lines, wider, weights, buy, None if limit is None else _FURTHER * limit)
    return more_told(value, worth(lines, found.chosen, wider, weights), found, sum(len(x.offers) for x in lines))


def _told(
    offering: Offering, lines: Sequence[LineOffers], chosen: Sequence[int | None], stock: Stock
) -> tuple[LinePlan, ...]:
    """Every line with its choice, what it has to buy, and why it was chosen."""
    uses: Counter[int] = Counter()
    for line, at in zip(lines, chosen, strict=True):
        uses.update(id for id, _ in (line.offers[at].taken if at is not None else ()))
    plans: list[LinePlan | None] = [None] * len(lines)
    instead = others(lines, chosen, stock)
    left = dict(stock.free)
    for number in in_order([line.planned for line in lines]):
        line, at = lines[number], chosen[number]
        if at is None:
            why = line.why_none or "Stock does not suffice for it beside the other lines."
            plans[number] = LinePlan(line.planned, None, None, (), (), why, others=instead[number])
            continue
        offer = line.offers[at]
        suggester = offering.suggester(offer.theme, line.planned.kits, line.planned.needs)
        asked = suggester.asked
        lacking = {id: mg - max(0, left[id]) for id, mg in offer.taken if mg > max(0, left[id])}
        for id, mg in offer.taken:
            left[id] -= mg
        reasons = line_reasons(line, at, stock, uses, offering.today)
        plans[number] = LinePlan(
            line.planned,
            offer,
            suggester.idea_of(offer.palette, offer.trio, offer.cutters),
            tuple(bought(stock.jars[id], mg) for id, mg in sorted(lacking.items())),
            (*understood_told(asked), *reasons),
            asked=asked,
            others=instead[number],
        )
    return tuple(plan for plan in plans if plan is not None)
