"""Every sentence told about an idea agrees with the data it is told from.

Sentences are taken apart again and their names and numbers looked up; a sentence that no
pattern knows fails. Colour differences are colour-science's.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from themekit.colour.space import hex_to_lab, lab_to_hex
from themekit.suggest.cutters import Chosen
from themekit.suggest.ideas import Idea, Suggester
from themekit.suggest.palettes import Palette, Unreached
from themekit.suggest.reasons import cutter_cautions, cutter_reasons, light_reason, palette_reasons, trio_reasons
from themekit.suggest.trios import Portion, Trio
from themekit.values import Anchor, Cutter, Dose, Jar, Lab, Shelf, Texture, Tint

Ask = Callable[..., Suggester]
Make = Callable[..., Jar]
TODAY = date(2026, 11, 25)
SPOON_ML = 14.78676478125  # NIST: 231 cubic inches to the gallon, 256 tablespoons
pytestmark = pytest.mark.filterwarnings("ignore::Warning")  # colour-science tells what it lacks


def differ(one: Lab, two: Lab) -> float:
    from colour.difference import delta_E_CIE2000

    return float(delta_E_CIE2000(np.array(one), np.array(two)))


def named(text: str) -> list[str]:
    return re.split(r", | and ", text)


def of_theme(idea: Idea, anchors: Sequence[Anchor], names: str, source: str) -> None:
    tints = {t.name: t for t in idea.palette.palette.tints}
    for name in {n.casefold() for n in named(names)}:
        nearest = min(anchors, key=lambda a, n=name: differ(a.lab, tints[n].lab))  # type: ignore[misc]
        assert differ(nearest.lab, tints[name].lab) <= 12.01
        assert nearest.source == source


def strangers(idea: Idea, anchors: Sequence[Anchor], names: str) -> None:
    tints = {t.name: t for t in idea.palette.palette.tints}
    for name in {n.casefold() for n in named(names)}:
        assert min(differ(a.lab, tints[name].lab) for a in anchors) > 11.99


def most_alike(idea: Idea, names: str, much: str, number: str) -> None:
    labs = [t.lab for t in idea.palette.palette.tints]
    told = [t.name for t in idea.palette.palette.tints]
    pair = min(itertools.combinations(range(3), 2), key=lambda p: differ(labs[p[0]], labs[p[1]]))
    least = differ(labs[pair[0]], labs[pair[1]])
    one, two = told[pair[0]], told[pair[1]]
    assert names in (f"{one} and {two}", f"the two {one}s")
    assert number == f"{least:.0f}"
    assert much == ("clearly" if least >= 20 else "enough to tell apart" if least >= 10 else "only a little")


def lightness(idea: Idea, dark: str, light: str, least: float, most: float) -> None:
    ordered = sorted(idea.palette.palette.tints, key=lambda t: t.lab[0])
    assert dark.removeprefix("dark ") == ordered[0].name.removeprefix("dark ")
    assert light.removeprefix("light ") == ordered[2].name.removeprefix("light ")
    assert not re.search(r"\b(\w+) \1\b", f"{dark}, {light}")
    assert least <= ordered[2].lab[0] - ordered[0].lab[0] < most


def grains(idea: Idea, sizes: Sequence[str], holds: Callable[[float, float, float], bool]) -> None:
    known = sorted(j.texture.grain_mm or 0 for j in idea.trio.trio.jars)
    told = [float(s) for s in sizes]
    assert told == (known if len(told) == 3 else [known[0], known[2]])
    assert holds(*known)


def jar_of(idea: Idea, name: str) -> Jar:
    return next(j for j in idea.trio.trio.jars if j.name == name)


def returns(idea: Idea, tint: str, name: str) -> None:
    labs = [t.lab for t in idea.palette.palette.tints if t.name == tint]
    shares = jar_of(idea, name).colours
    assert min(differ(lab, c.lab) for lab in labs for c in shares) <= 12.01


def several(idea: Idea, anchors: Sequence[Anchor], name: str) -> None:
    """At least three of the theme's colours within 18 of one of the jar's."""
    shares = jar_of(idea, name).colours
    assert sum(min(differ(a.lab, c.lab) for c in shares) <= 18.01 for a in anchors) >= 3


def on_hand(idea: Idea, kits: str, first: str) -> None:
    lasts = {
        j.name: j.on_hand_g / (j.density_g_per_ml * SPOON_ML)
        for j in idea.trio.trio.jars
        if j.on_hand_g is not None and j.density_g_per_ml
    }
    assert len(lasts) == 3
    assert int(kits) == math.floor(min(lasts.values()) + 1e-9)
    assert lasts[first] == pytest.approx(min(lasts.values()))


def unknown_stock(idea: Idea, names: str) -> None:
    lacking = [j.name for j in idea.trio.trio.jars if j.on_hand_g is None]
    assert lacking
    assert all(name in names for name in lacking)


def usual_density(idea: Idea, names: str) -> None:
    filled = [j.name for j in idea.trio.trio.jars if "density_g_per_ml" in j.defaults]
    assert filled
    assert all(name in names for name in filled)


def stood(idea: Idea, months: str, name: str) -> None:
    last = jar_of(idea, name).last_used
    assert last is not None
    assert (TODAY - last).days >= 180
    assert abs((TODAY - last).days / 30.4 - int(months)) <= 0.5


def dated(idea: Idea, day: str, name: str) -> None:
    jar = jar_of(idea, name)
    assert jar.best_before == date.fromisoformat(day)
    assert 0 <= (jar.best_before - TODAY).days <= 60


def cutters(idea: Idea, names: str, how: str, of: str | None = None) -> None:
    mine = [c.cutter.name for c in idea.cutters if c.how == how and of in (None, c.of)]
    assert mine
    told = names
    for name in mine:
        assert name in told
        told = told.replace(name, "", 1)


def plain_icing(idea: Idea, name: str) -> None:
    assert [t.name for t in idea.palette.palette.tints if not t.recipe] == [name.casefold()]


def forms(idea: Idea, names: str) -> None:
    assert len({j.texture.form for j in idea.trio.trio.jars}) >= 2
    assert len(re.split(r", | and ", names)) >= 2


def unreached(idea: Idea, colour: str, nearest: str, far: str) -> None:
    assert differ(hex_lab(colour), hex_lab(nearest)) == pytest.approx(float(far), abs=1.0)
    assert float(far) >= 6


def hex_lab(colour: str) -> Lab:
    L, a, b = hex_to_lab(colour).tolist()
    return (L, a, b)


def shown(idea: Idea, itself: str, further: str | None) -> None:
    """Who shows the theme has its motif first; what goes with it has it not."""
    told = {name.casefold() for names in (itself, further or "") for name in named(names) if name}
    taken = [c for c in idea.cutters if c.cutter.name.casefold() in told]
    assert len(taken) == len(told)
    assert {c.cutter.name.casefold() for c in taken if c.shows} == {n.casefold() for n in named(itself) if n}


def lacking(idea: Idea, told: str) -> None:
    for name in re.split(r", | or ", told):
        word = re.sub(r"^(?:an?) |[“”]", "", name)
        assert all(word not in c.shows for c in idea.cutters)


#: Pattern and what its groups must agree with; i is the idea, a the theme's anchors.
TOLD: tuple[tuple[str, Callable[..., Any]], ...] = (
    (r"(.+) (?:is a colour|are colours) of “(.+)”\.", lambda i, a, names, source: of_theme(i, a, names, source)),
    (
        r"(.+) (?:was|were) asked for\.",
        lambda i, a, told: [of_theme(i, a, name, name) for name in re.split(", | and ", told.casefold())],
    ),
    (r"(.+) (?:is|are) not of the theme itself; (?:it sets|they set) the others off\.", strangers),
    (r"(.+) stands for (.+), which your gels do not reach\.", lambda i, a, name, _: strangers(i, a, name)),
    (r"(.+) is as near to the theme's (.+) as your gels come\.", lambda i, a, name, _: strangers(i, a, name)),
    (r"From (.+) to (.+): lines .*", lambda i, a, *g: lightness(i, *g, 35, 101)),
    (r"A gentle step from (.+) to (.+): pipe details .*", lambda i, a, *g: lightness(i, *g, 15, 35)),
    (r"All three are about equally light: .*", lambda i, a: None),
    (r"[A-Z][a-z -]+: [^.]*(?:hue|colour)[^.]*\.", lambda i, a: None),  # the hue scheme has tests of its own
    (r"The two most alike, (.+), differ (.+) \(by (\d+)\)\.", lambda i, a, *g: most_alike(i, *g)),
    (r"(.+) needs no gel at all\.", lambda i, a, name: plain_icing(i, name)),
    (
        r"The gels cannot make the theme's .+ \((#\w+)\): the nearest they make is (#\w+), a colour "
        r"difference of ([\d.]+)\.",
        lambda i, a, *g: unreached(i, *g),
    ),
    (
        r"The three grain sizes, ([\d.]+), ([\d.]+) and ([\d.]+) mm, give a fine, a middle and a showpiece\.",
        lambda i, a, *g: grains(i, g, lambda x, y, z: y >= 1.5 * x and z >= 1.5 * y),
    ),
    (
        r"Grains from ([\d.]+) to ([\d.]+) mm: some to cover, some to place\.",
        lambda i, a, *g: grains(i, g, lambda x, y, z: z >= 2 * x and not (y >= 1.5 * x and z >= 1.5 * y)),
    ),
    (r"All three are of about one grain size \(.+ mm\), .*", lambda i, a: None),
    (r"(.+) feel different to eye and mouth\.", lambda i, a, names: forms(i, names)),
    (r"Several of the theme's colours at once: (.+)\.", several),
    (r"The (.+) icing returns in the (.+)\.", lambda i, a, *g: returns(i, *g)),
    (r"The jars on hand make about (\d+) kits?; first to run out: (.+)\.", lambda i, a, *g: on_hand(i, *g)),
    (r"How much there is of (.+) is not entered\.", lambda i, a, names: unknown_stock(i, names)),
    (r"Grams of (.+) go by the kind's usual density .*", lambda i, a, names: usual_density(i, names)),
    (r"A chance to use what has stood for (\d+) months: (.+)\.", lambda i, a, *g: stood(i, *g)),
    (r"Best before (\d{4}-\d\d-\d\d), so use it now: (.+)\.", lambda i, a, *g: dated(i, *g)),
    (r"Cutters that show the theme: (.+)\.", lambda i, a, names: cutters(i, names, "theme")),
    (r"A guess at what “.+” means?: (.+)\.", lambda i, a, names: cutters(i, names, "guess")),
    (r"Near the theme, for want of the thing itself: (.+)\.", lambda i, a, names: cutters(i, names, "near")),
    (r"For the (.+ birthday|birthday): (.+)\.", lambda i, a, of, names: cutters(i, names, "occasion", of)),
    (r"In passing of the theme: (.+)\.", lambda i, a, names: cutters(i, names, "occasion", "")),
    (r"A plain shape fills up: (.+)\.", lambda i, a, names: cutters(i, names, "")),
    (
        r"So (?:a plain shape|plain shapes), which leaves? it to the colours: (.+)\.",
        lambda i, a, names: cutters(i, names, ""),
    ),
    (r"No cutter on the shelf shows (?!this theme)(.+)\.", lambda i, a, names: lacking(i, names)),
    (r"([^;]+) shows? the theme(?:; (.+) go(?:es)? with it)?\.", lambda i, a, *g: shown(i, *g)),
    (r"([^;]+) go(?:es)? with the theme\.", lambda i, a, names: shown(i, "", names)),
    (r"No cutter on the shelf shows this theme: (.+) leaves? it .*", lambda i, a, names: cutters(i, names, "")),
)  # fmt: skip
THEMES = (
    "owl party", "rainbow", "teal and gold", "neon party", "monochrome", "autumn leaves", "under the sea", "farm",
    "christmas", "#123456 and #fedcba", "tractor", "snow",
)  # fmt: skip


@pytest.fixture(scope="module")
def answers(suggester: Ask) -> list[tuple[Idea, Sequence[Anchor]]]:
    made = [(suggester(text), text) for text in THEMES]
    return [(idea, asked.anchors) for asked, _ in made for idea in asked.ideas(3).ideas]


def test_every_sentence_agrees_with_the_idea(answers: list[tuple[Idea, Sequence[Anchor]]]) -> None:
    used = set()
    for idea, anchors in answers:
        for sentence in idea.reasons:
            for pattern, check in TOLD:
                found = re.fullmatch(pattern, sentence)
                if found:
                    used.add(pattern)
                    check(idea, anchors, *found.groups())
                    break
            else:
                pytest.fail(f"no pattern for: {sentence}")
    assert len(used) >= 18, sorted({p for p, _ in TOLD} - used)


def test_what_is_worth_saying_is_said(answers: list[tuple[Idea, Sequence[Anchor]]]) -> None:
    """The other way round: data that calls for a sentence has it."""
    for idea, _ in answers:
        told = " ".join(idea.reasons)
        for jar in idea.trio.trio.jars:
            if jar.last_used and (TODAY - jar.last_used).days >= 180:
                assert f"months: {jar.name}." in told
            if jar.best_before and 0 <= (jar.best_before - TODAY).days <= 60:
                assert f"use it now: {jar.name}." in told
            if jar.on_hand_g is None:
                assert "is not entered" in told
        assert "The two most alike" in told
        assert ("The jars on hand make" in told) == (idea.trio.trio.makes_kits is not None)


# Small cases for the branches that a demo shelf seldom meets.


def tint(name: str, colour: str, *recipe: Dose) -> Tint:
    return Tint(hex_lab(colour), colour, name, recipe)


GEL = Dose("some gel", 1, 0.5)


def three(*tints: Tint) -> Palette:
    a, b, c = tints
    return Palette((a, b, c), 0.5, {})


def trio_of(jars: Sequence[Jar], serve: Any = "apart", shares: Sequence[float] = (1 / 3, 1 / 3, 1 / 3)) -> Trio:
    a, b, c = (Portion(j, s, 13.0) for j, s in zip(jars, shares, strict=True))
    return Trio((a, b, c), serve, 0.5, {})


def test_equally_light_tints_and_one_grain_are_said_to_be_so(jar: Make) -> None:
    told = palette_reasons(
        three(tint("a", "#b08080", GEL), tint("b", "#80b080", GEL), tint("c", "#8080c8", GEL)), ()
    )
    assert any("about equally light" in s for s in told)
    jars = [jar(i, texture=Texture("sphere", size)) for i, size in enumerate((1.5, 1.6, 2.0))]
    told = trio_reasons(trio_of(jars), None, (), TODAY)
    assert "All three are of about one grain size (1.5, 1.6 and 2 mm), so colour and form tell them apart." in told
    assert not any("feel different" in s for s in told)


def test_unknown_grains_are_not_told(jar: Make) -> None:
    jars = [jar(1, texture=Texture()), jar(2), jar(3)]
    assert not [s for s in trio_reasons(trio_of(jars), None, (), TODAY) if "mm" in s]


def test_two_tints_of_one_name_are_told_once() -> None:
    told = palette_reasons(
        three(tint("blue", "#2050c0", GEL), tint("blue", "#2a5ac8", GEL), tint("white", "#ffffff")),
        (Anchor(hex_lab("#2050c0"), 1.0, "sea"),),
    )
    assert "Blue is a colour of “sea”." in told
    assert any("the two blues, differ only a little" in s for s in told)
    assert "White needs no gel at all." in told
    assert "White is not of the theme itself; it sets the others off." in told


def test_a_colour_that_the_gels_cannot_make_is_told_with_the_nearest() -> None:
    palette = three(tint("a", "#b08080"), tint("b", "#80b080"), tint("c", "#8080c8"))
    told = palette_reasons(palette, (), [Unreached("#00ff00", "lime", "#66cc44", 12.5)])
    assert told[-1] == (
        "The gels cannot make the theme's lime (#00ff00): the nearest they make is #66cc44, a colour "
        "difference of 12.5."
    )
    assert not any("no gel at all" in s for s in told), "her own three colours come without recipes"


def test_a_blend_is_told_in_whole_per_cent(jar: Make) -> None:
    told = trio_reasons(trio_of([jar(1), jar(2), jar(3)], "mixed", (0.5, 0.3, 0.2)), None, (), TODAY)
    assert "Mixed by volume: 50 % jar 1, 30 % jar 2 and 20 % jar 3." in told


@pytest.mark.parametrize(
    ("days", "idle", "soon"), [(179, False, False), (180, True, False), (400, True, False), (None, False, True)]
)
def test_idle_and_dated_jars_at_the_edge(jar: Make, days: int | None, idle: bool, soon: bool) -> None:
    last = None if days is None else TODAY - timedelta(days=days)
    for best, said in ((60, soon), (61, False), (0, soon), (-1, False)):
        one = jar(1, last_used=last, best_before=TODAY + timedelta(days=best) if days is None else None)
        told = trio_reasons(trio_of([one, jar(2), jar(3)]), None, (), TODAY)
        assert any("has stood for" in s for s in told) == idle
        assert any("Best before" in s for s in told) == said
    undated = trio_reasons(trio_of([jar(1, last_used=date(2020, 1, 1)), jar(2), jar(3)]), None, (), None)
    assert not any("stood" in s for s in undated), "no day, no idleness"


def test_one_kit_is_told_in_the_singular(jar: Make) -> None:
    jars = [jar(1, on_hand_g=13.5), jar(2), jar(3)]
    told = trio_reasons(trio_of(jars), None, (), TODAY)
    assert "The jars on hand make about 1 kit; first to run out: jar 1." in told


def test_under_another_light_the_hexes_and_differences_are_given() -> None:
    palette = three(tint("red", "#c03030"), tint("green", "#309040"), tint("white", "#f8f6f1"))
    told = light_reason(palette, "warm bulb")
    found = re.fullmatch(
        r"Under a warm bulb: red as (#\w{6}), green as (#\w{6}) and white as (#\w{6}); the two most alike then "
        r"differ by (\d+), by day by (\d+)\.",
        told,
    )
    assert found, told
    labs = [t.lab for t in palette.tints]
    by_day = min(differ(a, b) for a, b in itertools.combinations(labs, 2))
    then = min(differ(hex_lab(a), hex_lab(b)) for a, b in itertools.combinations(found.groups()[:3], 2))
    assert found[5] == f"{by_day:.0f}"
    # Seen colours may lie outside what a screen shows, so their hexes agree only roughly.
    assert int(found[4]) == pytest.approx(then, abs=4)
    assert found[1] != lab_to_hex(labs[0])


def test_cutters_without_and_with_thin_parts() -> None:
    assert cutter_reasons([]) == ["There are no cutters on the shelf: enter some, or cut plain rounds."]
    bat = Chosen(Cutter(1, "bat", ("bat",), thin_parts=True), 4, "bat", 0.9)
    owl = Chosen(Cutter(2, "owl", ("owl",), thin_parts=False), 4, "owl", 0.9)
    (thin,) = cutter_cautions([bat, owl])
    assert thin.text == "Thin parts may break: bat. Cut spares and cool them on the sheet."
    assert cutter_cautions([owl, replace(owl, cutter=Cutter(3, "fox"))]) == []


def test_the_demo_shelf_reaches_idle_dated_and_unknown_jars(demo: Shelf) -> None:
    """Else the sentences above would be checked on nothing."""
    assert any(j.on_hand_g is None for j in demo.jars)
    assert any(j.last_used and (TODAY - j.last_used).days >= 180 for j in demo.jars)
    assert any(j.best_before and 0 <= (j.best_before - TODAY).days <= 60 for j in demo.jars)
