"""The start files: what they check, what they make once, and that they can be run as they are."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[3]
START = ROOT / "api" / "start"


@pytest.fixture
def start() -> ModuleType:
    """start.py, which belongs to no package, so that any Python can run it alone."""
    spec = importlib.util.spec_from_file_location("themekit_start", START / "start.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_python_that_is_too_old_is_told_plainly(start: ModuleType) -> None:
    start.check_version((3, 11, 0))
    with pytest.raises(start.Stopped, match=r"needs Python 3\.11 or newer; this one is 3\.9\.6"):
        start.check_version((3, 9, 6))


def test_nothing_is_installed_twice_and_what_changed_is(
    start: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root, place = tmp_path / "root", tmp_path / "root" / ".venv"
    (root / ".ci").mkdir(parents=True)
    (root / ".ci" / "requirements.txt").write_text("a==1\n")
    (root / "pyproject.toml").write_text("[project]\n")
    ran: list[list[str]] = []

    def run(command: list[str], otherwise: str, surroundings: object = None) -> None:
        ran.append(command)
        if "venv" in command:
            python = start.python_in(place)
            python.parent.mkdir(parents=True)
            python.write_text("")

    monkeypatch.setattr(start, "_run", run)
    start.install(root, place)
    assert [("venv" in c, "-r" in c, "-e" in c) for c in ran] == [
        (True, False, False), (False, True, False), (False, False, True)
    ]  # fmt: skip
    start.install(root, place)
    assert len(ran) == 3, "a second start installs nothing"
    (root / ".ci" / "requirements.txt").write_text("a==2\n")
    start.install(root, place)
    assert len(ran) == 5, "other packages are installed into the environment that is there"


def test_an_installation_that_broke_off_goes_on_the_next_time(
    start: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(command: list[str], otherwise: str, surroundings: object = None) -> None:
        raise start.Stopped(otherwise)

    monkeypatch.setattr(start, "_run", broken)
    with pytest.raises(start.Stopped):
        start.install(tmp_path, tmp_path / ".venv")
    assert not start.installed(tmp_path / ".venv", start.wanted(tmp_path))


@pytest.mark.parametrize(("typed", "name"), [("", "demo"), ("my kitchen", "my kitchen")])
def test_the_first_start_asks_for_a_shelf_once(
    start: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, name: str
) -> None:
    monkeypatch.setenv("THEMEKIT_DATABASE", f"sqlite:///{tmp_path / 'x.db'}")
    monkeypatch.setattr("builtins.input", lambda _: typed)
    assert start.shelf_name(True) == name
    if typed:
        monkeypatch.setattr("builtins.input", lambda _: pytest.fail("asked again"))
        assert start.shelf_name(True) == name


class _Health(BaseHTTPRequestHandler):
    body = b""

    def do_GET(self) -> None:
        self.send_response(200)
        self.end_headers()
        self.wfile.write(self.body)

    def log_message(self, *_: object) -> None:
        pass


@pytest.mark.parametrize(
    ("body", "ours"), [(b'{"ready": true, "why": [], "version": "0"}', True), (b"<html>", False), (b"[]", False)]
)
def test_a_page_that_is_served_already_is_told_from_another_program(
    start: ModuleType, body: bytes, ours: bool
) -> None:
    server = HTTPServer(("127.0.0.1", 0), type("Answer", (_Health,), {"body": body}))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        assert start.answers(f"http://127.0.0.1:{server.server_port}") is ours
    finally:
        server.shutdown()
        server.server_close()
    assert not start.answers(f"http://127.0.0.1:{server.server_port}")


@pytest.mark.parametrize("name", ["start-linux.sh", "start-macos.command"])
def test_shell_files_can_be_run_and_are_plain_posix_shell(name: str) -> None:
    path = START / name
    assert os.access(path, os.X_OK)
    assert path.read_bytes().startswith(b"#!/bin/sh\n")
    assert b"\r" not in path.read_bytes()
    assert subprocess.run(["sh", "-n", path], check=False).returncode == 0


def test_without_python_the_linux_file_says_so(tmp_path: Path) -> None:
    for tool in ("sh", "dirname"):
        found = shutil.which(tool)
        assert found is not None
        (tmp_path / tool).symlink_to(found)
    done = subprocess.run(
        [tmp_path / "sh", START / "start-linux.sh"],
        env={"PATH": str(tmp_path)}, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert "needs Python 3.11 or newer, and none was found" in done.stdout


def test_the_windows_file_has_windows_lines_and_leads_to_start_py() -> None:
    data = (START / "start-windows.bat").read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n")
    assert data.isascii()
    assert b'%FOUND% "%~dp0start.py"' in data


@pytest.fixture
def fresh(tmp_path: Path) -> Path:
    """A copy of the project as someone unpacks it, in a folder with a space in its name."""
    copy = tmp_path / "my themekit"
    left_out = shutil.ignore_patterns(
        ".git", ".venv", "__pycache__", "*.egg-info", "build", ".*_cache", ".hypothesis"
    )
    shutil.copytree(ROOT, copy, ignore=left_out)
    return copy


def _begun(copy: Path, tmp_path: Path, database: str) -> subprocess.Popen[str]:
    browser = tmp_path / "browser.sh"
    browser.write_text(f'#!/bin/sh\necho "$1" >> "{tmp_path}/opened"\n')
    browser.chmod(0o755)
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("THEMEKIT_", "PYTHON", "COV"))}
    kept["PATH"] = os.pathsep.join(["/usr/local/bin", "/usr/bin", "/bin"])
    return subprocess.Popen(
        ["sh", copy / "api" / "start" / "start-linux.sh"],
        env={**kept, "BROWSER": f"{browser} %s", "THEMEKIT_DATABASE": database},
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


def _opened(tmp_path: Path, count: int, seconds: float) -> str:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        path = tmp_path / "opened"
        lines = path.read_text().split() if path.exists() else []
        if len(lines) >= count:
            return lines[-1]
        time.sleep(0.2)
    pytest.fail("The browser was not opened.")


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="the Linux file is meant")
def test_a_fresh_copy_starts_on_linux_and_nothing_is_made_twice(fresh: Path, tmp_path: Path) -> None:
    with socket.socket() as taken:
        # Another program may hold the usual port; then another one is taken.
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind(("127.0.0.1", 8017))
        database = f"sqlite:///{tmp_path / 'shelf.db'}"
        for count, seconds in ((1, 900), (2, 60)):
            begun = _begun(fresh, tmp_path, database)
            try:
                url = _opened(tmp_path, count, seconds)
                assert json.loads(_got(f"{url}/api/v1/health"))["ready"] is True
                assert "What is the kit for?" in _got(url)
            finally:
                os.killpg(begun.pid, signal.SIGTERM)
                begun.wait(20)
                assert begun.stdout is not None
                said = begun.stdout.read()
                begun.stdout.close()
            assert ("this happens once" in said) is (count == 1)


def _got(url: str) -> str:
    import urllib.request

    with urllib.request.urlopen(url, timeout=20) as answer:
        return str(answer.read().decode())
