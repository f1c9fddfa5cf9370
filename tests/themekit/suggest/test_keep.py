"""Held parts: the completions are the best triples of all that hold them, worked out by listing every one."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.errors import InvalidValue
from themekit.suggest.changes import jar_change, tint_change
from themekit.suggest.cutters import CutterSearch
from themekit.suggest.ideas import Suggester
from themekit.suggest.keep import KeptPalettes, KeptTrios, kept_cutters, made_of, placed
from themekit.suggest.palettes import Palette, PaletteSearch, Tints
from themekit.suggest.weights import PALETTE
from themekit.values import Needs, Shelf

Ask = Callable[..., Suggester]
THEME = "owl party in teal and gold"


@pytest.fixture(scope="module")
def few(suggester: Ask) -> Tints:
    """Thirty of the demo shelf's tints, so that all 4,060 palettes can be listed."""
    whole = suggester(THEME).tints()
    some = np.linspace(0, len(whole.hex) - 1, 30).astype(int)
    return Tints(whole.gels, whole.lab[some], whole.doses[some], tuple(whole.hex[i] for i in some))


def _hexes(palette: Palette) -> set[str]:
    return {t.hex for t in palette.tints}


@pytest.mark.parametrize("rows", [(4,), (17,), (4, 17), (0, 29)])
def test_palettes_that_hold_tints_are_the_best_of_all_that_do(
    suggester: Ask, few: Tints, rows: tuple[int, ...]
) -> None:
    """Every palette of thirty tints is listed by its score and those without the held ones struck out."""
    asking = suggester(THEME)
    held = [made_of(few.hex[i], few).tint for i in rows]
    wanted = {t.hex for t in held}
    every = PaletteSearch(few, asking.anchors, Needs()).best(5_000)
    listed = [p for p in every if wanted <= _hexes(p)][:6]
    found = KeptPalettes(few, asking.anchors, Needs(), held).best(6)
    assert [(p.score, _hexes(p)) for p in found] == [(p.score, _hexes(p)) for p in listed]
    assert [p.parts for p in found] == [p.parts for p in listed]


def test_two_held_whites_are_let_be_but_no_third_joins(suggester: Ask, few: Tints) -> None:
    asking = suggester(THEME)
    held = [made_of(c, few).tint for c in ("#ffffff", "#f7f6f0")]
    white = [t.lab[0] > 91 and np.hypot(*t.lab[1:]) < 7 for t in held]
    assert white == [True, True]
    found = KeptPalettes(few, asking.anchors, Needs(), held).best(40)
    assert len(found) > 10
    for palette in found:
        third = next(t for t in palette.tints if t.hex not in {h.hex for h in held})
        assert third.lab[0] <= 91 or np.hypot(*third.lab[1:]) >= 7


def test_each_next_palette_differs_in_the_free_tint(suggester: Ask, few: Tints) -> None:
    asking = suggester(THEME)
    held = [made_of(few.hex[i], few).tint for i in (4, 17)]
    search = KeptPalettes(few, asking.anchors, Needs(), held)
    first = search.best(1)
    second = search.best(1, first)
    free = [next(t for t in p[0].tints if t.hex not in {h.hex for h in held}) for p in (first, second)]
    assert float(delta_e_2000(np.array(free[0].lab), np.array(free[1].lab))) >= 8 - 1e-6


def test_needs_bind_the_free_tints_only(suggester: Ask, few: Tints) -> None:
    asking = suggester(THEME)
    held = [made_of(few.hex[4], few).tint]
    avoided = few.hex[4]
    for palette in KeptPalettes(few, asking.anchors, Needs(avoid_colours=(avoided,)), held).best(20):
        for tint in palette.tints:
            far = float(delta_e_2000(np.array(tint.lab), hex_to_lab(avoided)))
            assert tint.hex == avoided or far >= 15


def test_three_held_tints_are_the_palette(suggester: Ask) -> None:
    asking = suggester(THEME)
    best = asking.palette_search().best(1)[0]
    found = KeptPalettes(asking.tints(), asking.anchors, Needs(), best.tints).best(3)
    assert [(p.score, _hexes(p), p.parts) for p in found] == [(best.score, _hexes(best), best.parts)]


@pytest.mark.parametrize("count", [1, 2])
def test_trios_that_hold_jars_are_the_best_of_all_that_do(suggester: Ask, demo: Shelf, count: int) -> None:
    """Every trio of the first twenty jars is listed by its score."""
    small = Shelf(1, "few", jars=demo.jars[:20], gels=demo.gels)
    asking = suggester("rainbow", small)
    held = [j.id for j in asking.allowed.jars[3 : 3 + count]]
    palette = asking.palette_search().best(1)[0].labs
    every = asking.trio_search().best(5_000, palette)
    listed = [t for t in every if set(held) <= {j.id for j in t.jars}]
    found = KeptTrios(asking, held).best(8, palette)
    assert [(t.score, {j.id for j in t.jars}) for t in found] == [
        (t.score, {j.id for j in t.jars}) for t in listed[:8]
    ]
    again = KeptTrios(asking, held).best(1, palette, found[:1])[0]
    apart = [t for t in listed if {j.id for j in t.jars} & {j.id for j in found[0].jars} == set(held)]
    assert {j.id for j in again.jars} == {j.id for j in apart[0].jars}


def test_a_held_jar_stays_though_a_need_rules_it_out(suggester: Ask, demo: Shelf) -> None:
    out = demo.jars[0].id
    asking = suggester(THEME, needs=Needs(skip_jars=(out,)))
    assert out not in {j.id for j in asking.allowed.jars}
    for trio in KeptTrios(asking, [out]).best(3):
        assert out in {j.id for j in trio.jars}
        assert {j.id for j in trio.jars} - {out} <= {j.id for j in asking.allowed.jars}


def test_held_cutters_keep_their_cookies(suggester: Ask, demo: Shelf) -> None:
    asking = suggester(THEME)
    palette = asking.palette_search().best(1)[0].labs
    search = CutterSearch(demo.cutters, asking.asked.reading.motifs, asking.asked.lookup)
    mine = demo.cutters[5]
    found = kept_cutters(search, [(mine, 3)], 8, palette)
    assert (found[0].cutter, found[0].cookies) == (mine, 3)
    assert sum(c.cookies for c in found) == 8
    assert len({c.cutter.id for c in found}) == len(found)
    assert [c.cutter.id for c in kept_cutters(search, [(mine, 8)], 8, palette)] == [mine.id]


def test_a_colour_beyond_the_gels_is_told_with_how_far_it_is(suggester: Ask) -> None:
    tints = suggester(THEME).tints()
    near = made_of(tints.hex[700], tints)
    assert near.tint.hex == tints.hex[700]
    assert near.delta_e < 0.6  # hex is rounded
    far = made_of("#00ff00", tints)
    apart = float(delta_e_2000(hex_to_lab("#00ff00"), np.array(far.tint.lab)))
    assert far.delta_e == pytest.approx(apart, abs=0.005)
    assert far.delta_e > 6


def test_what_is_held_twice_or_too_often_is_refused(suggester: Ask, demo: Shelf) -> None:
    asking = suggester(THEME)
    one = demo.jars[0].id
    with pytest.raises(InvalidValue, match="each once"):
        KeptTrios(asking, [one, one])
    tint = made_of("#2a9d8f", asking.tints()).tint
    with pytest.raises(InvalidValue, match="at most three"):
        KeptPalettes(asking.tints(), asking.anchors, Needs(), [tint] * 4)


def test_places_stay() -> None:
    """What was there keeps its place, what is new takes those left, in its own order."""
    assert placed(["a", "b", "c"], ["x", "b", "y"]) == [0, 1, 2]
    assert placed(["a", "b", "c"], ["b", "y", "a"]) == [2, 0, 1]
    assert placed(["a", "b", "c"], ["c", "b", "a"]) == [2, 1, 0]


def test_a_change_is_told_by_what_moves_most() -> None:
    before = {"fit": 0.5, "distinctness": 0.9, "ease": 1.0}
    assert tint_change(before, {"fit": 0.9, "distinctness": 0.9, "ease": 1.0}, PALETTE) == "nearer the theme"
    both = tint_change(before, {"fit": 0.9, "distinctness": 0.5, "ease": 1.0}, PALETTE)
    assert both == "nearer the theme, if harder to tell apart"
    assert tint_change(before, before, PALETTE) == "much the same"
    assert jar_change({"contrast": 0.8}, {"contrast": 0.2}, PALETTE) == "less to feel"
