"""Time of the arrangement search, as a ratio to checking one layout in the same run.

    python tests/bench/bench_packing.py

The baseline is the least that any search must do for its answer: looking at every pair of
pieces of one finished layout for overlap, and at every piece for lying inside. Times are
processor time. Rows: an invented kit in boxes from roomy to hopeless; boxes cut into 5 to
12 pieces, so that a layout is known; the same with every side up to a twentieth shorter.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, markdown

from themekit.make.arrange import Arrangement, Piece, arrange
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.pieces import kit_pieces
from themekit.make.settings import Settings
from themekit.values import Cutter, Jar, Tint

ANYHOW = ("length", "width", "height")


def kit() -> list[Piece]:
    """The pieces of an invented kit by the default settings."""
    jars = [Jar(i, f"jar {i}", "jimmies", ()) for i in range(3)]
    tints = tuple(Tint((60, 0, 0), "#999999", name, ()) for name in ("teal", "gold", "cream"))
    cuts = (
        Cut(Cutter(1, "owl", width_mm=76, height_mm=80), 4),
        Cut(Cutter(2, "tree", width_mm=70, height_mm=90), 4),
    )
    chosen = Kit("invented", tints, tuple(Topping(j, 1 / 3) for j in jars), cuts)
    return list(kit_pieces(Order(chosen, 1, Settings())).pieces)


def cut_up(rng: random.Random, box: tuple[int, int, int], count: int, shorter: float) -> list[Piece]:
    """The box cut straight through until there are `count` parts, sides shortened by a random share."""
    parts = [box]
    while len(parts) < count:
        part = list(parts.pop(rng.randrange(len(parts))))
        axis = rng.choice([a for a in range(3) if part[a] >= 20] or [0])
        at = part[axis] // 2 if part[axis] < 20 else rng.randint(10, part[axis] - 10)
        rest = part.copy()
        part[axis], rest[axis] = at, part[axis] - at
        parts += [tuple(part), tuple(rest)]
    rng.shuffle(parts)
    return [Piece(str(i), *(s * (1 - shorter * rng.random()) for s in p), ANYHOW) for i, p in enumerate(parts)]


def lies_well(found: Arrangement, inner: tuple[float, float, float]) -> bool:
    """The baseline: one layout looked through."""
    spans = [
        (p.x_mm, p.x_mm + p.length_mm, p.y_mm, p.y_mm + p.width_mm, p.z_mm, p.z_mm + p.height_mm)
        for p in found.laid
    ]
    for i, a in enumerate(spans):
        if min(a) < 0 or a[1] > inner[0] + 1e-6 or a[3] > inner[1] + 1e-6 or a[5] > inner[2] + 1e-6:
            return False
        for b in spans[:i]:
            if all(a[k] < b[k + 1] - 1e-6 and b[k] < a[k + 1] - 1e-6 for k in (0, 2, 4)):
                return False
    return True


def timed(pieces: list[Piece], inner: tuple[float, float, float]) -> tuple[Arrangement, float]:
    """The answer and its processor time in ms."""
    began = time.process_time()
    found = arrange(pieces, inner)
    return found, (time.process_time() - began) * 1e3


def baseline_ms(found: Arrangement, inner: tuple[float, float, float]) -> float:
    """Processor time of looking through one layout, over 200 times."""
    began = time.process_time()
    for _ in range(200):
        if not lies_well(found, inner):
            raise SystemExit("A layout overlaps or leaves the box.")
    return (time.process_time() - began) * 5


BOXES = (
    (224, 224, 58), (250, 170, 58), (215, 180, 58), (205, 180, 58), (205, 170, 58),
    (205, 165, 58), (195, 195, 58), (205, 160, 58), (198, 141, 58), (150, 150, 60),
)  # fmt: skip


def rows(quick: bool) -> Iterator[Row]:
    """An invented kit in ten boxes, and boxes cut up."""
    yield from measured(24 if quick else 240)


def measured(cases: int) -> Iterator[Row]:
    """The figures, with so many boxes cut up of each sort."""
    pieces = kit()
    arrange(pieces, (300, 300, 100))
    roomy, _ = timed(pieces, (300, 300, 100))
    look = baseline_ms(roomy, (300, 300, 100))
    took = [(timed(pieces, inner), inner) for inner in BOXES]
    told = Counter(found.answer for (found, _), _ in took)
    (_, most), inner = max(took, key=lambda one: one[0][1])
    note = ", ".join(f"{answer} {count}" for answer, count in told.items())
    yield Row(
        "a kit arranged, the slowest of ten boxes",
        most,
        "ms",
        size=" × ".join(map(str, inner)),
        target=200,
        note=note,
    )
    middle = statistics.median(ms for (_, ms), _ in took)
    yield Row("a kit arranged, the middle of ten boxes", middle, "ms", "looking through one layout", look)
    for shorter in (0.0, 0.05):
        spent, answers = [], Counter()
        for seed in range(cases):
            rng = random.Random(seed)
            inner = (rng.randint(150, 300), rng.randint(150, 300), rng.randint(50, 110))
            found, ms = timed(cut_up(rng, inner, 5 + seed % 8, shorter), inner)
            spent.append(ms)
            answers[found.answer] += 1
            if found.laid:
                baseline_ms(found, inner)
        spent.sort()
        note = ", ".join(f"{answer} {count}" for answer, count in answers.items())
        note += f"; 95 % within {spent[int(0.95 * len(spent))]:.0f} ms, most {spent[-1]:.0f}"
        what = f"a box cut up, sides up to {shorter:.0%} shorter"
        yield Row(what, statistics.median(spent), "ms", "looking through one layout", look, note=note)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=240, help="boxes cut up, of each sort")
    print(markdown(measured(parser.parse_args().cases)), end="")


if __name__ == "__main__":
    main()
