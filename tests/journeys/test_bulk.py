"""Bulk runs as programs: workers and whole runs killed in the middle lose nothing and repeat nothing."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

from api.bulk.running import cluster

PROGRAM = (sys.executable, "-m", "api.commands.main")
THEMES = ("owl party in teal", "pirates", "night sky", "safari", "autumn leaves", "robots in blue")
#: Of each theme so many requests, enough that a run is in the middle of them for a while.
TIMES = 10
Start = Callable[..., "subprocess.Popen[bytes]"]


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database with the demo shelf."""
    url = f"sqlite:///{tmp_path_factory.mktemp('bulk') / 'shelf.db'}"
    environment = os.environ | {"THEMEKIT_DATABASE": url}
    subprocess.run(
        [*PROGRAM, "ideas", "owl", "--shelf", "demo", "--count", "1"],
        env=environment,
        capture_output=True,
        check=True,
    )
    return url


@pytest.fixture
def asked(tmp_path: Path) -> Callable[[int], Path]:
    """A file of so many requests."""

    def written(count: int) -> Path:
        path = tmp_path / "asked.jsonl"
        bodies = [{"shelf": "demo", "theme": THEMES[n % 6], "kits": 1 + n % 99, "count": 1} for n in range(count)]
        path.write_text("".join(json.dumps(body) + "\n" for body in bodies))
        return path

    return written


@pytest.fixture
def start(database: str) -> Iterator[Start]:
    """Start a command line; whatever still runs at the end is stopped."""
    started: list[subprocess.Popen[bytes]] = []

    def run(*arguments: object) -> subprocess.Popen[bytes]:
        environment = os.environ | {"THEMEKIT_DATABASE": database}
        command = [*PROGRAM, *(str(a) for a in arguments)]
        program = subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        started.append(program)
        return program

    yield run
    for program in started:
        for process in _children(program):
            process.kill()
        program.kill()
        program.communicate()


def _children(program: subprocess.Popen[bytes]) -> list[psutil.Process]:
    try:
        return psutil.Process(program.pid).children(recursive=True)
    except psutil.NoSuchProcess:
        return []


def _workers(program: subprocess.Popen[bytes]) -> list[psutil.Process]:
    return [p for p in _children(program) if "spawn_main" in " ".join(p.cmdline())]


def _wait_for_answers(path: Path, count: int, program: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 600
    while not path.exists() or path.read_bytes().count(b"\n") < count:
        assert program.poll() is None, program.communicate()
        assert time.monotonic() < until, "no answers came"
        time.sleep(0.01)


def _check_whole(path: Path, count: int) -> None:
    """Every request has its answer, once."""
    answers = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    assert sorted(one["request"] for one in answers) == list(range(1, count + 1))
    for one in answers:
        (idea,) = one["answer"]["ideas"]
        assert len(idea["palette"]["tints"]) == 3
        assert one["answer"]["theme"]["text"] == THEMES[(one["request"] - 1) % 6]


@pytest.mark.parametrize("kills", [1, pytest.param(4, marks=pytest.mark.long)])
def test_workers_killed_in_the_middle_lose_and_repeat_nothing(
    start: Start, asked: Callable[[int], Path], kills: int
) -> None:
    """SIGKILL while they work; others take over, and every answer is there once."""
    count = 6 * TIMES * kills
    file = asked(count)
    answers = file.with_name("answers.jsonl")
    program = start("bulk", file, "--to", answers, "--workers", 2, "--json")
    for kill in range(kills):
        _wait_for_answers(answers, 1 + kill * (count - 2 * 20) // kills, program)
        alive = _workers(program)
        alive[kill % len(alive)].send_signal(signal.SIGKILL)
    out, errors = program.communicate(timeout=600)
    assert program.returncode == 0, errors
    told = json.loads(out)
    assert (told["requests"], told["answered"], told["failed"]) == (count, count, [])
    _check_whole(answers, count)


@pytest.mark.long
def test_a_run_killed_in_the_middle_goes_on_where_it_stopped(start: Start, asked: Callable[[int], Path]) -> None:
    """SIGKILL of the run itself, and a torn last line on top; what was answered stays as it was."""
    count = 6 * TIMES
    file = asked(count)
    answers = file.with_name("answers.jsonl")
    program = start("bulk", file, "--to", answers, "--workers", 1)
    _wait_for_answers(answers, 1, program)
    children = _children(program)
    program.kill()
    program.communicate()
    # Workers see that their run has gone, and end by themselves.
    _, alive = psutil.wait_procs(children, timeout=60)
    assert alive == []
    kept = answers.read_bytes()
    whole = kept[: kept.rindex(b"\n") + 1]
    before = whole.count(b"\n")
    assert 0 < before < count
    answers.write_bytes(whole + b'{"request":99,"hash":"0123')
    again = start("bulk", file, "--to", answers, "--workers", 2, "--json")
    out, errors = again.communicate(timeout=300)
    assert again.returncode == 0, errors
    told = json.loads(out)
    assert (told["before"], told["answered"]) == (before, count - before)
    assert answers.read_bytes().startswith(whole)
    _check_whole(answers, count)


def test_workers_keep_no_samples_of_what_they_do() -> None:
    """They would keep an hour of them, some hundred megabytes, which grow while shelves come and go."""
    with cluster(None, 1) as client:
        for running in client.run(lambda dask_worker: sorted(dask_worker.periodic_callbacks)).values():
            assert "heartbeat" in running
            assert [name for name in running if name.startswith("profile")] == []
