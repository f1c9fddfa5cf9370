"""Time of the tint model, each against a stated baseline of the same run.

    python tests/bench/bench_tint.py

Baselines: recovering a gel against colour-science's default recovery (Meng 2015) at the
same 31 bands; reach against predicting the same dose combinations and nothing else;
solving against SciPy's Nelder-Mead on the three right gels alone, from a fair start.
"""

import os
import statistics
import sys
import time
from pathlib import Path

os.environ["COLOUR_SCIENCE__FILTER_USAGE_WARNINGS"] = "True"
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import colour
import numpy as np
from scipy.optimize import minimize
from table import Row, main

from themekit.colour import reach as reach_module
from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import WHITE_ICING
from themekit.colour.space import hex_to_lab, lab_to_xyz
from themekit.colour.tint import gel_absorption, limit_g, predict, reachable, solve
from themekit.values import Gel

# Invented swatches, as in the tests of the model.
HEXES = (
    "#ffd21f", "#f57c1f", "#c8102e", "#9b1b1e", "#ff4fa3", "#ff2e93", "#6a3a9c",
    "#1f4fb0", "#58b7e8", "#1b2a55", "#1f8a8a", "#3f8f3a", "#6b4226", "#1e1b1c",
)  # fmt: skip


def median_ms(call, inputs):
    """Median over the inputs, in ms; each is run once before it is timed."""
    times = []
    for value in inputs:
        call(value)
        start = time.perf_counter()
        call(value)
        times.append((time.perf_counter() - start) * 1e3)
    return statistics.median(times)


def report(name, ours, baseline, what):
    return Row(name, ours, "ms", what, baseline)


def rows(quick):
    """Gels, reach, solving."""
    cases_wanted = 6 if quick else 60
    labs = [tuple(lab.tolist()) for lab in hex_to_lab(HEXES)]
    gels = [Gel(i, HEXES[i - 1], lab, 0.6, gel_absorption(lab, 0.6)) for i, lab in enumerate(labs, 1)]
    table = np.array([g.k for g in gels])

    shape = colour.SpectralShape(400, 700, 10)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    daylight = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    meng = median_ms(lambda lab: colour.recovery.XYZ_to_sd_Meng2015(lab_to_xyz(lab), observer, daylight), labs)
    yield report("gel_absorption, each", median_ms(lambda lab: gel_absorption(lab, 0.6), labs), meng, "Meng 2015")

    limits = np.array([limit_g(g) for g in gels])
    ladders = [reach_module._ladder(k, m, WHITE_ICING) for k, m in zip(table, limits, strict=True)]
    doses = np.concatenate(list(reach_module._recipes(ladders)))

    def fresh(_):
        reach_module._reachable.cache_clear()
        return reachable(gels)

    only_predict = median_ms(lambda _: predict(table, doses), range(9))
    what = f"predicting its {len(doses):,} combinations"
    yield report(f"reachable, {len(fresh(0).lab):,} of 14 gels", median_ms(fresh, range(9)), only_predict, what)
    yield report("reachable, kept", median_ms(lambda _: reachable(gels), range(9)), only_predict, what)

    rng = np.random.default_rng(1)
    cases = []
    for _ in range(cases_wanted):
        used = rng.choice(14, 3, replace=False)
        true = np.exp(rng.uniform(np.log(0.02), np.log(0.9), 3))
        cases.append((used, predict(table[used], true[None])[0]))

    def plain(case):
        used, target = case
        return minimize(
            lambda x: float(delta_e_2000(predict(table[used], np.exp(x)[None])[0], target)),
            np.log([0.1, 0.1, 0.1]),
            method="Nelder-Mead",
        )

    nelder = median_ms(plain, cases)
    yield report(
        "solve, in reach", median_ms(lambda case: solve(case[1], gels), cases), nelder, "Nelder-Mead, one triple"
    )
    left = [solve(target, gels).delta_e for _, target in cases]
    note = f"worst {max(left):.3f}"
    yield Row("colour left over by solving, in reach", statistics.median(left), "ΔE00", note=note)
    screen = [
        tuple(lab.tolist()) for lab in hex_to_lab([f"#{v:06x}" for v in rng.integers(0, 1 << 24, cases_wanted)])
    ]
    yield report("solve, any screen colour", median_ms(lambda lab: solve(lab, gels), screen), nelder, "the same")


if __name__ == "__main__":
    main(rows, __doc__)
