"""Promising a batch of three jars, three gels, a box and five supplies, against one plain insert.

    python tests/bench/bench_promise.py [SQLAlchemy address ...]

Both in the same database, through the same engine, in turn; medians and their ratio. The
plain insert is one row of the ledger in a transaction of its own, through the same mapper
(`one row`) and as bare SQL (`bare`). An address such as postgresql://user@host/name names
a database, which is filled; without one an SQLite file is made and thrown away.
"""

from __future__ import annotations

import cProfile
import pstats
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import event, text
from sqlalchemy.orm import Session

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from databases import postgresql
from table import Row, markdown

from catalog.batches import Batches
from catalog.demo import create_demo
from catalog.engine import writing
from catalog.stock_tables import MoveTable
from catalog.store import Store
from themekit.values import Shelf

ROUNDS = 60


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[tuple[str, int], float | None]:
    """A little of each, so that the stock lasts for all rounds."""
    amounts: dict[tuple[str, int], float | None] = {("jars", jar["id"]): 0.5 for jar in batch["jars"]}
    amounts |= {("gels", gel.id): 0.01 for gel in shelf.gels[:3]}
    amounts |= {("supplies", one.id): 0.1 for one in shelf.supplies[:5]}
    return amounts | {("boxes", shelf.boxes[0].id): 0}


def seconds(act: Callable[[], Any]) -> float:
    """How long `act` takes."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def measure(url: str, rounds: int = ROUNDS, profile: bool = False) -> Iterator[Row]:
    """Medians of promise and plain insert on one database."""
    store = Store(url)
    shelf = create_demo(store, date(2026, 11, 25)).id
    value = store.read(shelf)
    batches = Batches(store, needed)
    jars = [jar.id for jar in value.jars[:3]]
    tint = {"hex": "#d8474f", "recipe": [{"gel_id": value.gels[0].id, "g_per_100g": 1}]}
    body = {"kits": 1, "jars": jars, "tints": [tint] * 3, "cutters": [{"id": value.cutters[0].id, "cookies": 8}]}
    ids = [batches.create(shelf, body)["id"] for _ in range(rounds + 5)]
    engine = writing(store._engine)
    row = {"shelf_id": shelf, "kind": "bought", "amount": 1, "uncertain": 0, "from_unknown": False,
           "cause": "bench", "jar_id": jars[0]}  # fmt: skip

    def one_row() -> None:
        with Session(engine) as session, session.begin():
            session.add(MoveTable(**row, at=datetime.now(UTC)))

    names = (*row, "at")
    sql = text(f"INSERT INTO moves ({', '.join(names)}) VALUES ({', '.join(':' + name for name in names)})")

    def bare() -> None:
        with engine.begin() as connection:
            connection.execute(sql, {**row, "at": datetime.now(UTC).isoformat()})

    for id in ids[:5]:
        batches.promise(shelf, id)
        one_row()
        bare()
    sent: list[str] = []
    event.listen(store._engine, "before_cursor_execute", lambda *given: sent.append(given[2]))
    if profile:
        with cProfile.Profile() as kept:
            for id in ids[5:]:
                batches.promise(shelf, id)
        pstats.Stats(kept).sort_stats("cumulative").print_stats(45)
        return
    times: dict[str, list[float]] = {"promise": [], "one row": [], "bare": []}
    for id in ids[5:]:
        times["promise"].append(seconds(lambda id=id: batches.promise(shelf, id)))
        times["one row"].append(seconds(one_row))
        times["bare"].append(seconds(bare))
    middle = {what: 1000 * statistics.median(found) for what, found in times.items()}
    kind, statements = store._engine.dialect.name, len(sent) // len(ids[5:]) - 2
    for against, told in (("one row", "one row of the ledger, mapped"), ("bare", "one plain insert")):
        note = f"{statements} statements"
        yield Row("a batch promised", middle["promise"], "ms", told, middle[against], None, "most", kind, note)
    store.close()


def rows(quick: bool) -> Iterator[Row]:
    """Both databases; PostgreSQL where it is installed, with its writes on the disk."""
    rounds = 5 if quick else ROUNDS
    with tempfile.TemporaryDirectory() as folder:
        yield from measure(f"sqlite:///{folder}/bench.db", rounds)
    with postgresql(fsync=True) as url:
        yield from measure(url, rounds)


def main() -> None:
    """Measure the databases named, or SQLite."""
    named = [one for one in sys.argv[1:] if one != "--profile"]
    with tempfile.TemporaryDirectory() as folder:
        for url in named or [f"sqlite:///{folder}/bench.db"]:
            print(markdown(measure(url, profile="--profile" in sys.argv)), end="")


if __name__ == "__main__":
    main()
