"""A bulk run: handfuls go to a Dask cluster, answers come back and are kept one by one."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import Any

from api.bulk.answered import AnswerFile
from api.bulk.asked import Request
from api.bulk.working import answer_some
from themekit.errors import InvalidValue, Problem, ThemekitError

#: Requests in a handful: enough that its way there and back costs little, few enough to lose little with a worker.
HANDFUL = 20
#: Handfuls under way for each worker, so that none waits and the answers held in memory stay few.
_AHEAD = 3
#: How often a handful is tried anew after an error, such as a database away for a moment.
_RETRIES = 2
_CONNECT_S = 15
#: How long a cluster may be without any worker.
_WORKERS_S = 120


@dataclass
class Outcome:
    """What became of a run."""

    answered: int = 0
    refused: int = 0
    failed: list[tuple[int, str]] = field(default_factory=list)


def handfuls(requests: Sequence[Request], size: int = HANDFUL) -> Iterator[list[Request]]:
    """The requests by shelf, a handful at a time, so that a worker seldom reads a shelf twice."""
    ordered = iter(sorted(requests, key=lambda r: (r.shelf, r.number)))
    while some := list(islice(ordered, size)):
        yield some


@contextmanager
def cluster(scheduler: str | None, workers: int | None) -> Iterator[Any]:
    """A client of the scheduler at that address, or of a cluster on this machine made for the time being.

    Raises `InvalidValue` where the extra is not installed or nobody answers at the address.
    """
    try:
        import dask
        from distributed import Client, LocalCluster
    except ImportError as error:
        problem = Problem("command line", "bulk", "themekit with its extra “cluster”",
                          "pip install 'themekit[cluster]'")  # fmt: skip
        raise InvalidValue("Bulk runs need Dask, which is not installed.", [problem]) from error
    # Nobody is to look in from elsewhere, and nothing is told on the terminal but the progress. Workers
    # would keep a sample of what they do every 10 ms for an hour, which takes more memory than the work.
    with dask.config.set(
        {
            "distributed.worker.daemon": True,
            "distributed.worker.profile.enabled": False,
            "distributed.logging.distributed": "error",
        }
    ):
        if scheduler is None:
            count = workers or os.cpu_count() or 1
            with (
                LocalCluster(
                    n_workers=count,
                    threads_per_worker=1,
                    host="127.0.0.1",
                    dashboard_address=None,
                    silence_logs=50,
                ) as local,
                Client(local) as client,
            ):
                yield client
            return
        try:
            client = Client(scheduler, timeout=_CONNECT_S)
        except (OSError, ValueError) as error:
            hint = "Start one by: dask scheduler, and workers by: dask worker ADDRESS --nthreads 1."
            problem = Problem("scheduler", scheduler, "the address of a Dask scheduler, tcp://host:8786", hint)
            raise InvalidValue("No scheduler answers there.", [problem]) from error
        with client:
            yield client


def answer_all(
    client: Any,
    url: str | None,
    requests: Sequence[Request],
    answers: AnswerFile,
    today: date,
    progress: Callable[[int], None],
    handful: int = HANDFUL,
) -> Outcome:
    """Have every request answered that is not yet, and keep each answer once.

    A worker that ends in the middle costs its handful, which is done again elsewhere: an
    answer is kept only here. Raises `ThemekitError` as the worker did, when a handful fails
    for good; what was kept stays.
    """
    from distributed import KilledWorker, as_completed

    outcome = Outcome()
    waiting = handfuls([r for r in requests if r.number not in answers.done], handful)

    def submit(count: int) -> list[Any]:
        # Impure: asked anew in another run, of a shelf that may have changed.
        return [
            client.submit(answer_some, url, today, some, retries=_RETRIES, pure=False)
            for some in islice(waiting, count)
        ]

    under_way, left = as_completed(), 0
    for more in submit(_AHEAD * _threads(client)):
        under_way.add(more)
        left += 1
    for future in under_way:
        left -= 1
        try:
            done = future.result()
        except KilledWorker as error:
            hint = "See what ended them (often too little memory), and run the same command again."
            problem = Problem("workers", "several ended in one handful", "workers that stay", hint)
            raise ThemekitError("Workers kept ending; the answers so far are kept.", [problem]) from error
        future.release()
        answers.add(done.numbers, done.lines)
        outcome.answered += len(done.numbers) - done.refused
        outcome.refused += done.refused
        outcome.failed += done.failed
        progress(len(done.numbers) + len(done.failed))
        # Workers may come and go meanwhile.
        for more in submit(max(0, _AHEAD * _threads(client) - left)):
            under_way.add(more)
            left += 1
    return outcome


def _threads(client: Any) -> int:
    """How many handfuls the cluster's workers can work at together. Raises `InvalidValue` when none comes."""
    try:
        client.wait_for_workers(1, timeout=_WORKERS_S)
    except TimeoutError as error:
        hint = "Start some by: dask worker ADDRESS --nthreads 1. What was answered is kept; run it again."
        problem = Problem("workers", 0, "at least one worker", hint)
        raise InvalidValue(f"No worker has come within {_WORKERS_S} s.", [problem]) from error
    return sum(int(one["nthreads"]) for one in client.scheduler_info(n_workers=-1)["workers"].values())
