"""Many bakers: several processes of gunicorn over one PostgreSQL, each request's shelf by its token."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from catalog.access import Access
from catalog.demo import create_demo
from catalog.stock import Stock
from catalog.store import Store

SHELVES, WORKERS = 3, 2


@pytest.fixture(scope="module")
def database(new_postgresql: Callable[[], AbstractContextManager[str]]) -> Iterator[str]:
    """A database that all tests of this file share."""
    with new_postgresql() as address:
        yield address


@pytest.fixture(scope="module")
def tokens(database: str) -> list[str]:
    """Shelves of several bakers, and a token of each."""
    store = Store(database)
    records = store.records(create_demo(store, date(2026, 11, 25)).id)
    access = Access(store)
    made = []
    for number in range(1, SHELVES + 1):
        shelf = store.create_shelf(f"kitchen {number}", records=records)
        made.append(access.new_token(shelf.id, "test"))
    store.close()
    return made


@pytest.fixture(scope="module")
def served(
    database: str, tokens: list[str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[str, Path]]:
    """The address of the service, and its log."""
    folder = tmp_path_factory.mktemp("gunicorn")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("THEMEKIT_", "PROMETHEUS_"))}
    environment = kept | {
        "THEMEKIT_DATABASE": database,
        "THEMEKIT_HOST": "0.0.0.0",
        "WEB_CONCURRENCY": str(WORKERS),
        "TMPDIR": str(folder),
    }
    log = folder / "log"
    command = [sys.executable, "-m", "gunicorn", "-c", "python:api.gunicorn_settings", "-b", f"127.0.0.1:{port}"]
    with log.open("wb") as out:
        program = subprocess.Popen(command, env=environment, stdout=out, stderr=out)
    url = f"http://127.0.0.1:{port}"
    try:
        until = time.monotonic() + 120
        while ask(url, "/api/v1/health")[0] != 200:
            assert program.poll() is None, log.read_text()
            assert time.monotonic() < until, log.read_text()
            time.sleep(0.05)
        yield url, log
    finally:
        program.send_signal(signal.SIGTERM)
        program.wait(60)
    assert list(folder.glob("themekit-*")) == []


def ask(url: str, path: str, token: str | None = None, body: Any = None) -> tuple[int, Any]:
    """Status and body of an answer; 0 where there is none."""
    headers = {"Content-Type": "application/json"} | ({"Authorization": f"Bearer {token}"} if token else {})
    sent = Request(url + path, None if body is None else json.dumps(body).encode(), headers)
    try:
        with urlopen(sent, timeout=120) as answer:
            text = answer.read().decode()
            return answer.status, json.loads(text) if answer.headers.get_content_type().endswith("json") else text
    except HTTPError as error:
        return error.code, json.loads(error.read())
    except OSError:
        return 0, None


def test_each_token_has_its_own_shelf(served: tuple[str, Path], tokens: list[str]) -> None:
    """On whichever process a request ends up; without a token nobody has any."""
    url, _ = served
    for number, token in enumerate(tokens, start=1):
        for _ in range(2 * WORKERS):
            status, shelf = ask(url, "/api/v1/shelf", token)
            assert (status, shelf["name"]) == (200, f"kitchen {number}")
    assert ask(url, "/api/v1/shelf")[0] == 401
    status, answer = ask(url, "/api/v1/ideas", tokens[0], {"theme": "owl party in teal", "count": 1})
    assert (status, len(answer["ideas"])) == (200, 1)


def test_processes_share_what_is_kept(served: tuple[str, Path], tokens: list[str], database: str) -> None:
    """Promises of one shelf from many sides add up, and every process sees them at once."""
    url, _ = served
    jar = ask(url, "/api/v1/jars?page_size=1", tokens[0])[1]["items"][0]
    bought = 40
    with ThreadPoolExecutor(8) as threads:
        body = {"kind": "bought", "jar": jar["id"], "grams": 1}
        moves = list(threads.map(lambda _: ask(url, "/api/v1/moves", tokens[0], body), range(bought)))
    assert {status for status, _ in moves} == {201}, moves[0]
    for _ in range(3 * WORKERS):
        now = ask(url, f"/api/v1/jars/{jar['id']}", tokens[0])[1]
        assert now["on_hand_g"] == pytest.approx((jar["on_hand_g"] or 0) + bought)
    store = Store(database)
    assert [Stock(store).balances(shelf.id) for shelf in store.shelves()] == [[]] * (SHELVES + 1)
    store.close()


def test_what_answered_a_form_is_shown_again_by_every_process(served: tuple[str, Path], tokens: list[str]) -> None:
    url, _ = served
    headers = {"Authorization": f"Bearer {tokens[0]}", "Accept": "text/html"}
    sent = Request(f"{url}/orders", b"customer=the+sundial+society&total=eighty", headers)
    with urlopen(sent, timeout=120) as answer:
        led = answer.url
    assert "answer=" in led
    for _ in range(3 * WORKERS):
        with urlopen(Request(led, headers=headers), timeout=120) as answer:
            assert "the sundial society" in answer.read().decode()
    other = headers | {"Authorization": f"Bearer {tokens[1]}"}
    with pytest.raises(HTTPError) as gone:
        urlopen(Request(led, headers=other), timeout=120)
    with gone.value as answer:
        assert (answer.code, "sundial" in answer.read().decode()) == (410, False)


def test_metrics_are_of_all_processes(served: tuple[str, Path], tokens: list[str]) -> None:
    """Every request is counted once, whoever answered it; the log names who did what by shelf and route."""
    url, log = served

    def counted() -> float:
        status, told = ask(url, "/api/v1/metrics", tokens[0])
        assert status == 200
        found = re.findall(r'^themekit_requests_total\{.*route="/api/v1/cutters".*\} (\S+)$', told, re.MULTILINE)
        return sum(float(one) for one in found)

    before = counted()
    for _ in range(10):
        ask(url, "/api/v1/cutters", tokens[1])
    assert [counted() - before for _ in range(2 * WORKERS)] == [10] * (2 * WORKERS)
    lines = [json.loads(line) for line in log.read_text().splitlines() if line.startswith("{")]
    shelves = {line["shelf"] for line in lines if line.get("route") == "/api/v1/cutters"}
    assert len(shelves) == 1
    assert "kitchen" not in log.read_text()


def test_tries_at_signing_in_are_counted_for_all_processes(served: tuple[str, Path]) -> None:
    """Five a minute and no more, whichever process was asked."""
    url, _ = served

    def tried(_: int) -> int:
        sent = Request(f"{url}/sign-in", b"shelf=kitchen+1&passphrase=wrong")
        try:
            with urlopen(sent, timeout=120) as answer:
                return int(answer.status)
        except HTTPError as error:
            return error.code

    with ThreadPoolExecutor(6) as threads:
        answers = sorted(threads.map(tried, range(6 * WORKERS)))
    assert answers == [403] * 5 + [429] * (6 * WORKERS - 5)
