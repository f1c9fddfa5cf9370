"""Many promise from one shelf at once: nothing is promised twice, and nobody gets an error but the clear one.

Each worker keeps its own account of what it was told; together they must explain the shelf
exactly. Run as a program, this file is one more worker in a process of its own.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from catalog.batches import Batches, Short
from catalog.stock import Stock
from catalog.store import Store
from themekit.errors import InvalidValue
from themekit.values import Kind, Shelf

ROOT = Path(__file__).parents[2]
GRAMS_PER_KIT = 10
#: Enough for some fifteen batches of one to eight kits, so that soon every worker is refused at times.
ON_HAND = 500
JARS = 4
ADDRESS = tuple[str, int]


def needed(batch: Mapping[str, Any], shelf: Shelf) -> dict[ADDRESS, float | None]:
    """Ten grams of each jar for a kit."""
    return {("jars", jar["id"]): GRAMS_PER_KIT * batch["kits"] for jar in batch["jars"]}


def shelf_with_jars(store: Store) -> int:
    shelf = store.create_shelf("Busy").id
    colours = ("#ffffff", "#2a9d8f", "#e9c46a", "#6b4a2f")
    for number in range(JARS):
        colour = [{"hex": colours[number]}]
        store.create(
            shelf, "jars", {"name": f"j{number}", "kind": "nonpareils", "colours": colour, "on_hand_g": ON_HAND}
        )
    store.create(shelf, "cutters", {"name": "owl"})
    store.create(shelf, "gels", {"name": "red", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1})
    return shelf


def work(store: Store, shelf: int, seed: int, seconds: float, moving: bool) -> dict[str, Any]:
    """Sketch, promise, change, pack, drop and, if told to, enter moves; what this worker was told it holds."""
    chance = random.Random(seed)
    batches, stock = Batches(store, needed), Stock(store)
    mine: dict[int, Any] = {}
    told: Counter[str] = Counter()
    packed: Counter[int] = Counter()
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        act = chance.choices(("promise", "drop", "change", "pack", "move"), (10, 4, 2, 1, 4 * moving))[0]
        try:
            if act == "promise" or (act != "move" and not mine):
                jars = chance.sample(range(1, JARS + 1), 3)
                body = {"kits": chance.randint(1, 8), "jars": jars, "cutters": [{"id": 1, "cookies": 8}],
                        "tints": [{"hex": "#d8474f", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}]}  # fmt: skip
                sketch = batches.create(shelf, body)
                act = "promise"
                mine[sketch["id"]] = batches.promise(shelf, sketch["id"])
            elif act == "drop":
                id = chance.choice(sorted(mine))
                batches.drop(shelf, id)
                del mine[id]
            elif act == "change":
                id = chance.choice(sorted(mine))
                mine[id] = batches.change(shelf, id, {"kits": chance.randint(1, 8)})
            elif act == "pack":
                id = chance.choice(sorted(mine))
                row = batches.pack(shelf, id)
                if chance.random() < 0.9:
                    batches.unpack(shelf, id)
                else:
                    del mine[id]
                    packed.update({jar["id"]: GRAMS_PER_KIT * row["kits"] for jar in row["jars"]})
            else:
                kind = chance.choice(("bought", "counted", "used"))
                grams = chance.randint(1, 40) if kind != "counted" else chance.randint(0, ON_HAND)
                stock.record(shelf, {"jar": chance.randint(1, JARS), "kind": kind, "grams": grams})
            told[act] += 1
        except Short:
            told["short"] += 1
        except InvalidValue:
            # More used than there is; only a move can say so.
            assert act == "move"
            told["refused"] += 1
    held: Counter[int] = Counter()
    for row in mine.values():
        held.update({jar["id"]: GRAMS_PER_KIT * row["kits"] for jar in row["jars"]})
    return {"held": dict(held), "packed": dict(packed), "told": dict(told)}


def all_at_once(store: Store, threads: int, processes: int, seconds: float, moving: bool) -> list[dict[str, Any]]:
    """What each of the workers was told; raises what any of them raised."""
    url = store.url.render_as_string(hide_password=False)
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = [
        subprocess.Popen(
            [sys.executable, __file__, url, "1", str(1000 + number), str(seconds), str(int(moving))],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
        )
        for number in range(processes)
    ]  # fmt: skip
    for child in started:
        # Ready, its libraries loaded.
        assert child.stdout is not None
        child.stdout.readline()
    ended: list[tuple[str, str]] = []
    try:
        with ThreadPoolExecutor(threads) as pool:
            found = list(pool.map(lambda seed: work(store, 1, seed, seconds, moving), range(threads)))
    finally:
        ended += [child.communicate(timeout=seconds + 60) for child in started]
    for child, (out, errors) in zip(started, ended, strict=True):
        assert child.returncode == 0, errors
        found.append(
            json.loads(out, object_hook=lambda o: {int(k) if k.isdigit() else k: v for k, v in o.items()})
        )
    return found


def check_exactly_explained(store: Store, workers: list[dict[str, Any]]) -> None:
    """What the workers hold and packed is what the rows, the lines and the ledger each say, and no more."""
    held: Counter[int] = Counter()
    packed: Counter[int] = Counter()
    for one in workers:
        held.update(one["held"])
        packed.update(one["packed"])
    with store._engine.connect() as connection:
        for id, on_hand, reserved in connection.execute(text("SELECT id, on_hand_mg, reserved FROM jars")):
            lines = connection.execute(text("SELECT SUM(held) FROM batch_lines WHERE jar_id = :id"), {"id": id})
            assert on_hand == 1000 * (ON_HAND - packed[id])
            assert reserved == 1000 * held[id] == int(lines.scalar() or 0)
            assert 0 <= reserved <= on_hand
    check_balanced(store)
    total = sum((Counter(one["told"]) for one in workers), Counter())
    assert total["promise"] > 10
    assert total["short"] > 0


def check_balanced(store: Store) -> None:
    """By the store's own check and by plain SQL."""
    assert Stock(store).balances(1) == []
    with store._engine.connect() as connection:
        rows = connection.execute(
            text(
                "SELECT on_hand_mg, reserved, (SELECT SUM(amount) FROM moves WHERE jar_id = jars.id),"
                " (SELECT SUM(held) FROM batch_lines WHERE jar_id = jars.id) FROM jars"
            )
        ).all()
    assert len(rows) == JARS
    for on_hand, reserved, moved, held in rows:
        assert on_hand == int(moved)
        assert reserved == int(held or 0)
        assert 0 <= reserved <= on_hand


def test_promises_at_once_from_threads_and_processes(store: Store) -> None:
    shelf_with_jars(store)
    check_exactly_explained(store, all_at_once(store, 8, 2, 4, moving=False))


def test_moves_and_promises_at_once(store: Store) -> None:
    shelf_with_jars(store)
    workers = all_at_once(store, 6, 1, 3, moving=True)
    assert sum(one["told"].get("move", 0) for one in workers) > 0
    check_balanced(store)


@pytest.mark.long
@pytest.mark.parametrize("moving", [False, True])
def test_many_threads_and_processes_for_half_a_minute(store: Store, moving: bool) -> None:
    shelf_with_jars(store)
    workers = all_at_once(store, 16, 4, 30, moving)
    if moving:
        check_balanced(store)
    else:
        check_exactly_explained(store, workers)


def main() -> None:
    url, shelf, seed, seconds, moving = sys.argv[1:]
    nonpareils: tuple[Kind, ...] = ()
    store = Store(url, nonpareils)
    print("ready", flush=True)
    print(json.dumps(work(store, int(shelf), int(seed), float(seconds), bool(int(moving)))))
    store.close()


if __name__ == "__main__":
    main()
