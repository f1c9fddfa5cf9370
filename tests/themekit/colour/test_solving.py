"""From a colour back to its recipe, against known recipes and a plain minimiser."""

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import minimize

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import CEILING_G, WHITE_ICING, predict
from themekit.colour.solving import solve
from themekit.errors import InvalidValue
from themekit.values import Gel


def test_a_mixture_is_solved_to_its_own_doses(by_name):
    """solve(predict(c)) returns c within 5 %: from these three gels there is but one recipe."""
    rng = np.random.default_rng(8)
    gels = [by_name[n] for n in ("yellow", "hot pink", "sky blue")]
    table = [g.k for g in gels]
    for size in (1, 2, 3) * 12:
        doses = np.zeros(3)
        doses[rng.choice(3, size, replace=False)] = rng.uniform(0.08, 0.9, size)
        solution = solve(predict(table, doses[None])[0], gels)
        found = {d.gel: d.g_per_100g for d in solution.doses}
        assert solution.delta_e < 0.15
        for g, dose in zip(gels, doses, strict=True):
            assert found.get(g.name, 0) == pytest.approx(dose, rel=0.05)


def test_what_fourteen_gels_can_make_is_found(fourteen, fourteen_k):
    rng = np.random.default_rng(9)
    left = []
    for _ in range(150):
        doses = np.zeros(len(fourteen))
        doses[rng.choice(len(fourteen), 3, replace=False)] = np.exp(rng.uniform(np.log(0.02), np.log(0.9), 3))
        solution = solve(predict(fourteen_k, doses[None])[0], fourteen)
        left.append(solution.delta_e)
        assert len(solution.doses) <= 3
    assert max(left) < 0.4
    assert np.mean(left) < 0.06


def test_the_answer_tells_the_colour_of_the_weighed_recipe(fourteen, by_name):
    for target in ((60, 30, 30), (45, -30, 10), (80, 0, -20), (20, 5, -10)):
        solution = solve(target, fourteen)
        names = [d.gel for d in solution.doses]
        lab = predict([by_name[n].k for n in names], [[d.g_per_100g for d in solution.doses]])[0]
        np.testing.assert_allclose(solution.lab, lab, atol=1e-9)
        assert solution.delta_e == pytest.approx(float(delta_e_2000(lab, target)))
        assert [d.g_per_100g for d in solution.doses] == sorted(
            (d.g_per_100g for d in solution.doses), reverse=True
        )
        assert all(round(d.g_per_100g, 3) == d.g_per_100g > 0 for d in solution.doses)


@pytest.mark.parametrize(
    ("mosts", "target"),
    [
        ((1.0,) * 6, (70, -40, 20)),
        ((1.0,) * 6, (50, 70, 60)),
        ((1.0,) * 6, (90, 20, -15)),
        ((1.0,) * 6, (30, 10, 10)),
        ((0.05, 0.05, 1.0, 0.05, 0.02, 0.3), (66, -38, 12)),
        ((1.0, 0.02, 0.05, 0.02, 0.02, 0.05), (40, -5, -32)),
        ((0.1, 0.3, 1.0, 1.0, 0.02, 0.05), (41, 64, 36)),
    ],
)
def test_no_plain_minimiser_over_every_triple_does_much_better(mosts, target, by_name):
    """SciPy over all 20 triples of six gels, some of them scarce, targets in and out of reach."""
    names = ("yellow", "red", "sky blue", "leaf green", "brown", "black")
    found = zip(map(by_name.get, names), mosts, strict=True)
    gels = [Gel(g.id, g.name, g.swatch, g.dose_g_per_100g, g.k, most) for g, most in found]
    best = np.inf
    for triple in combinations(range(6), 3):
        table, top = [gels[i].k for i in triple], np.log([mosts[i] for i in triple])
        found = minimize(
            lambda x, table=table: float(delta_e_2000(predict(table, np.exp(x)[None])[0], target)),
            np.minimum(np.log(0.03), top),
            method="Nelder-Mead",
            bounds=[(np.log(1e-4), t) for t in top],
            options={"maxfev": 300},
        )
        best = min(best, found.fun)
    assert solve(target, gels).delta_e <= best + 0.25


def test_a_colour_out_of_reach_says_how_far_it_is(fourteen, by_name):
    solution = solve((60, 90, 30), [by_name["sky blue"], by_name["yellow"]])
    assert solution.delta_e > 15
    assert solve(WHITE_ICING, fourteen).doses == ()
    assert solve(WHITE_ICING, fourteen).delta_e < 0.01
    alone = solve((50, 0, 0), [])
    assert alone.doses == ()
    assert alone.delta_e == pytest.approx(float(delta_e_2000(WHITE_ICING, (50, 0, 0))), abs=1e-6)


def test_fewer_gels_are_never_nearer_and_are_kept_to(fourteen):
    for target in ((60, 30, 30), (45, -30, 10), (35, 25, -35)):
        off = [solve(target, fourteen, max_gels=n) for n in (1, 2, 3)]
        assert [len(s.doses) <= n for n, s in enumerate(off, start=1)] == [True] * 3
        assert off[2].delta_e <= off[1].delta_e + 0.1
        assert off[1].delta_e <= off[0].delta_e + 0.1


def test_solving_does_not_depend_on_the_order_of_gels(fourteen):
    for target in ((60, 30, 30), (45, -30, 10), (50, 80, 70)):
        assert solve(target, fourteen) == solve(target, fourteen[::-1])


def test_solving_keeps_each_maximum_and_the_ceiling(fourteen):
    capped = [Gel(g.id, g.name, g.swatch, g.dose_g_per_100g, g.k, 0.1) for g in fourteen]
    for target in ((10, 0, 0), (40, 70, 40), (30, 20, -50)):
        assert all(d.g_per_100g <= 0.1 for d in solve(target, capped).doses)
        assert sum(d.g_per_100g for d in solve(target, fourteen).doses) <= CEILING_G + 0.003


@pytest.mark.parametrize(
    ("target", "count", "field"),
    [
        ((float("nan"), 0, 0), 3, "target"),
        ((50, 0), 3, "target"),
        ((150, 0, 0), 3, "target"),
        ((50, 0, 0), 0, "max_gels"),
        ((50, 0, 0), 4, "max_gels"),
        ((50, 0, 0), True, "max_gels"),
    ],
)
def test_what_cannot_be_solved_is_refused_by_name(target, count, field, fourteen):
    with pytest.raises(InvalidValue) as caught:
        solve(target, fourteen, max_gels=count)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.allowed
    assert problem.hint
