"""The packing plan: each box's answer, the box to take, weight, words and picture."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

import pytest

from themekit.make.arrange import Laid
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.layout_picture import layout_svg
from themekit.make.layout_words import in_words, levels
from themekit.make.packing import FITS, BoxAnswer, packing_plan
from themekit.make.settings import checked
from themekit.values import Box, Cutter, Jar, Tint

INCH = 25.4
SVG = "{http://www.w3.org/2000/svg}"
OWL = Cutter(1, "owl", width_mm=70, height_mm=76, thin_parts=False)


def order(*cutters: Cutter, kits: int = 12, density: float | None = 0.9, **groups: dict[str, Any]) -> Order:
    """Eight cookies, three tints, three toppings; an invented kit."""
    settings, problems = checked(groups)
    assert not problems
    jars = [Jar(i, f"jar <{i}> & co", "jimmies", (), density_g_per_ml=density) for i in range(3)]
    tints = tuple(Tint((60, 0, 0), "#999999", name, ()) for name in ("teal", "gold", "cream"))
    cuts = tuple(Cut(c, 8 // len(cutters or (OWL,))) for c in cutters or (OWL,))
    return Order(Kit("invented", tints, tuple(Topping(j, 1 / 3) for j in jars), cuts), kits, settings)


def box(number: int, name: str, length: float, width: float, height: float, **more: Any) -> Box:
    """A box in inches, as bakers name them."""
    return Box(number, name, length * INCH, width * INCH, height * INCH, **more)


def check(answer: BoxAnswer) -> None:
    """No two pieces overlap and none leaves the room within the walls."""
    assert answer.inner_mm is not None
    spans = [
        [(p.x_mm, p.x_mm + p.length_mm), (p.y_mm, p.y_mm + p.width_mm), (p.z_mm, p.z_mm + p.height_mm)]
        for p in answer.laid
    ]
    for piece in spans:
        assert all(
            low >= 0 and high <= room + 1e-6 for (low, high), room in zip(piece, answer.inner_mm, strict=True)
        )
    for i, a in enumerate(spans):
        for b in spans[:i]:
            assert any(p[1] <= q[0] + 1e-6 or q[1] <= p[0] + 1e-6 for p, q in zip(a, b, strict=True))


def test_the_usual_box_takes_the_usual_kit() -> None:
    """Eight cookies, three bags of icing and three cups go into 9 × 9 × 2.5 in: common practice, no source."""
    plan = packing_plan(order(), [box(1, "nine", 9, 9, 2.5, on_hand=12)])
    assert plan.boxes[0].answer == "fits"
    check(plan.boxes[0])
    assert len(plan.boxes[0].laid) == len(plan.pieces) == 10
    assert plan.best is plan.boxes[0]
    assert plan.in_stock is plan.boxes[0]
    assert plan.boxes[0].inner_mm == pytest.approx((223.6, 223.6, 58.5))
    assert any("mL stay free" in note for note in plan.notes)


def test_every_box_gets_its_answer() -> None:
    boxes = [
        box(1, "large", 14, 10, 4, on_hand=40),
        box(2, "small", 6, 6, 2.5),
        box(3, "nine", 9, 9, 2.5, on_hand=3),
        Box(4, "unmeasured", None, 200.0, None),
        box(5, "tight", 9, 6.9, 2.5),
        Box(6, "thin", 200.0, 200.0, 4.0),
        Box(7, "flat", 400.0, 400.0, 20.0),
    ]
    plan = packing_plan(order(), boxes)
    answers = {a.box.name: a for a in plan.boxes}
    assert [a.box.id for a in plan.boxes] == [1, 2, 3, 4, 5, 6, 7]
    assert {n: a.answer for n, a in answers.items()} == {
        "large": "fits", "small": "does not fit", "nine": "fits", "unmeasured": "not known",
        "tight": "fits only laid so", "thin": "does not fit", "flat": "does not fit",
    }  # fmt: skip
    assert "length and height" in answers["unmeasured"].sentence
    assert "cookie bag" in answers["flat"].sentence
    for answer in plan.boxes:
        assert (answer.answer in FITS) == bool(answer.laid)
        if answer.laid:
            check(answer)
    assert plan.best is answers["tight"]
    assert plan.in_stock is answers["large"]
    assert answers["nine"].enough is False
    assert plan.advice[0] == "The smallest box that does is the tight."
    assert "not entered" in plan.advice[1]


def test_a_longer_cookie_by_a_millimetre() -> None:
    """The bag of the longest cookies fills the box's length; one more mm and nothing helps."""
    long = {"contents": {"sticks": 0, "spoons": 0, "cards": 0}, "dough": {"spread_share": 0}}
    boxes = [Box(1, "slim", 150 + 60 + 5, 250, 66)]
    fits = packing_plan(order(Cutter(1, "bar", width_mm=60, height_mm=150), **long), boxes)
    assert fits.boxes[0].answer in FITS
    check(fits.boxes[0])
    slim = [Box(1, "slim", 150 + 60 + 5, 205, 66)]  # too narrow for the bag the other way round
    assert packing_plan(order(Cutter(1, "bar", width_mm=60, height_mm=150), **long), slim).boxes[0].laid
    longer = packing_plan(order(Cutter(1, "bar", width_mm=60, height_mm=151), **long), slim)
    assert longer.boxes[0].answer == "does not fit"


def test_stock_is_said() -> None:
    few = [box(1, "nine", 9, 9, 2.5, on_hand=3), box(2, "ten", 10, 10, 3, on_hand=12)]
    told = packing_plan(order(kits=12), few).advice
    assert told[1:] == ("Only 3 on hand, 12 needed.", "The smallest with enough on hand is the ten (12).")
    assert "No box that does" in packing_plan(order(kits=13), few).advice[2]
    assert packing_plan(order(kits=3), few).advice[1] == "3 on hand, 3 needed."
    assert packing_plan(order(), []).advice == ("No boxes are entered.",)
    assert "none of the boxes" in packing_plan(order(), [box(1, "tiny", 3, 3, 3)]).advice[0]
    assert "still open: odd" in packing_plan(order(), [Box(1, "odd")]).advice[0]


def test_cookies_without_a_size_leave_only_refusals_certain() -> None:
    plan = packing_plan(order(Cutter(1, "swan")), [box(1, "nine", 9, 9, 2.5), box(2, "tiny", 4, 4, 2)])
    assert [a.answer for a in plan.boxes] == ["not known", "does not fit"]
    assert plan.boxes[0].laid == ()
    assert plan.best is None
    assert "swan" in plan.missing[0]


def test_weight_for_posting_in_both_units() -> None:
    """28.349523125 g to the avoirdupois ounce (NIST Handbook 44, Appendix C); 14.7868 mL to the tablespoon."""
    weight = packing_plan(order(), [], cookies_g=240).weight
    toppings = 3 * 14.78676478125 * 0.9
    # 3 cups, 3 + 1 bags, 6 sticks + spoon + card + sticker + label and clips, filling, box
    clips = next((p[1] for p in weight.parts if p[0] == "small goods"), 0)
    assert clips is not None
    assert clips >= 2 * 9
    rest = 3 * 3 + 4 * 3 + clips + 10 + 60
    assert weight.g == pytest.approx(240 + 225 + toppings + rest)
    assert weight.oz == pytest.approx(weight.g / 28.349523125)
    assert not weight.at_least
    assert f"{weight.g:.0f} g" in weight.words
    assert "lb" in weight.words


def test_an_unknown_part_makes_the_weight_at_least() -> None:
    known = packing_plan(order(), [], cookies_g=240).weight
    cookies = packing_plan(order(), []).weight
    assert cookies.at_least
    assert cookies.g == pytest.approx(known.g - 240)
    assert cookies.words.startswith("at least")
    assert "cookies" in cookies.words
    toppings = packing_plan(order(density=None), [], cookies_g=240).weight
    assert toppings.at_least
    assert "jar <0> & co" in toppings.words


def test_thin_parts_are_told() -> None:
    plan = packing_plan(
        order(
            Cutter(1, "swan", width_mm=60, height_mm=60, thin_parts=True),
            Cutter(2, "round", width_mm=60, height_mm=60, thin_parts=False),
            Cutter(3, "key", width_mm=60, height_mm=60),
        ),
        [],
    )
    assert "swan" in plan.breakage[0]
    assert "key" in plan.breakage[1]
    assert "round" not in " ".join(plan.breakage)
    assert packing_plan(order(), []).breakage == ()


def test_a_cookie_wider_than_the_bag_reaches_the_plan() -> None:
    plan = packing_plan(order(Cutter(1, "castle", width_mm=160, height_mm=150)), [box(1, "nine", 9, 9, 2.5)])
    assert plan.problems[0].field == "cookie bag"
    assert "castle" in plan.problems[0].got


def test_words_name_every_piece_once_by_its_level() -> None:
    plan = packing_plan(order(), [box(5, "tight", 9, 6.9, 2.5)])
    answer = plan.boxes[0]
    layers = levels(answer.laid)
    assert len(layers) >= 2
    assert answer.words[0].startswith("On the floor: ")
    for words, layer in zip(answer.words, layers, strict=False):
        for piece in layer:
            assert words.count(f"{piece.name},") == 1
    assert "cookie bag, lying" in " ".join(answer.words)
    assert answer.words[0] in answer.sentence


def test_words_of_place() -> None:
    inner = (300.0, 300.0, 60.0)
    laid = [
        Laid("cookie bag", 0, 0, 0, 90, 60, 50, kind="cookie bag", up="width"),
        Laid("cup of one", 240, 240, 0, 60, 60, 30, kind="cup"),
        Laid("spoon", 20, 20, 50, 30, 90, 10, level=1, bedded=True, kind="utensil"),
    ]
    assert in_words(laid, inner) == (
        "On the floor: cookie bag, lying on its side, along the length, front left; "
        "cup of one, upright, back right.",
        "On these: spoon, across, front left.",
        "Put filling under spoon: less than half rests on anything.",
        "The cookies carry spoon: put filling between.",
    )


def test_the_picture_shows_every_piece_and_escapes_names() -> None:
    answer = packing_plan(order(), [box(5, "tight", 9, 6.9, 2.5)]).boxes[0]
    assert answer.inner_mm
    text = layout_svg(answer.laid, answer.inner_mm, "Box <script>alert(1)</script> & \x00\ud800")
    assert text == layout_svg(answer.laid, answer.inner_mm, "Box <script>alert(1)</script> & \x00\ud800")
    assert "<script" not in text
    text.encode()
    root = ET.fromstring(text)
    assert root.attrib["role"] == "img"
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Box <script>alert(1)</script> &   "
    assert "On the floor" in (root[1].text or "")
    assert {e.tag for e in root.iter()} <= {
        f"{SVG}{t}" for t in ("svg", "title", "desc", "rect", "circle", "text")
    }
    solid = [
        e for e in root if e.tag in (f"{SVG}rect", f"{SVG}circle") and e.attrib["fill"] not in ("none", "#ffffff")
    ]
    assert len(solid) == len(answer.laid)
    words = [e.text or "" for e in root.iter(f"{SVG}text")]
    for piece in answer.laid:
        assert any(word.endswith(f": {piece.name}") for word in words)
    _, _, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    for e in root.iter(f"{SVG}rect"):
        assert 0 <= float(e.attrib["x"]) <= float(e.attrib["x"]) + float(e.attrib["width"]) <= wide
        assert 0 <= float(e.attrib["y"]) <= float(e.attrib["y"]) + float(e.attrib["height"]) <= high


def test_the_picture_of_nothing() -> None:
    root = ET.fromstring(layout_svg((), (100, 100, 50), "Empty"))
    assert root[1].text == "Nothing is laid."
