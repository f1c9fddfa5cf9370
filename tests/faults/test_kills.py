"""Programs killed at any moment: what was answered is kept, nothing is half done, the ledger balances.

A kill takes the process, not the machine; that commits wait for the disk is held by
`tests/catalog/test_engine.py`. Each run is a database and a dozen lives on it, one after
another, each killed somewhere, half of them within an act that was chosen before.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, make_url, text

from catalog.batches import Batches
from catalog.engine import database_url, open_engine
from catalog.migrations import HEAD, VERSION_TABLE
from catalog.stock import Stock
from catalog.store import Store
from catalog.upgrade import upgrade

ROOT = Path(__file__).parents[2]
SHELF, LIVES = 1, 12
#: How long an act takes at most, about, in seconds.
SPAN = {"move": 0.01, "promise": 0.02, "pack": 0.02, "import": 0.12}
JARS = 300
LONG = pytest.mark.long


class Nursery:
    """Workers of `driver.py`, one at a time."""

    def __init__(self) -> None:
        self._program = subprocess.Popen(
            [sys.executable, str(Path(__file__).with_name("driver.py"))],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert self._told() == "ready"

    def start(self, **order: Any) -> int:
        return int(self._say(json.dumps(order)))

    def end(self) -> int:
        """Wait for the worker; how it ended."""
        return int(self._say(""))

    def _say(self, line: str) -> str:
        assert self._program.stdin is not None
        self._program.stdin.write(line + "\n")
        self._program.stdin.flush()
        return self._told()

    def _told(self) -> str:
        assert self._program.stdout is not None
        return self._program.stdout.readline().strip()

    def close(self) -> None:
        self._program.communicate(timeout=60)


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    made = Nursery()
    yield made
    made.close()


def notes(log: Path) -> list[dict[str, Any]]:
    """The whole lines of an account."""
    lines = log.read_bytes().split(b"\n")[:-1] if log.exists() else []
    return [json.loads(line) for line in lines]


def live_and_die(nursery: Nursery, url: str, log: Path, seed: int) -> list[dict[str, Any]]:
    """Let a worker live for a moment; what it noted."""
    chance = random.Random(seed)
    before = len(notes(log))
    pid = nursery.start(job="work", url=url, log=str(log), seed=seed)
    target = chance.choice((None, None, None, "promise", "pack", "import"))
    least = chance.randint(0, 6)
    until = time.monotonic() + 30
    while time.monotonic() < until:
        lines = notes(log)[before:]
        acts = [line["act"] for line in lines if "act" in line]
        if lines and (len(acts) >= least if target is None else target in acts):
            break
        time.sleep(0.0005)
    time.sleep(chance.uniform(0, 0.1 if target is None else SPAN[target]))
    os.kill(pid, signal.SIGKILL)
    assert nursery.end() == -signal.SIGKILL
    return notes(log)[before:]


class Account:
    """What has to be there: all that was answered, and what was found to have been done."""

    def __init__(self, url: str, file: Path) -> None:
        self._url, self._file = url, file
        self._moves: list[Any] = []
        self._states: dict[int, str] = {}
        self._lot: str | None = None
        self.told: Counter[str] = Counter()

    def check(self, lines: list[dict[str, Any]]) -> None:
        """Compare the database after a kill, with no one at work on it, with what its worker noted."""
        answers = {line["key"]: line["answer"] for line in lines if "answer" in line}
        asked = [line for line in lines if "act" in line]
        under_way = [line for line in asked if line["key"] not in answers]
        assert len(under_way) <= 1
        store = Store(self._url)
        try:
            self._sound(store)
            moves = self._ledger(store)
            for line in asked:
                if line["key"] in answers:
                    self.told[line["act"]] += 1
                    self._answered(line, answers[line["key"]], moves)
            self._batches(store, under_way)
            self._imported(store, under_way)
            for line in under_way:
                self.told[f"cut off in {line['act']}"] += 1
                self._again(store, line)
            self._sound(store)
            self._ledger(store)
        finally:
            store.close()

    def _sound(self, store: Store) -> None:
        assert store.faults() == []
        assert Stock(store).balances(SHELF) == []

    def _rows(self, store: Store, query: str) -> list[Any]:
        with store._engine.connect() as connection:
            return [tuple(row) for row in connection.execute(text(query))]

    def _ledger(self, store: Store) -> dict[int, Any]:
        """The moves; those that were seen before are there unchanged, in the same order."""
        found = self._rows(store, "SELECT id, jar_id, kind, amount, note, batch_id, undoes FROM moves ORDER BY id")
        assert found[: len(self._moves)] == self._moves
        self._moves = found
        return {row[0]: row for row in found}

    def _answered(self, line: dict[str, Any], answer: Any, moves: dict[int, Any]) -> None:
        if line["act"] == "move":
            row = moves[answer["id"]]
            assert (row[2], abs(row[3]), row[4]) == (
                line["asked"]["kind"],
                1000 * line["asked"]["grams"],
                line["asked"]["note"],
            )
        elif line["act"] == "import":
            self._lot = f"lot-{line['asked']['number']}"
        else:
            self._states[answer["id"]] = answer["state"]

    def _batches(self, store: Store, under_way: list[dict[str, Any]]) -> None:
        """Each is as it was answered, or as what was under way would have it, and all its stock agrees."""
        ends = {"promise": "promised", "pack": "packed", "unpack": "promised", "drop": "dropped"}
        moved = Counter({(b, j): int(n) for b, j, n in self._rows(
            store, "SELECT batch_id, jar_id, SUM(amount) FROM moves WHERE batch_id IS NOT NULL AND"
            " jar_id IS NOT NULL GROUP BY batch_id, jar_id")})  # fmt: skip
        held = Counter({(b, j): int(n) for b, j, n in self._rows(
            store, "SELECT batch_id, jar_id, SUM(held) FROM batch_lines WHERE jar_id IS NOT NULL"
            " GROUP BY batch_id, jar_id")})  # fmt: skip
        rows = {id: (name, state, kits) for id, name, state, kits in self._rows(
            store, "SELECT id, name, state, kits FROM batches")}  # fmt: skip
        assert self._states.keys() <= rows.keys()
        for id, (name, state, kits) in rows.items():
            allowed = {self._states.get(id)}
            for line in under_way:
                if line["asked"].get("batch") == id or (
                    line["act"] == "promise" and line["asked"]["name"] == name
                ):
                    allowed.add(ends[line["act"]])
            assert state in allowed, (id, name, state, allowed)
            self._states[id] = state
            wanted = 10_000 * kits
            jars = [jar for batch, jar in {**held, **moved} if batch == id]
            assert len(set(jars)) == 3
            for jar in jars:
                assert held[id, jar] == (wanted if state == "promised" else 0)
                assert moved[id, jar] == (-wanted if state == "packed" else 0)

    def _imported(self, store: Store, under_way: list[dict[str, Any]]) -> None:
        """All rows of a sheet are of the same import: the last that was answered, or the one under way."""
        found = self._rows(
            store, "SELECT lot, on_hand_mg, COUNT(*) FROM jars WHERE name LIKE 'sheet %' GROUP BY 1, 2"
        )
        allowed = {self._lot} | {f"lot-{line['asked']['number']}" for line in under_way if line["act"] == "import"}
        if not found:
            assert None in allowed
            return
        ((lot, amount, count),) = found
        assert lot in allowed
        assert (amount, count) == (1000 * (100 + int(lot.removeprefix("lot-"))), 40)
        self._lot = lot

    def _again(self, store: Store, line: dict[str, Any]) -> None:
        """What was cut off is asked again with its key, and is then done once."""
        key, asked, act = line["key"], line["asked"], line["act"]
        batches = Batches(store, needed)
        if act == "move":
            Stock(store).record(SHELF, asked, key)
            assert self._rows(store, f"SELECT COUNT(*) FROM moves WHERE note = '{asked['note']}'") == [(1,)]
        elif act == "promise":
            made = batches.create_promised(SHELF, [asked], key)["items"][0]
            assert self._rows(store, f"SELECT COUNT(*) FROM batches WHERE name = '{asked['name']}'") == [(1,)]
            self._states[made["id"]] = "promised"
        elif act in ("pack", "drop"):
            self._states[asked["batch"]] = getattr(batches, act)(SHELF, asked["batch"], key)["state"]
        self._batches(store, [])


def needed(batch: Any, shelf: Any) -> dict[tuple[str, int], float | None]:
    """As the driver has it."""
    return {("jars", jar["id"]): 10.0 * batch["kits"] for jar in batch["jars"]}


def run(nursery: Nursery, url: str, folder: Path, seed: int, lives: int) -> None:
    pid = nursery.start(job="prepare", url=url)
    assert pid
    assert nursery.end() == 0
    log = folder / "log"
    account = Account(url, folder / "jars.csv")
    for number in range(lives):
        account.check(live_and_die(nursery, url, log, 1000 * seed + number))
    # The account is not of nothing.
    assert sum(account.told.values()) > 2 * lives


@pytest.mark.parametrize("seed", [1, *(pytest.param(n, marks=LONG) for n in range(2, 20))])
def test_a_program_on_sqlite_that_is_killed_loses_nothing(nursery: Nursery, tmp_path: Path, seed: int) -> None:
    run(nursery, f"sqlite:///{tmp_path / 'shelf.db'}", tmp_path, seed, LIVES)


@pytest.mark.parametrize(("seed", "lives"), [(1, 3), *(pytest.param(n, LIVES, marks=LONG) for n in range(2, 6))])
def test_a_program_on_postgresql_that_is_killed_loses_nothing(
    nursery: Nursery, postgresql: str, tmp_path: Path, seed: int, lives: int
) -> None:
    run(nursery, postgresql, tmp_path, seed, lives)


def old_database(url: str) -> None:
    """A database of the first step, as the first version of the program wrote it."""
    engine = open_engine(database_url(url))
    upgrade(engine, "0001")
    jar = (
        "INSERT INTO jars (shelf_id, name, name_key, version, kind, colours, motifs, on_hand_mg)"
        " VALUES (1, 'jar {n}', 'jar {n}', 1, 'nonpareils', '[[5000, 0, 0, 1000000]]', '[]', {n})"
    )
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        connection.execute(text("INSERT INTO shelves (name, name_key, revision) VALUES ('Home', 'home', 7)"))
        for n in range(1, JARS + 1):
            connection.execute(text(jar.format(n=n)))
    engine.dispose()


def check_upgraded(url: str) -> None:
    """Before another start the database is of one step and whole; after it, up to date with all of its data."""
    engine = create_engine(database_url(url))
    with engine.connect() as connection:
        reached = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
        assert reached in ("0001", HEAD)
        moves = engine.dialect.has_table(connection, "moves")
        assert moves == (reached == HEAD)
        total = connection.execute(text("SELECT COUNT(*), SUM(on_hand_mg) FROM jars")).one()
        assert tuple(map(int, total)) == (JARS, JARS * (JARS + 1) // 2)
    engine.dispose()
    store = Store(url)
    assert store.faults() == []
    assert Stock(store).balances(1) == []
    assert Stock(store).moves(1)[1] == JARS
    store.close()


def check_copies(folder: Path) -> int:
    """Every file that has the name of a copy is a whole one; how many there are."""
    copies = list(folder.glob("*before-*.db"))
    for copy in copies:
        with closing(sqlite3.connect(copy)) as opened:
            assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert opened.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchone() == ("0001",)
            assert opened.execute("SELECT COUNT(*) FROM jars").fetchone() == (JARS,)
    return len(copies)


def kill_within(nursery: Nursery, seconds: float, **order: Any) -> bool:
    """Start a job and kill it after that time; whether it was still at work."""
    pid = nursery.start(**order)
    time.sleep(seconds)
    os.kill(pid, signal.SIGKILL)
    return nursery.end() == -signal.SIGKILL


def time_of(nursery: Nursery, **order: Any) -> float:
    """How long a job takes that is left alone."""
    begun = time.perf_counter()
    nursery.start(**order)
    assert nursery.end() == 0
    return time.perf_counter() - begun


@pytest.mark.parametrize("kills", [6, pytest.param(60, marks=LONG)])
def test_an_upgrade_of_sqlite_that_is_killed_is_done_or_not_begun(
    nursery: Nursery, tmp_path: Path, kills: int
) -> None:
    old = tmp_path / "old.db"
    old_database(f"sqlite:///{old}")
    shutil.copy(old, tmp_path / "timed.db")
    whole = time_of(nursery, job="open", url=f"sqlite:///{tmp_path / 'timed.db'}")
    chance, cut = random.Random(7), 0
    for number in range(kills):
        folder = tmp_path / str(number)
        folder.mkdir()
        url = f"sqlite:///{shutil.copy(old, folder / 'shelf.db')}"
        if kill_within(nursery, chance.uniform(0, whole), job="open", url=url):
            cut += 1
        else:
            # The machine may have been busier when it was timed.
            whole *= 0.8
        check_copies(folder)
        check_upgraded(url)
        assert check_copies(folder) >= 1
        shutil.rmtree(folder)
    assert cut >= kills // 2


@pytest.mark.parametrize("kills", [3, pytest.param(30, marks=LONG)])
def test_an_upgrade_of_postgresql_that_is_killed_is_done_or_not_begun(
    nursery: Nursery, postgres: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kills: int
) -> None:
    copies = tmp_path / "copies"
    monkeypatch.setenv("THEMEKIT_COPIES", str(copies))
    server = create_engine(make_url(postgres).set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT")
    name = f"themekit_old_{os.getpid()}"
    address = make_url(postgres).set(database=name).render_as_string(hide_password=False)

    def afresh() -> None:
        with server.connect() as connection:
            connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
            connection.execute(text(f"CREATE DATABASE {name}"))
        old_database(address)

    own = Nursery()  # one with the copies' folder in its environment
    try:
        afresh()
        whole = time_of(own, job="open", url=address)
        chance = random.Random(8)
        for _ in range(kills):
            afresh()
            kill_within(own, chance.uniform(0, whole), job="open", url=address)
            check_upgraded(address)
            assert check_copies(copies) >= 1
    finally:
        own.close()
        with server.connect() as connection:
            connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        server.dispose()


@pytest.mark.parametrize("job", ["backup", "restore"])
@pytest.mark.parametrize("kills", [3, pytest.param(30, marks=LONG)])
def test_backups_and_restores_that_are_killed_leave_whole_files(
    nursery: Nursery, tmp_path: Path, job: str, kills: int
) -> None:
    """A backup is there whole or not at all; what was to be restored over is as before or as the backup has it."""
    old = tmp_path / "old.db"
    old_database(f"sqlite:///{old}")
    chance = random.Random(9)
    whole = 0.0
    for number in range(kills + 1):
        folder = tmp_path / str(number)
        folder.mkdir()
        url = f"sqlite:///{folder / 'shelf.db'}"
        nursery.start(job="prepare", url=url)
        assert nursery.end() == 0
        file = folder / "kept.db" if job == "backup" else Path(shutil.copy(old, folder / "given.db"))
        order = {"job": job, "url": url, "file": str(file)}
        if number == 0:
            whole = time_of(nursery, **order)
            continue
        kill_within(nursery, chance.uniform(0, whole), **order)
        store = Store(url)
        assert store.faults() == []
        names = [shelf.name for shelf in store.shelves()]
        jars = store.list(SHELF, "jars")[1]
        assert (names, jars) in ((["Home"], 4), (["Home"], JARS))
        store.close()
        if job == "backup" and file.exists():
            with closing(sqlite3.connect(file)) as opened:
                assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                assert opened.execute("SELECT COUNT(*) FROM jars").fetchone() == (4,)
        for copy in folder.glob("shelf.before-restore-*.db"):
            with closing(sqlite3.connect(copy)) as opened:
                assert opened.execute("SELECT COUNT(*) FROM jars").fetchone() == (4,)
