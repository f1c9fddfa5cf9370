"""Contents of a kit and of a batch against published spoons, cups and household weights."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from themekit.errors import InvalidValue
from themekit.make.dough import dough_plan
from themekit.make.kit import Cut, Kit, Order, Serve, Topping
from themekit.make.quantities import KitContents, contents, most_kits
from themekit.make.settings import Settings
from themekit.make.units import TBSP_ML
from themekit.values import Cutter, Jar, Tint

Make = Callable[..., Jar]

TINTS = tuple(Tint((60, 0, n), f"#80808{n}", name, ()) for n, name in enumerate(("teal", "gold", "white")))
OWL = Cutter(1, "owl", width_mm=80, height_mm=90)
LEAF = Cutter(2, "leaf", width_mm=70, height_mm=70)


def order(
    jars: tuple[Jar, ...],
    kits: int = 1,
    *,
    serve: Serve = "apart",
    shares: tuple[float, ...] | None = None,
    cookies: tuple[int, int] = (5, 3),
    packing: dict[str, Any] | None = None,
    **changed: Any,
) -> Order:
    base = Settings()
    parts = shares or (1 / 3,) * len(jars)
    kit = Kit(
        "owl party",
        TINTS,
        tuple(Topping(j, s) for j, s in zip(jars, parts, strict=True)),
        (Cut(OWL, cookies[0]), Cut(LEAF, cookies[1])),
        serve,
    )
    made = replace(
        base, contents=replace(base.contents, **changed), packing=replace(base.packing, **(packing or {}))
    )
    return Order(kit, kits, made)


def line(found: KitContents, what: str) -> tuple[float | None, float | None]:
    [one] = [x for x in found.lines if x.what == what]
    return one.per_kit, one.total


@pytest.fixture(scope="module")
def three(jar: Make) -> tuple[Jar, Jar, Jar]:
    return jar(1), jar(2, density_g_per_ml=0.78), jar(3, density_g_per_ml=0.4)


def test_spoons_and_cups_are_those_of_nist(jar: Make) -> None:
    """NIST SP 430: 1 tablespoon 15 mL, 1/4 cup 59 mL (both rounded there), 16 tablespoons a cup of 237 mL."""
    water = jar(1, density_g_per_ml=1.0)
    for spoons, ml in ((1.0, 15), (4.0, 59), (16.0, 237)):
        [portion] = contents(order((water,), shares=(1.0,), topping_tbsp=spoons)).toppings
        assert portion.g_per_kit is not None
        assert round(portion.g_per_kit) == ml


@pytest.mark.parametrize(
    ("what", "density", "spoon_g"),
    [
        # USDA National Nutrient Database for Standard Reference, Release 28 (2016), household
        # weights: density from the cup row, grams from the spoon row of the same food.
        ("granulated sugar, no. 19335: cup 200 g, tsp 4.2 g", 200 / 236.588, 3 * 4.2),
        ("confectioners' sugar, no. 19336: cup 120 g, tbsp 8.0 g", 120 / 236.588, 8.0),
        ("honey, no. 19296: cup 339 g, tbsp 21 g", 339 / 236.588, 21.0),
        ("light corn syrup, no. 19350: cup 341 g, tbsp 22 g", 341 / 236.588, 22.0),
        ("butter, no. 01145: cup 227 g, tbsp 14.2 g", 227 / 236.588, 14.2),
        ("dried egg white, sifted, no. 01136: cup 107 g, tbsp 7.0 g", 107 / 236.588, 7.0),
    ],
)
def test_grams_of_a_spoon_agree_with_usda(jar: Make, what: str, density: float, spoon_g: float) -> None:
    """To 7 %, which is how far that table's cup and spoon weights lie apart."""
    [portion] = contents(order((jar(1, density_g_per_ml=density),), shares=(1.0,))).toppings
    assert portion.g_per_kit == pytest.approx(spoon_g, rel=0.07), what


def test_the_usual_kit(three: tuple[Jar, Jar, Jar]) -> None:
    """Common practice, no source: eight cookies, three icings of 70–80 g, about a tablespoon of three toppings."""
    found = contents(order(three))
    assert sum(b.per_kit for b in found.cookies) == 8
    assert [70 <= i.g_per_kit <= 80 for i in found.icing] == [True] * 3
    assert [p.tbsp_per_kit for p in found.toppings] == [1, 1, 1]
    # Two decorators × three colours; one card; one bag of cookies with its tie; box.
    assert line(found, "sticks")[0] == 6
    assert [line(found, w)[0] for w in ("cards", "bag ties", "gusset cookie bags", "box")] == [1, 1, 1, 1]
    assert [line(found, w)[0] for w in ("piping bags", "cups", "cup lids", "piping bag clips")] == [3, 3, 3, 3]


def test_forty_kits_by_hand(three: tuple[Jar, Jar, Jar]) -> None:
    """Worked by hand: 40 kits and a twentieth more, whole pieces rounded up once for the batch."""
    found = contents(order(three, 40))
    assert line(found, "cookies, owl") == (5, 210)
    assert line(found, "cookies, leaf") == (3, 126)
    assert line(found, "piping bags") == (3, 126)
    assert line(found, "sticks") == (6, 252)
    assert line(found, "cards") == (1, 42)
    assert line(found, "box") == (1, 40)
    assert line(found, "paper filling") == (10, pytest.approx(420))
    assert line(found, "icing, teal") == (75, 3000)
    # 0.9 g/mL × 14.787 mL × 40 × 1.05
    assert line(found, "jar 1") == (pytest.approx(13.308, abs=0.001), pytest.approx(558.94, abs=0.01))


def test_one_piece_more_only_where_the_allowance_needs_it(three: tuple[Jar, Jar, Jar]) -> None:
    assert line(contents(order(three, 1, waste_share=0.0)), "cards") == (1, 1)
    assert line(contents(order(three, 20, waste_share=0.05)), "cards") == (1, 21)
    assert line(contents(order(three, 21, waste_share=0.05)), "cards") == (1, 23)
    # 100 × 1.1 is 110.00000000000001 in binary: no card more for that.
    assert line(contents(order(three, 100, waste_share=0.1)), "cards") == (1, 110)


def test_a_mix_is_shared_by_volume_and_goes_into_fewer_cups(three: tuple[Jar, Jar, Jar]) -> None:
    """Three tablespoons are 44 mL: one cup of 2 fl oz (59 mL, NIST SP 430) filled to four fifths."""
    found = contents(order(three, serve="mixed", shares=(0.5, 0.3, 0.2)))
    assert [p.tbsp_per_kit for p in found.toppings] == pytest.approx([1.5, 0.9, 0.6])
    assert line(found, "cups") == (1, 2)
    apart = contents(order(three, topping_tbsp=3.5))
    assert line(apart, "cups")[0] == 6, "3 1/2 tablespoons are more than four fifths of a cup"


def test_unknown_density_is_said_and_a_usual_one_too(jar: Make) -> None:
    jars = (jar(1, density_g_per_ml=None), jar(2, defaults=("density_g_per_ml",)), jar(3))
    found = contents(order(jars, 10))
    assert line(found, "jar 1") == (None, None)
    assert [p.usual_density for p in found.toppings] == [False, True, False]
    [missing] = found.missing
    assert "jar 1" in missing
    assert "weigh a level tablespoon" in missing
    notes = {x.what: x.note for x in found.lines}
    assert "density not known" in notes["jar 1"]
    assert "usual density" in notes["jar 2"]
    assert "density" not in notes["jar 3"]


def test_what_is_set_to_nothing_is_left_out(three: tuple[Jar, Jar, Jar]) -> None:
    without = {"sticks": 0, "spoons": 0, "cookie_bags": 0, "cards": 0, "stickers": 0, "labels": 0}
    found = contents(order(three, 2, filling_g=0.0, lids_apart=False, clips_per_icing_bag=0, **without))
    assert [g.what for g in found.goods] == ["piping bags", "cups", "box"]
    more = contents(
        order(three, picks=3, napkins=4, sticks=5, cookie_bags=8, packing={"cookie_bag_gusset_mm": 0.0})
    )
    counts = {g.what: g.per_kit for g in more.goods}
    assert counts["picks"] == 3
    assert counts["napkins"] == 4
    assert counts["sticks"] == 5
    assert counts["flat cookie bags"] == counts["bag ties"] == 8


def test_every_wrong_number_is_told_at_once(three: tuple[Jar, Jar, Jar]) -> None:
    with pytest.raises(InvalidValue) as caught:
        contents(order(three, 1_000_000, shares=(0.9, 0.9, 0.9), cookies=(-1, 3)))
    told = {p.field: p for p in caught.value.problems}
    assert set(told) == {"kits", "kit.cuts.0.cookies", "kit.toppings"}
    assert told["kits"].got == 1_000_000
    assert "from 1 to 1000" in told["kits"].allowed
    assert "several batches" in told["kits"].hint
    with pytest.raises(InvalidValue, match="from 1 to 1000"):
        contents(order(three, 0))


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    kits=st.integers(1, 500),
    times=st.integers(1, 2),
    spoons=st.floats(0.1, 20),
    waste=st.floats(0, 0.9),
    spare=st.decimals(0, 2, places=3).map(float),
)
def test_totals_scale(
    three: tuple[Jar, Jar, Jar], kits: int, times: int, spoons: float, waste: float, spare: float
) -> None:
    """Twice the kits take twice the grams and at most twice the pieces; and never less than is packed."""
    made = {"topping_tbsp": spoons, "waste_share": waste, "spare_cookies_share": spare}
    small, large = contents(order(three, kits, **made)), contents(order(three, times * kits, **made))
    for one, more in zip(small.lines, large.lines, strict=True):
        assert one.per_kit is not None
        assert one.total is not None
        assert more.total is not None
        assert one.per_kit == more.per_kit
        assert one.total >= one.per_kit * kits * (1 - 1e-12)
        if one.unit == "g":
            assert more.total == pytest.approx(times * one.total)
        else:
            assert times * (one.total - 1) < more.total <= times * one.total
    assert [b.to_bake for b in small.cookies] == [x.to_cut for x in dough_plan(order(three, kits, **made)).lines]


def _plenty(jar: Make) -> tuple[Jar, Jar]:
    return jar(2, "#ffffff", on_hand_g=1e6), jar(3, "#ffffff", on_hand_g=1e6)


@given(
    kits=st.integers(0, 60), waste=st.floats(0, 0.9), spoon=st.floats(0.1, 3.0), density=st.floats(0.3, 1.5),
    spare=st.floats(0, 0.99),
)  # fmt: skip
def test_most_kits_is_the_last_count_that_the_stock_holds(
    jar: Make, kits: int, waste: float, spoon: float, density: float, spare: float
) -> None:
    """So many kits take no more than is there, one kit more takes more, to the milligram that stock is kept in."""
    each = spoon * TBSP_ML * density * (1 + waste)
    one = jar(1, "#ffffff", density_g_per_ml=density, on_hand_g=round(each * (kits + spare), 3))
    asked = order((one, *_plenty(jar)), topping_tbsp=spoon, waste_share=waste)
    most = most_kits(asked)
    assert most is not None
    there = round((one.on_hand_g or 0) * 1000)
    if most:
        assert round((contents(replace(asked, kits=most)).toppings[0].total_g or 0) * 1000) <= there
    assert round((contents(replace(asked, kits=most + 1)).toppings[0].total_g or 0) * 1000) > there


def test_most_kits_of_an_unknown_jar_is_not_known(jar: Make) -> None:
    assert most_kits(order((jar(1, "#ffffff", density_g_per_ml=0.8, on_hand_g=None), *_plenty(jar)))) is None
