"""Backups: one SQLite file that holds everything, taken while the service runs, and put back whole.

The file has the very tables of the database it came from, whichever sort that is, so a
backup of PostgreSQL can be restored into SQLite and the other way round.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, Engine, MetaData, Table, create_engine, delete, func, inspect, select, text

from catalog.access_tables import LinkTable, SessionTable
from catalog.append_only import lifted
from catalog.copying import WAIT_SECONDS, copy_file, copy_into, copy_pages, free_name, whole_file
from catalog.engine import database_url, open_engine, reading, told_plainly, writing
from catalog.errors import StoreUnusable
from catalog.migrations import HEAD, VERSION_TABLE
from catalog.upgrade import SCRIPTS, keep_copy, run_steps, upgrade
from themekit.errors import InvalidValue, Problem

_ROWS_AT_ONCE = 500
# SQLite's errors in a copy that come from where it is written to; what is copied is only read.
_OF_THE_COPY = ("disk is full", "disk I/O error", "unable to open", "readonly")


def backup(url: str | None, file: str | Path) -> Path:
    """Write everything into a new SQLite file, as it is at one moment; the service may go on.

    An existing file is never overwritten. What was written is checked before it gets its
    name, so that a file of that name is always a whole backup. Raises `InvalidValue` or
    `StoreUnusable`.
    """
    target = Path(file)
    _check_free(target)
    where = database_url(url)
    try:
        with told_plainly(where), whole_file(target) as partial:
            if where.drivername.startswith("sqlite"):
                _check_there(Path(str(where.database)))
                try:
                    copy_into(Path(str(where.database)), partial)
                except sqlite3.OperationalError as error:
                    if any(sign in str(error) for sign in _OF_THE_COPY):
                        raise OSError(str(error)) from error
                    raise
            else:
                engine = open_engine(where)
                try:
                    with reading(engine).connect() as source:
                        _copy_into_file(source, partial)
                finally:
                    engine.dispose()
            _check_backup(partial)
    except OSError as error:
        allowed = "a file in a folder that can be written to, with room for it"
        problem = Problem("file", str(target), allowed, "Choose another place, or make room.")
        raise InvalidValue("The backup cannot be written there.", [problem]) from error
    return target


def restore(url: str | None, file: str | Path) -> Path | None:
    """Put a backup in the place of everything in the database; returns the copy kept of what was there.

    The backup is checked first, and the database is copied beside it; then it changes as
    a whole or not at all. Stop the service before. Raises `InvalidValue` or `StoreUnusable`.
    """
    source = Path(file)
    _check_backup(source)
    where = database_url(url)
    with told_plainly(where):
        if where.drivername.startswith("sqlite"):
            kept = _restore_file(source, Path(str(where.database)))
        else:
            kept = free_name(source.parent, f"{source.stem}.before-restore", ".db")
            engine = open_engine(where)
            try:
                if inspect(engine).get_table_names():
                    backup(url, kept)
                else:
                    kept = None
                _restore_into(engine, source)
            finally:
                engine.dispose()
        engine = open_engine(where)
        try:
            upgrade(engine)
            _sign_out(engine)
        finally:
            engine.dispose()
    return kept


def _sign_out(engine: Engine) -> None:
    """End what was signed in when the backup was made; who was signed out since must not be in again."""
    with writing(engine).begin() as connection:
        for table in (SessionTable, LinkTable):
            connection.execute(delete(table))


def _restore_file(source: Path, path: Path) -> Path | None:
    """Put a backup into an SQLite file; one that is damaged is set aside as it is."""
    if not path.exists() or not path.stat().st_size:
        kept = None
    elif _readable(path):
        kept = keep_copy(path, "restore")
    else:
        kept = _set_aside(path)
    if path.exists():
        with closing(sqlite3.connect(source)) as given, closing(sqlite3.connect(path)) as target:
            copy_pages(given, target)
    else:
        copy_file(source, path)
    return kept


def _readable(path: Path) -> bool:
    """Whether a file is a sound database of ours. Raises `StoreUnusable` for another program's."""
    try:
        with closing(sqlite3.connect(path, timeout=WAIT_SECONDS)) as opened:
            tables = {row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            sound = opened.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    except sqlite3.OperationalError:
        # Locked, or not ours to read: not damaged.
        raise
    except sqlite3.DatabaseError:
        return False
    if tables and VERSION_TABLE not in tables:
        problem = Problem("database", str(path), "a database of ours", "Name a file that is not there yet.")
        raise StoreUnusable("This database belongs to another program; nothing was changed.", [problem])
    return bool(sound)


def _set_aside(path: Path) -> Path:
    """Give a damaged file and its log another name, so that nothing of them is lost."""
    kept = free_name(path.parent, f"{path.stem}.before-restore", path.suffix)
    for end in ("-wal", "-shm", ""):
        part = path.with_name(path.name + end)
        if part.exists():
            part.rename(kept.with_name(kept.name + end))
    return kept


def _restore_into(engine: Engine, source: Path) -> None:
    """Empty a server's database and fill it from the file, in one transaction."""
    given = create_engine(f"sqlite:///{source}")
    try:
        with given.connect() as old, engine.connect() as new, new.begin():
            reached = old.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
            tables = MetaData()
            if VERSION_TABLE not in inspect(new).get_table_names():
                run_steps(new, str(reached))
            tables.reflect(bind=new)
            now = new.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
            if now != reached:
                hint = "Restore it into an empty database; it is brought up to date there."
                raise InvalidValue(
                    "The backup was made by another version of themekit.",
                    [Problem("file", reached, f"a backup of version {now}", hint)],
                )
            own = [t for t in tables.sorted_tables if t.name != VERSION_TABLE]
            # A service that still runs has to wait, and then finds what was restored.
            new.execute(text(f"LOCK TABLE {', '.join(t.name for t in own)} IN ACCESS EXCLUSIVE MODE"))
            from_file = MetaData()
            from_file.reflect(bind=old)
            with lifted(new):
                for table in reversed(own):
                    new.execute(table.delete())
            for table in own:
                _copy_rows(old, from_file.tables[table.name], new, table)
                _set_next_id(new, table)
    finally:
        given.dispose()


def _copy_into_file(source: Connection, file: Path) -> None:
    """The tables of a server's database with their rows in a new SQLite file."""
    reached = source.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    engine = create_engine(f"sqlite:///{file}")
    try:
        with engine.begin() as made:
            run_steps(made, str(reached))
            there, here = MetaData(), MetaData()
            there.reflect(bind=source)
            here.reflect(bind=made)
            for table in here.sorted_tables:
                if table.name != VERSION_TABLE:
                    made.execute(table.delete())
                    _copy_rows(source, there.tables[table.name], made, table)
    finally:
        engine.dispose()


def _copy_rows(source: Connection, old: Table, target: Connection, new: Table) -> None:
    order = [old.c.id] if "id" in old.c else []
    rows = source.execution_options(yield_per=_ROWS_AT_ONCE).execute(select(old).order_by(*order))
    for some in rows.mappings().partitions(_ROWS_AT_ONCE):
        target.execute(new.insert(), [{name: row[name] for name in new.c.keys()} for row in some])  # noqa: SIM118


def _set_next_id(connection: Connection, table: Table) -> None:
    if connection.dialect.name != "postgresql" or "id" not in table.c:
        return
    highest = connection.execute(select(func.max(table.c.id))).scalar()
    if highest is not None:
        name = connection.execute(text("SELECT pg_get_serial_sequence(:t, 'id')"), {"t": table.name}).scalar()
        connection.execute(text("SELECT setval(:s, :v)"), {"s": name, "v": highest})


def _check_free(target: Path) -> None:
    if target.exists():
        problem = Problem("file", str(target), "a file that is not there yet", "Choose another name.")
        raise InvalidValue("This file is there already; nothing was written.", [problem])
    if not target.absolute().parent.is_dir():
        problem = Problem("file", str(target), "a file in a folder that is there", "Make the folder first.")
        raise InvalidValue("There is no such folder.", [problem])


def _check_there(path: Path) -> None:
    if not path.exists():
        problem = Problem("database", str(path), "a database that is there", "Name the database to back up.")
        raise StoreUnusable("There is no database yet.", [problem])
    if not os.access(path, os.R_OK):
        problem = Problem("database", str(path), "a file that can be read", "Give yourself leave to read it.")
        raise StoreUnusable("The database file cannot be opened.", [problem])


def _check_backup(file: Path) -> None:
    """Raise `InvalidValue` unless the file is a whole database of ours that we can read."""
    problem: Problem | None = None
    if not file.is_file():
        problem = Problem("file", str(file), "a backup file", "Check its name.")
    else:
        try:
            with closing(sqlite3.connect(f"file:{_quoted(file)}?mode=ro", uri=True)) as opened:
                fault = opened.execute("PRAGMA integrity_check").fetchone()[0]
                broken = opened.execute("PRAGMA foreign_key_check").fetchone()
                reached = opened.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchone()
            if fault != "ok" or broken:
                problem = Problem("file", str(file), "a whole database", "Use an earlier backup.")
            elif reached is None or not list((SCRIPTS / "versions").glob(f"{reached[0]}_*.py")):
                got = reached and reached[0]
                problem = Problem("file", got, f"a backup of version {HEAD} or older", "Update themekit.")
        except sqlite3.Error:
            problem = Problem("file", str(file), "a backup made by themekit", "Use another file.")
    if problem is not None:
        raise InvalidValue("This file cannot be used as a backup.", [problem])


def _quoted(file: Path) -> str:
    from urllib.parse import quote

    return quote(str(file.absolute()))
