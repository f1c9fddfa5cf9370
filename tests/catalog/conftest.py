"""Stores to test against: SQLite in a file, and a PostgreSQL of the tests' own."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

from catalog.store import Store
from themekit.values import Kind, Texture

KINDS = (
    Kind(
        name="nonpareils",
        aliases=("hundreds and thousands",),
        texture=Texture("sphere", 1.5, "matte", "crisp"),
        density_g_per_ml=0.9,
        density_low=0.8,
        density_high=1.0,
        melts_in_heat=False,
        hard_small_pieces=False,
        source="for tests",
    ),
    Kind(
        name="dragées",
        aliases=("metallic pearls",),
        texture=Texture("sphere", 4.0, "metallic", "hard"),
        density_g_per_ml=None,
        density_low=None,
        density_high=None,
        melts_in_heat=None,
        hard_small_pieces=True,
        source="for tests",
    ),
)
_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def kinds() -> tuple[Kind, ...]:
    """Two trade kinds, one of them with gaps."""
    return KINDS


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a running PostgreSQL server, started here unless one is named.

    THEMEKIT_TEST_POSTGRES may be the address of a server on which databases can be made,
    or "none" to do without; that is the only way in which these tests are left out.
    """
    named = os.environ.get("THEMEKIT_TEST_POSTGRES")
    if named == "none":
        pytest.skip("THEMEKIT_TEST_POSTGRES is none")
    if named:
        yield named
        return
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[4]))
    initdb = str(programs[-1]) if programs else shutil.which("initdb")
    if initdb is None:
        pytest.fail(
            "No PostgreSQL is installed. Install Debian's postgresql package, name a server in "
            "THEMEKIT_TEST_POSTGRES, or set that to none to leave these tests out."
        )
    folder = Path(tempfile.mkdtemp(prefix="themekit-pg-"))
    as_user: list[str] = []
    if os.geteuid() == 0:
        # The server refuses to run as root; Debian's package makes this user.
        shutil.chown(folder, "postgres", "postgres")
        as_user = ["runuser", "-u", "postgres", "--"]
    data = folder / "data"
    pg_ctl = str(Path(initdb).with_name("pg_ctl"))
    # A socket in our own folder and no TCP: no port to collide with anyone's.
    options = f"-k {folder} -c listen_addresses='' -c fsync=off"

    def run(*command: str) -> None:
        done = subprocess.run(
            [*as_user, *command], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
        )
        assert done.returncode == 0, f"{command}: {done.stdout.decode(errors='replace')}"

    try:
        run(initdb, "-D", str(data), "-A", "trust", "-U", "themekit", "-E", "UTF8", "--locale=C.UTF-8")
        # The server would keep a pipe open for ever, so its words go to a file.
        run(pg_ctl, "-D", str(data), "-o", options, "-l", str(folder / "log"), "-w", "start")
        try:
            yield f"postgresql://themekit@/postgres?host={folder}"
        finally:
            run(pg_ctl, "-D", str(data), "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address of a new, empty database of each sort."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'shelf.db'}"
        return
    monkeypatch.setenv("THEMEKIT_COPIES", str(tmp_path / "copies"))
    server = make_url(request.getfixturevalue("postgres")).set(drivername="postgresql+psycopg")
    name = f"themekit_test_{os.getpid()}_{next(_numbers)}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield server.set(drivername="postgresql", database=name).render_as_string(hide_password=False)
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    engine.dispose()


@pytest.fixture
def store(database: str, kinds: tuple[Kind, ...]) -> Iterator[Store]:
    """An empty store in each sort of database."""
    opened = Store(database, kinds)
    yield opened
    opened.close()


@pytest.fixture
def sqlite_store(tmp_path: Path, kinds: tuple[Kind, ...]) -> Iterator[Store]:
    """An empty store in an SQLite file, where the sort of database does not matter."""
    opened = Store(f"sqlite:///{tmp_path / 'plain.db'}", kinds)
    yield opened
    opened.close()
