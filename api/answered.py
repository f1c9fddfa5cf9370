"""Pages that answered a form, kept for a short while so that going back and loading anew show them again.

They hold what somebody typed. So they are few, soon gone, known by an unguessable name to the
browser that was answered, and in no database and no backup.
"""

from __future__ import annotations

import hashlib
import time
import zlib
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Lock
from typing import Protocol

#: How long one is kept, in seconds.
LIFE = 3600
#: The most of one shelf, and the most bytes of all; the oldest goes first.
MOST_OF_SHELF, MOST_BYTES = 24, 64_000_000


class Answered(Protocol):
    """Where pages are kept; `name` is the asker's own, `shelf_id` whose words they hold."""

    def put(self, shelf_id: int, name: str, page: bytes) -> bool:
        """Keep a page; False for one that is too large."""

    def get(self, shelf_id: int, name: str) -> bytes | None:
        """The page of that name; None where it is none of this shelf's, or is gone."""

    def forget(self, shelf_id: int) -> None:
        """Forget all pages of a shelf, as when a customer's words are erased."""


class InMemory:
    """Pages in the memory of the one process there is."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._pages: OrderedDict[tuple[int, str], tuple[float, bytes]] = OrderedDict()
        self._lock = Lock()

    def put(self, shelf_id: int, name: str, page: bytes) -> bool:
        """Keep a page; False for one that is too large."""
        packed = zlib.compress(page)
        if len(packed) > MOST_BYTES // 4:
            return False
        with self._lock:
            self._pages[shelf_id, name] = (self._clock(), packed)
            self._sweep(shelf_id)
        return True

    def get(self, shelf_id: int, name: str) -> bytes | None:
        """The page of that name; None where it is none of this shelf's, or is gone."""
        with self._lock:
            self._sweep(shelf_id)
            found = self._pages.get((shelf_id, name))
        return None if found is None else zlib.decompress(found[1])

    def forget(self, shelf_id: int) -> None:
        """Forget all pages of a shelf."""
        with self._lock:
            for key in [key for key in self._pages if key[0] == shelf_id]:
                del self._pages[key]

    def _sweep(self, shelf_id: int) -> None:
        own = [key for key in self._pages if key[0] == shelf_id]
        for key in own[:-MOST_OF_SHELF]:
            del self._pages[key]
        size = sum(len(packed) for _, packed in self._pages.values())
        for key, (at, packed) in list(self._pages.items()):
            if size <= MOST_BYTES and self._clock() - at <= LIFE:
                break
            del self._pages[key]
            size -= len(packed)


class InFolder:
    """Pages in a folder that all processes of a service share; whoever makes it takes it away again."""

    def __init__(self, folder: Path, clock: Callable[[], float] = time.time) -> None:
        self._folder, self._clock = folder, clock

    def put(self, shelf_id: int, name: str, page: bytes) -> bool:
        """Keep a page; False for one that is too large, or where the disk takes none."""
        packed = zlib.compress(page)
        if len(packed) > MOST_BYTES // 4:
            return False
        path = self._path(shelf_id, name)
        try:
            whole = path.with_suffix(".part")
            whole.touch(mode=0o600)
            whole.write_bytes(packed)
            whole.rename(path)
        except OSError:
            return False
        self._sweep(shelf_id)
        return True

    def get(self, shelf_id: int, name: str) -> bytes | None:
        """The page of that name; None where it is none of this shelf's, or is gone."""
        self._sweep(shelf_id)
        try:
            return zlib.decompress(self._path(shelf_id, name).read_bytes())
        except OSError:
            return None

    def forget(self, shelf_id: int) -> None:
        """Forget all pages of a shelf."""
        for path in self._folder.glob(f"{shelf_id}-*"):
            path.unlink(missing_ok=True)

    def _path(self, shelf_id: int, name: str) -> Path:
        # Names are secrets, which the names of files are not.
        return self._folder / f"{shelf_id}-{hashlib.sha256(name.encode()).hexdigest()}"

    def _sweep(self, shelf_id: int) -> None:
        ages = []
        for path in self._folder.iterdir():
            with suppress(OSError):  # another process may have taken it away
                told = path.stat()
                ages.append((told.st_mtime, told.st_size, path))
        ages.sort(key=lambda one: one[0])
        own = [path for _, _, path in ages if path.name.startswith(f"{shelf_id}-")]
        gone, size = set(own[:-MOST_OF_SHELF]), sum(size for _, size, _ in ages)
        for at, bytes_, path in ages:
            if path in gone or size > MOST_BYTES or self._clock() - at > LIFE:
                path.unlink(missing_ok=True)
                size -= bytes_


def answered(folder: str | None) -> Answered:
    """Where a service keeps them: in a folder for several processes, else in its own memory."""
    return InFolder(Path(folder)) if folder else InMemory()
