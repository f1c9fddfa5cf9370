"""Bulk runs over many shelves on PostgreSQL: one worker and two, end to end.

    python tests/bench/bench_bulk.py                                     60 shelves, 5 requests each
    python tests/bench/bench_bulk.py --shelves 1000 --requests 10        two workers alone, some minutes

Shelves are the demo shelf with its colours shifted, each its own. A run is the whole command: reading the
requests, starting workers, answering, keeping each answer on the disk. Answers a second, and the speed-up,
are of the time after the workers have started.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np
import psutil

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from databases import postgresql
from table import Row, markdown

from api.bulk.answered import AnswerFile
from api.bulk.asked import Request, read_requests
from api.bulk.running import HANDFUL, answer_all, cluster
from api.bulk.working import answer_some
from catalog.demo import create_demo
from catalog.store import Store

TODAY = date(2026, 11, 25)
THEMES = (
    "owl party in teal and gold", "woodland animals", "pirates", "paris", "strawberry", "night sky",
    "safari in earth tones", "unicorn", "autumn leaves", "robots in blue",
)  # fmt: skip
NIGHT, NIGHT_H = 100_000, 8


def rows(quick: bool) -> Iterator[Row]:
    """One worker against two, and what a night would take."""
    shelves, requests = (4, 5) if quick else (60, 5)
    with postgresql() as url, tempfile.TemporaryDirectory() as folder:
        filled(url, shelves)
        asked = written(Path(folder) / "asked.jsonl", shelves, requests)
        one = run(url, asked, 1, 5)
        two = run(url, asked, 2, 5)
        size = f"{shelves} shelves × {requests}"
        yield Row(
            "answers a second, two workers", two.rate, "a second", "one worker", one.rate, 1.8, "least", size
        )  # fmt: skip
        yield from night(two, 2, size)


class Ran(NamedTuple):
    """Answers a second of all workers; seconds of a worker's processor for each; the most memory of one, MB."""

    rate: float
    spent: float
    memory: float


def night(ran: Ran, workers: int, size: str) -> Iterator[Row]:
    """What 100,000 shelves of ten requests would take: by the clock, and where nothing else is at work."""
    hours = NIGHT * 10 / (ran.rate / workers) / 3600
    note = f"{hours / NIGHT_H:.0f} workers for {NIGHT_H} hours, {ran.memory:.0f} MB each"
    yield Row("100,000 shelves × 10, on paper", hours, "worker hours", size=size, note=note)
    alone = NIGHT * 10 * ran.spent / 3600
    note = f"{ran.spent:.3f} s of a worker's processor for an answer"
    yield Row("the same by the processor's time alone", alone, "worker hours", size=size, note=note)
    yield Row("resident memory of a worker", ran.memory, "MB", target=600, size=size)


def filled(url: str, shelves: int) -> None:
    """So many shelves, each with colours of its own."""
    store, draw = Store(url), np.random.default_rng(7)
    records = store.records(create_demo(store, TODAY).id)
    for number in range(shelves):
        jars = [jar | {"colours": [shifted(colour, draw) for colour in jar["colours"]]} for jar in records["jars"]]
        store.create_shelf(f"kitchen {number}", records={**records, "jars": jars})
    store.close()


def shifted(colour: dict[str, object], draw: np.random.Generator) -> dict[str, object]:
    """A colour a little off."""
    L, a, b = np.array(colour["lab"]) + draw.normal(0, 3, 3)
    return {"lab": [float(np.clip(L, 5, 97)), float(a), float(b)], "share": colour["share"]}


def written(path: Path, shelves: int, requests: int) -> Path:
    """A file of requests, themes in turn."""
    lines = [
        json.dumps({"shelf": f"kitchen {s}", "theme": THEMES[(s + r) % 10], "kits": 1 + r, "count": 3})
        for s in range(shelves)
        for r in range(requests)
    ]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def run(url: str, asked: Path, workers: int, handful: int = HANDFUL) -> Ran:
    """What it took once all workers were up and warm."""
    requests = read_requests(asked)
    memory = 0.0

    def worked() -> list[psutil.Process]:
        return [one for one in psutil.Process().children(recursive=True) if "python" in one.name()]

    def spent() -> float:
        return sum(sum(one.cpu_times()[:2]) for one in worked())

    def progress(_: int) -> None:
        nonlocal memory
        memory = max([memory, *(one.memory_info().rss / 1e6 for one in worked())])

    to = asked.with_suffix(f".{workers}")
    with AnswerFile(to, requests) as answers, cluster(None, workers) as client:
        client.wait_for_workers(workers)
        client.run(warm, url, requests[-1])
        began, before = time.monotonic(), spent()
        done = answer_all(client, url, requests, answers, TODAY, progress, handful)
        passed, each = time.monotonic() - began, (spent() - before) / len(requests)
        if done.failed or len(answers.done) < len(requests):
            raise RuntimeError(f"{len(done.failed)} not answered")
    kept_once(to, len(requests))
    to.unlink()
    return Ran(len(requests) / passed, each, memory)


def kept_once(answers: Path, requests: int) -> None:
    """See in the file itself that each request was answered once, with ideas. Raises `RuntimeError`."""
    with answers.open(encoding="utf-8") as lines:
        told = [answer["request"] for answer in map(json.loads, lines) if answer["answer"]["ideas"]]
    if sorted(told) != list(range(1, requests + 1)):
        raise RuntimeError(f"{len(told)} answers to {requests} requests")


def warm(url: str, request: Request) -> int:
    """One answer, so that everything is loaded; run by each worker."""
    return len(answer_some(url, TODAY, [request]).lines)


def whole(shelves: int, requests: int, workers: int) -> Iterator[Row]:
    """A run from end to end."""
    with postgresql() as url, tempfile.TemporaryDirectory() as folder:
        filled(url, shelves)
        asked = written(Path(folder) / "asked.jsonl", shelves, requests)
        began = time.monotonic()
        ran = run(url, asked, workers)
        size = f"{shelves} shelves × {requests}"
        load = f"load average {os.getloadavg()[0]:.1f}"
        yield Row("a bulk run, end to end", time.monotonic() - began, "s", size=size, note=load)
        yield Row(f"answers a second, {workers} workers", ran.rate, "a second", size=size)
        yield from night(ran, workers, size)


def main() -> None:
    """Run one bench alone."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--shelves", type=int)
    parser.add_argument("--requests", type=int, default=10)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    found = whole(asked.shelves, asked.requests, asked.workers) if asked.shelves else rows(asked.quick)
    print(markdown(found), end="")


if __name__ == "__main__":
    main()
