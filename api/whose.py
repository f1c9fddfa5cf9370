"""Whose a batch is: its customer, when they come, and what they asked for, in plain words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from api.pages.needs import needs_in_words
from api.works import asked_for, joined, needs_of
from catalog.orders import Orders
from catalog.rows import Record
from catalog.store import Store


@dataclass(frozen=True, slots=True)
class Whose:
    """Of one batch: its order's id, customer, day and time, None where there is none, and each need in words."""

    order: int | None
    customer: str | None
    due: str | None
    time: str | None
    asked: tuple[str, ...]

    def to(self) -> str:
        """To whom and when, such as "Tilda, 15:00"; "" where nothing is known."""
        return ", ".join(word for word in (self.customer, self.time) if word)


def whose(store: Store, shelf_id: int, rows: Iterable[Record]) -> dict[int, Whose]:
    """Whose each of some batches is, by their ids."""
    batches = list(rows)
    orders = Orders(store).briefly(shelf_id, {row["order"] for row in batches if row["order"] is not None})
    names = {str(jar.id): jar.name for jar in store.read(shelf_id).jars}
    found = {}
    for row in batches:
        its = orders.get(row["order"], {})
        needs = asked_for(joined(needs_of(row), needs_of({"needs": its.get("needs")})))
        order = row["order"] if its else None
        words = tuple(needs_in_words(needs, names))
        found[row["id"]] = Whose(order, its.get("customer"), its.get("due"), its.get("time"), words)
    return found


def handed_over(name: str, row: Record, its: Whose) -> str:
    """One handing over: "10 kits, mermaid party, to Tilda, 15:00 – no milk, youngest 5"."""
    kits = "1 kit" if row["kits"] == 1 else f"{row['kits']} kits"
    told = ", ".join([kits, name, *([f"to {its.to()}"] if its.to() else [])])
    return f"{told} – {', '.join(its.asked)}" if its.asked else told
