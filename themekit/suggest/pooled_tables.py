"""Tables and rows pooled over boxes, level by level, and the last few tables kept.

A level's box holds two of the level below; its value is the larger of theirs.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from themekit.suggest.splitting import Singles


def halved_rows(x: NDArray[Any]) -> NDArray[Any]:
    """The level above of (..., boxes): the larger of each two."""
    return np.asarray(np.maximum(x[..., ::2], x[..., 1::2]))


def halved_table(x: Singles) -> Singles:
    """The level above of (boxes, boxes)."""
    return np.asarray(halved_rows(np.maximum(x[::2], x[1::2])))


def even_rows(x: NDArray[Any], empty: float) -> NDArray[Any]:
    """(..., boxes) with an empty box at the end where their number is odd, so that all go by two."""
    if x.shape[-1] == 1 or x.shape[-1] % 2 == 0:
        return x
    return np.concatenate([x, np.full((*x.shape[:-1], 1), empty, x.dtype)], axis=-1)


def even_table(x: Singles) -> Singles:
    """(boxes, boxes) with an empty box where their number is odd."""
    n = len(x)
    if n == 1 or n % 2 == 0:
        return x
    out = np.full((n + 1, n + 1), -np.inf, np.float32)
    out[:n, :n] = x
    return out


def pooled_tables(leaves: Singles, depth: int) -> list[Singles]:
    """A table of all levels, from single candidates up to one box."""
    out = [even_table(leaves)]
    while len(out) <= depth:
        out.append(even_table(halved_table(out[-1])))
    return out


def pooled_rows(leaves: NDArray[Any], depth: int, empty: float) -> list[NDArray[Any]]:
    """Rows of all levels, from single candidates up to one box."""
    out = [even_rows(leaves, empty)]
    while len(out) <= depth:
        out.append(even_rows(halved_rows(out[-1]), empty))
    return out


class Kept:
    """Tables of the last candidates searched: one request asks for the same ones several times.

    Told apart by everything that the tables depend on; what triples must keep apart from
    is not part of it.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self.tables: OrderedDict[bytes, tuple[list[Singles], list[Singles]]] = OrderedDict()
        self.lock = Lock()

    def get(
        self, key: bytes, make: Callable[[], tuple[list[Singles], list[Singles]]]
    ) -> tuple[list[Singles], list[Singles]]:
        """The tables under `key`, made where they are not kept."""
        with self.lock:
            found = self.tables.get(key)
            if found is not None:
                self.tables.move_to_end(key)
        if found is None:
            found = make()
            for table in (*found[0], *found[1]):
                table.setflags(write=False)
            with self.lock:
                self.tables[key] = found
                while len(self.tables) > self.most:
                    self.tables.popitem(last=False)
        return found
