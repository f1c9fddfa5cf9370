"""The built wheel, installed apart from the checkout: everything that it needs is in it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import sysconfig
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("themekit", "catalog", "api")
Done = subprocess.CompletedProcess[str]


def _program(*command: str | Path, cwd: Path, environment: dict[str, str]) -> Done:
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-4000:]
    return done


@pytest.fixture(scope="session")
def outside() -> dict[str, str]:
    """An environment that knows nothing of the checkout."""
    return {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "THEMEKIT_", "VIRTUAL_ENV"))}


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory, outside: dict[str, str]) -> Path:
    """The wheel, built from a copy so that the checkout stays as it is."""
    source = tmp_path_factory.mktemp("source")
    for room in ROOMS:
        shutil.copytree(ROOT / room, source / room, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    _program(sys.executable, "-m", "build", "--wheel", "--no-isolation", cwd=source, environment=outside)
    (built,) = (source / "dist").iterdir()
    return built


@pytest.fixture(scope="session")
def installed(tmp_path_factory: pytest.TempPathFactory, wheel: Path, outside: dict[str, str]) -> Path:
    """A virtual environment with the wheel in it, beside the libraries of the running one."""
    home = tmp_path_factory.mktemp("installed")
    _program(sys.executable, "-m", "venv", home, cwd=home, environment=outside)
    python = home / "bin" / "python"
    where = _program(
        python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=home, environment=outside
    )
    # A plain path; an editable install beside those libraries is not followed from here.
    (Path(where.stdout.strip()) / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n")
    _program(python, "-m", "pip", "install", "--no-deps", "--no-index", wheel, cwd=home, environment=outside)
    return home


@pytest.fixture(scope="module")
def themekit(
    tmp_path_factory: pytest.TempPathFactory, installed: Path, outside: dict[str, str]
) -> Callable[..., subprocess.Popen[str]]:
    """Start the installed command in a folder of its own, on a database of its own."""
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    environment = outside | {"THEMEKIT_DATABASE": f"sqlite:///{elsewhere / 'shelf.db'}"}

    def start(*arguments: str) -> subprocess.Popen[str]:
        command = [str(installed / "bin" / "themekit"), *arguments]
        pipe = subprocess.PIPE
        return subprocess.Popen(command, cwd=elsewhere, env=environment, stdout=pipe, stderr=pipe, text=True)

    return start


@pytest.fixture(scope="module")
def run(themekit: Callable[..., subprocess.Popen[str]]) -> Callable[..., str]:
    """What an installed command prints, once it has ended well."""

    def done(*arguments: str, code: int = 0) -> str:
        program = themekit(*arguments)
        out, errors = program.communicate(timeout=300)
        assert program.returncode == code, out[-2000:] + errors[-4000:]
        return out

    return done


@pytest.fixture(scope="module")
def served(themekit: Callable[..., subprocess.Popen[str]], run: Callable[..., str]) -> Iterator[str]:
    """The address of the installed service, with one batch kept."""
    run("batch", "make", "owl party in teal", "--kits", "4", "--shelf", "demo")
    program = themekit("serve", "--port", "0", "--shelf", "demo", "--json", "--log", "errors")
    assert program.stdout is not None
    try:
        yield json.loads(program.stdout.readline())["url"]
    finally:
        program.send_signal(signal.SIGTERM)
        _, errors = program.communicate(timeout=60)
    assert errors == ""


def test_every_file_of_the_rooms_is_in_the_wheel(wheel: Path) -> None:
    """Tables, vectors, fonts, templates, style and script, steps; no tests, nor what starts a checkout."""
    packed = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    kept = {
        path.relative_to(ROOT).as_posix()
        for room in ROOMS
        for path in (ROOT / room).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and not _starts_a_checkout(path)
    }
    assert packed == kept
    assert "catalog/lexicon/vectors/vectors.npy" in packed


def _starts_a_checkout(path: Path) -> bool:
    return path.is_relative_to(ROOT / "api" / "start") and path.suffix != ".py"


def test_the_installed_modules_are_those_that_run(installed: Path, outside: dict[str, str]) -> None:
    """Not the checkout's, however the running interpreter knows that."""
    code = "import api, catalog, themekit; print(api.__file__, catalog.__file__, themekit.__file__)"
    done = _program(installed / "bin" / "python", "-c", code, cwd=installed, environment=outside)
    assert all(Path(file).is_relative_to(installed) for file in done.stdout.split())


def test_a_theme_is_answered(run: Callable[..., str]) -> None:
    """By words and by meaning, on the demo shelf, whose tables are in the wheel too."""
    answer = json.loads(run("ideas", "pirate ship birthday in teal and gold", "--shelf", "demo", "--json"))
    assert len(answer["ideas"]) == 5
    read = json.loads(run("theme", "lighthouse keeper", "--shelf", "demo", "--json"))
    assert read["anchors"]


def test_the_service_has_its_page_prints_and_themes(served: str) -> None:
    """Templates, static files, documentation, fonts and typesetting, tables."""

    def get(path: str) -> tuple[str, bytes]:
        with urlopen(f"{served}{path}", timeout=120) as answer:
            return answer.headers.get_content_type(), answer.read()

    kind, page = get("/?theme=owl+party+in+teal")
    assert kind == "text/html"
    assert b"<svg" in page
    for place in ("/shelf", "/idle", "/season", "/orders", "/week", "/api/v1/docs"):
        assert get(place)[0] == "text/html"
    for file in ("/static/page.css", "/static/page.js"):
        assert len(get(file)[1]) > 500
    kind, label = get("/api/v1/batches/1/label.pdf")
    assert (kind, label[:5]) == ("application/pdf", b"%PDF-")
    assert b"lantern night" in get("/api/v1/themes")[1]
    body = json.dumps({"theme": "owls in teal"}).encode()
    asked = Request(f"{served}/api/v1/ideas", body, {"Content-Type": "application/json"})
    with urlopen(asked, timeout=120) as answer:
        assert len(json.load(answer)["ideas"]) == 5
    assert json.loads(get("/api/v1/health")[1])["ready"] is True


def test_the_doctor_compares_with_what_was_installed(run: Callable[..., str], installed: Path) -> None:
    """By the installer's own list; a table that was changed since is named."""
    assert "every file as installed" in " ".join(run("doctor").split())
    (table,) = installed.glob("lib/*/site-packages/catalog/lexicon/things.csv")
    whole = table.read_bytes()
    try:
        table.write_bytes(whole.replace(b"owl", b"oul"))
        assert "not as installed: things.csv" in " ".join(run("doctor", code=1).split())
    finally:
        table.write_bytes(whole)
