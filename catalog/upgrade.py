"""Bringing a database up to date when it is opened, after keeping a copy of its data."""

from __future__ import annotations

import os
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import URL, Connection, Engine, inspect, text

from catalog.copying import copy_file, free_name
from catalog.engine import open_engine, told_plainly
from catalog.errors import StoreUnusable
from catalog.migrations import HEAD, VERSION_TABLE
from themekit.errors import Problem

SCRIPTS = Path(__file__).parent / "migrations"
#: The environment's word for the folder of a server's copies.
COPIES = "THEMEKIT_COPIES"
# Any number will do, as long as every themekit asks for the same one.
_ADVISORY_LOCK = 5_493_217
# Alembic keeps what it is doing in globals, so a process runs one upgrade at a time.
_ALEMBIC_LOCK = Lock()


def upgrade(engine: Engine, head: str = HEAD, scripts: Path = SCRIPTS) -> Path | None:
    """Run the steps that are missing; return the copy kept of what there was, if anything.

    Does next to nothing when the database is current. Programs that start at once take
    turns. Raises `StoreUnusable` for a database that is not ours or is too new.
    """
    with engine.connect() as connection:
        if step_of(connection, scripts) == head:
            return None
    with engine.connect() as connection:
        sqlite = connection.dialect.name == "sqlite"
        raw: Any = connection.connection.driver_connection
        if sqlite:
            # Rebuilding a table drops the old one, which must not take along what refers to
            # it; the switch has no effect inside a transaction.
            raw.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.execution_options(writes=True).begin():
                return _run(connection, head, scripts)
        finally:
            if sqlite:
                raw.execute("PRAGMA foreign_keys = ON")


def _run(connection: Connection, head: str, scripts: Path) -> Path | None:
    sqlite = connection.dialect.name == "sqlite"
    if not sqlite:
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ADVISORY_LOCK})
    reached = step_of(connection, scripts)
    if reached == head:
        return None
    copy = _kept(connection, head) if reached else None
    run_steps(connection, head, scripts)
    if sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
        raise _unusable("Bringing the database up to date failed; nothing was changed.", reached, head)
    return copy


def run_steps(connection: Connection, to: str, scripts: Path = SCRIPTS) -> None:
    """Run the steps up to `to` within the connection's transaction."""
    from alembic import command

    config = alembic_config(scripts)
    config.attributes["connection"] = connection
    with _ALEMBIC_LOCK:
        command.upgrade(config, to)


def alembic_config(scripts: Path = SCRIPTS) -> Any:
    """Alembic's settings, which live here instead of in a file of their own."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def step_of(connection: Connection, scripts: Path = SCRIPTS) -> str | None:
    """The step that the database has reached; None for an empty one.

    Raises `StoreUnusable` for a database that is not ours or is too new.
    """
    tables = inspect(connection).get_table_names()
    if VERSION_TABLE not in tables:
        if tables:
            hint = "Give themekit a database of its own."
            raise _unusable("This database belongs to another program.", sorted(tables)[:5], "ours", hint)
        return None
    reached: str | None = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    if reached is not None and not list((scripts / "versions").glob(f"{reached}_*.py")):
        hint = "Update themekit, or open the copy that was kept before the update."
        raise _unusable("This database was made by a newer themekit.", reached, f"up to {HEAD}", hint)
    return reached


def step_at(url: URL) -> str | None:
    """The step that the database of an address has reached, only looking; None where there is none yet.

    Raises `StoreUnusable`.
    """
    sqlite = url.drivername.startswith("sqlite")
    if sqlite and not str(url.database).startswith("file:") and not Path(str(url.database)).exists():
        return None
    engine = open_engine(url)
    try:
        with told_plainly(url), engine.connect() as connection:
            return step_of(connection)
    finally:
        engine.dispose()


def _unusable(message: str, got: Any, allowed: str, hint: str = "") -> StoreUnusable:
    return StoreUnusable(message, [Problem("database", got, allowed, hint)])


def _kept(connection: Connection, head: str) -> Path:
    """The copy of a database that is kept before it is brought up to date."""
    url = connection.engine.url
    if connection.dialect.name == "sqlite":
        return keep_copy(Path(str(url.database)), head)
    from catalog.backup import backup

    folder = copies_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not os.access(folder, os.W_OK):
            raise PermissionError
    except OSError as error:
        hint = f"Name another folder in {COPIES}, or make this one writable."
        message = "No copy can be kept of the database, so it was not brought up to date."
        raise _unusable(message, str(folder), "a folder that can be written to", hint) from error
    return backup(
        url.render_as_string(hide_password=False), free_name(folder, f"{url.database}.before-{head}", ".db")
    )


def copies_folder() -> Path:
    """Where copies of a server's database are kept: as THEMEKIT_COPIES says, or in the user's data folder."""
    if named := os.environ.get(COPIES):
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("themekit", appauthor=False) / "copies"


def keep_copy(file: Path, step: str) -> Path:
    """Copy an SQLite database, with what its log still holds, to a new file beside it."""
    copy = free_name(file.parent, f"{file.stem}.before-{step}", file.suffix)
    try:
        copy_file(file, copy)
    except OSError as error:
        hint = "Make room, or give yourself leave to write there."
        message = "No copy can be kept beside the database, so nothing was changed."
        raise _unusable(message, str(copy), "a folder that can be written to", hint) from error
    return copy
