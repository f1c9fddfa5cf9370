"""Disks, files and locks that fail: a clear message with what to do, nothing lost, no restart needed.

A full disk is a small memory file system where the tests may mount one, and everywhere a
limit on the size of files (RLIMIT_FSIZE) as a stand-in for it.
"""

from __future__ import annotations

import json
import os
import re
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.commands.main import run
from catalog import copying, engine
from catalog.stock import Stock
from catalog.store import Store

ROOT = Path(__file__).parents[2]
JAR = {"name": "w", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}], "on_hand_g": 100}


def made(folder: Path) -> Path:
    """A database with a shelf and a jar, closed."""
    file = folder / "shelf.db"
    store = Store(f"sqlite:///{file}")
    store.create(store.create_shelf("Home").id, "jars", JAR)
    store.close()
    return file


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[Path, Store, FlaskClient]]:
    """A database that is being served: its file, its store, a client."""
    file = made(tmp_path)
    store = Store(f"sqlite:///{file}")
    client = create_app(store).test_client()
    assert client.get("/api/v1/jars").get_json()["total"] == 1
    yield file, store, client
    store.close()


def buy(client: FlaskClient, note: str = "x") -> Any:
    return client.post("/api/v1/moves", json={"jar": 1, "kind": "bought", "grams": 1, "note": note})


def told(answer: Any, message: str) -> None:
    """503 in the one shape, with the message and what to do."""
    assert answer.status_code == 503, answer.text
    error = answer.get_json()["error"]
    assert error["code"] == "store_unusable"
    assert message in error["message"]
    (problem,) = error["problems"]
    assert problem["field"] == "database"
    assert problem["allowed"]
    assert problem["hint"]
    assert "Traceback" not in answer.text


def told_on_page(client: FlaskClient, message: str) -> None:
    """The same as a plain page."""
    for address in ("/", "/shelf", "/orders", "/no such place"):
        page = client.get(address)
        assert page.status_code == 503, address
        assert page.mimetype == "text/html"
        assert message in page.text
        assert "default-src 'none'" in page.headers["Content-Security-Policy"]


def told_in_terminal(capsys: pytest.CaptureFixture[str], message: str, *arguments: str) -> None:
    """Exit code 2, the message and a hint; as JSON the one shape."""
    capsys.readouterr()
    assert run([*arguments, "--json"]) == 2
    out = capsys.readouterr()
    error = json.loads(out.out)["error"]
    assert message in error["message"]
    assert all(problem["hint"] for problem in error["problems"])
    assert message.split()[0] in out.err
    assert "Traceback" not in out.err


def sound(store: Store, moves: int) -> None:
    assert store.faults() == []
    assert Stock(store).balances(1) == []
    assert Stock(store).moves(1)[1] == moves


def _limit(folder: Path) -> tuple[Callable[[], None], Callable[[], None]]:
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)

    def fill(for_new_files: bool = False) -> None:
        most = max(file.stat().st_size for file in folder.iterdir() if file.is_file())
        resource.setrlimit(resource.RLIMIT_FSIZE, (8_192 if for_new_files else most + 5_000, hard))

    return fill, lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def _ballast(folder: Path) -> tuple[Callable[[], None], Callable[[], None]]:
    file = folder / "ballast"

    def fill(for_new_files: bool = False) -> None:
        with file.open("wb", buffering=0) as out:
            try:
                while True:
                    out.write(bytes(1024))
            except OSError:
                pass

    return fill, file.unlink


@pytest.fixture(params=["file system", "limit"])
def small_disk(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[Path, Any, Any]]:
    """A folder, how to fill its disk, and how to make room again."""
    folder = tmp_path / "small"
    folder.mkdir()
    if request.param == "limit":
        fill, free = _limit(folder)
        try:
            yield folder, fill, free
        finally:
            free()
        return
    command = ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(folder)]
    if os.geteuid() != 0 or subprocess.run(command, capture_output=True, check=False).returncode != 0:
        pytest.skip("No file system can be mounted here; the limit on files stands in for it.")
    try:
        yield folder, *_ballast(folder)
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_full_disk(
    small_disk: tuple[Path, Any, Any], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """What was saved can be read, what does not fit is refused whole; with room again it goes on."""
    folder, fill, free = small_disk
    file = made(folder)
    store = Store(f"sqlite:///{file}")
    client = create_app(store).test_client()
    assert buy(client).status_code == 201
    fill()
    try:
        kept, answer = 1, buy(client)
        while answer.status_code == 201 and kept < 2_000:
            kept, answer = kept + 1, buy(client)
        read = client.get("/api/v1/jars")
        capsys.readouterr()
        fill(for_new_files=True)
        code = run(["backup", str(folder / "kept.db"), "--database", f"sqlite:///{file}"])
        told_by_backup = capsys.readouterr().err
        left = sorted(one.name for one in folder.iterdir() if "kept" in one.name)
    finally:
        free()
    assert answer.status_code == 503
    message = answer.get_json()["error"]["message"]
    assert message in (
        "There is no room left for the database.",
        "The disk refused to read or write the database.",
    )
    assert "room" in answer.get_json()["error"]["problems"][0]["hint"]
    assert read.status_code == 200
    assert code == 2
    assert "cannot be written there" in " ".join(told_by_backup.split())
    assert left == []
    sound(store, kept + 1)
    assert buy(client).status_code == 201
    sound(store, kept + 2)
    assert run(["backup", str(folder / "kept.db"), "--database", f"sqlite:///{file}"]) == 0
    store.close()


_READ_ONLY = """
import gc, json, sys
from pathlib import Path
from api.app import create_app
from api.commands.main import run
from catalog.store import Store
folder = Path(sys.argv[1])
url = f"sqlite:///{folder / 'shelf.db'}"
store = Store(url)
client = create_app(store).test_client()
assert client.get("/api/v1/jars").status_code == 200
store.close()
out = {}
def note(name, answer):
    out[name] = (answer.status_code, answer.text)
move = {"jar": 1, "kind": "bought", "grams": 1}
(folder / "shelf.db").chmod(0o444)
note("file", client.post("/api/v1/moves", json=move))
note("file read", client.get("/api/v1/jars"))
note("file page", client.post("/shelf/jars/1/count", data={"grams": "3"}))
store.close()
folder.chmod(0o555)
note("folder", client.post("/api/v1/moves", json=move))
out["command"] = run(["import", sys.argv[2], "--database", url])
out["new"] = run(["import", sys.argv[2], "--database", f"sqlite:///{folder / 'new' / 'shelf.db'}"])
out["new file"] = run(["import", sys.argv[2], "--database", f"sqlite:///{folder / 'new.db'}"])
out["backup"] = run(["backup", str(folder / "kept.db"), "--database", sys.argv[3]])
folder.chmod(0o755)
for file in folder.iterdir():
    file.chmod(0o644)
# SQLite keeps a connection until its last statement goes, here with a traceback that refers to itself.
gc.collect()
note("again", client.post("/api/v1/moves", json=move))
print(json.dumps(out))
"""


def test_a_read_only_file_and_folder(tmp_path: Path) -> None:
    """In a program that may not write everywhere, as the tests may when root runs them."""
    folder = tmp_path / "sealed"
    folder.mkdir()
    made(folder)
    other = tmp_path / "other"
    other.mkdir()
    sheet = tmp_path / "jars.csv"
    sheet.write_text("name,kind,colours\nblue,nonpareils,#223355\n")
    powers = "-dac_override,-dac_read_search,-fowner" if os.geteuid() == 0 else ""
    prefix = ["setpriv", f"--bounding-set={powers}", f"--inh-caps={powers}"] if powers else []
    done = subprocess.run(
        [*prefix, sys.executable, "-c", _READ_ONLY, str(folder), str(sheet), f"sqlite:///{made(other)}"],
        capture_output=True, text=True, timeout=120, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    out = json.loads(done.stdout)
    for name in ("file", "folder"):
        status, body = out[name]
        assert status == 503, body
        assert json.loads(body)["error"]["problems"][0]["hint"]
    assert "read-only" in json.loads(out["file"][1])["error"]["message"]
    assert out["file read"][0] == 200
    assert (out["command"], out["new"], out["new file"], out["backup"]) == (2, 2, 2, 2)
    assert "Traceback" not in done.stderr
    assert out["again"][0] == 201, out["again"]
    store = Store(f"sqlite:///{folder / 'shelf.db'}")
    sound(store, 2)
    store.close()


def test_a_database_that_another_program_holds(
    served: tuple[Path, Store, FlaskClient], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It can be read; what would change it is refused after a wait, and goes on when the other is done."""
    file, store, client = served
    monkeypatch.setattr(engine, "_BUSY_MS", 50)
    monkeypatch.setattr(copying, "WAIT_SECONDS", 0.1)
    store.close()
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        told(buy(client), "locked by another program")
        assert client.get("/api/v1/jars").status_code == 200
        sheet = file.with_name("jars.csv")
        sheet.write_text("name,kind,colours\nblue,nonpareils,#223355\n")
        url = f"sqlite:///{file}"
        told_in_terminal(capsys, "locked by another program", "import", str(sheet), "--database", url)
        assert run(["backup", str(file.with_name("kept.db")), "--database", url]) == 0
        backup = str(file.with_name("kept.db"))
        told_in_terminal(capsys, "locked by another program", "restore", backup, "--database", url)
        other.execute("ROLLBACK")
    assert buy(client).status_code == 201
    sound(store, 2)


def test_a_folder_that_goes_away_and_comes_back(served: tuple[Path, Store, FlaskClient]) -> None:
    """A stick that was pulled out: nothing is written into the void, and no empty database appears."""
    file, store, client = served
    before = [file.parent / "data", file.parent / "away"]
    store.close()
    before[0].mkdir()
    home = before[0] / "shelf.db"
    shutil.copy(file, home)
    moved = Store(f"sqlite:///{home}")
    client = create_app(moved).test_client()
    assert buy(client).status_code == 201
    before[0].rename(before[1])
    told(buy(client), "no longer in its place")
    told(client.get("/api/v1/jars"), "no longer in its place")
    told_on_page(client, "no longer in its place")
    assert not before[0].exists()
    before[1].rename(before[0])
    assert buy(client).status_code == 201
    sound(moved, 3)
    home.unlink()
    told(buy(client), "no longer in its place")
    assert not home.exists()
    moved.close()


def test_a_file_that_is_cut_off_while_it_is_served(served: tuple[Path, Store, FlaskClient]) -> None:
    """Damage is told as damage, with what to do."""
    file, store, client = served
    store.close()
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 3])
    told(client.get("/api/v1/jars"), "damaged")
    told(buy(client), "damaged")
    told_on_page(client, "damaged")


def _other_program(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("CREATE TABLE recipes (id INTEGER)")
        connection.commit()


def _newer(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE themekit_version SET version_num = '9999'")
        connection.commit()


def _cut(file: Path) -> None:
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])


def _emptied(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.execute("UPDATE shelves SET name = 'House'")
        connection.commit()
        log = file.with_name(file.name + "-wal").read_bytes()
    file.with_name(file.name + "-wal").write_bytes(log)
    file.write_bytes(b"")


@pytest.mark.parametrize(
    ("harm", "message"),
    [
        (lambda file: file.write_bytes(b"Dear baker, this is no database at all. " * 200), "not a database"),
        (_other_program, "belongs to another program"),
        (_newer, "newer themekit"),
        (_cut, "damaged"),
        (_emptied, "empty, and should not be"),
    ],
    ids=["letter", "other program", "newer", "cut off", "emptied"],
)
def test_a_file_that_cannot_be_used(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], harm: Callable[[Path], None], message: str
) -> None:
    """Told at the start by every command that opens it; not a byte of it changes."""
    file = made(tmp_path)
    harm(file)
    before = file.read_bytes()
    log = file.with_name(file.name + "-wal")
    log_before = log.read_bytes() if log.exists() else b""
    url = f"sqlite:///{file}"
    for command in (["idle"], ["serve", "--port", "0"], ["export", str(tmp_path / "out")]):
        told_in_terminal(capsys, message, *command, "--database", url)
    # The doctor looks only, and counts it among what is out of order.
    with pytest.raises(SystemExit) as ended:
        run(["doctor", "--database", url])
    assert ended.value.code == 1
    assert message in " ".join(capsys.readouterr().out.split())
    assert file.read_bytes() == before
    assert (log.read_bytes() if log.exists() else b"") == log_before


@pytest.mark.parametrize("harm", [_cut, lambda file: file.write_bytes(b"no database " * 500)])
def test_a_backup_is_put_in_the_place_of_a_damaged_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], harm: Callable[[Path], None]
) -> None:
    """That is what backups are for; what is left of the damaged one is kept beside it."""
    file = made(tmp_path)
    url, kept = f"sqlite:///{file}", str(tmp_path / "kept.db")
    assert run(["backup", kept, "--database", url]) == 0
    harm(file)
    left = file.read_bytes()
    assert run(["restore", kept, "--database", url]) == 0
    assert (tmp_path / "shelf.before-restore-1.db").read_bytes() == left
    store = Store(url)
    sound(store, 1)
    store.close()


def test_a_backup_is_not_put_over_another_programs_database(tmp_path: Path) -> None:
    file = made(tmp_path)
    kept = str(tmp_path / "kept.db")
    assert run(["backup", kept, "--database", f"sqlite:///{file}"]) == 0
    _other_program(file)
    before = file.read_bytes()
    assert run(["restore", kept, "--database", f"sqlite:///{file}"]) == 2
    assert file.read_bytes() == before


def test_every_address_tells_that_the_database_is_gone(served: tuple[Path, Store, FlaskClient]) -> None:
    """No route answers with a server error of another sort, whatever it is asked."""
    file, store, client = served
    store.close()
    file.rename(file.with_name("elsewhere.db"))
    unusable = 0
    for rule in client.application.url_map.iter_rules():
        address = re.sub(r"<any.*?(\w+[.\w-]*)['\"]?[,)].*?>", r"\1", rule.rule)
        address = re.sub(r"<(row|int):.*?>", "1", address)
        address = re.sub(r"<.*?>", "jars", address)
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            answer = client.open(address, method=method, json={} if "/api/" in address else None)
            assert answer.status_code < 500 or answer.status_code == 503, (method, address, answer.text)
            unusable += answer.status_code == 503
            assert "Traceback" not in answer.text
            answer.close()
    assert unusable > 40
