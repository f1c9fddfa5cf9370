"""The tints that gels can make: complete, thinned as a slow plain version thins, within limits."""

import numpy as np
import pytest

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import CEILING_G, WHITE_ICING, gel_absorption, predict
from themekit.colour.reach import _cells, _ladder, _one_per_cell, _recipes, limit_g, reachable, within_ceiling
from themekit.colour.solving import solve
from themekit.colour.space import rgb_to_xyz, xyz_to_lab
from themekit.values import Gel


def test_fourteen_gels_reach_some_two_thousand_tints(fourteen, fourteen_k):
    reach = reachable(fourteen)
    assert 1_500 <= len(reach.lab) <= 2_500
    assert reach.lab.shape == (len(reach.doses), 3)
    assert reach.doses.shape[1] == len(fourteen)
    np.testing.assert_allclose(predict(fourteen_k, reach.doses), reach.lab, atol=1e-9)
    assert len(np.unique(reach.doses, axis=0)) == len(reach.doses)
    assert (reach.doses > 0).sum(axis=1).max() == 3
    np.testing.assert_allclose(np.round(reach.doses, 3), reach.doses, atol=1e-12)


def test_white_comes_first_and_is_always_there(fourteen):
    for gels in ((), fourteen[:1], fourteen):
        reach = reachable(gels)
        assert not reach.doses[0].any()
        np.testing.assert_allclose(reach.lab[0], WHITE_ICING, atol=1e-6)
    assert len(reachable(()).lab) == 1


def test_reach_does_not_depend_on_the_order_of_gels_and_cannot_be_changed(fourteen):
    reach = reachable(fourteen)
    order = np.random.default_rng(5).permutation(len(fourteen))
    shuffled = reachable([fourteen[i] for i in order])
    assert np.array_equal(shuffled.lab, reach.lab)
    assert np.array_equal(shuffled.doses, reach.doses[:, order])
    with pytest.raises(ValueError, match="read-only"):
        reach.lab[0, 0] = 0
    with pytest.raises(ValueError, match="read-only"):
        reach.doses[0, 0] = 0


def test_every_rung_of_every_single_gel_is_kept(fourteen, make_gel):
    """A pale natural colour has its own ladder though strong gels reach the same cells."""
    pale = make_gel(99, "beetroot", "#e6b8c6", 2.0, 3.0)
    reach = reachable((*fourteen, pale))
    for column, g in enumerate((*fourteen, pale)):
        alone = reach.doses[(reach.doses > 0).sum(axis=1) == 1, column]
        rungs = np.sort(alone[alone > 0])
        assert np.array_equal(rungs, _ladder(np.array(g.k), limit_g(g), WHITE_ICING))
        labs = predict([g.k], np.concatenate([[0], rungs])[:, None])
        steps = delta_e_2000(labs[:-1], labs[1:])
        assert rungs[-1] == pytest.approx(limit_g(g))
        assert np.median(steps) == pytest.approx(2.5, rel=0.3)
    assert (reach.doses[:, -1] > 0).sum() >= 8


def test_thinning_keeps_what_a_slow_plain_version_keeps(by_name):
    gels = [by_name[n] for n in ("yellow", "red", "sky blue", "black")]
    table, limits = np.array([g.k for g in gels]), np.array([limit_g(g) for g in gels])
    ladders = [_ladder(k, most, WHITE_ICING) for k, most in zip(table, limits, strict=True)]
    doses = np.concatenate(list(_recipes(ladders)))
    doses = doses[within_ceiling(doses, limits) > 1 - 1e-9]
    labs = predict(table, doses)
    cells, off = _cells(labs)
    best = {}
    for i in range(len(doses)):
        rank = (int((doses[i] > 0).sum()), float(off[i]), i)
        key = tuple(cells[i].tolist())
        if key not in best or rank < best[key]:
            best[key] = rank
    kept = {rank[2] for rank in best.values()} | set(np.flatnonzero((doses > 0).sum(axis=1) <= 1).tolist())
    expected = {tuple(doses[i].tolist()) for i in kept}
    assert {tuple(row) for row in reachable(gels).doses.tolist()} == expected
    assert len(expected) < len(doses) / 2


def test_any_mixture_lies_near_a_candidate(fourteen, fourteen_k):
    """1,500 random recipes of one to three gels: none farther than ΔE00 5.5, on average below 2."""
    rng = np.random.default_rng(6)
    doses = np.zeros((1_500, len(fourteen)))
    for row in doses:
        used = rng.choice(len(fourteen), rng.integers(1, 4), replace=False)
        row[used] = np.exp(rng.uniform(np.log(0.01), np.log(1.0), len(used)))
    reach = reachable(fourteen).lab
    near = np.concatenate(
        [delta_e_2000(part[:, None], reach[None]).min(axis=1) for part in np.split(predict(fourteen_k, doses), 30)]
    )
    assert near.max() < 5.5
    assert near.mean() < 2.0


def test_limits_and_ceiling_are_kept(fourteen, make_gel):
    strict = [Gel(g.id, g.name, g.swatch, g.dose_g_per_100g, g.k, 0.2007) for g in fourteen[:3]]
    assert reachable(strict).doses.max() == pytest.approx(0.2)
    free = reachable(fourteen).doses
    assert free.max() == pytest.approx(CEILING_G)
    assert free.sum(axis=1).max() <= CEILING_G + 1e-9
    cocoa = make_gel(-1, "cocoa", "#9c7a5e", 6.0, 12.0)
    with_cocoa = reachable((*fourteen[:3], cocoa)).doses
    assert with_cocoa[:, 3].max() == pytest.approx(12)
    # A little cocoa does not lend its own higher maximum to the gels.
    assert (with_cocoa[:, :3].sum(axis=1) / CEILING_G + with_cocoa[:, 3] / 12).max() <= 1 + 1e-9


def test_opaque_gels_and_gels_without_room_are_passed_over(fourteen):
    opaque = Gel(50, "white", (96, 0, 1), 1.0, ())
    none_left = Gel(51, "barred", (50, 40, 20), 1.0, fourteen[0].k, 0.0)
    reach = reachable((opaque, *fourteen[:3], none_left))
    assert not reach.doses[:, [0, 4]].any()
    assert np.array_equal(reach.doses[:, 1:4], reachable(fourteen[:3]).doses)
    assert {d.gel for d in solve((60, 20, 20), (opaque, *fourteen[:3], none_left)).doses} <= {
        g.name for g in fourteen[:3]
    }


def test_many_gels_stay_affordable():
    rng = np.random.default_rng(7)
    labs = xyz_to_lab(rgb_to_xyz(rng.uniform(0.05, 0.8, (60, 3))))
    gels = [Gel(i, f"g{i}", tuple(lab), 1.0, gel_absorption(lab, 1.0)) for i, lab in enumerate(labs.tolist(), 1)]
    reach = reachable(gels)
    assert (reach.doses > 0).sum(axis=1).max() == 2
    assert len(reach.lab) < 6_000


def test_of_a_cell_the_same_recipe_is_kept_as_by_sorting_all_keys() -> None:
    """Against the plain sort by cell, number of gels, distance and recipe, with many ties of the first three."""
    rng = np.random.default_rng(3)
    for rows in (1, 2, 50, 400):
        cells = rng.integers(-3, 3, (rows, 3))
        off = rng.integers(0, 3, rows) / 4
        doses = rng.integers(0, 3, (rows, 5)) * 0.5
        used = (doses > 0).sum(axis=1)
        order = np.lexsort((*doses.T, off, used, *cells.T))
        first = np.append(True, np.any(cells[order][1:] != cells[order][:-1], axis=1))
        slow = np.union1d(order[first], np.flatnonzero(used <= 1))
        kept = _one_per_cell(cells, off, doses)
        # Rows that are equal in everything may stand for one another.
        told = [sorted(map(tuple, np.column_stack([cells, off, doses])[at].tolist())) for at in (slow, kept)]
        assert told[0] == told[1]
        ranks = [(int(used[at]), *doses[at].tolist()) for at in kept]
        assert ranks == sorted(ranks)
