"""Copies of a whole SQLite database: of one moment, complete or not there at all."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from time import monotonic

#: How long a copy waits for a program that holds the database alone.
WAIT_SECONDS = 10.0


def copy_pages(source: sqlite3.Connection, target: sqlite3.Connection) -> None:
    """Copy everything, also what the source's log still holds; the target changes as a whole or not at all.

    Raises `sqlite3.OperationalError` after a long wait for another program, which the
    driver by itself would wait for without end.
    """
    until = monotonic() + WAIT_SECONDS

    def waited(status: int, *_: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and monotonic() > until:
            raise sqlite3.OperationalError("database is locked")

    source.backup(target, progress=waited, sleep=0.05)


@contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """A file to write to that gets its name once it is finished and safe on the disk."""
    partial = target.with_name(f".{target.name}.part-{os.getpid()}")
    try:
        yield partial
        _keep_safe(partial)
        partial.rename(target)
        _keep_safe(target.parent)
    finally:
        for left in (partial, *(partial.with_name(partial.name + end) for end in ("-journal", "-wal", "-shm"))):
            left.unlink(missing_ok=True)


def copy_into(source: Path, target: Path) -> None:
    """Copy a database into a file, which has no log beside it afterwards."""
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        copy_pages(old, new)
        new.execute("PRAGMA journal_mode = DELETE")


def copy_file(source: Path, target: Path) -> None:
    """Copy a database into a new file, which gets its name once it is whole."""
    with whole_file(target) as partial:
        copy_into(source, partial)


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """The first of stem-1, stem-2 … that is not there yet."""
    number = 1
    while (name := folder / f"{stem}-{number}{suffix}").exists():
        number += 1
    return name


def _keep_safe(path: Path) -> None:
    """Have the disk write a file, or the names in a folder, before going on."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
