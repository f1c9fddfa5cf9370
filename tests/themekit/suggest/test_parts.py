"""Closeness, cutters, idle jars and anchors, each by itself."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.colour.space import hex_to_lab
from themekit.errors import InvalidValue
from themekit.suggest.anchors import Source, combined_anchors, many_coloured
from themekit.suggest.closeness import closeness, fit, shown
from themekit.suggest.cutters import CutterSearch
from themekit.suggest.idle import idle_jars, theme_fits
from themekit.suggest.lookup import lookup_for
from themekit.suggest.trios import flat_colours, idle_part, motif_part, stock_part
from themekit.suggest.weights import PALETTE, TRIO, rescaled
from themekit.values import Anchor, Cutter, Jar, Lab, Motif, Shelf

Make = Callable[..., Jar]
TODAY = date(2026, 11, 25)


def lab(colour: str) -> Lab:
    L, a, b = hex_to_lab(colour).tolist()
    return (L, a, b)


def anchors(*colours: str) -> tuple[Anchor, ...]:
    return tuple(Anchor(lab(c), 1 / len(colours), "test") for c in colours)


RAINBOW = ("#e23b3b", "#f28a24", "#f7d52f", "#3fae4f", "#2f7fd6", "#7b3fb8")


def test_weights_add_up_to_one_however_rescaled() -> None:
    for parts in (PALETTE, TRIO):
        for themed, many in itertools.product((True, False), (0.0, 0.5, 1.0)):
            made = rescaled(parts, themed, many)
            assert sum(getattr(made, n) for n in parts.__dataclass_fields__) == pytest.approx(1)
            assert themed or made.fit == made.coverage == 0


def test_a_rainbow_shows_each_of_its_colours(jar: Make) -> None:
    """Six shares of a sixth: each is seen in full, as is the one colour of a plain jar."""
    flat = flat_colours([jar(1, *RAINBOW), jar(2, RAINBOW[0])])
    near = closeness(flat[0], hex_to_lab(list(RAINBOW)))
    seen = shown(near, flat[1], flat[2])
    assert seen[0].min() > 0.95
    assert seen[1].max() == pytest.approx(1)
    weights = np.full(6, 1 / 6)
    assert fit(near, weights, flat[1], flat[2])[0] > 0.95


def test_stray_colours_of_a_mix_count_against_it(jar: Make) -> None:
    flat = flat_colours([jar(1, *RAINBOW), jar(2, RAINBOW[0])])
    near = closeness(flat[0], hex_to_lab([RAINBOW[0]]))
    seen, fits = shown(near, flat[1], flat[2]), fit(near, np.array([1.0]), flat[1], flat[2])
    assert seen[0, 0] < 0.5 < seen[1, 0]
    assert fits[0] < 0.5 < fits[1]


@pytest.mark.parametrize(
    ("colours", "least", "most"),
    [(RAINBOW, 0.9, 1.0), (("#1d8a8a", "#d9a93b"), 0.0, 0.05), (("#222222", "#ffffff", "#888888"), 0.0, 0.0)],
)
def test_how_many_coloured_a_theme_is(colours: tuple[str, ...], least: float, most: float) -> None:
    assert least <= many_coloured(anchors(*colours)) <= most


def test_anchors_are_merged_weighed_and_at_most_eight() -> None:
    draw = np.random.default_rng(3)
    colours = tuple((tuple(row), 1 / 30) for row in draw.uniform((20, -60, -60), (90, 60, 60), (30, 3)).tolist())
    many = combined_anchors([Source("many", colours, 1.0)])
    assert len(many) == 8
    assert sum(a.weight for a in many) == pytest.approx(1)
    assert {a.lab for a in many} <= {c for c, _ in colours}, "no colour is invented"
    same = combined_anchors(
        [Source("a", ((lab("#ff0000"), 1.0),), 1.0), Source("b", ((lab("#fe0101"), 1.0),), 3.0)]
    )
    assert len(same) == 1


def test_stock_and_idleness(jar: Make) -> None:
    plenty, little, unknown = jar(1, on_hand_g=1000.0), jar(2, on_hand_g=6.65), jar(3, on_hand_g=None)
    assert stock_part(plenty, 10, TODAY) == pytest.approx(0.7)
    assert stock_part(little, 1, TODAY) == pytest.approx(0.35, abs=0.01)
    assert stock_part(unknown, 1, TODAY) == pytest.approx(0.35)
    assert idle_part(jar(4, last_used=TODAY - timedelta(days=90)), TODAY) == pytest.approx(0.5)
    assert idle_part(jar(5, last_used=TODAY - timedelta(days=900)), TODAY) == 1
    assert idle_part(jar(6, best_before=TODAY + timedelta(days=30)), TODAY) == pytest.approx(0.5)
    assert idle_part(jar(7), None) == 0


def test_shaped_jars_count_by_their_motifs(jar: Make) -> None:
    motifs = {"owl": 0.9}
    owl, plain, heart, bat = (jar(1, motifs=m) for m in (("owl",), (), ("heart",), ("bat",)))
    values = [motif_part(j, motifs) for j in (owl, plain, heart, bat)]
    assert values[0] > values[1] == values[2] > values[3] == 0


def test_cutters_by_motif_sort_and_meaning() -> None:
    lookup = lookup_for(lexicon())
    cutters = [
        Cutter(1, "witch hat", ("hat", "witch hat"), (), 80, 80),
        Cutter(2, "hat", ("hat",), (), 80, 80),
        Cutter(3, "owl", ("owl", "bird"), (), 80, 80),
        Cutter(4, "circle", ("circle",), (), 80, 80),
        Cutter(5, "bunny", ("rabbit",), (), 80, 80),
    ]
    palette = hex_to_lab(["#ffffff", "#888888", "#222222"])
    hats = CutterSearch(cutters, [Motif("hat", 1.0)], lookup).choose(8, palette)
    assert hats[0].cutter.id == 2
    birds = CutterSearch(cutters, [Motif("owl", 1.0)], lookup).choose(8, palette)
    assert (birds[0].cutter.id, birds[0].motif) == (3, "owl")
    assert birds[0].cookies > birds[1].cookies
    assert cutters[2] not in CutterSearch(cutters, [Motif("owl", 1.0)], lookup, avoid=["owl"]).cutters
    none = CutterSearch(cutters, [Motif("submarine", 1.0)], lookup).choose(8, palette)
    assert none[0].cutter.id == 4
    assert sum(c.cookies for c in none) == 8


def test_idle_jars_are_told_worst_first_with_a_use(demo: Shelf) -> None:
    found = idle_jars(demo, lexicon(), TODAY, days=90, count=10)
    assert len(found) == 10
    assert [f.idle for f in found] == sorted((f.idle for f in found), reverse=True)
    for one in found:
        assert one.why
        past = one.jar.best_before is not None and one.jar.best_before < TODAY
        if past:
            assert one.use is None, "what is past its date is not planned into a kit"
        else:
            assert one.use is not None
            assert one.jar.id in {j.id for j in one.use.trio.jars}
        if one.jar.price_per_kg is not None and one.jar.on_hand_g is not None:
            worth = one.jar.price_per_kg * Decimal(str(one.jar.on_hand_g)) / 1000
            assert one.money_at_risk == worth.quantize(Decimal("0.01"))


def test_idle_numbers_out_of_range_are_all_told(demo: Shelf) -> None:
    with pytest.raises(InvalidValue) as caught:
        idle_jars(demo, lexicon(), TODAY, days=0, count=0)
    assert [p.field for p in caught.value.problems] == ["days", "count"]


def test_theme_fits_keep_the_best_theme_of_a_full_search(demo: Shelf) -> None:
    """The tree's near themes hold the one that comparing every theme finds."""
    themes = [replace(t, months=()) for t in lexicon().themes]
    jars = [j for j in demo.jars if not j.motifs][:12]
    fits = theme_fits(jars, themes, TODAY)
    for row, one in zip(fits, jars, strict=True):
        colours, share, start = flat_colours([one])
        every = [
            fit(
                closeness(colours, np.array([a.lab for a in t.anchors])),
                np.array([a.weight for a in t.anchors]), share, start,
            )[0]
            for t in themes
        ]  # fmt: skip
        assert row.max() == pytest.approx(max(every), abs=0.02)
