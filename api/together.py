"""Batches that are still to be made, together: their weeks of work, and what to buy in each week."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from api.whose import Whose, whose
from api.works import batches_of, order_of, settings_of, work_of
from catalog.rows import Record
from catalog.store import MOST_PER_PAGE, Store
from themekit.errors import ThemekitError
from themekit.make.shopping import ShoppingList
from themekit.make.week import WeekPlan, week_plan
from themekit.make.work import shopping_together

# Batches that are still to be made.
_OPEN = ("sketched", "promised")


@dataclass(frozen=True, slots=True)
class ToBuy:
    """What to buy in one week: for which batches, each with its shopping day, and the list."""

    batches: tuple[tuple[Record, date], ...]
    list: ShoppingList


def weeks_of(store: Store, shelf_id: int, today: date) -> tuple[WeekPlan, dict[str, Record]]:
    """The work of all batches with a pick-up day that are sketched or promised, and those by their names in it.

    Raises `InvalidValue` as `week_plan` does, every problem of every batch at once.
    """
    value, shelf = store.read(shelf_id), store.shelf_record(shelf_id)
    rows = [row for state in _OPEN for row in all_batches(store, shelf_id, state) if row["due"]]
    named = _named(rows, whose(store, shelf_id, rows))
    due = [
        (name, order_of(row, value, shelf["settings"]), date.fromisoformat(row["due"]))
        for name, row in named.items()
    ]
    own = settings_of(shelf["settings"], None).work
    return week_plan(due, own.hours_per_week, own.hours_per_day, today=today), named


def _named(rows: Sequence[Record], of: Mapping[int, Whose]) -> dict[str, Record]:
    """The batches by names of their own: of one name by kits and customer, and last by their numbers."""
    ways: list[Callable[[Record], str]] = [
        lambda row: str(row["name"]),
        lambda row: f"{row['name']}, {row['kits']} kits",
        lambda row: ", ".join(filter(None, [f"{row['name']}, {row['kits']} kits", of[row["id"]].customer])),
        lambda row: f"{row['name']} ({row['id']})",
    ]
    left, found = list(rows), dict[int, str]()
    for way in ways:
        counts = Counter(way(row) for row in left)
        found |= {row["id"]: way(row) for row in left if counts[way(row)] == 1 and way(row) not in found.values()}
        left = [row for row in left if row["id"] not in found]
    return {found[row["id"]]: row for row in rows}


def to_buy(
    store: Store, shelf_id: int, plan: WeekPlan, rows: Mapping[str, Record], today: date, first: date
) -> dict[date, ToBuy]:
    """One shopping list for the batches whose shopping day is in a week, by the week's Monday.

    Of a batch whose shopping day is past already, or before the weeks that are told (those that
    end on `first` or later), the goods stand in the first of these weeks, so that none is lost.
    """
    mondays = [week.monday for week in plan.weeks if (first - week.monday).days < 7]
    grouped: dict[date, list[tuple[Record, date]]] = {}
    for batch in plan.batches:
        shop_on = batch.plan.step("shop").day
        monday = next((m for m in mondays if m + timedelta(days=6) >= max(shop_on, first)), None)
        # A batch that is due before the weeks that are told has nothing to be bought for in them.
        if monday is not None and batch.plan.due >= first:
            grouped.setdefault(monday, []).append((rows[batch.name], shop_on))
    return {
        monday: ToBuy(tuple(group), _list(store, shelf_id, [row for row, _ in group], today))
        for monday, group in grouped.items()
    }


def _list(store: Store, shelf_id: int, rows: list[Record], today: date) -> ShoppingList:
    """One list for these batches."""
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
    return shopping_together(works, store.read(shelf_id), held)


def all_batches(store: Store, shelf_id: int, state: str) -> list[Record]:
    """All batches of a state."""
    found: list[Record] = []
    while True:
        rows, total = batches_of(store).list(shelf_id, len(found) // MOST_PER_PAGE + 1, MOST_PER_PAGE, state)
        found += rows
        if len(found) >= total or not rows:
            return found
