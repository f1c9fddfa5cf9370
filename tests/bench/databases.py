"""A PostgreSQL for a bench of its own, that goes with it."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from conftest import Server


@contextmanager
def postgresql(fsync: bool = False) -> Iterator[str]:
    """The address of an empty database, on a server that ends with the block."""
    server = Server(fsync)
    try:
        server.start()
        try:
            yield server.new_database()
        finally:
            server.stop()
    finally:
        shutil.rmtree(server.folder, ignore_errors=True)


__all__ = ["postgresql"]
