"""The label of a kit for sticking, and beside it what only the baker needs to know of it."""

from __future__ import annotations

from collections.abc import Sequence

from api.prints.job import Job, Json
from themekit.make.label_list import Run

NOT_YET = "Not to be used yet"


def label(job: Job) -> Json:
    """The label's data. A label with unknown allergens or with problems says that it is not to be used."""
    told = job.work.label
    warning = told.incomplete
    if not warning and told.problems:
        warning = f"{NOT_YET}: see the baker's notes."
    return {
        **job.basics,
        "kit": job.name,
        "name": told.name,
        "not_yet": warning,
        "ingredients": _runs(told.ingredients),
        "contains": _runs(told.contains),
        "if_no_list": told.if_no_list,
        "may_contain": told.may_contain,
        "warnings": list(told.warnings),
        "net": told.net_quantity,
        "best_before": told.best_before_text,
        "storage": told.storage,
        "maker": told.maker,
        "statement": told.home_kitchen_statement,
        "jurisdiction": told.jurisdiction,
        "notes": _notes(job),
    }


def _runs(runs: Sequence[Run]) -> list[Json]:
    return [{"text": run.text, "bold": run.emphasised} for run in runs]


def _notes(job: Job) -> list[Json]:
    """The baker's own block, each part with its heading; empty parts are left out."""
    told = job.work.label
    parts = (
        ("Put right before use", told.problems),
        ("Not known", told.missing),
        ("Take care when printing", told.remarks),
        ("Check locally", told.check),
        ("Followed, as of the dates given", [f.sentence() for f in told.follows]),
    )
    return [{"title": title, "lines": list(lines)} for title, lines in parts if lines]
