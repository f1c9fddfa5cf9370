"""Long work in the background: a small table of jobs, kept in the memory of this process.

A job is worked on by a thread of its own, tells how far it is, and can be stopped. Only so
many run at once and only so many are remembered; whoever asks for one that is gone, or is
another process's, asks its question again.
"""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from secrets import token_urlsafe
from threading import Event, Lock, Thread
from typing import Any, Literal

from catalog.errors import NotFound
from themekit.errors import Problem, ThemekitError
from themekit.season.values import Progress, Stop

log = logging.getLogger("themekit.api")

State = Literal["running", "done", "stopped", "failed"]
#: What is worked on at once; each may keep a processor busy.
MOST_RUNNING = 2
#: What is remembered, with its answer; the oldest that has ended goes first.
MOST_KEPT = 20
Work = Callable[[Progress, Stop], dict[str, Any]]


class TooBusy(ThemekitError, RuntimeError):
    """As much is being worked on as may be at once."""

    code = "too_busy"


@dataclass
class Job:
    """One piece of work: how far it is, and what came of it.

    stage   what is being done, and how much of that is done, 0–1.
    answer  what was found, by a stopped job as far as it came; None before, and where it failed.
    error   why it failed; None for a fault of the program, which is in the log.
    """

    id: str
    shelf_id: int
    state: State = "running"
    stage: tuple[str, float] = ("", 0.0)
    answer: dict[str, Any] | None = None
    error: ThemekitError | None = None
    stopping: Event = field(default_factory=Event, repr=False)
    ended: Event = field(default_factory=Event, repr=False)

    def tell(self, stage: str, done: float) -> None:
        """How far it is."""
        self.stage = (stage, done)


class Jobs:
    """The jobs of one process."""

    def __init__(self, most_running: int = MOST_RUNNING, most_kept: int = MOST_KEPT) -> None:
        self._most_running, self._most_kept = most_running, most_kept
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = Lock()

    def start(self, shelf_id: int, work: Work) -> Job:
        """Begin work; it gets a way to tell how far it is, and to ask whether to stop. Raises `TooBusy`."""
        job = Job(token_urlsafe(12), shelf_id)
        with self._lock:
            running = [one for one in self._jobs.values() if not one.ended.is_set()]
            if len(running) >= self._most_running:
                allowed = f"at most {self._most_running} at once"
                hint = "Wait until one of them has ended, or stop it."
                raise TooBusy(
                    "Other plans are being worked on.", [Problem("plan", len(running) + 1, allowed, hint)]
                )
            self._jobs[job.id] = job
            for old in [one for one in self._jobs.values() if one.ended.is_set()]:
                if len(self._jobs) > self._most_kept:
                    del self._jobs[old.id]
        Thread(target=_run, args=(job, work), name=f"job {job.id}", daemon=True).start()
        return job

    def get(self, shelf_id: int, id: str) -> Job:
        """The job of that id. Raises `NotFound`, also for another shelf's."""
        with self._lock:
            job = self._jobs.get(id)
        if job is None or job.shelf_id != shelf_id:
            hint = "Plans are kept for a while only; ask for it again."
            raise NotFound("This plan is not kept here.", [Problem("job", id[:60], "a plan made lately", hint)])
        return job

    def stop(self, shelf_id: int, id: str) -> Job:
        """Ask a job to end with what it has; one that has ended stays as it is. Raises `NotFound`."""
        job = self.get(shelf_id, id)
        job.stopping.set()
        return job

    def forget(self, shelf_id: int, id: str) -> None:
        """Stop a job and forget it. Raises `NotFound`."""
        self.stop(shelf_id, id)
        with self._lock:
            self._jobs.pop(id, None)


def _run(job: Job, work: Work) -> None:
    try:
        job.answer = work(job.tell, job.stopping.is_set)
        job.state = "stopped" if job.answer.get("status") == "stopped" else "done"
    except ThemekitError as error:
        job.error, job.state = error, "failed"
    except Exception as error:  # A thread's fault would be told to nobody.
        log.exception("unforeseen error in a job", exc_info=error)
        job.state = "failed"
    finally:
        job.ended.set()
