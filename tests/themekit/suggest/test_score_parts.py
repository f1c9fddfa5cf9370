"""Every part of a palette's and a trio's score worked out again by plain formulas.

The formulas are those of the table "The score of three" for contributors, written out with
`math`; colour differences are colour-science's, harmony is typed in from Ou and Luo (2006).
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.suggest.anchors import many_coloured
from themekit.suggest.ideas import Suggester
from themekit.suggest.palettes import score_colours
from themekit.values import Anchor, Jar, Shelf

Ask = Callable[..., Suggester]
Lab = Sequence[float]
TODAY_ORDINAL = date(2026, 11, 25).toordinal()
SPOON_ML = 14.78676478125  # NIST: 231 cubic inches to the gallon, 256 tablespoons
PAIRS = ((0, 1), (0, 2), (1, 2))
THEMES = ("owl party", "halloween", "rainbow", "teal and gold", "under the sea", "monochrome", "autumn leaves")
pytestmark = pytest.mark.filterwarnings("ignore::Warning")  # colour-science tells what it lacks


def near(lab: Lab, anchor: Lab) -> float:
    from colour.difference import delta_E_CIE2000

    return math.exp(-((float(delta_E_CIE2000(np.array(lab), np.array(anchor))) / 16) ** 2))


def ou_luo(one: Lab, two: Lab) -> float:
    """CH of Ou and Luo (2006), equations for two colours."""

    def hue_part(lab: Lab) -> float:
        chroma, h = math.hypot(lab[1], lab[2]), math.degrees(math.atan2(lab[2], lab[1])) % 360
        ec = 0.5 + 0.5 * math.tanh(-2 + 0.5 * chroma)
        hs = -0.08 - 0.14 * math.sin(math.radians(h + 50)) - 0.07 * math.sin(math.radians(2 * h + 90))
        ey = (0.22 * lab[0] - 12.8) / 10 * math.exp((90 - h) / 10 - math.exp((90 - h) / 10))
        return ec * (hs + ey)

    c1, c2 = math.hypot(one[1], one[2]), math.hypot(two[1], two[2])
    gap2 = max(0.0, math.dist(one[1:], two[1:]) ** 2 - (c1 - c2) ** 2)
    dc = math.sqrt(gap2 + ((c1 - c2) / 1.46) ** 2)
    ch = 0.04 + 0.53 * math.tanh(0.8 - 0.045 * dc)
    ch += 0.28 + 0.54 * math.tanh(-3.88 + 0.029 * (one[0] + two[0]))
    ch += 0.14 + 0.15 * math.tanh(-2 + 0.2 * abs(one[0] - two[0]))
    return ch + hue_part(one) + hue_part(two)


def scaled(ch: float) -> float:
    """On 0–1 over the published range, −1.24 to 1.39."""
    return min(1.0, max(0.0, (ch + 1.24) / (1.39 + 1.24)))


def harmony(one: Lab, two: Lab) -> float:
    return scaled(ou_luo(one, two))


def mixed_harmony(pairs: list[tuple[float, Lab, Lab]]) -> float:
    """Harmony of two mixes: the products of their shares weigh the pairs of colours."""
    return scaled(sum(part * ou_luo(one, two) for part, one, two in pairs))


def asked_chroma(anchors: Sequence[Anchor]) -> float:
    return sum(a.weight * math.hypot(a.lab[1], a.lab[2]) for a in anchors)


def palette_parts(labs: list[Lab], anchors: Sequence[Anchor]) -> dict[str, float]:
    most = max(a.weight for a in anchors)
    asked = asked_chroma(anchors)
    return {
        "fit": sum(max(near(x, a.lab) * (0.75 + 0.25 * a.weight / most) for a in anchors) for x in labs) / 3,
        "coverage": sum(a.weight * max(near(x, a.lab) for x in labs) for a in anchors),
        "harmony": sum(harmony(labs[i], labs[j]) for i, j in PAIRS) / 3,
        "contrast": sum(min(1, abs(labs[i][0] - labs[j][0]) / 40) for i, j in PAIRS) / 3,
        "distinctness": min(min(1, math.dist(labs[i], labs[j]) / 40) for i, j in PAIRS),
        "chroma": 1.0 if asked < 12 else sum(min(1, math.hypot(x[1], x[2]) / asked) for x in labs) / 3,
    }


def documented(column: int) -> dict[str, float]:
    """The weights of the contributors' table: column 1 palettes, 2 trios."""
    text = (Path(__file__).parents[3] / "DEVELOPERS.md").read_text("utf-8")
    rows = re.findall(r"^\| (\w+) \| ([\d.–]+) \| ([\d.–]+) \|", text, re.MULTILINE)
    return {row[0]: float(row[column]) for row in rows if row[column] != "–"}


@pytest.mark.parametrize("text", THEMES)
def test_parts_of_a_palette(suggester: Ask, text: str) -> None:
    asked = suggester(text)
    found = asked.palette_search().diverse(3)
    assert found
    for palette in found:
        labs = [t.lab for t in palette.tints]
        expected = palette_parts(labs, asked.anchors)
        # A gel to mix costs a quarter from the second on; a staple beside gels half.
        expected["ease"] = (
            sum(
                1 - 0.25 * max(0, len(t.recipe) - 1) - 0.5 * any(d.gel_id is None for d in t.recipe)
                for t in palette.tints
            )
            / 3
        )
        # Tints are told by their recipe rounded to 0.001 g, a hair from the colour searched.
        assert palette.parts == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize("text", ["teal and gold", "lemon and grey", "monochrome"])
def test_the_score_is_the_parts_under_the_documented_weights(suggester: Ask, text: str) -> None:
    """Of themes of few colours, where no weight moves."""
    weights = {1: documented(1), 2: documented(2)}
    assert sum(weights[1].values()) == pytest.approx(1)
    assert sum(weights[2].values()) == pytest.approx(1)
    asked = suggester(text)
    palette = asked.palette_search().best(1)[0]
    assert set(palette.parts) == set(weights[1])
    assert palette.score == pytest.approx(sum(weights[1][n] * v for n, v in palette.parts.items()), abs=1e-4)
    trio = asked.trio_search().best(1, palette.labs)[0]
    assert set(trio.parts) == set(weights[2])
    assert trio.score == pytest.approx(sum(weights[2][n] * v for n, v in trio.parts.items()), abs=1e-4)


def test_a_many_coloured_theme_moves_four_fifths_of_harmony_to_coverage(suggester: Ask) -> None:
    asked = suggester("rainbow")
    weights = documented(1)
    moved = 0.8 * weights["harmony"]
    weights["harmony"] -= moved
    weights["coverage"] += moved
    palette = asked.palette_search().best(1)[0]
    assert palette.score == pytest.approx(sum(weights[n] * v for n, v in palette.parts.items()), abs=1e-4)


@pytest.mark.parametrize("text", ["owl party", "teal and gold", "black and white"])
def test_parts_of_three_colours_of_her_own(suggester: Ask, text: str) -> None:
    anchors = suggester(text).anchors
    for labs in ([(30, 20, -40), (60, 50, 20), (90, -5, 8)], [(55, 0, 0), (56, 1, 0), (57, 0, 1)]):
        told = score_colours(np.array(labs, float), anchors)
        expected = palette_parts(list(labs), anchors)
        assert told.parts == pytest.approx(expected, abs=6e-5)


# Trios.


def colours(jar: Jar) -> list[tuple[Lab, float]]:
    return [(c.lab, c.share) for c in jar.colours]


def shows(jar: Jar, anchor: Anchor, anchors: Sequence[Anchor]) -> float:
    """A colour is seen in full from 15 % on; the jar counts by how much of it belongs to the theme."""
    best = [max(near(lab, a.lab) for a in anchors) for lab, _ in colours(jar)]
    belongs = sum(b * s for b, (_, s) in zip(best, colours(jar), strict=True)) / max(best)
    return belongs * max(near(lab, anchor.lab) * min(1, share / 0.15) for lab, share in colours(jar))


def texture_gap(one: Jar, two: Jar) -> float:
    a, b = one.texture, two.texture
    total = 0.45 * bool(a.form and b.form and a.form != b.form)
    total += 0.20 * bool(a.finish and b.finish and a.finish != b.finish)
    if a.grain_mm and b.grain_mm:
        total += 0.35 * min(1, abs(math.log2(a.grain_mm / b.grain_mm)) / 2)
    return total


def apart(one: Jar, two: Jar) -> float:
    """Mean distance to the nearest colour of the other, both ways, full at 40."""
    there = sum(s * min(math.dist(x, y) for y, _ in colours(two)) for x, s in colours(one))
    back = sum(s * min(math.dist(x, y) for x, _ in colours(one)) for y, s in colours(two))
    return min(1, (there + back) / 2 / 40)


def stock(jar: Jar, kits: int) -> float:
    enough = 0.5
    if jar.on_hand_g is not None and jar.density_g_per_ml is not None:
        enough = min(1, jar.on_hand_g / (jar.density_g_per_ml * SPOON_ML * kits))
    idle = max(
        (TODAY_ORDINAL - jar.last_used.toordinal()) / 180 if jar.last_used else 0,
        1 - (jar.best_before.toordinal() - TODAY_ORDINAL) / 60 if jar.best_before else 0,
    )
    return 0.7 * enough + 0.3 * min(1, max(0, idle))


def motif(jar: Jar, asked: Suggester) -> float:
    """1 for the theme's first motif, 0.7 for none or a plain shape, 0 for something else."""
    names = {alias: t.name for t in lexicon().things for alias in t.aliases}
    wanted: dict[str, float] = {}
    for m in asked.asked.reading.motifs:
        word = names.get(m.word, m.word)
        wanted.setdefault(word, m.weight)
    best = max((wanted.get(names.get(word, word), 0.0) for word in jar.motifs), default=0.0)
    if best:
        return 0.7 + 0.3 * best
    plain = ("circle", "dot", "heart", "star", "flower", "square", "bead")
    if not set(jar.motifs) <= set(plain):
        return 0.0
    # What bakers keep in the pantry, and buy for other cakes too (common practice, no source).
    pantry = "chips shavings marshmallow coconut candy toffee nuts freeze-dried rice crumbs gummy"
    of_pantry = any(word in jar.kind for word in pantry.split())
    return 0.3 if of_pantry and not any(word.rstrip("s") in wanted for word in jar.kind.split()) else 0.7


def kin(one: Lab, other: Lab) -> float:
    """CIEDE2000 with kL = 2, as for textiles: of one kin up to 12, of none from 28; greys are none of colours'.

    The first, a topping, loses up to 0.6 where it is more colourful by 20 and more.
    """
    from colour.difference import delta_E_CIE2000

    small, large = sorted((math.hypot(*one[1:]), math.hypot(*other[1:])))
    if small < 8 and large > 18:
        return 0.0
    distance = float(delta_E_CIE2000(np.array(one), np.array(other), textiles=True))
    loud = min(0.6, max(0.0, (math.hypot(*one[1:]) - math.hypot(*other[1:]) - 20) / 30))
    return min(1.0, max(0.0, (28 - distance) / (28 - 12))) * (1 - loud)


def is_neutral(lab: Lab, jar: Jar, palette: list[Lab]) -> bool:
    """White, cream, silver and metals; chocolate beside anything warm."""
    chroma, hue = math.hypot(*lab[1:]), math.degrees(math.atan2(lab[2], lab[1])) % 360
    warm = any(
        math.hypot(*t[1:]) >= 15 and 10 <= math.degrees(math.atan2(t[2], t[1])) % 360 <= 105 for t in palette
    )
    return (
        (lab[0] >= 86 and chroma <= 10)
        or (lab[0] >= 82 and chroma <= 24 and 55 <= hue <= 110)
        or (lab[0] >= 60 and chroma <= 8)
        or jar.texture.finish == "metallic"
        or jar.kind == "edible glitter flakes"
        or (warm and lab[0] <= 32 and 8 <= chroma <= 35 and 20 <= hue <= 80)
    )


def tie(jar: Jar, palette: list[Lab], anchors: Sequence[Anchor]) -> float:
    """What the icing, the leading anchors or neutrality account for, by shares; in a rainbow all anchors."""
    most = max(a.weight for a in anchors)
    many = many_coloured(anchors) if len(jar.colours) > 2 else 0.0
    total = 0.0
    for lab, share in colours(jar):
        of_theme = max([kin(lab, a.lab) for a in anchors if a.weight >= 0.7 * most])
        rest = [many * max(kin(lab, a.lab) for a in anchors), 0.75 * is_neutral(lab, jar, palette)]
        total += share * max(*(kin(lab, t) for t in palette), of_theme, *rest)
    return total


@pytest.mark.parametrize(("text", "kits"), [*((t, 1) for t in THEMES), ("christmas", 12), ("pirates", 5)])
def test_parts_of_a_trio(suggester: Ask, text: str, kits: int) -> None:
    asked = suggester(text, kits=kits)
    anchors = asked.anchors
    palette = asked.palette_search().best(1)[0].labs
    found = asked.trio_search().diverse(3, palette)
    assert found
    most = max(a.weight for a in anchors)
    for trio in found:
        jars = trio.jars
        fits = [
            sum(
                s * max(near(lab, a.lab) * (0.75 + 0.25 * a.weight / most) for a in anchors)
                for lab, s in colours(j)
            )
            for j in jars
        ]
        suits = [sum(s * harmony(lab, t) for lab, s in colours(j) for t in palette.tolist()) / 3 for j in jars]
        both = [
            [(s * t, x, y) for (x, s), (y, t) in itertools.product(colours(jars[i]), colours(jars[j]))]
            for i, j in PAIRS
        ]
        expected = {
            "fit": sum(fits) / 3,
            "coverage": sum(a.weight * max(shows(j, a, anchors) for j in jars) for a in anchors),
            "harmony": sum(map(mixed_harmony, both)) / 3,
            "contrast": sum(texture_gap(jars[i], jars[j]) for i, j in PAIRS) / 3,
            "distinctness": min(apart(jars[i], jars[j]) for i, j in PAIRS),
            "suits": sum(suits) / 3,
            "ties": sum(tie(j, palette.tolist(), anchors) for j in jars) / 3,
            "stock": sum(stock(j, kits) for j in jars) / 3,
            "motif": sum(motif(j, asked) for j in jars) / 3,
        }
        assert trio.parts == pytest.approx(expected, abs=1e-4)


def test_the_trials_reach_every_sort_of_jar(suggester: Ask, demo: Shelf) -> None:
    """Else the checks above could pass on plain jars alone."""
    seen = {j for t in THEMES for trio in suggester(t).trio_search().diverse(3) for j in trio.jars}
    assert any(len(j.colours) > 3 for j in seen)
    assert any(j.motifs for j in seen)
    assert len({j.texture.form for j in seen}) >= 4
    assert len({j.texture.finish for j in seen}) >= 3
