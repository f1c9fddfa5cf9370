"""A batch worked out as a whole: its parts agree with one another, and nothing unknown becomes zero."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from catalog.batch_fields import check_batch
from catalog.batch_kit import kit_of
from catalog.lexicon import lexicon, staples
from catalog.lexicon.label_rules import label_rules
from themekit.errors import InvalidValue
from themekit.make.kit import Cut, Order, Topping
from themekit.make.settings import Settings, checked
from themekit.make.work import Basis, Work, stock_needs, work
from themekit.values import Needs, Shelf

DUE, TODAY = date(2026, 12, 12), date(2026, 11, 25)
#: One US tablespoon: 231 cubic inches to the gallon, 256 tablespoons (NIST Handbook 44, Appendix C).
TABLESPOON_ML = 231 * 2.54**3 / 256
Worked = Callable[..., Work]


def order(shelf: Shelf, kits: int = 12, **settings: dict[str, object]) -> Order:
    body = {
        "theme": "owl party",
        "kits": kits,
        "tints": ["#2a9d8f", "#e9c46a", "#6b4a2f"],
        "jars": [shelf.jars[0].id, shelf.jars[1].id, shelf.jars[3].id],
        "cutters": [{"id": shelf.cutters[0].id, "cookies": 5}, {"id": shelf.cutters[2].id, "cookies": 3}],
    }
    record, problems = check_batch(body, shelf, staples())
    assert not problems
    own, wrong = checked(settings)
    assert not wrong
    return Order(kit_of(record, shelf, staples(), lexicon().colour_basics), kits, own)


@pytest.fixture(scope="module")
def worked(demo: Shelf) -> Worked:
    def make(of: Order, shelf: Shelf | None = None, needs: Needs | None = None, **more: object) -> Work:
        basis = Basis(shelf or demo, staples(), label_rules("US"), "EUR")
        return work(of, basis, needs, DUE, TODAY, **more)  # type: ignore[arg-type]

    return make


def test_toppings_are_a_tablespoon_each_by_the_jars_own_weight(demo: Shelf, worked: Worked) -> None:
    done = worked(order(demo))
    for portion in done.contents.toppings:
        jar = next(j for j in demo.jars if j.id == portion.jar.id)
        assert portion.g_per_kit == pytest.approx(TABLESPOON_ML * (jar.density_g_per_ml or math.nan))


def test_what_is_needed_of_the_shelf_is_what_the_parts_say(demo: Shelf, worked: Worked) -> None:
    of = order(demo)
    done, taken = worked(of), stock_needs(of, demo, staples())
    for portion in done.contents.toppings:
        assert taken[("jars", portion.jar.id)] == pytest.approx(portion.total_g, abs=0.002)
    for total in done.icing.gels:
        if total.gel_id is not None:
            assert taken[("gels", total.gel_id)] == pytest.approx(total.grams, abs=0.002)
    box = done.packing.in_stock or done.packing.best
    assert box is not None
    assert taken[("boxes", box.box.id)] == of.kits


@pytest.mark.parametrize("kits", [1, 2, 7, 40, 200])
def test_everything_grows_with_the_kits(demo: Shelf, worked: Worked, kits: int) -> None:
    one, many = worked(order(demo, 1)), worked(order(demo, kits))
    assert many.contents.kits == kits
    assert many.icing.white_g == pytest.approx(one.icing.white_g * kits, rel=0.02)
    # Whole spare cookies weigh more on one kit than on many.
    assert one.dough.dough_g * kits * 0.8 <= many.dough.dough_g <= one.dough.dough_g * kits + kits
    assert many.cost.per_batch >= one.cost.per_batch


def test_the_label_takes_the_day_plans_date_and_the_food_alone(demo: Shelf, worked: Worked) -> None:
    done = worked(order(demo))
    assert done.days is not None
    assert done.label.best_before == done.days.best_before
    assert done.label.net_g is not None
    assert done.label.net_g < done.packing.weight.g
    food = sum(g for name, g in done.packing.weight.parts if g and name not in _PACKAGING)
    assert done.label.net_g == pytest.approx(food, rel=0.02)


_PACKAGING = ("cups", "bags", "small goods", "filling", "box")


def test_the_label_names_every_allergen_of_every_part(demo: Shelf, worked: Worked) -> None:
    done = worked(order(demo))
    text = " ".join(run.text for run in (*done.label.ingredients, *done.label.contains)).lower()
    for word in ("milk", "egg", "wheat"):
        assert word in text


def test_needs_that_are_broken_lead_and_name_the_part(demo: Shelf, worked: Worked) -> None:
    done = worked(order(demo), needs=Needs(avoid_allergens=("milk",), youngest_age=3))
    assert done.breaks[0].startswith("The dough does not keep “no milk”")
    assert worked(order(demo)).breaks == ()


def test_a_missing_price_makes_the_cost_at_least_and_is_named(demo: Shelf, worked: Worked) -> None:
    jar = demo.jars[0]
    priced = replace(demo, jars=tuple(replace(j, price_per_kg=Decimal(10)) for j in demo.jars))
    unpriced = replace(
        priced, jars=tuple(replace(j, price_per_kg=None) if j.id == jar.id else j for j in priced.jars)
    )
    full, part = worked(order(priced), priced), worked(order(unpriced), unpriced)
    assert part.cost.at_least
    assert any(jar.name in line for line in part.cost.missing)
    assert part.cost.per_batch < full.cost.per_batch


def test_a_jar_without_density_is_told_and_needs_an_unknown_amount(demo: Shelf, worked: Worked) -> None:
    of = order(demo)
    first, *rest = of.kit.toppings
    unknown = replace(first.jar, density_g_per_ml=None)
    of = replace(of, kit=replace(of.kit, toppings=(Topping(unknown, first.share), *rest)))
    shelf = replace(demo, jars=tuple(unknown if j.id == unknown.id else j for j in demo.jars))
    done = worked(of, shelf)
    assert any(unknown.name in line for line in done.missing)
    assert stock_needs(of, shelf, staples())[("jars", unknown.id)] is None
    assert next(p for p in done.contents.toppings if p.jar.id == unknown.id).g_per_kit is None


def test_what_is_held_already_is_not_bought_again(demo: Shelf) -> None:
    of = order(demo)
    taken = {key: amount or 0.0 for key, amount in stock_needs(of, demo, staples()).items()}
    left = replace(
        demo,
        jars=tuple(
            replace(j, on_hand_g=max(0.0, (j.on_hand_g or 0) - taken.get(("jars", j.id), 0))) for j in demo.jars
        ),
    )
    empty = replace(left, jars=tuple(replace(j, on_hand_g=0.0) for j in left.jars))
    held = {key: amount for key, amount in taken.items() if key[0] == "jars"}

    def to_buy(shelf: Shelf, holding: dict[tuple[str, int], float]) -> set[str]:
        done = work(of, Basis(shelf, staples(), label_rules("US"), "EUR", holding))
        return {line.name for line in done.shopping.lines if line.status == "buy"}

    names = {t.jar.name for t in of.kit.toppings}
    assert names <= to_buy(empty, {})
    assert not names & to_buy(empty, held)


def test_a_cutter_wider_than_the_bag_and_the_tray_is_told(demo: Shelf, worked: Worked) -> None:
    of = order(demo)
    huge = replace(of.kit.cuts[0].cutter, width_mm=600.0, height_mm=500.0)
    of = replace(of, kit=replace(of.kit, cuts=(Cut(huge, 4),)))
    told = " ".join(f"{p.allowed} {p.hint} {p.got} {p.field}" for p in worked(of).problems)
    assert "bag" in told
    assert "tray" in told


def test_a_kit_of_no_cookies_or_no_kits_is_refused_with_every_reason(demo: Shelf, worked: Worked) -> None:
    with pytest.raises(InvalidValue) as caught:
        worked(replace(order(demo), kits=0))
    assert any("kits" in p.field for p in caught.value.problems)


def test_every_figure_can_be_changed_by_a_setting(demo: Shelf, worked: Worked) -> None:
    plain = worked(order(demo))
    assert worked(order(demo, contents={"icing_g_per_bag": 150.0})).icing.white_g > plain.icing.white_g * 1.8
    assert worked(order(demo, dough={"thickness_mm": 3.0})).dough.dough_g <= plain.dough.dough_g
    assert worked(order(demo, cost={"price": "20.00"})).cost.price.price == Decimal("20.00")  # type: ignore[union-attr]
    assert Settings().contents.icing_g_per_bag == 75.0
