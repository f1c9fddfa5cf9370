"""The pieces of a kit: what goes into bags and cups, and the sizes in the box."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from themekit.errors import InvalidValue
from themekit.make.cookie_bag import Cookie, bagged, bags_needed, filled
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.pieces import kit_pieces
from themekit.make.settings import checked
from themekit.make.settings.packing import Packing
from themekit.values import Cutter, Jar, Tint

QUARTER_INCH = 6.35


def order(*cuts: tuple[Cutter, int], serve: str = "apart", kits: int = 1, **groups: dict[str, object]) -> Order:
    """Eight round cookies of 76 mm, or the cuts given; three tints and three toppings."""
    settings, problems = checked(groups)
    assert not problems
    jars = [Jar(i, name, "nonpareils", (), density_g_per_ml=0.9) for i, name in enumerate(("one", "two", "three"))]
    tints = tuple(Tint((60, 0, 0), "#999999", name, ()) for name in ("teal", "gold", "cream"))
    kit = Kit(
        "invented",
        tints,
        tuple(Topping(jar, 1 / 3) for jar in jars),
        tuple(Cut(*cut) for cut in cuts or ((Cutter(1, "round", width_mm=76, height_mm=76), 8),)),
        "mixed" if serve == "mixed" else "apart",
    )
    return Order(kit, kits, settings)


def test_a_kit_as_it_is_by_default() -> None:
    """Counts of common practice, no source: a bag of eight, three bags of icing, three cups."""
    found = kit_pieces(order())
    names = [p.name for p in found.pieces]
    assert names == [
        "cookie bag", "icing bag, teal", "icing bag, gold", "icing bag, cream",
        "cup of one", "cup of two", "cup of three", "6 sticks", "spoon", "card",
    ]  # fmt: skip
    by = {p.name: p for p in found.pieces}
    assert by["cookie bag"].up == ("height", "width", "length")
    assert by["cup of one"].up == by["icing bag, teal"].up == ("height",)
    assert by["card"].on_top
    assert not any(p.on_top for p in found.pieces if p.name != "card")
    assert not found.problems
    assert not found.missing


def test_an_icing_bag_holds_its_icing() -> None:
    """75 g at 1.28 g/mL; the cross-section summed up in thin slices, apart from any formula."""
    bag = next(p for p in kit_pieces(order()).pieces if p.kind == "icing bag")
    assert (bag.width_mm, bag.height_mm) == (70, 22)
    radius, slices = 11.0, 20_000
    section = 0.0
    for n in range(slices):
        y = (n + 0.5) * 22 / slices - radius
        section += (70 - 22 + 2 * math.sqrt(radius**2 - y**2)) * 22 / slices
    assert section * (bag.length_mm - 50) / 1000 == pytest.approx(75 / 1.28, rel=1e-5)
    thick = order(packing={"icing_bag_width_mm": 30, "icing_bag_thickness_mm": 40})
    round_bag = next(p for p in kit_pieces(thick).pieces if p.kind == "icing bag")
    assert (round_bag.width_mm, round_bag.height_mm) == (30, 30)  # no thicker than wide


@pytest.mark.parametrize(("tbsp", "cups"), [(1, 1), (3.19, 1), (3.21, 2), (4, 2), (7, 3)])
def test_cups_hold_four_fifths_of_two_fluid_ounces(tbsp: float, cups: int) -> None:
    """2 US fl oz are 4 tbsp exactly and 59.1 mL (NIST SP 430); 80 % of it, practice, is 3.2 tbsp."""
    found = kit_pieces(order(contents={"topping_tbsp": tbsp}))
    assert sum(p.kind == "cup" for p in found.pieces) == 3 * cups
    assert len({p.name for p in found.pieces}) == len(found.pieces)
    told = [note for note in found.notes if "too small" in note]
    assert len(told) == (3 if cups > 1 else 0)
    assert all(f"{cups} cups" in note and "47 mL" in note for note in told)


def test_a_mix_of_three_spoons_goes_into_one_cup() -> None:
    """3 tbsp are 44.4 mL (NIST SP 430), a cup filled to 80 % takes 47.3."""
    cups = [p.name for p in kit_pieces(order(serve="mixed")).pieces if p.kind == "cup"]
    assert cups == ["cup of the mix"]


def test_the_usual_bag_takes_eight_quarter_inch_cookies() -> None:
    """A gusset bag of 4 × 2 × 10 in for the stack of eight: common practice, no source.

    8 × 6.35 = 50.8 mm go into the 51 mm gusset as rolled; risen by a tenth they pull it open.
    """
    flat = [Cookie("round", 76, 76, QUARTER_INCH)] * 8
    bag = filled(flat, Packing())
    assert bag is not None
    assert (bag.stacks, bag.snug, bag.along_mm) == (1, False, 76)
    assert bag.deep_mm == pytest.approx(50.8)
    risen = filled([replace(c, thickness_mm=QUARTER_INCH * 1.1) for c in flat], Packing())
    assert risen is not None
    assert risen.snug


@pytest.mark.parametrize(
    ("width", "height", "cookies", "fits"),
    [
        (140, 70, 1, True),  # turned along the bag
        (70, 140, 1, True),
        (147, 147, 1, False),  # 147 + 6.35 is over the 153 of half the girth
        (146, 146, 1, True),
        (146, 146, 2, False),
        (76, 76, 12, True),  # 76 + 76.2 within 153, snugly
        (76, 76, 13, True),  # stacked along the bag
        (40, 40, 40, True),  # only as two stacks of 127
        (100, 160, 8, True),
        (100, 192, 1, False),  # no longer than 194 − 3 beside the tie
    ],
)
def test_girth_and_length_of_the_bag(width: float, height: float, cookies: int, fits: bool) -> None:
    """Any cross-section a + b up to W + G = 153 goes round; 254 − 60 for the tie, less half the depth."""
    bag = filled([Cookie("c", width, height, QUARTER_INCH)] * cookies, Packing())
    assert (bag is not None) == fits
    if bag:
        assert bag.across_mm + bag.deep_mm <= 153
        assert bag.along_mm + bag.deep_mm / 2 <= 194
        volume = bag.across_mm * bag.deep_mm * bag.along_mm
        assert volume >= width * height * QUARTER_INCH * cookies - 1e-6


def test_a_flat_bag_takes_width_and_thickness_together() -> None:
    flat = Packing(cookie_bag_width_mm=100, cookie_bag_gusset_mm=0)
    fits = filled([Cookie("c", 93, 93, 7)], flat)
    assert fits is not None
    assert not fits.snug
    assert filled([Cookie("c", 94, 94, 7)], flat) is None


def test_a_cookie_wider_than_the_bag_is_a_clear_problem() -> None:
    found = kit_pieces(order((Cutter(1, "castle", width_mm=160, height_mm=150), 8)))
    assert len(found.problems) == 1
    told = found.problems[0].sentence()
    for word in ("cookie bag", "castle", "165 × 154", "102 × 51 × 254", "larger cookie bag"):
        assert word in told + str(found.problems[0])
    assert "cookie bag" in [p.name for p in found.pieces]  # reckoned with a bag that is large enough


def test_too_many_cookies_for_one_bag_are_spread() -> None:
    many = (Cutter(1, "round", width_mm=76, height_mm=76), 60)
    problem = kit_pieces(order(many)).problems[0]
    needed = bags_needed([Cookie("c", 76 * 1.03, 76 * 1.03, QUARTER_INCH * 1.1)] * 60, Packing())
    assert needed is not None
    assert f"over {needed} bags" in problem.hint
    assert not kit_pieces(order(many, contents={"cookie_bags": needed})).problems
    assert kit_pieces(order(many, contents={"cookie_bags": needed - 1})).problems


def test_cookies_over_bags() -> None:
    cookies = [Cookie(str(n), 70, 70, 6) for n in range(8)]
    assert [len(b) for b in bagged(cookies, 3)] in ([3, 2, 3], [2, 3, 3], [3, 3, 2])
    assert [c for bag in bagged(cookies, 3) for c in bag] == cookies
    assert [len(b) for b in bagged(cookies, 20)] == [1] * 8
    found = kit_pieces(order(contents={"cookie_bags": 2}))
    assert [p.name for p in found.pieces][:2] == ["cookie bag 1", "cookie bag 2"]
    assert "stay empty" in kit_pieces(order(contents={"cookie_bags": 9})).notes[0]


def test_the_widest_and_the_sum_of_thicknesses_count() -> None:
    """A stack is as wide as its widest cookie and as high as all together."""
    cuts = (
        (Cutter(1, "small", width_mm=40, height_mm=50, thickness_mm=5), 2),
        (Cutter(2, "wide", width_mm=90, height_mm=60, thickness_mm=8), 3),
    )
    found = kit_pieces(order(*cuts, contents={"cookie_bags": 0}, dough={"spread_share": 0}))
    stack = next(p for p in found.pieces if p.kind == "cookies")
    assert stack.sizes_mm == pytest.approx((90, 60, (2 * 5 + 3 * 8) * 1.1))
    assert "one stack" in found.notes[0]


def test_unknown_sizes_are_missing_never_zero() -> None:
    found = kit_pieces(order((Cutter(1, "swan"), 8)))
    assert not any("cookie" in p.name for p in found.pieces)
    assert "swan" in found.missing[0]


def test_counts_of_nothing_leave_a_piece_out() -> None:
    bare = kit_pieces(order(contents={"sticks": 0, "spoons": 0, "cards": 0}))
    assert {p.kind for p in bare.pieces} == {"cookie bag", "icing bag", "cup"}
    full = kit_pieces(order(contents={"sticks": 7, "spoons": 3, "cards": 2, "napkins": 4, "picks": 1}))
    by = {p.name: p for p in full.pieces}
    assert by["7 sticks"].width_mm * by["7 sticks"].height_mm >= 7 * 25
    assert by["3 spoons"].width_mm * by["3 spoons"].height_mm >= 3 * 25 * 10
    assert by["2 cards"].height_mm == pytest.approx(0.8)
    assert by["4 napkins"].on_top
    assert "pick" in by


@pytest.mark.parametrize("kits", [0, 1_000_000])
def test_no_kits_or_a_million_are_refused(kits: int) -> None:
    with pytest.raises(InvalidValue, match="kits"):
        kit_pieces(order(kits=kits))
    with pytest.raises(InvalidValue, match="cookies in a kit"):
        kit_pieces(order((Cutter(1, "round", width_mm=76, height_mm=76), 501)))
