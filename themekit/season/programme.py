"""The joint choice as a mixed-integer programme, solved by HiGHS through `scipy.optimize.milp`.

One binary x for each candidate of each line, and s for leaving the line out: Σ x + s = 1.
For each jar: Σ mg·x ≤ free + bought, bought ≤ M·b with a binary b; y ≤ Σ x for an idle
jar's bonus; r ≥ Σ x − 1 for a jar, or a family of palettes, used again. y and r need not be
binaries: at the best they are whole wherever x is.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

import numpy as np

from themekit.season.stock import Stock, worth
from themekit.season.values import LineOffers, Solved, Status, Weights

#: mg in a programme's unit of mass, so that figures of all rows are of one size.
_UNIT = 100_000.0
#: Of all that may be taken of a jar, what the solver's tolerance (1e-6) could take too much.
_SPARE = 2e-6
_STATUS: dict[int, Status] = {0: "optimal", 1: "time limit", 2: "infeasible"}


class _Rows:
    """Rows of a sparse matrix with their bounds, gathered one by one."""

    def __init__(self) -> None:
        self.row: list[int] = []
        self.column: list[int] = []
        self.value: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, entries: Sequence[tuple[int, float]], low: float, high: float) -> None:
        """One row, low ≤ Σ value·x ≤ high."""
        for column, value in entries:
            self.row.append(len(self.low))
            self.column.append(column)
            self.value.append(value)
        self.low.append(low)
        self.high.append(high)


def solve(
    lines: Sequence[LineOffers],
    stock: Stock,
    weights: Weights,
    buy: bool = True,
    time_limit_s: float | None = None,
) -> Solved:
    """The best choice of one offer for each line, by `worth`.

    `buy` allows to buy what stock lacks. With a time limit the best choice found by then is
    given, with its gap. HiGHS's relative gap is asked to be 0; its absolute one is 1e-6.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    if not lines:
        return Solved((), "optimal", "There was nothing to choose.", 0.0, 0.0, 0.0)
    offers = [(number, at) for number, line in enumerate(lines) for at in range(len(line.offers))]
    jars = list(stock.jars)
    families = sorted({lines[n].offers[at].family for n, at in offers})
    n, count = len(offers), len(lines)
    out = n  # s of each line
    lack = out + count  # bought of each jar
    opened = lack + len(jars)  # b of each jar
    shown = opened + len(jars)  # y of each jar
    again = shown + len(jars)  # r of each jar
    like = again + len(jars)  # r of each family
    size = like + len(families)
    cost = np.zeros(size)
    rows = _Rows()
    of_line: list[list[tuple[int, float]]] = [[] for _ in lines]
    takes: dict[int, list[tuple[int, float]]] = {id: [] for id in jars}
    of_family: dict[int, list[tuple[int, float]]] = {f: [] for f in families}
    for column, (number, at) in enumerate(offers):
        offer = lines[number].offers[at]
        cost[column] = -offer.quality
        of_line[number].append((column, 1.0))
        of_family[offer.family].append((column, 1.0))
        for id, mg in offer.taken:
            takes[id].append((column, mg / _UNIT))
    for number in range(count):
        rows.add([*of_line[number], (out + number, 1.0)], 1, 1)
        cost[out + number] = weights.left_out
    most = np.ones(size)
    for at, id in enumerate(jars):
        used = [(column, 1.0) for column, _ in takes[id]]
        highest = _most_of(takes[id], offers, count)
        free = max(0, stock.free[id] - int(_SPARE * highest * _UNIT)) / _UNIT
        need = max(0.0, highest - free)
        most[lack + at] = need if buy else 0.0
        cost[lack + at] = weights.bought * stock.price[id] * _UNIT / stock.full
        cost[opened + at] = weights.jar_bought
        cost[shown + at] = -weights.idle * stock.idle[id]
        cost[again + at] = weights.jar_again
        most[again + at] = count
        if need:
            rows.add([*takes[id], (lack + at, -1.0)], -np.inf, free)
            if buy:
                rows.add([(lack + at, 1.0), (opened + at, -need)], -np.inf, 0)
        if stock.idle[id] > 0:
            rows.add([(shown + at, 1.0), *((c, -1.0) for c, _ in used)], -np.inf, 0)
        if len({offers[c][0] for c, _ in used}) > 1:
            rows.add([*used, (again + at, -1.0)], -np.inf, 1)
    for at, family in enumerate(families):
        cost[like + at] = weights.palette_again
        most[like + at] = count
        if len({offers[c][0] for c, _ in of_family[family]}) > 1:
            rows.add([*of_family[family], (like + at, -1.0)], -np.inf, 1)
    whole = np.zeros(size, np.int64)
    whole[:lack] = 1
    whole[opened:shown] = 1
    matrix = coo_array((rows.value, (rows.row, rows.column)), shape=(len(rows.low), size)).tocsr()
    options: Any = {"mip_rel_gap": 0.0}
    if time_limit_s is not None:
        options["time_limit"] = time_limit_s
    begun = time.perf_counter()
    found = milp(
        cost,
        integrality=whole,
        bounds=Bounds(0, most),
        constraints=LinearConstraint(matrix, rows.low, rows.high),
        options=options,
    )
    seconds = time.perf_counter() - begun
    status = status_of(found.status)
    bound = None if found.mip_dual_bound is None else -float(found.mip_dual_bound)
    if found.x is None:
        return Solved((None,) * count, status, str(found.message), None, bound, seconds)
    chosen: list[int | None] = [None] * count
    for taken in np.flatnonzero(found.x[:n] > 0.5).tolist():
        number, place = offers[taken]
        chosen[number] = place
    gap = None if found.mip_gap is None else float(found.mip_gap)
    settled = _settled(lines, chosen, stock, weights, buy)
    return Solved(settled, status, str(found.message), gap, bound, seconds)


def status_of(number: int) -> Status:
    """SciPy's number for how HiGHS ended, as a word."""
    return _STATUS.get(number, "other")


def _settled(
    lines: Sequence[LineOffers], chosen: list[int | None], stock: Stock, weights: Weights, buy: bool
) -> tuple[int | None, ...]:
    """Of offers of equal worth the first: the solver takes any."""
    value = worth(lines, chosen, stock, weights).value
    for number, line in enumerate(lines):
        had = chosen[number]
        for at in range(had or 0):
            if had is None or line.offers[at].quality != line.offers[had].quality:
                continue
            tried = worth(lines, [*chosen[:number], at, *chosen[number + 1 :]], stock, weights)
            if tried.value == value and (buy or not tried.bought):
                chosen[number] = at
                break
    return tuple(chosen)


def _most_of(takes: Sequence[tuple[int, float]], offers: Sequence[tuple[int, int]], count: int) -> float:
    """The most that all lines together can take of a jar."""
    highest = np.zeros(count)
    for column, amount in takes:
        number = offers[column][0]
        highest[number] = max(highest[number], amount)
    return float(highest.sum())
