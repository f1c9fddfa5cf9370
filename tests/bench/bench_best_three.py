"""How fast the best three are found, as ratios against tight enumeration in the same run.

    python tests/bench/bench_best_three.py              all rows, several minutes
    python tests/bench/bench_best_three.py --shelves 5 --large 0

Shelves are random: 16 clumps of colours (spread 5 CIELAB units), five anchors, 30 % of
the candidates exact duplicates of others. Jars have textures, and one in ten has two to
six colours. The baseline scores every triple in double precision from pair tables that
are ready and not timed: flat (j < k) pair arrays, one pass per i, in chunks that stay
in the cache. Times are processor time of one thread, the search's best of three.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, markdown

from themekit.colour.difference import delta_e_2000
from themekit.suggest.best_three import Candidates, Texture, Weights, best_three, pair_tables

TINT_WEIGHTS = Weights(coverage=0.30, harmony=0.20, contrast=0.10, distinctness=0.10)
JAR_WEIGHTS = Weights(coverage=0.30, harmony=0.15, contrast=0.15, distinctness=0.10)
K = 10
CHUNK = 16_384


def shelf(seed: int, n: int, jars: bool, mixes: float = 0.1, anchors: int = 5) -> Candidates:
    """A random shelf as the module says."""
    rng = np.random.default_rng(seed)
    middles = np.column_stack([rng.uniform(30, 95, 16), rng.uniform(-55, 55, (16, 2))])
    single = int(n * 0.7)
    counts = np.where(rng.random(single) < (mixes if jars else 0), rng.integers(2, 7, single), 1)
    start = np.concatenate([[0], np.cumsum(counts)])
    lab = middles[rng.integers(16, size=start[-1])] + rng.normal(0, 5, (start[-1], 3))
    lab[:, 0] = np.clip(lab[:, 0], 5, 100)
    share = rng.uniform(0.5, 1.5, start[-1])
    share /= np.repeat(np.add.reduceat(share, start[:-1]), counts)
    goals = middles[rng.choice(16, anchors, replace=False)] + rng.normal(0, 8, (anchors, 3))
    omega = rng.dirichlet(np.full(anchors, 4.0))
    near = np.exp(-((delta_e_2000(lab[:, None], goals[None]) / 20) ** 2))
    near = np.minimum(np.add.reduceat(near * share[:, None], start[:-1]), 1)
    chroma = np.add.reduceat(np.hypot(lab[:, 1], lab[:, 2]) * share, start[:-1])
    unary = 0.25 * near @ omega + 0.05 * np.minimum(1, chroma / 60)
    texture = None
    if jars:
        unary = unary + 0.05 * rng.random(single)
        grain = rng.choice([0.5, 0.8, 1, 1.5, 2, 3, 4, 5, 7], single) * rng.uniform(0.9, 1.1, single)
        texture = Texture(rng.integers(-1, 8, single), rng.integers(-1, 6, single), np.log2(grain))
    none = np.zeros((single, 0), bool)
    c = Candidates(lab, share, start, unary, near, omega, texture, none, none)
    source = np.concatenate([np.arange(single), rng.integers(0, single, n - single)])
    return c.take(rng.permutation(source))


def tight_enumeration(c: Candidates, w: Weights, k: int) -> tuple[float, np.ndarray]:
    """Processor time and best k scores of scoring every triple from ready pair tables."""
    n, tables = len(c), pair_tables(c)
    Q = (w.harmony * tables.harmony + w.contrast * tables.contrast) / 3
    D = w.distinctness * tables.distinctness
    u, near = c.unary / 3, w.coverage * c.anchor_weights * c.closeness
    j, m = (x.astype(np.intp) for x in np.triu_indices(n, 1))
    base, apart = Q[j, m] + u[j] + u[m], D[j, m]
    most = [np.maximum(column[j], column[m]) for column in near.T]
    s, t, x = np.empty(CHUNK), np.empty(CHUNK), np.empty(CHUNK)
    best = np.full(k, -np.inf)
    began = time.process_time()
    for i in range(n - 2):
        row, far = Q[i] + u[i] / 2, D[i]
        for at in range((i + 1) * n - (i + 1) * (i + 2) // 2, len(j), CHUNK):
            cut = slice(at, at + CHUNK)
            jj, mm = j[cut], m[cut]
            score, one, two = s[: len(jj)], t[: len(jj)], x[: len(jj)]
            row.take(jj, out=score, mode="clip")
            row.take(mm, out=one, mode="clip")
            score += one
            score += base[cut]
            far.take(jj, out=one, mode="clip")
            far.take(mm, out=two, mode="clip")
            np.minimum(one, two, out=one)
            np.minimum(one, apart[cut], out=one)
            score += one
            for a, flat in enumerate(most):
                np.maximum(flat[cut], near[i, a], out=one)
                score += one
            if score.max() > best[0]:
                best = np.sort(np.concatenate([best, score[score > best[0]]]))[-k:]
    return time.process_time() - began, best[::-1]


def timed(c: Candidates, w: Weights, repeat: int = 3, budget: int | None = None):
    """The search's answer and its least processor time of `repeat` runs."""
    least = np.inf
    for _ in range(repeat):
        began = time.process_time()
        found = best_three(c, w, K, budget=budget)
        least = min(least, time.process_time() - began)
    return found, least


def rows(quick: bool) -> Iterator[Row]:
    """The search at 1,000 against enumeration, and its growth from 100 to 100,000 candidates."""
    yield from measured(2 if quick else 4, 10_000 if quick else 100_000, 1 if quick else 2)


def measured(shelves: int, largest: int, large: int, budget: int = 100_000_000) -> Iterator[Row]:
    """The figures; `shelves` of up to 10,000 candidates, `large` ones of more."""
    for name, jars, w, target in (("tints", False, TINT_WEIGHTS, 100), ("jars", True, JAR_WEIGHTS, 60)):
        ours, theirs, exact = [], [], 0
        for seed in range(shelves):
            c = shelf(seed, 1000, jars)
            found, took = timed(c, w)
            slow, best = tight_enumeration(c, w, K)
            exact += bool(found.proven and np.allclose(found.scores, best, rtol=0, atol=1e-8))
            ours.append(took)
            theirs.append(slow)
        faster = np.array(theirs) / np.array(ours)
        yield Row(
            f"tight enumeration of {name}, against the search",
            1e3 * statistics.median(theirs), "ms", "the search", 1e3 * statistics.median(ours),
            target, "least", "1,000", f"least {faster.min():.0f} times; exact {exact} of {shelves}",
        )  # fmt: skip
        middle = statistics.median(ours)
        for size in (100, 1_000, 10_000, 100_000):
            if size > largest:
                continue
            count = shelves if size <= 10_000 else large
            spent, proven, gap = [], 0, 0.0
            for seed in range(count):
                found, took = timed(shelf(seed, size, jars), w, 3 if size <= 1_000 else 1, budget)
                spent.append(took)
                proven, gap = proven + found.proven, max(gap, found.gap)
            # Of tints growth is bounded; of jars the answer may be unproven with its gap.
            bound = 25 if size == 100_000 and not jars else None
            told = f"proven {proven} of {count}" + (f", largest gap {gap:.3f}" if proven < count else "")
            yield Row(
                f"best three of {name}", 1e3 * statistics.median(spent), "ms", f"of 1,000 {name}", 1e3 * middle,
                bound, "most", f"{size:,}", told,
            )  # fmt: skip
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield Row("most resident memory of these searches", most, "MB", target=600)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--shelves", type=int, default=20, help="shelves of up to 10,000 candidates")
    parser.add_argument("--large", type=int, default=3, help="shelves of 100,000 candidates")
    parser.add_argument("--budget", type=int, default=100_000_000, help="boxes for 100,000")
    asked = parser.parse_args()
    print(markdown(measured(asked.shelves, 100_000 if asked.large else 10_000, asked.large, asked.budget)))


if __name__ == "__main__":
    main()
