"""Bringing a database up to date when it is opened, after keeping a copy of its data."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import Connection, Engine, inspect, text

from catalog.errors import StoreUnusable
from catalog.migrations import HEAD, VERSION_TABLE
from themekit.errors import Problem

SCRIPTS = Path(__file__).parent / "migrations"
# Any number will do, as long as every themekit asks for the same one.
_ADVISORY_LOCK = 5_493_217
# Alembic keeps what it is doing in globals, so a process runs one upgrade at a time.
_ALEMBIC_LOCK = Lock()


def upgrade(engine: Engine, head: str = HEAD, scripts: Path = SCRIPTS) -> Path | None:
    """Run the steps that are missing; return the copy kept of an SQLite file, if any.

    Does next to nothing when the database is current. Programs that start at once take
    turns. Raises `StoreUnusable` for a database that is not ours or is too new.
    """
    with engine.connect() as connection:
        if _reached(connection, scripts) == head:
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
    reached = _reached(connection, scripts)
    if reached == head:
        return None
    copy = keep_copy(Path(str(connection.engine.url.database)), head) if sqlite and reached else None
    from alembic import command

    config = alembic_config(scripts)
    config.attributes["connection"] = connection
    with _ALEMBIC_LOCK:
        command.upgrade(config, head)
    if sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
        raise _unusable("Bringing the database up to date failed; nothing was changed.", reached, head)
    return copy


def alembic_config(scripts: Path = SCRIPTS) -> Any:
    """Alembic's settings, which live here instead of in a file of their own."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _reached(connection: Connection, scripts: Path) -> str | None:
    """The step that the database has reached; None for an empty one."""
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


def _unusable(message: str, got: Any, allowed: str, hint: str = "") -> StoreUnusable:
    return StoreUnusable(message, [Problem("database", got, allowed, hint)])


def keep_copy(file: Path, step: str) -> Path:
    """Copy an SQLite database, with what its log still holds, to a new file beside it."""
    number = 1
    while (copy := file.with_name(f"{file.stem}.before-{step}-{number}{file.suffix}")).exists():
        number += 1
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
    return copy
