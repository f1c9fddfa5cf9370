"""A small load: so many clients, each with a connection of its own, asking one thing again and again."""

from __future__ import annotations

import http.client
import multiprocessing
import threading
import time
from dataclasses import dataclass
from urllib.parse import urlsplit


@dataclass(frozen=True)
class Asked:
    """What every client asks."""

    url: str
    path: str
    body: bytes | None = None
    token: str | None = None


def requests_per_second(asked: Asked, clients: int, seconds: float) -> float:
    """Answers a second over all clients, all of them good. Raises `RuntimeError` at the first that is not.

    The clients are threads of a process apart, so that the driver is not in the way of what is measured.
    """
    context = multiprocessing.get_context("spawn")
    mine, its = context.Pipe()
    process = context.Process(target=_drive, args=(asked, clients, seconds, its), daemon=True)
    process.start()
    its.close()
    try:
        found = mine.recv()
    except EOFError:
        found = "the driver ended"
    process.join()
    if isinstance(found, str):
        raise RuntimeError(found)
    return float(found)


def _drive(asked: Asked, clients: int, seconds: float, back: multiprocessing.connection.Connection) -> None:
    counts, wrong = [0] * clients, []
    start = threading.Barrier(clients + 1)
    until = [0.0]

    def client(number: int) -> None:
        parts = urlsplit(asked.url)
        connection = http.client.HTTPConnection(parts.hostname, parts.port, timeout=120)
        headers = {"Content-Type": "application/json"} if asked.body else {}
        headers |= {"Authorization": f"Bearer {asked.token}"} if asked.token else {}
        method = "POST" if asked.body else "GET"
        start.wait()
        try:
            while time.monotonic() < until[0] or not counts[number]:
                connection.request(method, asked.path, asked.body, headers)
                answer = connection.getresponse()
                answer.read()
                if answer.status != 200:
                    raise RuntimeError(f"{asked.path}: status {answer.status}")
                counts[number] += 1
        except Exception as error:
            wrong.append(f"{type(error).__name__}: {error}")
        connection.close()

    threads = [threading.Thread(target=client, args=(n,)) for n in range(clients)]
    for thread in threads:
        thread.start()
    until[0] = time.monotonic() + seconds
    began = time.monotonic()
    start.wait()
    for thread in threads:
        thread.join()
    back.send(wrong[0] if wrong else sum(counts) / (time.monotonic() - began))
