"""Whole uses of the command line, each as a program of its own with all built-in knowledge."""

from __future__ import annotations

import json
import os
import re
import shlex
import signal
import subprocess
import sys
from pathlib import Path
from urllib.request import urlopen

import pytest

PROGRAM = (sys.executable, "-m", "api.commands.main")
#: What a question on a database that is up to date has no use for.
HEAVY = ("pandas", "scipy", "sklearn", "colour", "flask", "flask_smorest", "marshmallow", "alembic", "waitress")


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database with the demo shelf, made by its first use."""
    url = f"sqlite:///{tmp_path_factory.mktemp('shelf') / 'shelf.db'}"
    made = _run(url, "ideas", "owl party", "--shelf", "demo", "--count", "1")
    assert made.returncode == 0, made.stderr.decode()
    return url


def _environment(url: str, **more: str) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith("THEMEKIT_")}
    return kept | {"THEMEKIT_DATABASE": url, **more}


def _run(url: str, *arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*PROGRAM, *arguments],
        env=_environment(url, **environment),
        capture_output=True,
        timeout=120,
        check=False,
    )


def test_a_theme_is_answered(database: str) -> None:
    """Colours, jars and cutters for a phrase, and the same as JSON."""
    plain = _run(database, "ideas", "pirate ship birthday in teal and gold", "--kits", "3")
    assert (plain.returncode, plain.stderr) == (0, b"")
    told = plain.stdout.decode("utf-8")
    assert told.startswith("Ideas from the shelf demo, for 3 kits of 8 cookies\n")
    assert "teal" in told.split("Idea 1: ")[1].splitlines()[0]
    answer = json.loads(_run(database, "ideas", "pirate ship birthday in teal and gold", "--json").stdout)
    assert [len(idea["palette"]["tints"]) for idea in answer["ideas"]] == [3] * len(answer["ideas"])
    assert any("ship" in cutter["name"] for cutter in answer["ideas"][0]["cutters"])


def test_the_readme_shows_what_its_first_command_prints(database: str) -> None:
    """To the letter, as far as it is shown: on a terminal of 80 columns."""
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    command = re.search(r"\.venv/bin/themekit (ideas .+)", readme)
    sample = re.search(r"```text\n(.+?)\n\nIdea 2: …\n```", readme, re.DOTALL)
    assert command
    assert sample
    done = _run(database, *shlex.split(command[1]), COLUMNS="80")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode("utf-8").split("\n\nIdea 2: ")[0] == sample[1]


def test_a_phrase_without_meaning_is_refused(database: str) -> None:
    """Exit code 2, colours are asked for, and nothing goes to stdout."""
    done = _run(database, "ideas", "qzx vrrk")
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"Name two or three colours" in b" ".join(done.stderr.split())


@pytest.mark.parametrize(("encoding", "told"), [("latin-1", "?owl?"), ("ascii", "“owl”"), ("utf-8", "“owl”")])
def test_a_terminal_that_lacks_signs_gets_others(database: str, encoding: str, told: str) -> None:
    """Never a crash; an ASCII terminal is taken for one that was not set up, and gets UTF-8, as JSON does."""
    text = "owl 梟 no nuts"
    done = _run(database, "theme", text, PYTHONIOENCODING=encoding)
    assert (done.returncode, done.stderr) == (0, b"")
    assert told.encode() in done.stdout
    as_json = _run(database, "theme", text, "--json", PYTHONIOENCODING=encoding)
    assert json.loads(as_json.stdout.decode("utf-8"))["text"] == text


@pytest.mark.parametrize("arguments", [["ideas", "owl"], ["idle", "--json"], ["idle", "--json", "--days", "0"]])
def test_a_reader_that_has_gone_is_no_trouble(database: str, arguments: list[str]) -> None:
    """As with `themekit ideas … | head -1`: quiet, and no traceback."""
    program = subprocess.Popen(
        [*PROGRAM, *arguments], env=_environment(database), stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert program.stdout is not None
    assert program.stderr is not None
    program.stdout.close()
    told = program.stderr.read()
    program.stderr.close()
    assert program.wait(60) == 1
    assert told == b""


def test_a_question_imports_only_what_it_needs(database: str) -> None:
    """Cold, on a database that is up to date."""
    script = (
        "import sys\n"
        "from api.commands.main import run\n"
        "assert run(['ideas', 'owl party', '--count', '1']) == 0\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], env=_environment(database), capture_output=True, timeout=120, check=True
    )
    assert done.stderr.decode().strip() == "[]"


def test_the_doctor_finds_all_in_order(database: str) -> None:
    """With all built-in knowledge; a database that is none is exit code 1."""
    done = _run(database, "doctor")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"All in order.")
    done = _run(f"{database}/no.db", "doctor")
    assert (done.returncode, done.stdout.splitlines()[0]) == (1, b"Something is out of order:")


def test_help_needs_next_to_nothing() -> None:
    """Neither NumPy nor the database."""
    script = (
        "import sys\nfrom api.commands.main import run\nassert run(['ideas', '--help']) == 0\n"
        "print('numpy' in sys.modules or 'sqlalchemy' in sys.modules, file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, timeout=60, check=True)
    assert done.stderr.decode().strip() == "False"


def test_the_service_is_served_until_it_is_stopped(database: str) -> None:
    """A free port is taken and printed, health answers over HTTP, and SIGTERM ends it in order."""
    program = subprocess.Popen(
        [*PROGRAM, "serve", "--port", "0"],
        env=_environment(database),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    try:
        assert program.stdout is not None
        told = program.stdout.readline().decode()
        url = next(word for word in told.split() if word.startswith("http://127.0.0.1:"))
        with urlopen(f"{url}/api/v1/health", timeout=60) as answer:
            assert answer.status == 200
            assert json.load(answer)["ready"] is True
        port = url.split(":")[2].split("/")[0]
        taken = _run(database, "serve", "--port", port)
        assert taken.returncode == 2
        assert b"--port (port): got " + port.encode() in taken.stderr
        program.send_signal(signal.SIGTERM)
        assert program.wait(20) == 0
    finally:
        program.kill()
        _, errors = program.communicate()
    line = json.loads(errors)
    assert (line["event"], line["route"], line["status"]) == ("request", "/api/v1/health", 200)


def test_a_shelf_of_her_own(tmp_path: Path) -> None:
    """From a spreadsheet to ideas: German separators and all, on a new machine."""
    url = f"sqlite:///{tmp_path / 'own.db'}"
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    (sheets / "jars.csv").write_bytes(
        "\ufeffname;kind;colours;on_hand_g\r\nMeergrün;nonpareils;#3aa6a0;120,5\r\n"
        "Gold;sanding sugar;#d9a93b;80\r\nSchnee;jimmies;#ffffff;\r\nHerbst;confetti;#b5541c;45\r\n".encode()
    )
    (sheets / "gels.csv").write_text("name,swatch,dose_g_per_100g\nteal,#1f8a8a,1\nrust,#a8451c,1\n", "utf-8")
    done = _run(url, "import", str(sheets), "--json")
    assert json.loads(done.stdout)["rows"]["jars"] == {"created": 4, "changed": 0, "kept": 0}, done.stderr
    done = _run(url, "ideas", "autumn sea in teal", "--json", "--count", "1")
    (idea,) = json.loads(done.stdout)["ideas"]
    assert {"Meergrün"} <= {jar["name"] for jar in idea["trio"]["jars"]}
    assert idea["cutters"] == []
    assert "no cutters on the shelf" in " ".join(_run(url, "ideas", "autumn sea in teal").stdout.decode().split())
