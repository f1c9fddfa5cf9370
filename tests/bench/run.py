"""Runs every bench and writes one table of all figures.

    python tests/bench/run.py                      figures.md and figures.csv, in under ten minutes on two cores
    python tests/bench/run.py --only ideas,tint    some of them
    python tests/bench/run.py --quick              small sizes: does everything run

Every `bench_*.py` beside this file has `rows(quick)`, and runs in a process of its own, one after
another, so that none is warmed or crowded by another. What fails is a row of its own.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict
from importlib import import_module
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from table import Row, as_csv, markdown

MOST_S = 240


def benches() -> list[str]:
    """The names of all benches."""
    return sorted(path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py"))


def collected(name: str, quick: bool) -> Iterator[Row]:
    """The rows of one bench, from a process of its own."""
    command = [sys.executable, str(HERE / "run.py"), "--one", name, *(["--quick"] if quick else [])]
    # Arithmetic on one thread each, as the service does it.
    environment = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"} | dict(os.environ)
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, timeout=MOST_S, env=environment, check=False
        )
        out, failed = done.stdout, done.returncode != 0
        why = (done.stderr.strip().splitlines() or ["no reason given"])[-1] if failed else ""
    except subprocess.TimeoutExpired as error:
        out, failed, why = (error.stdout or b"").decode(), True, f"not done after {MOST_S} s"
    for line in out.splitlines():
        if line.startswith('{"what"'):
            yield Row(**json.loads(line))
    if failed:
        yield Row(f"bench {name}", 0, "", target=1, sense="least", note=f"FAILED: {why[:200]}")


def heading(seconds: float, quick: bool) -> str:
    """Under what conditions the figures came about."""
    one, five, _ = os.getloadavg()
    sizes = "small sizes, of no worth as figures" if quick else "full sizes"
    return (
        f"Python {platform.python_version()}, {os.cpu_count()} cores, load average at the end {one:.1f} "
        f"(five minutes: {five:.1f}), {seconds:.0f} s in all, {sizes}.\n\n"
    )


def main() -> int:
    """Run what was asked for; the exit code is 1 where a bench failed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--only", default="", help="names with commas between: " + ", ".join(benches()))
    parser.add_argument("--to", default="figures", help="the files' name, without its ending")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        for row in import_module(f"bench_{asked.one}").rows(asked.quick):
            print(json.dumps(asdict(row)), flush=True)
        return 0
    chosen = [name for name in asked.only.split(",") if name] or benches()
    unknown = set(chosen) - set(benches())
    if unknown:
        parser.error(f"no bench {', '.join(sorted(unknown))}; there are {', '.join(benches())}")
    began, rows = time.monotonic(), []
    for name in chosen:
        start = time.monotonic()
        rows += collected(name, asked.quick)
        print(f"{name}: {time.monotonic() - start:.0f} s", file=sys.stderr, flush=True)
    told = heading(time.monotonic() - began, asked.quick) + markdown(rows)
    Path(f"{asked.to}.md").write_text(told, "utf-8")
    Path(f"{asked.to}.csv").write_text(as_csv(rows), "utf-8")
    print(told, end="")
    return int(any(row.note.startswith("FAILED") for row in rows))


if __name__ == "__main__":
    sys.exit(main())
