"""The bench: every script there is gives rows, and a run makes one table of them."""

from __future__ import annotations

import csv
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from types import ModuleType

import pytest

BENCH = Path(__file__).parents[1] / "bench"


@pytest.fixture(scope="module")
def table() -> Iterator[ModuleType]:
    """The module that all benches share."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(BENCH))
        yield import_module("table")


def test_every_bench_gives_rows() -> None:
    """By the one function that a run calls, documented with its own command."""
    scripts = sorted(BENCH.glob("bench_*.py"))
    assert len(scripts) >= 10
    for script in scripts:
        text = script.read_text("utf-8")
        assert "def rows(quick" in text, script.name
        assert f"python tests/bench/{script.name}" in text, script.name


def test_a_run_makes_one_table(tmp_path: Path) -> None:
    """Figure, baseline, ratio, target and verdict of each, for people and for programs."""
    command = [sys.executable, str(BENCH / "run.py"), "--quick", "--only", "packing,prints", "--to", "figures"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    told = (tmp_path / "figures.md").read_text("utf-8")
    assert told == done.stdout
    head, _, *lines = [line for line in told.splitlines() if line.startswith("|")]
    assert head.split(" | ")[4:7] == ["ratio", "target", "verdict"]
    rows = list(csv.DictReader((tmp_path / "figures.csv").read_text("utf-8").splitlines()))
    assert len(rows) == len(lines) >= 10
    assert "load average" in told
    assert "of no worth as figures" in told
    for row in rows:
        assert float(row["figure"]) >= 0
        if row["against"]:
            assert float(row["ratio"]) == pytest.approx(float(row["figure"]) / float(row["against"]))
        assert (row["met"] == "") == (row["target"] == "")


def test_verdicts_go_by_ratio_or_figure(table: ModuleType) -> None:
    """At most, at least, and neither."""
    Row = table.Row
    assert Row("a", 3, "ms", "b", 2, 1.5).met is True
    assert Row("a", 3.1, "ms", "b", 2, 1.5).met is False
    assert Row("a", 3, "ms", "b", 2, 1.6, "least").met is False
    assert Row("a", 3, "ms", target=2).met is False
    assert Row("a", 3, "ms", "b", 2).met is None
    cells = Row("a", 1234.5, "ms", "b", 2, 1000, size="10 jars").cells()
    assert cells == ["a", "10 jars", "1,234 ms", "b (2 ms)", "617", "at most 1,000", "met", ""]


def test_a_bench_that_fails_is_a_row(table: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """With why; the others go on."""
    run = import_module("run")

    class Broken:
        returncode, stdout, stderr = 1, "", "Traceback …\nValueError: no jars\n"

    monkeypatch.setattr(run.subprocess, "run", lambda *_, **__: Broken)
    (row,) = run.collected("ideas", True)
    assert row.note == "FAILED: ValueError: no jars"
    assert row.met is False
