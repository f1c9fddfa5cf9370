"""`themekit serve` killed while it answers: what it acknowledged is kept, what is asked again is done once."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import threading
from http.client import HTTPException
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import Request, urlopen

import pytest
from sqlalchemy import text

from catalog.stock import Stock
from catalog.store import Store

ROOT = Path(__file__).parents[2]


def serve(url: str) -> tuple[subprocess.Popen[str], str]:
    """The service as a program of its own, and its address."""
    program = subprocess.Popen(
        [sys.executable, "-m", "api.commands.main", "serve", "--port", "0", "--json"],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "THEMEKIT_DATABASE": url, "THEMEKIT_SHELF": "Home"},
    )
    assert program.stdout is not None
    return program, json.loads(program.stdout.readline())["url"]


def post(address: str, body: dict[str, Any], key: str) -> dict[str, Any]:
    """Enter a move; raises `OSError` when no whole answer comes."""
    headers = {"Content-Type": "application/json", "Idempotency-Key": key}
    sent = Request(f"{address}/api/v1/moves", json.dumps(body).encode(), headers)
    try:
        with urlopen(sent, timeout=60) as answer:
            made: dict[str, Any] = json.load(answer)
    except HTTPException as error:
        # Killed between the head of its answer and the rest.
        raise OSError("no whole answer") from error
    return made


@pytest.mark.parametrize("kills", [2, pytest.param(30, marks=pytest.mark.long)])
def test_a_service_that_is_killed_has_done_all_it_acknowledged_and_nothing_twice(
    tmp_path: Path, kills: int
) -> None:
    url = f"sqlite:///{tmp_path / 'shelf.db'}"
    store = Store(url)
    shelf = store.create_shelf("Home").id
    jar = {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}], "on_hand_g": 1000}
    store.create(shelf, "jars", jar)
    store.close()
    chance, number = random.Random(11), 0
    acknowledged: dict[str, dict[str, Any]] = {}
    cut_off: list[str] = []
    for _ in range(kills):
        program, address = serve(url)
        for key in cut_off:
            acknowledged[key] = post(address, {"jar": 1, "kind": "bought", "grams": 1, "note": key}, key)
        cut_off = []
        timer = threading.Timer(chance.uniform(0.02, 0.6), os.kill, (program.pid, signal.SIGKILL))
        timer.start()
        try:
            while True:
                number += 1
                key = f"k-{number}"
                acknowledged[key] = post(address, {"jar": 1, "kind": "bought", "grams": 1, "note": key}, key)
        except (OSError, URLError, ValueError):
            cut_off = [key]
        timer.join()
        program.communicate(timeout=60)
        assert program.returncode == -signal.SIGKILL
        again = Store(url)
        assert again.faults() == []
        assert Stock(again).balances(shelf) == []
        with again.reading() as session:
            noted = [row[0] for row in session.execute(text("SELECT note FROM moves WHERE note IS NOT NULL"))]
            kept = {row[0]: row[1] for row in session.execute(text("SELECT id, note FROM moves"))}
        assert len(noted) == len(set(noted))
        assert set(acknowledged) <= set(noted) <= {*acknowledged, *cut_off}
        assert all(kept[answer["id"]] == key for key, answer in acknowledged.items())
        again.close()
    assert len(acknowledged) > kills
