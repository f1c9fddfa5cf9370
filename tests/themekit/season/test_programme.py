"""The joint choice against trying every choice, and against what HiGHS itself reports."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from themekit.season.one_by_one import one_by_one
from themekit.season.programme import solve
from themekit.season.stock import Stock, shortfall, stock_of, worth
from themekit.season.values import LineOffers, Planned, Weights, Worth

Small = Callable[..., tuple[tuple[LineOffers, ...], Stock]]
Made = Callable[..., Any]
WEIGHTS = Weights()
TODAY = date(2026, 11, 25)


def _tried(lines: Sequence[LineOffers], stock: Stock, weights: Weights, buy: bool) -> Worth:
    """The best of every choice there is."""
    best: Worth | None = None
    for chosen in itertools.product(*[(None, *range(len(line.offers))) for line in lines]):
        found = worth(lines, chosen, stock, weights)
        if (buy or not found.bought) and (best is None or found.value > best.value):
            best = found
    assert best is not None
    return best


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("buy", [True, False])
def test_no_choice_is_better(small: Small, seed: int, buy: bool, capfd: pytest.CaptureFixture[str]) -> None:
    """Scarce and ample shelves, with purchases and without; nothing is printed while it works."""
    lines, stock = small(seed, full=(15, 60, 200)[seed % 3])
    found = solve(lines, stock, WEIGHTS, buy)
    assert found.optimal
    assert found.gap == pytest.approx(0, abs=1e-6)
    assert worth(lines, found.chosen, stock, WEIGHTS).value == pytest.approx(
        _tried(lines, stock, WEIGHTS, buy).value, abs=2e-5
    )
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("seed", range(12))
def test_other_weights_change_the_choice_rightly(small: Small, seed: int) -> None:
    """With cheap purchases or dear repeats the best is another, and still the best."""
    lines, stock = small(seed, full=40)
    draw = np.random.default_rng(seed)
    weights = Weights(*draw.uniform(0, 0.4, 5).tolist(), left_out=float(draw.uniform(0.2, 3)))
    found = solve(lines, stock, weights)
    assert worth(lines, found.chosen, stock, weights).value == pytest.approx(
        _tried(lines, stock, weights, True).value, abs=2e-5
    )


@pytest.mark.parametrize("seed", range(6))
def test_where_each_line_takes_one_set_of_jars_it_is_the_assignment_problem(
    seed: int, made_jar: Made, made_offer: Made
) -> None:
    """Its optimum by SciPy's `linear_sum_assignment` (Crouse 2016, a shortest augmenting path method)."""
    from scipy.optimize import linear_sum_assignment

    draw = np.random.default_rng(seed)
    count = 14
    quality = np.round(draw.uniform(0.5, 0.9, (count, count)), 6)
    jars = [made_jar(n + 1, 30.0) for n in range(3 * count)]
    lines = []
    for number in range(count):
        offers = [
            made_offer(jars[3 * g : 3 * g + 3], float(quality[number, g]), 20.0, number * count + g)
            for g in range(count)
        ]
        lines.append(LineOffers(Planned("a theme", 1), tuple(sorted(offers, key=lambda o: -o.quality))))
    found = solve(lines, stock_of(jars, lines, TODAY), Weights(idle=0, jar_again=0), buy=False)
    rows, columns = linear_sum_assignment(quality, maximize=True)
    total = sum(lines[n].offers[at].quality for n, at in enumerate(found.chosen) if at is not None)
    assert found.optimal
    assert total == pytest.approx(quality[rows, columns].sum(), abs=1e-6)


@pytest.mark.parametrize("seed", range(10))
def test_nothing_is_taken_that_is_not_there(small: Small, seed: int) -> None:
    """Without purchases every jar holds what all lines together take of it."""
    lines, stock = small(seed, lines=6, full=50)
    chosen = solve(lines, stock, WEIGHTS, buy=False).chosen
    offers = [line.offers[at] for line, at in zip(lines, chosen, strict=True) if at is not None]
    assert shortfall(offers, stock) == {}
    alone = one_by_one(lines, stock, WEIGHTS, buy=False)
    assert shortfall([x.offers[at] for x, at in zip(lines, alone, strict=True) if at is not None], stock) == {}


@pytest.mark.parametrize("seed", range(10))
def test_it_is_never_worse_than_kit_by_kit(small: Small, seed: int) -> None:
    """And better on some of these seasons."""
    gains = []
    for full in (30, 60, 120):
        lines, stock = small(seed, lines=7, full=full)
        joint = worth(lines, solve(lines, stock, WEIGHTS).chosen, stock, WEIGHTS).value
        gains.append(joint - worth(lines, one_by_one(lines, stock, WEIGHTS), stock, WEIGHTS).value)
    assert min(gains) > -2e-5
    assert max(gains) > 0.001


def test_a_line_without_offers_is_left_out(small: Small) -> None:
    """It does not keep the others from being made."""
    lines, stock = small(3, full=500)
    empty = replace(lines[0], offers=())
    found = solve([empty, *lines[1:]], stock, WEIGHTS)
    assert found.chosen[0] is None
    assert all(at is not None for at in found.chosen[1:])
    assert solve([], stock, WEIGHTS).optimal


def test_equal_offers_go_to_the_first(small: Small) -> None:
    """Ties are settled by the order of the offers, every time."""
    lines, stock = small(4, full=500)
    twice = [replace(line, offers=tuple(o for o in line.offers for _ in range(3))) for line in lines]
    once = solve(lines, stock, WEIGHTS).chosen
    again = {solve(twice, stock, WEIGHTS).chosen for _ in range(3)}
    assert again == {tuple(None if at is None else 3 * at for at in once)}


def test_the_status_is_what_highs_says(small: Small, monkeypatch: pytest.MonkeyPatch) -> None:
    """Optimal, the time spent, infeasible: the number, the gap and the words are passed on."""
    import scipy.optimize

    lines, stock = small(2)
    real = scipy.optimize.milp
    seen = []

    def watched(*arguments, **named):  # type: ignore[no-untyped-def]
        found = real(*arguments, **named)
        seen.append(found)
        return found

    monkeypatch.setattr(scipy.optimize, "milp", watched)
    found = solve(lines, stock, WEIGHTS)
    assert (seen[0].status, found.status) == (0, "optimal")
    assert "Optimal" in found.message
    assert found.gap == seen[0].mip_gap
    assert found.bound == pytest.approx(-seen[0].mip_dual_bound)
    many, big = small(1, lines=30, offers=60, jars=40, full=80)
    short = solve(many, big, WEIGHTS, time_limit_s=1e-3)
    assert (seen[1].status, short.status) == (1, "time limit")
    assert not short.optimal
    assert "ime limit" in short.message
    if short.gap is not None:
        assert short.gap == seen[1].mip_gap


def test_kit_by_kit_takes_what_is_best_for_each_line_in_the_order_of_days(
    made_jar: Made, made_offer: Made
) -> None:
    """Worked by hand: the earlier line takes the one full jar, the later has to do without."""
    jars = [made_jar(n, 25.0) for n in range(1, 8)]
    good, other = made_offer(jars[:3], 0.9, 20.0, 0), made_offer(jars[3:6], 0.7, 20.0, 1)
    later = LineOffers(Planned("a theme", 1, date(2026, 12, 20)), (good,))
    sooner = LineOffers(Planned("a theme", 1, date(2026, 12, 1)), (good, other))
    stock = stock_of(jars, (later, sooner), TODAY)
    assert one_by_one((later, sooner), stock, WEIGHTS, buy=False) == (None, 0)
    assert solve((later, sooner), stock, WEIGHTS, buy=False).chosen == (0, 1)
