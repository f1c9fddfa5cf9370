"""How fast jars are used, from the ledger."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from sqlalchemy import func, select

from catalog.convert import utc
from catalog.lookup import find_shelf
from catalog.stock_tables import MoveTable
from catalog.store import Store

#: Uses of so many days make the present rate; a ledger younger than that many tells none.
RATE_DAYS, YOUNGEST_DAYS = 180, 30
_MG = 1000


def use_rates(store: Store, shelf_id: int, today: date) -> dict[int, float]:
    """g a day that are used of each jar, by its id; 0 for one that stands.

    Over the last 180 days, or since the jar's first move where that is less long ago. Undone
    uses do not count. A jar whose first move is younger than 30 days is left out: nobody can
    know yet.
    """
    since = today - timedelta(days=RATE_DAYS)
    of_jars = (MoveTable.shelf_id == shelf_id, MoveTable.jar_id.is_not(None))
    with store.reading() as session:
        find_shelf(session, shelf_id)
        firsts = session.execute(
            select(MoveTable.jar_id, func.min(MoveTable.at)).where(*of_jars).group_by(MoveTable.jar_id)
        ).all()
        undone = select(MoveTable.undoes).where(MoveTable.shelf_id == shelf_id, MoveTable.undoes.is_not(None))
        moves = session.execute(
            select(MoveTable.jar_id, MoveTable.at, MoveTable.amount).where(
                *of_jars, MoveTable.kind == "used", MoveTable.id.not_in(undone)
            )
        ).all()
    used: defaultdict[int, int] = defaultdict(int)
    for jar, at, amount in moves:
        if jar is not None and since <= utc(at).date() <= today:
            used[jar] -= amount
    ages = {jar: min(RATE_DAYS, (today - utc(first).date()).days) for jar, first in firsts if jar is not None}
    return {jar: used[jar] / _MG / age for jar, age in ages.items() if age >= YOUNGEST_DAYS}
