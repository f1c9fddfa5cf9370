"""A season of 20 kits on 300 jars, planned jointly; and idle jars with their reverse search.

Run: python tests/bench/bench_season.py

Medians of one run, and ratios: the joint choice and the whole plan beside the
solver's own time, the candidates beside the engine calls that they are made of, the plan
beside choosing kit by kit. The scarce season is the same with six times as many kits.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from bench_ideas import shelf_of
from table import Row, main, median_ms

from catalog.lexicon import lexicon
from catalog.store import Store
from themekit.season import offers
from themekit.season.plan import season_plan
from themekit.season.use_up import use_up
from themekit.season.values import Planned, Worth
from themekit.suggest.idle import idle_jars
from themekit.suggest.palettes import PaletteSearch
from themekit.suggest.trios import TrioSearch
from themekit.values import Shelf

TODAY = date(2026, 11, 25)
THEMES = (
    "christmas", "hanukkah", "winter", "new year's eve", "lunar new year", "valentine's day",
    "saint patrick's day", "easter", "spring", "mother's day", "father's day", "4th of july", "back to school",
    "autumn", "halloween", "thanksgiving", "diwali", "pirate", "unicorn", "owl party",
)  # fmt: skip
ROUNDS = 3


@contextmanager
def _timed(cls: type, name: str, spent: list[float]) -> Any:
    """Add up the time in calls of a method."""
    real = getattr(cls, name)

    def timed(*arguments: Any, **named: Any) -> Any:
        start = time.perf_counter()
        try:
            return real(*arguments, **named)
        finally:
            spent[0] += time.perf_counter() - start

    setattr(cls, name, timed)
    try:
        yield
    finally:
        setattr(cls, name, real)


def _season(shelf: Shelf, times: int, rounds: int) -> Iterator[Row]:
    lines = [Planned(t, times * (4 + 7 * i % 9), TODAY + timedelta(days=10 * i + 5)) for i, t in enumerate(THEMES)]
    whole, solver, joint, candidates, engine = [], [], [], [], []
    again: list[float] = []
    anew: list[float] = []
    for turn in range(rounds + 1):
        offers._last.clear()  # as the first plan of a shelf
        stages: dict[str, list[float]] = {}
        spent = [0.0]

        def told(stage: str, done: float, stages: dict[str, list[float]] = stages) -> None:
            stages.setdefault(stage, []).append(time.perf_counter())

        with (
            _timed(PaletteSearch, "best", spent),
            _timed(TrioSearch, "best", spent),
            _timed(TrioSearch, "best_with", spent),
        ):
            start = time.perf_counter()
            plan = season_plan(
                lines, shelf, lexicon(), today=TODAY, further=False, progress=told, time_limit_s=120
            )
            end = time.perf_counter()
        changed = [replace(lines[0], kits=lines[0].kits + 1), *lines[1:]]
        later = time.perf_counter()
        second = season_plan(changed, shelf, lexicon(), today=TODAY, further=False, time_limit_s=120)
        later = time.perf_counter() - later
        if turn:  # the first is warming up
            whole.append(end - start)
            solver.append(plan.solved.seconds)
            joint.append(stages["joint choice"][-1] - stages["joint choice"][0])
            candidates.append(stages["candidates"][-1] - start)
            engine.append(spent[0])
            again.append(later)
            anew.append(second.solved.seconds)
    w, s, j, c, e = (statistics.median(x) for x in (whole, solver, joint, candidates, engine))
    size = f"20 lines, {sum(line.kits for line in lines)} kits, 300 jars"
    gap = f"{plan.solved.status}, gap {plan.solved.gap or 0:.1e}, {plan.candidates} candidates"
    yield Row("a season's joint choice", 1000 * j, "ms", "the solver alone", 1000 * s, 2, size=size, note=gap)
    yield Row("a whole season planned", 1000 * w, "ms", "the solver alone", 1000 * s, 2, size=size)
    once_more, alone = 1000 * statistics.median(again), 1000 * statistics.median(anew)
    yield Row("a season planned again, one line changed", once_more, "ms", "the solver alone", alone, 2, size=size)
    yield Row("a season's candidates", 1000 * c, "ms", "their engine calls", 1000 * e, 2, size=size)
    note = f"bought {_bought(plan.worth)} against {_bought(plan.one_by_one)}"
    yield Row(
        "worth of a season", plan.worth.value, "", "kit by kit", plan.one_by_one.value, 1, "least", size, note
    )


def _bought(worth: Worth) -> str:
    return f"{sum(b.grams for b in worth.bought):.0f} g of {len(worth.bought)} jars"


def rows(quick: bool) -> Iterator[Row]:
    """Plain and scarce seasons, idle jars, jars to use up."""
    rounds = 1 if quick else ROUNDS
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'bench.db'}")
        shelf, words = store.read(shelf_of(store, 300)), lexicon()
        for times in (1,) if quick else (1, 6):
            yield from _season(shelf, times, rounds)
        cold = time.perf_counter()
        found = idle_jars(shelf, words, TODAY)
        cold = 1000 * (time.perf_counter() - cold)
        ahead = ("christmas", "hanukkah", "new year's eve", "kwanzaa", "twelfth night")
        warm = median_ms(lambda: idle_jars(shelf, words, TODAY, ahead=ahead), rounds)
        changed = replace(shelf, jars=tuple(replace(j, on_hand_g=(j.on_hand_g or 9) - 1) for j in shelf.jars))
        other = median_ms(lambda: idle_jars(changed, words, TODAY, ahead=ahead), rounds)
        note = f"{len(found)} told over {len(words.themes)} themes"
        yield Row("idle jars, the first time", cold, "ms", target=2000, size="300 jars", note=note)
        yield Row("idle jars, again", warm, "ms", "the first time", cold, size="300 jars")
        yield Row("idle jars, with other amounts", other, "ms", target=2000, size="300 jars")
        ids = [one.jar.id for one in found if one.use and one.jar.on_hand_g and one.jar.density_g_per_ml][:4]
        start = time.perf_counter()
        plan = use_up(ids, shelf, words, TODAY)
        took = 1000 * (time.perf_counter() - start)
        note = f"{plan.kits} kits, {plan.status}, {plan.candidates} candidates"
        yield Row(
            "a plan to use jars up", took, "ms", "idle jars, again", warm, size=f"{len(ids)} jars", note=note
        )
        store.close()


if __name__ == "__main__":
    main(rows, __doc__)
