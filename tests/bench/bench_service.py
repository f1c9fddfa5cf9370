"""The service under load: requests per second under waitress and gunicorn, and its resident memory.

Run: python tests/bench/bench_service.py

1, 16 and 64 clients ask for an empty route (whether it lives), for one jar and for an idea on the
demo shelf, of a real server with a real database: waitress over SQLite as `themekit serve`, and
gunicorn over PostgreSQL as the guide for contributors starts it, a token each request. Ratios are to
the empty route of the same server and number of clients. Server, database and clients share the
machine. Memory is that of all processes, also after many shelves were asked about.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from urllib.request import Request, urlopen

import psutil

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from databases import postgresql
from load import Asked, requests_per_second
from table import Row, main

from catalog.access import Access
from catalog.demo import create_demo
from catalog.store import Store

ROOT = Path(__file__).parents[2]
CLIENTS = (1, 16, 64)
IDEA = json.dumps({"theme": "owl party in teal", "count": 1}).encode()
WORKERS = 2


def rows(quick: bool) -> Iterator[Row]:
    """Both servers, each over its database."""
    shelves = 4 if quick else 120
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/shelf.db"
        filled(url, 1)
        port = free_port()
        command = ("api.commands.main", "serve", "--shelf", "demo", "--port", str(port), "--log", "errors")
        with running(command, {"THEMEKIT_DATABASE": url}, port) as (at, program):
            yield from loaded("waitress", at, None, quick)
            yield Row("resident memory, waitress", resident(program), "MB", target=600, size="1 shelf")
    with postgresql() as url, tempfile.TemporaryDirectory() as folder:
        tokens = filled(url, shelves)
        port = free_port()
        command = ("gunicorn", "-c", "python:api.gunicorn_settings", "-b", f"127.0.0.1:{port}")
        environment = {
            "THEMEKIT_DATABASE": url, "THEMEKIT_HOST": "0.0.0.0", "THEMEKIT_LOG": "errors",
            "WEB_CONCURRENCY": str(WORKERS), "TMPDIR": folder,
        }  # fmt: skip
        with running(command, environment, port) as (at, program):
            yield from loaded(f"gunicorn, {WORKERS} processes", at, tokens[0], quick)
            few = resident(program)
            yield Row("resident memory, gunicorn", few, "MB", size="1 shelf", note=f"{WORKERS} processes")
            for token in tokens:
                ask(at, token)
            many = resident(program)
            yield Row(
                "resident memory, gunicorn", many, "MB", "after 1 shelf", few, 3, "most", f"{shelves} shelves"
            )


def loaded(server: str, at: str, token: str | None, quick: bool) -> Iterator[Row]:
    """Requests per second of one server."""
    seconds = 0.2 if quick else 2.0
    for clients in CLIENTS[:2] if quick else CLIENTS:
        empty = requests_per_second(Asked(at, "/api/v1/health/alive"), clients, seconds)
        size = f"{clients} client{'s' * (clients > 1)}"
        yield Row(f"an empty route, {server}", empty, "a second", size=size)
        for what, path, body in (("one jar", "/api/v1/jars/1", None), ("an idea", "/api/v1/ideas", IDEA)):
            found = requests_per_second(Asked(at, path, body, token), clients, seconds)
            yield Row(f"{what}, {server}", found, "a second", "an empty route", empty, size=size)


def ask(at: str, token: str) -> None:
    """One idea for one shelf."""
    headers = {"Content-Type": "application/json", "Authorization": f"Bearer {token}"}
    with urlopen(Request(f"{at}/api/v1/ideas", IDEA, headers), timeout=120) as answer:
        answer.read()


def filled(url: str, shelves: int) -> list[str]:
    """The demo shelf and copies of it, so that there are so many; a token for each."""
    store = Store(url)
    demo = create_demo(store, date(2026, 11, 25))
    records, access = store.records(demo.id), Access(store)
    ids = [demo.id]
    ids += [store.create_shelf(f"kitchen {n}", records=records).id for n in range(1, shelves)]
    tokens = [access.new_token(id, "bench") for id in ids]
    store.close()
    return tokens


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


@contextmanager
def running(
    command: tuple[str, ...], environment: dict[str, str], port: int
) -> Iterator[tuple[str, psutil.Process]]:
    """A server until the end of the block: its address and its process."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("THEMEKIT_", "PROMETHEUS_"))}
    program = subprocess.Popen(
        [sys.executable, "-m", *command],
        env=kept | {"PYTHONPATH": str(ROOT)} | environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    at = f"http://127.0.0.1:{port}"
    try:
        until = time.monotonic() + 120
        while not ready(at):
            if program.poll() is not None or time.monotonic() > until:
                raise RuntimeError(f"{command[0]} does not start")
            time.sleep(0.1)
        yield at, psutil.Process(program.pid)
    finally:
        program.terminate()
        program.wait(60)


def ready(at: str) -> bool:
    """Whether a server answers that it is ready."""
    try:
        with urlopen(f"{at}/api/v1/health", timeout=30) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


def resident(program: psutil.Process) -> float:
    """Memory of a process and its children, MB: what is theirs alone, and shared pages once among them."""
    processes = [program, *program.children(recursive=True)]
    return sum(one.memory_full_info().pss for one in processes) / 1e6


if __name__ == "__main__":
    main(rows, __doc__)
