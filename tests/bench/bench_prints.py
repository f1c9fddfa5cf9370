"""Prints and a whole batch: processor time and wall time, with ratios to baselines of the same run.

    python tests/bench/bench_prints.py

A card is set anew each time, with a name that no card before it had; its baseline is a page
of one word from the same compiler. A whole batch worked out stands against POST /ideas on
the same shelf, for another number of kits each time.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.app import create_app
from api.prints.job import Job
from api.prints.printing import DOCUMENTS, pdf
from api.prints.typeset import typeset
from api.works import batches_of, work_json, work_of
from catalog.demo import create_demo
from catalog.store import Store

TODAY = date(2026, 11, 25)
ROUNDS = 15
TARGET_MS, MOST_IDEAS = 20.0, 2.0


def median_ms(work: Callable[[], object], rounds: int = ROUNDS) -> tuple[float, float]:
    """Median processor time and wall time of one call, ms."""
    spent, passed = [], []
    for _ in range(rounds):
        wall, start = time.perf_counter(), time.process_time()
        work()
        spent.append(1000 * (time.process_time() - start))
        passed.append(1000 * (time.perf_counter() - wall))
    return statistics.median(spent), statistics.median(passed)


def main() -> int:
    """Print the table; the exit code is 1 where a target is missed."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{folder}/bench.db")
        shelf = create_demo(store, TODAY).id
        client = create_app(store, today=lambda: TODAY).test_client()
        question = {"theme": "owl party in teal and gold", "kits": 12}
        idea = client.post("/api/v1/ideas", json=question).get_json()["ideas"][0]
        body = {"theme": "owl party", "kits": 12, "due": "2026-12-05", "idea": idea}
        row = client.post("/api/v1/batches", json=body).get_json()
        batch = batches_of(store).get(shelf, row["id"])
        work = work_of(store, shelf, batch, TODAY)
        number = count(1)

        def job() -> Job:
            return Job(work, "bench", f"Owl party {next(number)}", work.missing, "letter")

        start = time.perf_counter()
        pdf("card", job())
        print(f"first card, compiler and fonts loaded with it: {1000 * (time.perf_counter() - start):.0f} ms")
        one_word = {"paper": "us-letter", "title": "t", "short": "t", "shelf": "", "kits": "", "due": "",
                    "empty": "word", "parts": [], "at_least": False}  # fmt: skip
        least, _ = median_ms(lambda: typeset("shopping", one_word | {"title": f"t{next(number)}"}))
        print(f"{'':24}{'cpu ms':>8}{'wall ms':>9}{'to a page of one word':>24}")
        print(f"{'page of one word':24}{least:8.1f}")
        card_ms = 0.0
        for document in DOCUMENTS:
            spent, passed = median_ms(lambda document=document: pdf(document, job()))
            card_ms = spent if document == "card" else card_ms
            print(f"{document:24}{spent:8.1f}{passed:9.1f}{spent / least:24.1f}")
        address = f"/api/v1/batches/{row['id']}/card.pdf"
        client.get(address)
        spent, passed = median_ms(lambda: client.get(address))
        print(f"{'GET card.pdf, again':24}{spent:8.1f}{passed:9.1f}{spent / least:24.1f}")

        whole, wall = median_ms(lambda: work_json(store, shelf, batch, TODAY))
        asked = varied(question)
        ideas, ideas_wall = median_ms(lambda: client.post("/api/v1/ideas", json=next(asked)))
        print(f"{'whole batch':24}{whole:8.1f}{wall:9.1f}")
        print(f"{'POST /ideas':24}{ideas:8.1f}{ideas_wall:9.1f}")
        print(f"card {card_ms:.1f} ms of {TARGET_MS:g}; batch {whole / ideas:.2f} of {MOST_IDEAS:g} × POST /ideas")
        store.close()
    return int(card_ms > TARGET_MS or whole > MOST_IDEAS * ideas)


def varied(question: dict[str, object]) -> Iterator[dict[str, object]]:
    """The question with another number of kits each time."""
    for kits in count(13):
        yield question | {"kits": kits % 900 + 1}


if __name__ == "__main__":
    sys.exit(main())
