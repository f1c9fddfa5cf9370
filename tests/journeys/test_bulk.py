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

PROGRAM = (sys.executable, "-m", "api.commands.main")
THEMES = ("owl party in teal", "pirates", "night sky", "safari", "autumn leaves", "robots in blue")
#: Of each theme so many requests, enough that a run is in the middle of them for seconds.
TIMES = 12
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
def asked(tmp_path: Path) -> Path:
    """The requests."""
    path = tmp_path / "asked.jsonl"
    bodies = [{"shelf": "demo", "theme": THEMES[n % 6], "kits": 1 + n, "count": 1} for n in range(6 * TIMES)]
    path.write_text("".join(json.dumps(body) + "\n" for body in bodies))
    return path


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
    until = time.monotonic() + 120
    while not path.exists() or path.read_bytes().count(b"\n") < count:
        assert program.poll() is None, program.communicate()
        assert time.monotonic() < until, "no answers came"
        time.sleep(0.01)


def _check_whole(path: Path) -> None:
    """Every request has its answer, once."""
    answers = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    assert sorted(one["request"] for one in answers) == list(range(1, 6 * TIMES + 1))
    for one in answers:
        (idea,) = one["answer"]["ideas"]
        assert len(idea["palette"]["tints"]) == 3
        assert one["answer"]["theme"]["text"] == THEMES[(one["request"] - 1) % 6]


def test_a_worker_killed_in_the_middle_loses_and_repeats_nothing(start: Start, asked: Path) -> None:
    """SIGKILL while it works; another takes over, and every answer is there once."""
    answers = asked.with_name("answers.jsonl")
    program = start("bulk", asked, "--to", answers, "--workers", 2, "--json")
    _wait_for_answers(answers, 1, program)
    victim = _workers(program)[0]
    victim.send_signal(signal.SIGKILL)
    out, errors = program.communicate(timeout=300)
    assert program.returncode == 0, errors
    assert not psutil.pid_exists(victim.pid)
    told = json.loads(out)
    assert (told["requests"], told["answered"], told["failed"]) == (6 * TIMES, 6 * TIMES, [])
    _check_whole(answers)


def test_a_run_killed_in_the_middle_goes_on_where_it_stopped(start: Start, asked: Path) -> None:
    """SIGKILL of the run itself, and a torn last line on top; what was answered stays as it was."""
    answers = asked.with_name("answers.jsonl")
    program = start("bulk", asked, "--to", answers, "--workers", 1)
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
    assert 0 < before < 6 * TIMES
    answers.write_bytes(whole + b'{"request":99,"hash":"0123')
    again = start("bulk", asked, "--to", answers, "--workers", 2, "--json")
    out, errors = again.communicate(timeout=300)
    assert again.returncode == 0, errors
    told = json.loads(out)
    assert (told["before"], told["answered"]) == (before, 6 * TIMES - before)
    assert answers.read_bytes().startswith(whole)
    _check_whole(answers)
