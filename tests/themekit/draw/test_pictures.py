"""Pictures of cups, bags, cookies, kits and charts: well made, true to colour and size, small."""

from __future__ import annotations

import copy
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from themekit.colour.space import hex_to_lab, lab_to_hex
from themekit.draw.charts import palette_chart, parts_bars, swatch
from themekit.draw.cookies import BARE, LINE, cookie_of, cookie_picture
from themekit.draw.cups import bag_picture, cup_picture
from themekit.draw.kit import Touch, kit_picture
from themekit.draw.rule import grain_rule
from themekit.draw.trace import dense
from themekit.errors import InvalidValue
from themekit.make.kit import Cut, Kit, Topping
from themekit.values import ColourShare, Cutter, Jar, Shelf, Texture, Tint

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<script>alert(1)</script>"\'&\x00\x0b]]> x onload="y()"'


def tint(colour: str, name: str = "teal") -> Tint:
    lab = hex_to_lab(colour)
    return Tint((float(lab[0]), float(lab[1]), float(lab[2])), colour, name, ())


TINTS = (tint("#14868c"), tint("#d9b03f", "gold"), tint("#f4efe6", "ivory"))


def kit_of(shelf: Shelf, jars: tuple[str, ...], cutters: tuple[str, ...], serve: str = "apart") -> Kit:
    by_jar = {j.name: j for j in shelf.jars}
    by_cutter = {c.name: c for c in shelf.cutters}
    counts = (3, 3, 2)
    return Kit(
        "pirate ship birthday",
        TINTS,
        tuple(Topping(by_jar[j], 1 / len(jars)) for j in jars),
        tuple(Cut(by_cutter[c], n) for c, n in zip(cutters, counts, strict=True)),
        "mixed" if serve == "mixed" else "apart",
    )


@pytest.fixture
def kit(demo: Shelf) -> Kit:
    return kit_of(
        demo,
        ("teal nonpareils", "gold star quins", "ivory sugar pearls, 8 mm"),
        ("sailing ship", "anchor", "skull"),
    )


@pytest.fixture
def pictures(demo: Shelf, kit: Kit) -> dict[str, Callable[[str], str]]:
    """Every picture there is, by its name, each taking a prefix."""
    jars = tuple(t.jar for t in kit.toppings)
    return {
        "kit": lambda p: kit_picture(kit, p),
        "mixed kit": lambda p: kit_picture(replace(kit, serve="mixed"), p),
        "cup": lambda p: cup_picture(demo.jars[15], p),
        "bag": lambda p: bag_picture(TINTS[0], p),
        "cookie": lambda p: cookie_picture(demo.cutters[0], TINTS[0], jars, p, TINTS[1]),
        "plane": lambda p: palette_chart(TINTS, jars, p),
        "rule": lambda p: grain_rule(jars, p),
        "bars": lambda p: parts_bars({"fit": 0.8, "harmony": 0.4}, p),
        "swatch": lambda p: swatch(TINTS[0].lab, 40, "teal", p),
    }


NAMES = ("kit", "mixed kit", "cup", "bag", "cookie", "plane", "rule", "bars", "swatch")


def checked(text: str, prefix: str) -> ET.Element:
    """The picture's root, after what holds for every picture."""
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert title.text
    assert desc.text
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    ids = [e.get("id", "") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert all(i.startswith(prefix) for i in ids)
    wanted = re.findall(r'href="#([^"]+)"', text) + re.findall(r"url\(#([^)]+)\)", text)
    assert set(wanted) <= set(ids)
    assert not [e for e in root.iter() if e.tag in (f"{SVG}script", f"{SVG}style", f"{SVG}image", f"{SVG}a")]
    assert not [k for e in root.iter() for k in e.attrib if k.lower().startswith("on") or k == "style"]
    assert "nan" not in text.lower().replace("name", "")
    return root


@pytest.mark.parametrize("name", NAMES)
def test_picture_is_well_made_and_the_same_again(pictures, name):
    text = pictures[name]("idea1")
    checked(text, "idea1")
    assert text == pictures[name]("idea1")
    assert text.replace("idea1", "other") == pictures[name]("other")


def test_equal_kits_give_equal_bytes_whatever_the_process(kit):
    assert kit_picture(copy.deepcopy(kit)) == kit_picture(kit)
    program = (
        "from themekit.draw.cups import cup_picture as c; from themekit.values import *; "
        "print(c(Jar(4, 'beads', 'x', (ColourShare((60.0, 40.0, 20.0), 1.0),), Texture('lump', 3.0))))"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1


@pytest.mark.parametrize("prefix", ["", "1a", 'a" onload="x', "a b", None, "x" * 41])
@pytest.mark.parametrize("name", NAMES)
def test_a_prefix_that_cannot_begin_an_id_is_refused(pictures, name, prefix):
    with pytest.raises(InvalidValue, match="prefix: got"):
        pictures[name](prefix)


def test_hostile_names_stay_text(jar):
    bad = jar(7, "#aa3322", name=HOSTILE, motifs=(HOSTILE,), texture=Texture("shape", 7, "metallic"))
    cutter = Cutter(3, HOSTILE, (HOSTILE,), (), 60, 60)
    evil = replace(TINTS[0], name=HOSTILE)
    kit = Kit(HOSTILE, (evil,), (Topping(bad, 1.0),), (Cut(cutter, 2),))
    for text in (
        kit_picture(kit, "p"),
        kit_picture(kit, "p", title=HOSTILE),
        cup_picture(bad, "p"),
        bag_picture(evil, "p"),
        cookie_picture(cutter, evil, [bad], "p"),
        palette_chart([evil], [bad], "p"),
        grain_rule([bad], "p"),
        parts_bars({HOSTILE: 0.5}, "p", HOSTILE),
        swatch(evil.lab, 40, HOSTILE, "p"),
    ):
        root = checked(text, "p")
        assert "alert(1)" in "".join(root.itertext())
        assert "<script" not in text


def test_colours_in_the_kit_are_those_of_tints_and_jars(kit):
    text = kit_picture(kit)
    for t in kit.tints:
        assert f'fill="{t.hex}"' in text
    for topping in kit.toppings:
        for colour in topping.jar.colours:
            assert lab_to_hex(colour.lab) in text
    assert f'fill="{TINTS[1].hex}"' in bag_picture(TINTS[1])
    assert f'fill="{TINTS[1].hex}"' in swatch(TINTS[1].lab, 30, "gold")


def drawn_size(text: str, ident: str) -> float:
    """Width of the first shape of a grain with its stroke, mm."""
    found = next(g for g in ET.fromstring(text).iter(f"{SVG}g") if g.get("id") == ident)
    shape = found[0]
    stroke = float(shape.get("stroke-width", 0))
    if shape.tag == f"{SVG}circle":
        return 2 * float(shape.get("r", 0)) + stroke
    if shape.tag == f"{SVG}rect":
        return float(shape.get("width", 0)) + stroke
    numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", shape.get("d", ""))]
    return max(numbers[::2]) - min(numbers[::2]) + stroke


@pytest.mark.parametrize("finish", ["matte", "glossy", "pearl", "metallic", "sparkling", "clear", None])
def test_a_pearl_of_7_mm_is_drawn_seven_times_a_bead_of_1_mm(jar, finish):
    sizes = [
        drawn_size(cup_picture(jar(1, texture=Texture("sphere", mm, finish))), "cup-g-0a") for mm in (1.0, 7.0)
    ]
    assert sizes[0] == pytest.approx(1.0, abs=0.011)
    assert sizes[1] / sizes[0] == pytest.approx(7.0, rel=0.02)


@pytest.mark.parametrize(
    ("form", "mm"),
    [("rod", 6), ("rod", 14), ("disc", 5), ("cone", 10), ("cylinder", 12), ("flake", 20), ("flake", 1.5),
     ("crystal", 1.8), ("lump", 7), ("puff", 5), ("shape", 8), ("sphere", 0.7)],
)  # fmt: skip
def test_grains_of_every_form_are_as_long_as_the_jar_says(jar, form, mm):
    text = cup_picture(jar(1, texture=Texture(form, mm, "matte"), motifs=("square",)))
    assert drawn_size(text, "cup-g-0a") == pytest.approx(mm, rel=0.06)


def test_coarse_grains_of_a_mix_cover_their_share_of_the_cup(jar):
    """Half sand of 0.7 mm, half pearls of 8 mm: the pearls cover about half of the cup, the sand lies below."""
    sand = jar(1, texture=Texture("crystal", 0.7, "sparkling"))
    pearls = jar(2, texture=Texture("sphere", 8.0, "pearl"))
    text = kit_picture(Kit("mix", TINTS, (Topping(sand, 0.5), Topping(pearls, 0.5)), (), "mixed"), "k")
    shown = len(re.findall('<use href="#k-g1-0a"', text))
    assert shown * np.pi * 4.0**2 == pytest.approx(0.5 * np.pi * 23.2**2, rel=0.25)
    assert text.index("<pattern") < text.index('<use href="#k-g1-0a"')


def test_unknown_form_and_size_are_said(jar):
    unknown = jar(1, texture=Texture())
    text = cup_picture(unknown)
    assert "form is not known" in text
    assert "size not known, drawn at 3 mm" in text
    assert "size not known" in grain_rule([unknown])
    assert "<use" not in grain_rule([unknown])


def test_grains_follow_the_shares_of_their_colours(jar):
    labs = [tuple(hex_to_lab(c).tolist()) for c in ("#ff0000", "#00aa00", "#0000ff")]
    shares = (ColourShare(labs[0], 0.5), ColourShare(labs[1], 0.25), ColourShare(labs[2], 0.25))
    text = cup_picture(jar(1, colours=shares, texture=Texture("sphere", 2.0)))
    shown = [len(re.findall(f'<use href="#cup-g-{i}a"', text)) for i in range(3)]
    assert shown == [32, 16, 16]


@pytest.mark.parametrize("name", ["owl", "star", "heart", "cloud", "circle, 75 mm"])
def test_strewn_grains_lie_on_the_icing_and_off_the_lines(demo: Shelf, jar, name):
    cutter = next(c for c in demo.cutters if c.name == name)
    text = cookie_picture(cutter, TINTS[0], [jar(1, texture=Texture("sphere", 4.0))], "c", TINTS[1])
    cookie = cookie_of(cutter)
    iced = Polygon(dense(cookie.curves, 0.5)).buffer(-BARE - 2.0 + 0.2)
    places = [(float(x), float(y)) for x, y in re.findall(r'href="#c-g0-0a" x="([-\d.]+)" y="([-\d.]+)"', text)]
    assert len(places) >= 4
    assert all(iced.covers(Point(p)) for p in places)
    lines = np.array([p for run in cookie.lines for p in dense(run, 0.5)]).reshape(-1, 2)
    for x, y in places:
        assert not len(lines) or np.hypot(*(lines - (x, y)).T).min() > 2.0 + LINE / 2 - 0.6


def test_where_no_pinch_fits_single_grains_are_strewn(jar):
    sugar = jar(1, texture=Texture("sphere", 1.5))
    wide = cookie_picture(Cutter(1, "gizmo", (), (), 60, 60), TINTS[0], [sugar], "c")
    narrow = cookie_picture(Cutter(1, "gizmo", (), (), 60, 12), TINTS[0], [sugar], "c")
    assert 'href="#c-p"' in wide
    assert 'href="#c-p"' not in narrow
    assert narrow.count('<use href="#c-g0-0a"') >= 18 + 3


def test_cookie_has_the_size_of_its_cutter_and_a_plain_form_without_an_outline():
    for cutter in (Cutter(1, "owl", (), (), 74, 86), Cutter(1, "gizmo", (), (), 62, 41)):
        left, top, right, bottom = Polygon(dense(cookie_of(cutter).curves, 0.5)).bounds
        assert (right - left, bottom - top) == pytest.approx((cutter.width_mm, cutter.height_mm), abs=0.1)
    text = cookie_picture(Cutter(1, "gizmo"), TINTS[0])
    assert "no outline known, drawn as a plain form" in text
    assert "size not known" in text
    half_known = cookie_of(Cutter(1, "star", (), (), None, 40))
    assert half_known.height == 40
    assert half_known.width == pytest.approx(40 * 1.0515, rel=0.01)


def test_kit_shows_every_cookie_cup_and_bag(kit):
    root = ET.fromstring(kit_picture(kit, "k"))
    uses = [u.get("href", "") for u in root.iter(f"{SVG}use")]
    for cut in kit.cuts:
        # Each cookie shows its outline four times: shadow, icing, dough and baked edge; the clip once.
        assert uses.count(f"#k-c{cut.cutter.id}") == 4 * cut.cookies + 1
    assert len(list(root.iter(f"{SVG}pattern"))) + len(
        [c for c in root.iter(f"{SVG}clipPath") if re.fullmatch(r"k-h\d", c.get("id", ""))]
    ) == len(kit.toppings)
    assert "8 cookies" in (root.findtext(f"{SVG}desc") or "")


def test_kits_with_little_or_too_much_in_them(kit, jar):
    checked(kit_picture(Kit("", (), (), ()), "k"), "k")
    checked(kit_picture(Kit("only cups", (), kit.toppings, ()), "k"), "k")
    checked(kit_picture(Kit("no cups", kit.tints, (), kit.cuts), "k"), "k")
    many = kit_picture(replace(kit, cuts=(Cut(kit.cuts[0].cutter, 200),)), "k")
    assert "200 cookies" in many
    assert "first 24 are drawn" in many
    assert len(many) < 60_000


def test_sizes_in_bytes(demo: Shelf, kit: Kit):
    """A usual kit within 30 kB, the worst of the demo shelf within 60 kB, a chart within 15 kB."""
    assert len(kit_picture(kit, "idea1").encode()) <= 30_000
    worst = kit_of(
        demo, ("rainbow jimmies", "snow day blend", "mermaid blend"), ("scalloped round", "butterfly", "bat")
    )
    assert len(kit_picture(worst, "idea1").encode()) <= 60_000
    assert max(len(cup_picture(j)) for j in demo.jars) <= 8_000
    assert len(palette_chart(TINTS, [t.jar for t in worst.toppings]).encode()) <= 15_000


@pytest.mark.parametrize("number", range(0, 75, 3))
def test_every_third_jar_of_the_demo_shelf_makes_a_cup(demo: Shelf, number):
    found: Jar = demo.jars[number]
    root = checked(cup_picture(found, "c"), "c")
    assert found.name in (root.findtext(f"{SVG}title") or "")


def test_plane_sets_colours_where_their_a_and_b_say():
    marks = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="9"', palette_chart(TINTS, []))
    middle, unit = 138.0, 1.15
    for (x, y), t in zip(marks, TINTS, strict=True):
        assert (float(x), float(y)) == pytest.approx(
            (middle + unit * t.lab[1], middle - unit * t.lab[2]), abs=0.06
        )


def test_bars_are_as_long_as_their_values():
    text = parts_bars({"fit": 0.5, "too much": 1.7, "below": -1.0})
    assert re.findall(r'width="([\d.]+)" height="12" rx="3" fill="#', text) == ["75", "150", "0"]
    assert "0.50" in text


def test_parts_that_can_be_tapped_lead_somewhere_and_wear_a_pin_when_held(kit: Kit) -> None:
    touch = {p: Touch(f"/kit?a=1&hold={p}", f"Hold <{p}>", p == "t1") for p in ("t0", "t1", "j0", "c0")}
    root = ET.fromstring(kit_picture(kit, "k", touch=touch))
    assert root.get("role") == "group", "links within an img are offered to nobody"
    links = [one for one in root.iter() if one.tag.endswith("}a")]
    first = [one for one in links if one.get("id")]
    assert sorted(one.get("id", "") for one in first) == ["k-c0", "k-j0", "k-t0", "k-t1"]
    assert len(links) == 3 + kit.cuts[0].cookies, "every cookie of a sort, but the keyboard comes to the first"
    assert all(one.get("tabindex") == "-1" for one in links if one not in first)
    assert {one.get("href") for one in links} == {t.address for t in touch.values()}
    pins = [one for one in links if any(c.get("fill") == "#b3261e" for c in one.iter())]
    assert [one.get("id") for one in pins] == ["k-t1"]
    assert ET.fromstring(kit_picture(kit, "k")).get("role") == "img"
