"""A season's plan in the background, as JSON: how far it is, in words and as one share of the whole."""

from __future__ import annotations

from typing import Any

from api.errors import error_body, unforeseen_body
from api.jobs import Job

#: The stages in their order: how much of the whole time each usually takes, and what it is.
_STAGES = {
    "candidates": (0.45, "Looking for the best kits for each line"),
    "one by one": (0.05, "Choosing line by line, to compare"),
    "joint choice": (0.10, "Choosing for all lines together"),
    "more candidates": (0.40, "Looking whether more choice would change it"),
}


def job_json(job: Job) -> dict[str, Any]:
    """A job with its answer or its error."""
    error = None
    if job.state == "failed":
        found = job.error
        whole = unforeseen_body() if found is None else error_body(found.code, found.message, found.problems)
        error = whole["error"]
    return {
        "id": job.id,
        "state": job.state,
        "stage": stage_told(job),
        "done": done_of(job),
        "answer": job.answer if job.ended.is_set() else None,
        "error": error,
    }


def stage_told(job: Job) -> str:
    """What is being done, in words."""
    if job.ended.is_set():
        return {"done": "The plan is there", "stopped": "Stopped"}.get(job.state, "It could not be planned")
    if job.stopping.is_set():
        return "Stopping after this step"
    return _STAGES.get(job.stage[0], (0.0, "Beginning"))[1]


def done_of(job: Job) -> float:
    """How much of the whole is done, 0–1, by the usual time of its stages."""
    if job.ended.is_set():
        return 1.0
    before = 0.0
    for name, (part, _) in _STAGES.items():
        if name == job.stage[0]:
            return round(before + part * job.stage[1], 3)
        before += part
    return 0.0
