"""Formulas of cost and price, and cents that add up. Decimal, rounded only where it says so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from themekit.errors import Problem, raise_all

CENT = Decimal("0.01")
#: Digits that a price may owe to endless decimals; less than these is no step up.
_NOISE = Decimal("1e-12")


@dataclass(frozen=True, slots=True)
class YearlyShare:
    """What a purchase costs in a year of its life, for one product line of it, and for one unit."""

    per_year: Decimal
    per_line: Decimal
    per_unit: Decimal


def price_from_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """P = C ÷ (1 − g): the price of which `margin` (0 ≤ g < 1) is left over the cost."""
    if not 0 <= margin < 1:
        raise_all([Problem("margin", str(margin), "from 0 to below 1", "A margin is a part of the price.")])
    return cost / (1 - margin)


def price_from_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """P = C(1 + m): the cost with `markup` (m ≥ 0) on top."""
    if markup < 0:
        raise_all([Problem("markup", str(markup), "0 or more", "A markup is a part of the cost.")])
    return cost * (1 + markup)


def margin_of(cost: Decimal, price: Decimal) -> Decimal | None:
    """g = (P − C) ÷ P, a part of the price, below 0 for a loss; None at a price of 0."""
    return (price - cost) / price if price else None


def markup_of(cost: Decimal, price: Decimal) -> Decimal | None:
    """m = (P − C) ÷ C, a part of the cost, below 0 for a loss; None at a cost of 0."""
    return (price - cost) / cost if cost else None


def markup_from_margin(margin: Decimal) -> Decimal:
    """m = g ÷ (1 − g), for 0 ≤ g < 1."""
    return price_from_margin(margin, margin)


def break_even(fixed: Decimal, price: Decimal, variable: Decimal) -> Decimal | None:
    """Units at which nothing is lost, fixed ÷ (price − variable unit cost); None where no number does."""
    return fixed / (price - variable) if price > variable else None


def yearly_share(purchase: Decimal, years: Decimal, lines: int, units: int) -> YearlyShare:
    """Yearly cost of a purchase that lasts `years`, shared by product lines and the units of one line.

    Purchase ÷ life, ÷ product lines, ÷ units in a line and year; all divisors above 0.
    """
    wrong = [
        Problem(name, str(value), "above 0", "Correct it.")
        for name, value in (("years", years), ("lines", lines), ("units", units))
        if value <= 0
    ]
    raise_all(wrong, "This purchase cannot be shared out.")
    per_year = purchase / years
    return YearlyShare(per_year, per_year / lines, per_year / lines / units)


def rounded_up(price: Decimal, step: Decimal) -> Decimal:
    """`price` rounded up to a multiple of `step`; to a cent where the step is 0."""
    step = step or CENT
    count = (price.quantize(_NOISE) / step).to_integral_value(ROUND_CEILING)
    return count * step


def to_cents(amount: Decimal) -> Decimal:
    """`amount` to 0.01, half to even."""
    return amount.quantize(CENT, ROUND_HALF_EVEN)


def apportioned(total: Decimal, amounts: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """`amounts` (≥ 0) to cents so that they add up to `total`, by the largest remainder.

    `total` must be their sum rounded up or down to a cent; each is then less than a cent
    from its exact amount. Equal remainders go to the earlier one; 0 stays 0.
    """
    floors = [amount.quantize(CENT, ROUND_FLOOR) for amount in amounts]
    left = int((total - sum(floors, Decimal(0))) / CENT)
    order = sorted(range(len(amounts)), key=lambda i: (floors[i] - amounts[i], i))
    ups = {i for i in order[:left] if amounts[i] > floors[i]}
    return tuple(floor + CENT if i in ups else floor for i, floor in enumerate(floors))
