"""Batches that are due together, week by week: one plan of work and one shopping list."""

from __future__ import annotations

from datetime import date

from api.answers import Json
from api.together import ToBuy, to_buy, weeks_of
from api.whose import whose
from api.works import plain
from catalog.rows import Record
from catalog.store import Store


def weeks(store: Store, shelf_id: int, today: date, start: date | None = None) -> Json:
    """Work and shopping of all batches with a pick-up day that are sketched or promised.

    Weeks that end before `start`, today where it is None, are left out. A week's "shopping" is
    what has to be bought in it, by the shopping days of the batches in "shop_for", not for
    what is "due" in it. Raises `InvalidValue` with every problem of every batch.
    """
    plan, rows = weeks_of(store, shelf_id, today)
    first = start or today
    told: Json = plain(plan)
    lists = {monday.isoformat(): one for monday, one in to_buy(store, shelf_id, plan, rows, today, first).items()}
    kept = [week for week in told["weeks"] if (first - date.fromisoformat(week["monday"])).days < 7]
    of = whose(store, shelf_id, rows.values())
    told["whose"] = {
        name: _told(row) | plain(of[row["id"]]) | {"due": row["due"], "day": of[row["id"]].due}
        for name, row in rows.items()
    }
    for week in kept:
        due = [row for row in rows.values() if _week_of(row) == (week["year"], week["week"])]
        week["due"] = [_told(row) for row in due]
        bought: ToBuy | None = lists.get(week["monday"])
        week["shop_for"] = [
            _told(row) | {"shop": day.isoformat()} for row, day in (bought.batches if bought else ())
        ]
        week["shopping"] = plain(bought.list) if bought else None
    return {**told, "weeks": kept}


def _told(row: Record) -> Json:
    return {"id": row["id"], "name": row["name"], "kits": row["kits"], "due": row["due"]}


def _week_of(row: Record) -> tuple[int, int]:
    year, week, _ = date.fromisoformat(row["due"]).isocalendar()
    return year, week
