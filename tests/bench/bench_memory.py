"""Resident memory of one process that answers for many shelves in turn: what it keeps of them is bounded.

    python tests/bench/bench_memory.py                    100 shelves
    python tests/bench/bench_memory.py --shelves 1000     some ten minutes

Shelves are the demo shelf, each with colours and gels of its own, so that none can share what is kept of
another. Memory has to be flat once as many shelves came as are kept (64).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import psutil

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from bench_bulk import THEMES, shifted
from table import Row, markdown

from api import questions
from catalog.demo import create_demo
from catalog.store import Store

TODAY = date(2026, 11, 25)
#: As many shelves as a store keeps whole: from then on each that comes takes another's place.
KEPT = 64


def rows(quick: bool) -> Iterator[Row]:
    """Over few shelves, as a run of all benches has it."""
    yield from over(10 if quick else 100)


def over(shelves: int, asked: int = 3) -> Iterator[Row]:
    """The memory at the end, against that when no more shelves are kept; told on the way to standard error."""
    with tempfile.TemporaryDirectory() as folder:
        store, draw = Store(f"sqlite:///{folder}/shelf.db"), np.random.default_rng(7)
        records = store.records(create_demo(store, TODAY).id)
        before, full = resident(), 0.0
        for number in range(shelves):
            jars = [jar | {"colours": [shifted(c, draw) for c in jar["colours"]]} for jar in records["jars"]]
            gels = [own_gel(gel, draw) for gel in records["gels"]]
            shelf = store.create_shelf(f"kitchen {number}", records={**records, "jars": jars, "gels": gels})
            for n in range(asked):
                body = {"theme": THEMES[(number + n) % 10], "kits": 1 + n, "count": 1}
                questions.ideas(store, shelf.id, body, TODAY)
            if number + 1 <= KEPT:
                full = resident()
            if (number + 1) % 25 == 0:
                print(f"{number + 1} shelves: {resident():.0f} MB", file=sys.stderr, flush=True)
        store.close()
    yield Row(
        "resident memory over many shelves", resident(), "MB", f"at {min(shelves, KEPT)} shelves", full, 1.1,
        size=f"{shelves} shelves × {asked}", note=f"{before:.0f} MB before the first",
    )  # fmt: skip


def own_gel(gel: dict[str, Any], draw: np.random.Generator) -> dict[str, Any]:
    """A gel that is a little paler than it was, so that it stays a colour that there can be."""
    if gel.get("swatch") is None:
        return gel
    L, a, b = gel["swatch"]["lab"]
    paler = draw.uniform(0.75, 0.99)
    return gel | {"swatch": {"lab": [L, paler * a, paler * b]}}


def resident() -> float:
    """Of this process, MB."""
    return float(psutil.Process().memory_info().rss / 1e6)


def main() -> None:
    """Run one bench alone."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--shelves", type=int)
    parser.add_argument("--requests", type=int, default=3)
    asked = parser.parse_args()
    print(markdown(over(asked.shelves, asked.requests) if asked.shelves else rows(asked.quick)), end="")


if __name__ == "__main__":
    main()
