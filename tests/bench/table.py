"""The form of every figure: beside a baseline of the same run, with its target, met or missed."""

from __future__ import annotations

import argparse
import csv
import io
import statistics
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields
from typing import Literal

Rows = Callable[[bool], Iterator["Row"]]


@dataclass(frozen=True)
class Row:
    """One figure.

    figure    in `unit`
    baseline  what it stands against, measured in the same run; `against` is that, in `unit`
    target    for the ratio where there is a baseline, else for the figure; "most" or "least"
    size      what it grows with: jars, clients, workers; rows that differ in it alone are a curve
    """

    what: str
    figure: float
    unit: str
    baseline: str = ""
    against: float | None = None
    target: float | None = None
    sense: Literal["most", "least"] = "most"
    size: str = ""
    note: str = ""

    @property
    def ratio(self) -> float | None:
        """Figure to baseline."""
        return None if not self.against else self.figure / self.against

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None where there is none."""
        value = self.figure if self.ratio is None else self.ratio
        if self.target is None:
            return None
        return value <= self.target if self.sense == "most" else value >= self.target

    def cells(self) -> list[str]:
        """The row's cells as text, for `HEADER`."""
        beside = f"{self.baseline} ({_number(self.against)} {self.unit})" if self.against else self.baseline
        target = "–" if self.target is None else f"at {self.sense} {_number(self.target)}"
        verdict = {None: "", True: "met", False: "missed"}[self.met]
        figure, ratio = f"{_number(self.figure)} {self.unit}".strip(), _number(self.ratio)
        return [self.what, self.size, figure, beside, ratio, target, verdict, self.note]


HEADER = ["what", "size", "figure", "baseline", "ratio", "target", "verdict", "note"]


def _number(value: float | None) -> str:
    if value is None:
        return "–"
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def markdown(rows: Iterable[Row]) -> str:
    """One table for people."""
    lines = ["| " + " | ".join(HEADER) + " |", "|" + " --- |" * len(HEADER)]
    lines += ["| " + " | ".join(cell.replace("|", "/") for cell in row.cells()) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def as_csv(rows: Iterable[Row]) -> str:
    """The same with bare numbers."""
    out = io.StringIO()
    names = [f.name for f in fields(Row)]
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*names, "ratio", "met"])
    for row in rows:
        writer.writerow([*(getattr(row, name) for name in names), row.ratio, row.met])
    return out.getvalue()


def median_ms(work: Callable[[], object], rounds: int, warm: int = 1) -> float:
    """Median wall time of one call, ms, after `warm` calls that do not count."""
    for _ in range(warm):
        work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def main(rows: Rows, about: str | None) -> None:
    """Run one bench alone."""
    parser = argparse.ArgumentParser(description=(about or "").splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="small sizes and few rounds: does it run at all")
    print(markdown(rows(parser.parse_args().quick)), end="")
