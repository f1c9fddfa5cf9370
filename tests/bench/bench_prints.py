"""Prints and a whole batch: processor time, with ratios to baselines of the same run.

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

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, main

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


def cpu_ms(work: Callable[[], object], rounds: int) -> float:
    """Median processor time of one call, ms."""
    spent = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        spent.append(1000 * (time.process_time() - start))
    return statistics.median(spent)


def rows(quick: bool) -> Iterator[Row]:
    """Every document against a page of one word; a whole batch against POST /ideas."""
    rounds = 2 if quick else ROUNDS
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
        yield Row("first card, compiler and fonts loaded", 1000 * (time.perf_counter() - start), "ms")
        one_word = {"paper": "us-letter", "title": "t", "short": "t", "shelf": "", "kits": "", "due": "",
                    "empty": "word", "parts": [], "at_least": False}  # fmt: skip
        page = cpu_ms(lambda: typeset("shopping", one_word | {"title": f"t{next(number)}"}), rounds)
        for document in DOCUMENTS:
            spent = cpu_ms(lambda document=document: pdf(document, job()), rounds)
            yield Row(f"{document} as PDF", spent, "ms", "a page of one word", page)
            if document == "card":
                yield Row(f"{document} as PDF, after the first", spent, "ms", target=TARGET_MS)
        address = f"/api/v1/batches/{row['id']}/card.pdf"
        client.get(address)
        yield Row(
            "GET card.pdf, again", cpu_ms(lambda: client.get(address), rounds), "ms", "a page of one word", page
        )
        whole = cpu_ms(lambda: work_json(store, shelf, batch, TODAY), rounds)
        asked = varied(question)
        ideas = cpu_ms(lambda: client.post("/api/v1/ideas", json=next(asked)), rounds)
        yield Row("a whole batch worked out", whole, "ms", "POST /ideas", ideas, MOST_IDEAS)
        store.close()


def varied(question: dict[str, object]) -> Iterator[dict[str, object]]:
    """The question with another number of kits each time."""
    for kits in count(13):
        yield question | {"kits": kits % 900 + 1}


if __name__ == "__main__":
    main(rows, __doc__)
