"""How far the work is that answers a request still under way, for the page that waits, and a way to stop it.

Kept in the memory of one process: where another is asked, it knows nothing, and the page shows
that the work goes on without saying how far it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock

from themekit.errors import ThemekitError

#: What is known at once; each is one request under way.
MOST = 100
#: Told so many are done of so many. May raise `Stopped`.
Tell = Callable[[int, int], None]


class Stopped(ThemekitError, RuntimeError):
    """The work was stopped by who asked for it; nothing was changed."""

    code = "stopped"


class Underway:
    """The requests of one process that are under way, by shelf and the name that the page gave each."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, str], tuple[int, int] | None] = {}
        self._lock = Lock()

    @contextmanager
    def of(self, shelf_id: int, name: str) -> Iterator[Tell]:
        """Work under that name; "" is told to nobody and cannot be stopped."""
        key = (shelf_id, name)
        with self._lock:
            mine = bool(name) and key not in self._known and len(self._known) < MOST
            if mine:
                self._known[key] = (0, 0)

        def tell(done: int, of: int) -> None:
            if not mine:
                return
            with self._lock:
                if self._known[key] is None:
                    raise Stopped("This was stopped, and nothing was changed.")
                self._known[key] = (done, of)

        try:
            yield tell
        finally:
            if mine:
                with self._lock:
                    del self._known[key]

    def done(self, shelf_id: int, name: str) -> tuple[int, int] | None:
        """So many of so many; None where nothing of that name is under way here."""
        with self._lock:
            return self._known.get((shelf_id, name))

    def stop(self, shelf_id: int, name: str) -> None:
        """Have the work end the next time that it tells how far it is."""
        with self._lock:
            if (shelf_id, name) in self._known:
                self._known[shelf_id, name] = None
