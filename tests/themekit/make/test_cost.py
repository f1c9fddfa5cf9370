"""Cost and price against business formulas and a published budget; told cents add up; nothing is silently zero."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.cost import CostSheet, cost
from themekit.make.goods import Needed
from themekit.make.kit import Cut, Kit, Order
from themekit.make.money import (
    apportioned,
    break_even,
    margin_of,
    markup_from_margin,
    markup_of,
    price_from_margin,
    price_from_markup,
    rounded_up,
    to_cents,
    yearly_share,
)
from themekit.make.settings import Settings
from themekit.values import Box, Cutter, Gel, Jar, Shelf, Supply

Make = Callable[..., Jar]
D = Decimal
CENT = D("0.01")

FLOUR = Supply(1, "plain wheat flour", "ingredient", "g", 0, 5000, D("6.20"))
EGGS = Supply(2, "eggs", "ingredient", "piece", None, 12, D("4.40"))
STICKS = Supply(3, "wooden sticks", "stick", "piece", 10, 200, D("3.90"))
NO_PRICE = Supply(4, "butter", "ingredient", "g", 10, 250, None)
NO_PACK = Supply(5, "milk", "ingredient", "ml", 10, None, D("1.00"))


@pytest.fixture(scope="module")
def on(jar: Make) -> Shelf:
    """An invented shelf."""
    jars = (jar(1, price_per_kg=D("12.50")), jar(2, price_per_kg=D("20")), jar(3, price_per_kg=None))
    gels = (Gel(1, "teal", (60, 0, 0), 0.5, (0.0,) * 31, price_per_kg=D("96.00")),)
    boxes = (Box(1, "square box", price=D("0.85")),)
    return Shelf(1, "invented", jars, (), gels, boxes=boxes, supplies=(FLOUR, EGGS, STICKS, NO_PRICE, NO_PACK))


def sheet(used: Sequence[Needed], shelf: Shelf, kits: int = 1, loads: int | None = 0, **changed: Any) -> CostSheet:
    base = Settings()
    bare: dict[str, Any] = {
        "wage_per_hour": D(0), "minutes_per_batch": 0.0, "minutes_per_kit": 0.0, "minutes_per_load": 0.0,
        "overhead_share": 0.0, "round_to": D(0),
    }  # fmt: skip
    made = replace(base, cost=replace(base.cost, **(bare | changed)))
    kit = Kit("owl party", (), (), (Cut(Cutter(1, "owl"), 8),))
    return cost(Order(kit, kits, made), used, loads, shelf, "EUR")


def of_cost(amount: str) -> dict[str, Any]:
    """Settings of a batch that costs so much and uses nothing."""
    return {"overhead_per_batch": D(amount)}


def test_price_40_to_100_is_margin_60_and_markup_150(on: Shelf) -> None:
    """The usual worked example of business mathematics: cost 40, price 100."""
    assert margin_of(D(40), D(100)) == D("0.6")
    assert markup_of(D(40), D(100)) == D("1.5")
    told = sheet((), on, **of_cost("40"), price_by="price", price=D(100)).price
    assert told is not None
    assert (told.margin, told.markup, told.profit_per_kit) == (D("0.6"), D("1.5"), D("60.00"))


def test_cost_8_57_at_a_margin_of_27_percent_is_11_74(on: Shelf) -> None:
    """A published margin calculator's example: 8.57 at 27 % sells at 11.74 (11.7397…)."""
    assert price_from_margin(D("8.57"), D("0.27")).quantize(CENT, ROUND_HALF_EVEN) == D("11.74")
    told = sheet((), on, **of_cost("8.57"), margin_share=0.27).price
    assert told is not None
    assert told.price == D("11.74")
    # As a markup the same 27 % sells for less.
    assert price_from_markup(D("8.57"), D("0.27")).quantize(CENT) == D("10.88")


def test_a_margin_of_25_percent_is_a_markup_of_33_3() -> None:
    """m = g ÷ (1 − g): the textbook pairs 25 % and 33.3 %, 50 % and 100 %."""
    assert markup_from_margin(D("0.25")).quantize(D("0.001")) == D("0.333")
    assert markup_from_margin(D("0.5")) == 1


@pytest.mark.parametrize(
    ("purchase", "years", "per_year", "per_line", "per_jar"),
    [
        # "A Cottage Food Budgeting Example" (paperzz.com, document 8033266): strawberry jam, one
        # of five product lines, 500 half-pints a year. Purchase, life; per year, line and jar.
        ("161.94", 10, "16.19", "3.24", "0.01"),
        ("21.99", 5, "4.40", "0.88", "0.00"),
        ("125.00", 5, "25.00", "5.00", "0.01"),
        ("68.00", 1, "68.00", "13.60", "0.03"),
        ("500.00", 1, "500.00", "100.00", "0.20"),
        ("114.15", 5, "22.83", "4.57", "0.01"),
    ],
)
def test_cottage_food_budget_to_the_cent(
    on: Shelf, purchase: str, years: int, per_year: str, per_line: str, per_jar: str
) -> None:
    found = yearly_share(D(purchase), D(years), 5, 500)
    assert [to_cents(x) for x in (found.per_year, found.per_line, found.per_unit)] == [
        D(per_year), D(per_line), D(per_jar),
    ]  # fmt: skip
    tools = {"equipment_price": D(purchase), "equipment_years": float(years), "product_lines": 5}
    whole_year = sheet((), on, 500, **tools, kits_per_year=500)
    assert (whole_year.per_batch, whole_year.per_kit) == (D(per_line), D(per_jar))


def test_wage_of_the_same_budget(on: Shelf) -> None:
    """The same handout: ten hours for 114.15, that is 11.415 an hour, printed 11.42."""
    found = sheet((), on, wage_per_hour=D("11.415"), minutes_per_batch=600.0)
    assert found.per_batch == D("114.15")
    assert to_cents(D("114.15") / 10) == D("11.42")


def test_what_is_used_of_a_pack_jar_gel_and_box(on: Shelf) -> None:
    """Price of the pack × used ÷ pack size, the standard way; worked by hand.

    1000 of 5000 g at 6.20; 150 g of egg are three of 12 at 4.40 (a large egg is 50 g, USDA SR28
    no. 01123); 100 g at 12.50 a kg; 5 g at 96 a kg; 10 boxes at 0.85; 52.5 sticks of 200 at 3.90.
    """
    used = (
        Needed("wheat flour", 1000, "g", "dough"),
        Needed("egg", 150, "g", "dough"),
        Needed("water", 200, "g", "icing"),
        Needed("jar 1", 100, "g", "toppings", "jar"),
        Needed("teal", 5, "g", "tinting", "gel"),
        Needed("square box", 10, "piece", "packing", "box", "packaging"),
        Needed("sticks", 53, "piece", "packing", "supply", "packaging", expected=52.5),
    )
    found = sheet(used, on, 10)
    assert {line.what: line.per_batch for line in found.lines} == {
        "wheat flour": D("1.24"), "egg": D("1.10"), "jar 1": D("1.25"), "teal": D("0.48"),
        "square box": D("8.50"), "sticks": D("1.02"),
    }  # fmt: skip
    assert [(p.part, p.per_batch) for p in found.parts if p.per_batch] == [
        ("ingredients", D("4.07")), ("packaging", D("9.52")),
    ]  # fmt: skip
    # 13.59375 in all.
    assert (found.per_batch, found.per_kit, found.currency) == (D("13.59"), D("1.36"), "EUR")
    assert (found.at_least, found.missing) == (False, ())
    assert next(x.note for x in found.lines if x.what == "egg") == "as eggs"


def test_labour_overhead_fixed_and_break_even(on: Shelf) -> None:
    """Worked by hand: 10 kits; 60 + 120 + 30 min at 12 an hour is 42; flour 8; a tenth on top of 50; stall 20.

    Fixed 20 + 12 × 1.1 = 33.20; all 75; each further kit (75 − 33.20) ÷ 10 = 4.18; at a price of
    10.00 the batch breaks even at 33.20 ÷ 5.82 = 5.7, so 6 kits.
    """
    flour = replace(FLOUR, pack_price=D("40"))
    shelf = replace(on, supplies=(flour,))
    found = sheet(
        (Needed("wheat flour", 1000, "g", "dough"),), shelf, 10, 2,
        wage_per_hour=D(12), minutes_per_batch=60.0, minutes_per_kit=12.0, minutes_per_load=15.0,
        overhead_share=0.1, overhead_per_batch=D(20), price_by="price", price=D(10),
    )  # fmt: skip
    assert [(p.part, p.per_batch) for p in found.parts] == [
        ("ingredients", D(8)), ("packaging", D(0)), ("labour", D(42)), ("overhead", D(25)),
    ]  # fmt: skip
    assert (found.per_batch, found.per_kit) == (D(75), D("7.50"))
    assert (found.fixed_per_batch, found.variable_per_kit) == (D("33.20"), D("4.18"))
    assert found.price is not None
    assert found.price.break_even_kits == 6
    assert (found.price.profit_per_kit, found.price.profit_per_batch) == (D("2.50"), D(25))
    below = sheet((), on, 10, **of_cost("20"), price_by="price", price=D(0)).price
    assert below is not None
    assert (below.break_even_kits, below.margin, below.markup) == (None, None, D(-1))
    assert break_even(D(100), D(10), D(10)) is None
    assert break_even(D(100), D(5), D(10)) is None
    # Fixed 100, price 10, variable 6: 25 units.
    assert break_even(D(100), D(10), D(6)) == 25


def test_prices_are_rounded_up_and_the_shares_are_of_the_result(on: Shelf) -> None:
    """6.00 at a margin of 40 % is 10.00 as it stands; 6.01 goes up to 10.50; her own price stays as it is."""
    at = {"margin_share": 0.4, "round_to": D("0.50")}
    exact = sheet((), on, **of_cost("6.00"), **at).price
    assert exact is not None
    assert (exact.price, exact.margin, exact.markup) == (D(10), D("0.4"), D("0.6667"))
    more = sheet((), on, **of_cost("6.01"), **at).price
    assert more is not None
    assert more.price == D("10.50")
    assert more.margin == (D("4.49") / D("10.50")).quantize(D("0.0001"))
    marked = sheet((), on, **of_cost("10"), price_by="markup", markup_share=0.67, round_to=D("0.50")).price
    assert marked is not None
    assert (marked.price, marked.markup) == (D(17), D("0.7"))
    own = sheet((), on, **of_cost("12"), price_by="price", price=D("11.99"), round_to=D(1))
    assert own.price is not None
    assert own.price.price == D("11.99")
    assert any("loses 0.01" in note for note in own.notes)
    # A third of 20, and half of it more, is 10 and not a hair above.
    assert rounded_up(price_from_markup(D(20) / 3, D("0.5")), D("0.50")) == 10


def test_a_missing_price_makes_the_cost_at_least(on: Shelf) -> None:
    used = (
        Needed("wheat flour", 1000, "g", "dough"),
        Needed("butter", 100, "g", "dough"),
        Needed("milk", 100, "g", "dough"),
        Needed("spoons", 1, "piece", "packing", "supply", "packaging"),
        Needed("jar 3", 10, "g", "toppings", "jar"),
        Needed("jar 2", None, "g", "toppings", "jar"),
        Needed("sticks", 2, "g", "packing", "supply", "packaging"),
    )
    found = sheet(used, on, wage_per_hour=None, minutes_per_kit=12.0, equipment_price=D(90), loads=None)
    assert found.at_least
    assert {x.what: x.per_batch for x in found.lines if x.part != "overhead"} == {
        "wheat flour": D("1.24"), "butter": None, "milk": None, "spoons": None, "jar 3": None, "jar 2": None,
        "sticks": None, "filling and packing": None, "rolling and baking": None,
    }  # fmt: skip
    assert next(x for x in found.lines if x.what == "tools").per_kit is None
    told = " ".join(found.missing)
    for words in (
        "price of butter is not entered", "pack size of milk is not entered", "matches spoons",
        "price of jar 3 is not entered", "How much jar 2", "sticks is used in g but priced by piece",
        "No wage is entered: 12 minutes", "oven loads are not known", "Kits in a year are not entered",
    ):  # fmt: skip
        assert words in told
    assert len(found.missing) == 9
    assert any("at least" in note for note in found.notes)
    assert any("too low" in note for note in found.notes)
    [missing] = sheet((), on, price_by="price").missing
    assert "own price" in missing
    assert sheet((), on, price_by="price").price is None


def test_a_bought_blend_beside_her_own(on: Shelf) -> None:
    """By hand: 100 g at 12.50 and 50 g at 20 a kg are 2.25; 150 g of a blend at 30 a kg are 4.50."""
    own = (Needed("jar 1", 100, "g", "toppings", "jar"), Needed("jar 2", 50, "g", "toppings", "jar"))
    blend = sheet(own, on, bought_blend_per_kg=D(30)).blend
    assert blend is not None
    assert (blend.grams, blend.own, blend.bought, blend.saved) == (150, D("2.25"), D("4.50"), D("2.25"))
    assert sheet(own, on).blend is None
    priceless = sheet((*own, Needed("jar 3", 10, "g", "toppings", "jar")), on, bought_blend_per_kg=D(30)).blend
    assert priceless is not None
    assert (priceless.own, priceless.bought, priceless.saved) == (None, D("4.80"), None)
    weightless = sheet((*own, Needed("jar 3", None, "g", "toppings", "jar")), on, bought_blend_per_kg=D(30)).blend
    assert weightless is not None
    assert (weightless.grams, weightless.bought, weightless.saved) == (None, None, None)


def test_what_cannot_be_costed_is_told_at_once(on: Shelf) -> None:
    used = (Needed("butter", -1, "g", "dough"), Needed("egg", float("nan"), "g", "dough"))
    with pytest.raises(InvalidValue) as caught:
        sheet(used, on, loads=-1)
    assert [p.field for p in caught.value.problems] == ["used, butter", "used, egg", "loads"]
    with pytest.raises(InvalidValue, match="from 1 to 1000"):
        sheet((), on, 0)
    with pytest.raises(InvalidValue, match="below 1"):
        price_from_margin(D(1), D(1))
    with pytest.raises(InvalidValue) as caught:
        yearly_share(D(1), D(0), 0, 0)
    assert len(caught.value.problems) == 3


@settings(derandomize=True, deadline=None, max_examples=100)
@given(
    prices=st.lists(st.decimals(0, 100, places=4), min_size=1, max_size=6),
    grams=st.floats(0, 1e4),
    kits=st.integers(1, 1000),
    wage=st.decimals(0, 50, places=2),
    share=st.floats(0, 2),
)
def test_told_lines_add_up_to_told_totals(prices: list[D], grams: float, kits: int, wage: D, share: float) -> None:
    supplies = tuple(Supply(i, f"thing {i}", None, "g", 0, 300, p) for i, p in enumerate(prices))
    used = [Needed(s.name, grams, "g", "dough", part="packaging" if s.id % 2 else "ingredients") for s in supplies]
    found = sheet(
        used, Shelf(1, "s", supplies=supplies), kits, 3,
        wage_per_hour=wage, minutes_per_batch=50.0, minutes_per_kit=7.0, minutes_per_load=11.0,
        overhead_share=share,
    )  # fmt: skip
    exact = sum(p * D(str(grams)) / 300 for p in prices) + wage * D(50 + 7 * kits + 33) / 60
    exact *= 1 + D(str(share))
    for kind, divisor in (("per_batch", 1), ("per_kit", kits)):
        told = getattr(found, kind)
        assert sum(getattr(line, kind) for line in found.lines) == told
        assert sum(getattr(part, kind) for part in found.parts) == told
        assert abs(told - exact / divisor) <= D("0.0050000001")
        for part in found.parts:
            assert sum(getattr(x, kind) for x in found.lines if x.part == part.part) == getattr(part, kind)
    for supply, line in zip(supplies, found.lines, strict=False):
        assert supply.pack_price is not None
        assert line.per_batch is not None
        assert abs(line.per_batch - supply.pack_price * D(str(grams)) / 300) < CENT


@settings(derandomize=True, max_examples=100)
@given(amounts=st.lists(st.decimals(0, 1000, places=5), max_size=12))
def test_cents_by_largest_remainder(amounts: list[D]) -> None:
    total = to_cents(sum(amounts, D(0)))
    told = apportioned(total, amounts)
    assert sum(told, D(0)) == total
    assert all(abs(t - a) < CENT for t, a in zip(told, amounts, strict=True))
    for t, a in zip(told, amounts, strict=True):
        for u, b in zip(told, amounts, strict=True):
            # Whoever went up had at least the remainder of whoever went down.
            assert not (t > a and u < b) or a % CENT >= b % CENT


def test_cents_by_hand() -> None:
    """Largest remainder: 1.004 + 1.004 + 1.007 is 3.015, half to even 3.02, and two go up, the largest first."""
    assert apportioned(D("3.02"), [D("1.004"), D("1.004"), D("1.007")]) == (D("1.01"), D("1.00"), D("1.01"))


@settings(derandomize=True, max_examples=100)
@given(
    amount=st.decimals("0.01", 1000, places=2),
    margin=st.decimals(0, "0.95", places=3),
    step=st.sampled_from([D(0), D("0.05"), D("0.50"), D(1), D(5)]),
)
def test_margin_and_markup_are_one_price(amount: D, margin: D, step: D) -> None:
    """P = C ÷ (1 − g) = C(1 + m) for m = g ÷ (1 − g), and g = m ÷ (1 + m); up to the step, never beyond."""
    price, markup = price_from_margin(amount, margin), markup_from_margin(margin)
    assert abs(price - price_from_markup(amount, markup)) < D("1e-20")
    assert abs(margin - markup / (1 + markup)) < D("1e-25")
    up = rounded_up(price, step)
    assert 0 <= up - price + D("1e-12") < (step or CENT) + D("1e-12")
    assert up % (step or CENT) == 0
