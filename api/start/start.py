"""Starts themekit for someone who has never made a Python environment; the files beside it call this one.

Begun with any Python of 3.11 or newer it makes .venv in themekit's folder, installs into it what is needed,
and goes on there: it finds or makes a shelf, serves the page on this computer alone and opens it in the
browser. What is there already is used again: a second start installs nothing and makes no second shelf, and
while the page is served already it is only opened.
"""

import hashlib
import json
import os
import signal
import subprocess
import sys
import urllib.request
import webbrowser
from pathlib import Path

NEEDED = (3, 11)
PORT = 8017
ROOT = Path(__file__).resolve().parents[2]
PLACE = ROOT / ".venv"
WHERE_FROM = "python.org/downloads"


class Stopped(Exception):
    """Something that she has to do herself; its words are all that is shown."""


def python_in(place: Path) -> Path:
    """The Python of an environment."""
    return place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def check_version(version: tuple[int, ...] = sys.version_info[:3]) -> None:
    """Raise `Stopped` for a Python that is too old."""
    if version[:2] < NEEDED:
        have, need = ".".join(map(str, version)), ".".join(map(str, NEEDED))
        raise Stopped(
            f"themekit needs Python {need} or newer; this one is {have}.\n"
            f"Get a newer one from {WHERE_FROM}, then start this file again."
        )


def wanted(root: Path = ROOT) -> str:
    """A sign of what has to be installed; it changes with the pinned packages and with the project's file."""
    kept = hashlib.sha256()
    for name in (".ci/requirements.txt", "pyproject.toml"):
        path = root / name
        kept.update(path.read_bytes() if path.exists() else b"")
    return kept.hexdigest()


def installed(place: Path, sign: str) -> bool:
    """Whether everything was installed to the end before."""
    done = place / "themekit-installed"
    return python_in(place).exists() and done.exists() and done.read_text("utf-8").strip() == sign


def install(root: Path = ROOT, place: Path = PLACE) -> None:
    """Make the environment where it is missing, and bring it up to date."""
    sign = wanted(root)
    if installed(place, sign):
        return
    print("Setting up; this happens once, takes some minutes and needs the internet.", flush=True)
    if not python_in(place).exists():
        _run([sys.executable, "-m", "venv", str(place)], "The environment could not be made." + _debian())
    # Without compiled modules every start would be slow.
    surroundings = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    pip = [str(python_in(place)), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    hint = (
        "The packages could not be installed. Is the internet there? Start this file again; it goes on from here."
    )
    pinned = root / ".ci/requirements.txt"
    if pinned.exists():
        _run([*pip, "-r", str(pinned)], hint, surroundings)
        _run([*pip, "--no-deps", "--no-build-isolation", "-e", str(root)], hint, surroundings)
    else:
        _run([*pip, "-e", str(root)], hint, surroundings)
    (place / "themekit-installed").write_text(sign, "utf-8")


def _debian() -> str:
    return "\nOn Debian and Ubuntu this helps: sudo apt install python3-venv" if sys.platform == "linux" else ""


def _run(command: list[str], otherwise: str, surroundings: dict[str, str] | None = None) -> None:
    if subprocess.run(command, env=surroundings, check=False).returncode != 0:
        raise Stopped(otherwise)


def answers(url: str) -> bool:
    """Whether themekit's page is served there already."""
    try:
        with urllib.request.urlopen(f"{url}/api/v1/health", timeout=2) as answer:
            return {"ready", "why", "version"} <= set(json.load(answer))
    except (OSError, ValueError, TypeError):
        return False


def shelf_name(ask: bool) -> str:
    """The shelf to open: the only one, her choice, or a new one; the invented one where nobody answers."""
    from catalog.store import DEMO, Store

    store = Store(os.environ.get("THEMEKIT_DATABASE"))
    try:
        names = [shelf.name for shelf in store.shelves()]
        if not names:
            print("\nWhat shall your shelf be called? Type a name and press Enter to begin with an empty shelf,")
            print("or press Enter alone to look at an invented shelf first.", flush=True)
            name = _typed(ask)
            if name and name.casefold() != DEMO:
                store.create_shelf(name)
            return name or DEMO
        if len(names) == 1:
            return names[0]
        for number, name in enumerate(names, 1):
            print(f"  {number}  {name}")
        print("Which shelf? Type its number and press Enter; Enter alone takes the first.", flush=True)
        typed = _typed(ask)
        return names[int(typed) - 1] if typed.isdigit() and 0 < int(typed) <= len(names) else names[0]
    finally:
        store.close()


def _typed(ask: bool) -> str:
    try:
        return input("> ").strip() if ask else ""
    except EOFError:
        return ""


def serve(name: str) -> int:
    """Serve the page and open it once it answers; comes back when it is stopped."""
    url = f"http://127.0.0.1:{PORT}"
    if answers(url):
        print(f"The page is open already at {url}.", flush=True)
        webbrowser.open(url)
        return 0
    command = [sys.executable, "-m", "api.commands.main", "serve", "--shelf", name, "--json", "--log", "errors"]
    for port in (PORT, 0):
        with subprocess.Popen([*command, "--port", str(port)], cwd=ROOT, stdout=subprocess.PIPE) as server:
            assert server.stdout is not None
            line = server.stdout.readline()
            if line:
                url = json.loads(line)["url"]
                print(
                    f"\nThe page is at {url}. Keep this window open while you work; close it to stop.", flush=True
                )
                webbrowser.open(url)
                # Whoever ends this ends the server too.
                signal.signal(signal.SIGTERM, lambda *_: server.terminate())
                try:
                    return server.wait()
                except KeyboardInterrupt:
                    server.terminate()
                    return 0
        # The usual port may be another program's.
    raise Stopped("The page could not be served; what is wrong stands above.")


def main() -> int:
    """One start, from any Python to the open page."""
    try:
        check_version()
        if "--inside" in sys.argv:
            return serve(shelf_name(sys.stdin is not None and sys.stdin.isatty()))
        install()
        inside = [str(python_in(PLACE)), str(Path(__file__).resolve()), "--inside"]
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
        if os.name != "nt":
            # One process less to stop. On Windows this would let go of the window.
            os.execve(inside[0], inside, surroundings)
        return subprocess.run(inside, cwd=ROOT, check=False, env=surroundings).returncode
    except Stopped as stopped:
        print(f"\n{stopped}", file=sys.stderr, flush=True)
        return 1
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
