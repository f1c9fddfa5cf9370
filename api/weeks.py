"""Batches that are due together, week by week: one plan of work and one shopping list."""

from __future__ import annotations

from collections import Counter
from datetime import date

from api.answers import Json
from api.prints.printing import weeks_of
from api.works import plain, work_of
from catalog.rows import Record
from catalog.store import Store
from themekit.errors import ThemekitError
from themekit.make.work import shopping_together


def weeks(store: Store, shelf_id: int, today: date, start: date | None = None) -> Json:
    """Work and shopping of all batches with a pick-up day that are sketched or promised.

    Weeks that end before `start`, today where it is None, are left out. Raises `InvalidValue` with
    every problem of every batch.
    """
    plan, rows = weeks_of(store, shelf_id, today)
    told: Json = plain(plan)
    first = start or today
    kept = [week for week in told["weeks"] if (first - date.fromisoformat(week["monday"])).days < 7]
    for week in kept:
        due = [row for row in rows if _week_of(row) == (week["year"], week["week"])]
        week["due"] = [
            {"id": row["id"], "name": row["name"], "kits": row["kits"], "due": row["due"]} for row in due
        ]
        week["shopping"] = _shopping(store, shelf_id, due, today)
    return {**told, "weeks": kept}


def _week_of(row: Record) -> tuple[int, int]:
    year, week, _ = date.fromisoformat(row["due"]).isocalendar()
    return year, week


def _shopping(store: Store, shelf_id: int, rows: list[Record], today: date) -> Json | None:
    """One list for the batches due in a week; None where none is."""
    if not rows:
        return None
    held: Counter[tuple[str, int]] = Counter()
    works = []
    for row in rows:
        try:
            works.append(work_of(store, shelf_id, row, today))
        except ThemekitError:
            # What is wrong with it leads the plan already.
            continue
        for line in row["stock"]:
            held[(line["of"], line["item"])] += line["held"]
    made: Json = plain(shopping_together(works, store.read(shelf_id), held))
    return made
