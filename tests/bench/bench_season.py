"""A season of 20 kits on 300 jars, planned jointly; and idle jars with their reverse search.

Run: python tests/bench/bench_season.py

Prints medians of one run, and ratios: the joint choice and the whole plan beside the
solver's own time, the candidates beside the engine calls that they are made of, the plan
beside choosing kit by kit. The scarce season is the same with six times as many kits.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

from catalog.lexicon import lexicon
from catalog.store import Store
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


def _shelf(store: Store, jars: int) -> Shelf:
    """The shelf of bench_ideas, so that both measure the same."""
    found = spec_from_file_location("bench_ideas", Path(__file__).with_name("bench_ideas.py"))
    assert found is not None
    assert found.loader is not None
    other = module_from_spec(found)
    found.loader.exec_module(other)
    return store.read(other.shelf_of(store, jars))


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


def _season(shelf: Shelf, times: int) -> None:
    lines = [Planned(t, times * (4 + 7 * i % 9), TODAY + timedelta(days=10 * i + 5)) for i, t in enumerate(THEMES)]
    whole, solver, joint, candidates, engine = [], [], [], [], []
    for turn in range(ROUNDS + 1):
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
        if turn:  # the first is warming up
            whole.append(end - start)
            solver.append(plan.solved.seconds)
            joint.append(stages["joint choice"][-1] - stages["joint choice"][0])
            candidates.append(stages["candidates"][-1] - start)
            engine.append(spent[0])
    w, s, j, c, e = (statistics.median(x) for x in (whole, solver, joint, candidates, engine))
    kits = sum(line.kits for line in lines)
    print(
        f"20 lines, {kits} kits, 300 jars, {plan.candidates} candidates: {plan.solved.status}, "
        f"gap {plan.solved.gap or 0:.2e}"
    )
    print(f"  whole {w:.2f} s = candidates {c:.2f} s + joint choice {j:.3f} s (solver itself {s:.3f} s) + telling")
    print(f"  joint choice / solver = {j / s:.2f}; whole / solver = {w / s:.1f} (target at most 2)")
    print(f"  candidates / engine calls in them = {c / e:.2f} (target at most 2)")
    print(
        f"  worth {plan.worth.value:.3f}, kit by kit {plan.one_by_one.value:.3f}; "
        f"bought {_bought(plan.worth)} against {_bought(plan.one_by_one)}"
    )


def _bought(worth: Worth) -> str:
    return f"{sum(b.grams for b in worth.bought):.0f} g of {len(worth.bought)} jars"


def _median(work: Callable[[], object]) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'bench.db'}")
        shelf, words = _shelf(store, 300), lexicon()
        for times in (1, 6):
            _season(shelf, times)
        cold = time.perf_counter()
        found = idle_jars(shelf, words, TODAY)
        cold = time.perf_counter() - cold
        ahead = ("christmas", "hanukkah", "new year's eve", "kwanzaa", "twelfth night")
        warm = _median(lambda: idle_jars(shelf, words, TODAY, ahead=ahead))
        changed = replace(shelf, jars=tuple(replace(j, on_hand_g=(j.on_hand_g or 9) - 1) for j in shelf.jars))
        other = _median(lambda: idle_jars(changed, words, TODAY, ahead=ahead))
        print(
            f"idle, 300 jars, {len(found)} told, {len(words.themes)} themes: first {cold:.2f} s, "
            f"again {warm:.2f} s, "
            f"with other amounts {other:.2f} s (target at most 2 s)"
        )
        ids = [one.jar.id for one in found if one.use and one.jar.on_hand_g and one.jar.density_g_per_ml][:4]
        start = time.perf_counter()
        plan = use_up(ids, shelf, words, TODAY)
        took = time.perf_counter() - start
        print(
            f"use up {len(ids)} jars: {took:.2f} s, {plan.kits} kits, {plan.status}, {plan.candidates} candidates"
        )
        store.close()


if __name__ == "__main__":
    main()
