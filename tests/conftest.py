"""Databases to test against: SQLite in a file, and a PostgreSQL of the tests' own."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

_numbers = itertools.count(1)


class Server:
    """A PostgreSQL server of the tests' own, in a folder that goes when it is closed."""

    def __init__(self, fsync: bool = False) -> None:
        programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[4]))
        initdb = str(programs[-1]) if programs else shutil.which("initdb")
        if initdb is None:
            pytest.fail(
                "No PostgreSQL is installed. Install Debian's postgresql package, name a server in "
                "THEMEKIT_TEST_POSTGRES, or set that to none to leave these tests out."
            )
        self.folder = Path(tempfile.mkdtemp(prefix="themekit-pg-"))
        self._as_user: list[str] = []
        if os.geteuid() == 0:
            # The server refuses to run as root; Debian's package makes this user.
            shutil.chown(self.folder, "postgres", "postgres")
            self._as_user = ["runuser", "-u", "postgres", "--"]
        self._data, self._pg_ctl = str(self.folder / "data"), str(Path(initdb).with_name("pg_ctl"))
        # A socket in our own folder and no TCP: no port to collide with anyone's.
        self._options = f"-k {self.folder} -c listen_addresses='' -c fsync={'on' if fsync else 'off'}"
        self.url = f"postgresql://themekit@/postgres?host={self.folder}"
        self._run(initdb, "-D", self._data, "-A", "trust", "-U", "themekit", "-E", "UTF8", "--locale=C.UTF-8")

    def start(self) -> None:
        """Start, and wait until it answers."""
        # The server would keep a pipe open for ever, so its words go to a file.
        log = str(self.folder / "log")
        self._run(self._pg_ctl, "-D", self._data, "-o", self._options, "-l", log, "-w", "start")

    def stop(self) -> None:
        """Stop at once, as a power cut would: what is under way is cut off."""
        self._run(self._pg_ctl, "-D", self._data, "-m", "immediate", "-w", "stop")

    def new_database(self) -> str:
        """The address of a new, empty database."""
        name = f"own_{next(_numbers)}"
        server = make_url(self.url).set(drivername="postgresql+psycopg")
        engine = create_engine(server, isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        engine.dispose()
        return make_url(self.url).set(database=name).render_as_string(hide_password=False)

    def _run(self, *command: str) -> None:
        done = subprocess.run(
            [*self._as_user, *command],
            cwd=self.folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
        )
        assert done.returncode == 0, f"{command}: {done.stdout.decode(errors='replace')}"


def _left_out() -> None:
    if os.environ.get("THEMEKIT_TEST_POSTGRES") == "none":
        pytest.skip("THEMEKIT_TEST_POSTGRES is none")


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a running PostgreSQL server, started here unless one is named.

    THEMEKIT_TEST_POSTGRES may be the address of a server on which databases can be made,
    or "none" to do without; that is the only way in which these tests are left out.
    """
    _left_out()
    if named := os.environ.get("THEMEKIT_TEST_POSTGRES"):
        yield named
        return
    server = Server()
    try:
        server.start()
        yield server.url
        server.stop()
    finally:
        shutil.rmtree(server.folder, ignore_errors=True)


@pytest.fixture(scope="module")
def own_server() -> Iterator[Server]:
    """A running PostgreSQL that tests may stop, as long as they start it again."""
    _left_out()
    server = Server(fsync=True)
    try:
        server.start()
        yield server
        server.stop()
    finally:
        shutil.rmtree(server.folder, ignore_errors=True)


@pytest.fixture(scope="session")
def new_postgresql(postgres: str) -> Callable[[], AbstractContextManager[str]]:
    """Make new, empty PostgreSQL databases, each there for as long as it is used; gives their addresses."""
    return lambda: _new_postgresql(postgres)


@contextmanager
def _new_postgresql(postgres: str) -> Iterator[str]:
    server = make_url(postgres).set(drivername="postgresql+psycopg")
    name = f"themekit_test_{os.getpid()}_{next(_numbers)}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield server.set(drivername="postgresql", database=name).render_as_string(hide_password=False)
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    engine.dispose()


@pytest.fixture
def postgresql(
    new_postgresql: Callable[[], AbstractContextManager[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[str]:
    """The address of a new, empty PostgreSQL database."""
    monkeypatch.setenv("THEMEKIT_COPIES", str(tmp_path / "copies"))
    with new_postgresql() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a new, empty database of each sort."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'shelf.db'}"
    address: str = request.getfixturevalue("postgresql")
    return address
