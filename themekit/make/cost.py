"""What a batch costs, and the price of a kit.

Ingredients and packaging at the price of what is used of a pack, labour by the minute, a
share for overhead, and what is fixed for the batch. A price that is not known makes the
cost "at least" and is named; it never counts as zero unsaid. Sums run on exact decimals
and are rounded once, half to even; told lines add up to told totals by the largest remainder.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import Literal

from themekit.errors import Problem, raise_all
from themekit.make.goods import Needed, converted, find, is_water
from themekit.make.kit import Order
from themekit.make.money import (
    apportioned,
    break_even,
    margin_of,
    markup_of,
    price_from_margin,
    price_from_markup,
    rounded_up,
    to_cents,
    yearly_share,
)
from themekit.make.quantities import check_order
from themekit.values import Shelf

CostPart = Literal["ingredients", "packaging", "labour", "overhead"]
PARTS: tuple[CostPart, ...] = ("ingredients", "packaging", "labour", "overhead")

_ZERO = Decimal(0)
_SHARE = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class CostLine:
    """One thing's cost, to cents; None where it is not known, and then not in any total."""

    what: str
    part: CostPart
    amount: float | None
    unit: str
    per_batch: Decimal | None
    per_kit: Decimal | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class PartTotal:
    """The told lines of one part added up."""

    part: CostPart
    per_batch: Decimal
    per_kit: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """A kit's price and what it means.

    margin and markup are parts of the price and of the cost, for this price after rounding;
    None at a price or cost of 0. `break_even_kits` pays what is fixed for the batch; None
    when the price does not even cover what each further kit costs.
    """

    price: Decimal
    by: str
    margin: Decimal | None
    markup: Decimal | None
    profit_per_kit: Decimal
    profit_per_batch: Decimal
    break_even_kits: int | None


@dataclass(frozen=True, slots=True)
class Blend:
    """The batch's toppings from her own jars against a bought blend; None is not known."""

    grams: float | None
    own: Decimal | None
    bought: Decimal | None
    saved: Decimal | None


@dataclass(frozen=True, slots=True)
class CostSheet:
    """Cost of a batch and of one kit, and its price; all money in `currency`.

    `at_least`: something in `missing` is not counted, so that cost and a price made from it
    are the least they can be. `variable_per_kit` is what each further kit costs,
    `fixed_per_batch` what the batch costs however many kits it has.
    """

    currency: str
    kits: int
    lines: tuple[CostLine, ...]
    parts: tuple[PartTotal, ...]
    per_batch: Decimal
    per_kit: Decimal
    fixed_per_batch: Decimal
    variable_per_kit: Decimal
    at_least: bool
    missing: tuple[str, ...]
    price: Price | None
    blend: Blend | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Exact:
    """A line before rounding; `cost` is that of the batch."""

    what: str
    part: CostPart
    amount: float | None
    unit: str
    cost: Decimal | None
    note: str = ""


def cost(order: Order, used: Sequence[Needed], loads: int | None, shelf: Shelf, currency: str) -> CostSheet:
    """Cost and price of the batch `order`, which uses `used` and bakes `loads` oven loads.

    Parameters
    ----------
    used        what the batch uses, waste included; jars and gels go by their price per kg,
                supplies and boxes by price of a pack × used ÷ pack size.
    loads       oven loads; None is not known and makes the cost "at least".
    currency    told with the sheet; nothing is converted.

    Raises
    ------
    InvalidValue    an order, amount or number of loads that cannot be, all told at once.
    """
    check_order(order)
    _check(used, loads)
    by, kits = order.settings.cost, order.kits
    missing: list[str] = []
    goods = [_priced(need, shelf, order.settings.dough.egg_g, missing) for need in used if not is_water(need.name)]
    labour = _labour(order, loads, missing)
    share = _decimal(by.overhead_share)
    direct = sum((line.cost for line in (*goods, *labour) if line.cost is not None), _ZERO)
    overhead = [
        _Exact(
            "overhead, by share",
            "overhead",
            None,
            "",
            direct * share,
            f"{by.overhead_share:.0%} of ingredients, packaging and labour",
        ),
        _Exact("fixed for the batch", "overhead", None, "", by.overhead_per_batch),
        _tools(order, missing),
    ]
    exact = [*goods, *labour, *(line for line in overhead if line.cost != 0)]
    total = sum((line.cost for line in exact if line.cost is not None), _ZERO)
    fixed = by.overhead_per_batch
    if by.wage_per_hour is not None:
        fixed += by.wage_per_hour * _decimal(by.minutes_per_batch) / 60 * (1 + share)
    variable = (total - fixed) / kits
    lines, parts = _told(exact, kits)
    told_kit, told_batch = to_cents(total / kits), to_cents(total)
    price = _price(order, total / kits, told_kit, told_batch, fixed, variable, missing)
    at_least = any(line.cost is None for line in exact)
    return CostSheet(
        currency=currency,
        kits=kits,
        lines=lines,
        parts=parts,
        per_batch=told_batch,
        per_kit=told_kit,
        fixed_per_batch=to_cents(fixed),
        variable_per_kit=to_cents(variable),
        at_least=at_least,
        missing=tuple(dict.fromkeys(missing)),
        price=price,
        blend=_blend(used, goods, by.bought_blend_per_kg),
        notes=_notes(price, at_least, "price" if by.price is not None else by.price_by),
    )


def _check(used: Sequence[Needed], loads: int | None) -> None:
    problems = [
        Problem(f"used, {need.name}", str(amount), "0 or more, and finite", "Correct the amount.")
        for need in used
        for amount in (need.amount, need.expected)
        if amount is not None and not 0 <= amount < 1e12
    ]
    if loads is not None and loads < 0:
        problems.append(Problem("loads", loads, "a whole number from 0", "Leave it out if it is not known."))
    raise_all(problems, "This batch cannot be costed.")


def _priced(need: Needed, shelf: Shelf, egg_g: float, missing: list[str]) -> _Exact:
    """What is used of one thing, at the price of its pack."""
    amount = need.amount if need.expected is None else need.expected
    stock = find(need.name, need.of, shelf)
    note = "" if stock is None or stock.name == need.name else f"as {stock.name}"
    lack, money = "", None
    if amount is None:
        lack = f"How much {need.name} is used is not known."
    elif amount == 0:
        money = _ZERO
    elif stock is None:
        lack = f"Nothing on the shelf matches {need.name}, so its cost is not known."
    elif stock.price is None:
        lack = f"The price of {stock.name} is not entered."
    elif stock.price_for is None:
        lack = f"The pack size of {stock.name} is not entered."
    else:
        there = converted(_decimal(amount), need.unit, stock.unit, need.name, egg_g)
        if there is None:
            lack = f"{need.name} is used in {need.unit} but priced by {stock.unit or 'a unit not entered'}."
        else:
            money = stock.price * there / stock.price_for
    if lack:
        missing.append(lack)
    return _Exact(need.name, need.part, amount, need.unit, money, note)


def _labour(order: Order, loads: int | None, missing: list[str]) -> list[_Exact]:
    """Minutes for the batch, its kits and its oven loads, at her wage."""
    by = order.settings.cost
    minutes: list[tuple[str, float | None]] = [
        ("work on the batch", by.minutes_per_batch),
        ("filling and packing", by.minutes_per_kit * order.kits),
        ("rolling and baking", None if loads is None else by.minutes_per_load * loads),
    ]
    if by.wage_per_hour is None:
        known = sum(m for _, m in minutes if m is not None)
        missing.append(f"No wage is entered: {known:g} minutes of work are not in the cost.")
    if loads is None:
        missing.append("The oven loads are not known: their minutes are not in the cost.")
    wage = by.wage_per_hour
    return [
        _Exact(what, "labour", m, "min", None if m is None or wage is None else wage * _decimal(m) / 60)
        for what, m in minutes
        if m != 0
    ]


def _tools(order: Order, missing: list[str]) -> _Exact:
    """The batch's share of what her tools cost."""
    by = order.settings.cost
    money: Decimal | None = None
    if by.equipment_price == 0:
        money = _ZERO
    elif by.kits_per_year is None:
        missing.append("Kits in a year are not entered: the tools are not in the cost.")
    else:
        yearly = yearly_share(by.equipment_price, _decimal(by.equipment_years), by.product_lines, by.kits_per_year)
        money = yearly.per_unit * order.kits
    return _Exact("tools", "overhead", None, "", money)


def _told(exact: Sequence[_Exact], kits: int) -> tuple[tuple[CostLine, ...], tuple[PartTotal, ...]]:
    """Lines and part totals to cents, adding up for the batch and for one kit alike."""
    batch, kit = _shared_out(exact, 1), _shared_out(exact, kits)
    lines = tuple(
        CostLine(line.what, line.part, line.amount, line.unit, batch[1].get(i), kit[1].get(i), line.note)
        for i, line in enumerate(exact)
    )
    parts = tuple(PartTotal(part, batch[0][part], kit[0][part]) for part in PARTS)
    return lines, parts


def _shared_out(exact: Sequence[_Exact], divisor: int) -> tuple[dict[CostPart, Decimal], dict[int, Decimal]]:
    """Cents of each part and of each line by its place, of the cost ÷ `divisor`."""
    of = {
        part: {i: line.cost for i, line in enumerate(exact) if line.part == part and line.cost is not None}
        for part in PARTS
    }
    sums = [sum(of[part].values(), _ZERO) / divisor for part in PARTS]
    parts = dict(zip(PARTS, apportioned(to_cents(sum(sums, _ZERO)), sums), strict=True))
    lines: dict[int, Decimal] = {}
    for part in PARTS:
        cents = apportioned(parts[part], [c / divisor for c in of[part].values()])
        lines |= dict(zip(of[part], cents, strict=True))
    return parts, lines


def _price(
    order: Order,
    per_kit: Decimal,
    told_kit: Decimal,
    told_batch: Decimal,
    fixed: Decimal,
    variable: Decimal,
    missing: list[str],
) -> Price | None:
    """The price by margin, by markup or her own; only the first two are rounded up."""
    by = order.settings.cost
    # Her own price goes before any rule.
    rule = "price" if by.price is not None else by.price_by
    if rule == "price":
        if by.price is None:
            missing.append("Her own price is not entered, so that there is no price.")
            return None
        price = by.price
    elif rule == "markup":
        price = rounded_up(price_from_markup(per_kit, _decimal(by.markup_share)), by.round_to)
    else:
        price = rounded_up(price_from_margin(per_kit, _decimal(by.margin_share)), by.round_to)
    kits = break_even(fixed, price, variable)
    return Price(
        price=price,
        by=rule,
        margin=_share(margin_of(per_kit, price)),
        markup=_share(markup_of(per_kit, price)),
        profit_per_kit=price - told_kit,
        profit_per_batch=price * order.kits - told_batch,
        break_even_kits=None if kits is None else int(kits.to_integral_value(ROUND_CEILING)),
    )


def _blend(used: Sequence[Needed], goods: Sequence[_Exact], per_kg: Decimal | None) -> Blend | None:
    """The toppings of the batch as a bought blend of the same mass."""
    jars = {need.name for need in used if need.of == "jar"}
    toppings = [line for line in goods if line.what in jars and line.part == "ingredients"]
    if per_kg is None or not toppings:
        return None
    amounts = [line.amount for line in toppings if line.amount is not None]
    costs = [line.cost for line in toppings if line.cost is not None]
    grams = sum(amounts) if len(amounts) == len(toppings) else None
    own = to_cents(sum(costs, _ZERO)) if len(costs) == len(toppings) else None
    bought = None if grams is None else to_cents(per_kg * _decimal(grams) / 1000)
    return Blend(grams, own, bought, None if own is None or bought is None else bought - own)


def _notes(price: Price | None, at_least: bool, by: str) -> tuple[str, ...]:
    notes = []
    if at_least:
        notes.append("The cost is at least this: something is not counted.")
        if by != "price":
            notes.append("The price follows from it, and may be too low.")
    if price and price.profit_per_kit < 0:
        notes.append(f"At this price each kit loses {-price.profit_per_kit}.")
    if price and price.break_even_kits is None:
        notes.append("At this price no number of kits pays what is fixed for the batch.")
    return tuple(notes)


def _share(value: Decimal | None) -> Decimal | None:
    return None if value is None else value.quantize(_SHARE, ROUND_HALF_EVEN)


def _decimal(value: float) -> Decimal:
    return Decimal(str(value))
