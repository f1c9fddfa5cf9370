"""A program that works on a shelf until it is killed, and keeps an account of what it was told.

Started once with the libraries loaded, it forks a worker for every line on its standard
input: {"url", "log", "seed", "job"}. It prints the worker's process id, and for an empty
line waits until that worker is gone and prints how it ended. Before each act a line with
what is asked goes to the log, and after the answer one with the answer: both are with the
system before the next act, so that a kill cannot lose them.
"""

from __future__ import annotations

import json
import os
import random
import sys
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

GRAMS_PER_KIT = 10
WORKING = 4
SHEET_ROWS = 40
BIG = 500_000.0
SHELF = 1
Act = Callable[[], Any]


def needed(batch: Mapping[str, Any], shelf: Any) -> dict[tuple[str, int], float | None]:
    """Ten grams of each jar for a kit."""
    return {("jars", jar["id"]): float(GRAMS_PER_KIT * batch["kits"]) for jar in batch["jars"]}


def prepare(url: str) -> None:
    """A shelf with jars to promise from; so much in them that nothing is ever short."""
    from catalog.store import Store

    store = Store(url)
    shelf = store.create_shelf("Home").id
    for number in range(WORKING):
        colour = [{"hex": ("#ffffff", "#2a9d8f", "#e9c46a", "#6b4a2f")[number]}]
        jar = {"name": f"j{number}", "kind": "nonpareils", "colours": colour, "on_hand_g": BIG}
        store.create(shelf, "jars", jar)
    store.create(shelf, "cutters", {"name": "owl"})
    store.create(shelf, "gels", {"name": "red", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1})
    store.close()


def sheet(file: Path, number: int) -> Path:
    """A CSV of jars that all bear the number of its import, in their lot and in their amount."""
    rows = [f"sheet {row},nonpareils,#aabbcc,{100 + number},lot-{number}" for row in range(SHEET_ROWS)]
    file.write_text("name,kind,colours,on_hand_g,lot\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return file


class Worker:
    """One life: acts in an order that the seed gives, each noted before and after."""

    def __init__(self, url: str, log: str, seed: int) -> None:
        from catalog.batches import Batches
        from catalog.stock import Stock
        from catalog.store import Store

        self._chance = random.Random(seed)
        self._log = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        self._store = Store(url)
        self._batches, self._stock = Batches(self._store, needed), Stock(self._store)
        self._seed, self._number = seed, 0
        self._folder = Path(log).parent

    def work(self) -> None:
        """Act until killed."""
        self._note(ready=True)
        mine: dict[int, str] = {}
        while True:
            act = self._chance.choices(
                ("move", "promise", "pack", "unpack", "drop", "import"), (3, 5, 5, 1, 1, 2)
            )[0]
            of = {"pack": "promised", "drop": "promised", "unpack": "packed"}.get(act)
            able = sorted(id for id, state in mine.items() if state == of)
            if act == "move":
                body = {"jar": self._chance.randint(1, WORKING), "kind": self._chance.choice(("bought", "used"))}
                body |= {"grams": self._chance.randint(1, 9), "note": f"{self._seed}-{self._number}"}
                self._do(act, body, lambda key, b=body: self._stock.record(SHELF, b, key))
            elif act == "import":
                number = self._seed % 1000 * 1000 + self._number
                self._do(act, {"number": number}, lambda _, n=number: self._import(n))
            elif able:
                id = self._chance.choice(able)
                step = getattr(self._batches, act)
                keyed = act != "unpack"
                row = self._do(
                    act, {"batch": id}, lambda key, s=step, k=keyed, i=id: s(SHELF, i, *([key] if k else []))
                )
                mine[id] = row["state"]
            else:
                jars = self._chance.sample(range(1, WORKING + 1), 3)
                tint = {"hex": "#d8474f", "recipe": [{"gel_id": 1, "g_per_100g": 1}]}
                body = {"kits": self._chance.randint(1, 8), "jars": jars, "tints": [tint],
                        "cutters": [{"id": 1, "cookies": 8}], "name": f"{self._seed}-{self._number}"}  # fmt: skip
                made = self._do(
                    "promise", body, lambda key, b=body: self._batches.create_promised(SHELF, [b], key)["items"][0]
                )
                mine[made["id"]] = made["state"]

    def _import(self, number: int) -> dict[str, Any]:
        from catalog.bringing import bring, open_file, plan_json
        from catalog.ways import Ways

        file = sheet(self._folder / "jars.csv", number)
        done = plan_json(bring(self._store, SHELF, open_file(file), Ways()))
        return {resource: counts["changed"] for resource, counts in done["rows"].items()}

    def _do(self, act: str, asked: Any, make: Callable[[str], Any]) -> Any:
        self._number += 1
        key = f"k-{self._seed}-{self._number}"
        self._note(act=act, key=key, asked=asked)
        answer = make(key)
        self._note(key=key, answer=answer)
        return answer

    def _note(self, **line: Any) -> None:
        os.write(self._log, json.dumps(line).encode() + b"\n")


def life(order: Mapping[str, Any]) -> None:
    """What one worker does, from its order to its end."""
    if order["job"] == "work":
        Worker(order["url"], order["log"], order["seed"]).work()
    elif order["job"] == "prepare":
        prepare(order["url"])
    elif order["job"] == "open":
        from catalog.store import Store

        Store(order["url"]).close()
    else:
        from catalog import backup

        getattr(backup, order["job"])(order["url"], order["file"])


def main() -> None:
    """Fork a worker for every order, until the input ends."""
    import alembic.command  # noqa: F401
    import pandas  # noqa: F401

    import catalog.backup
    import catalog.batches
    import catalog.sheets
    import catalog.stock  # noqa: F401
    from catalog.lexicon import kinds

    kinds()
    worker = 0
    print("ready", flush=True)
    for line in sys.stdin:
        if not line.strip():
            _, status = os.waitpid(worker, 0)
            print(os.waitstatus_to_exitcode(status), flush=True)
            continue
        worker = os.fork()
        if worker == 0:
            code = 1
            try:
                life(json.loads(line))
                code = 0
            except BaseException:
                traceback.print_exc()
                sys.stderr.flush()
            finally:
                os._exit(code)
        print(worker, flush=True)


if __name__ == "__main__":
    main()
