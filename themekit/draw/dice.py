"""Chance that always falls the same way: numbers from a hash of a name."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


class Dice:
    """A stream of numbers that depends on `seed` alone, the same on every machine."""

    def __init__(self, seed: str) -> None:
        self._seed = seed.encode()
        self._block = 0
        self._left: list[int] = []

    def roll(self) -> float:
        """The next number, at least 0 and below 1."""
        if not self._left:
            digest = hashlib.sha256(self._seed + self._block.to_bytes(4, "big")).digest()
            self._left = [int.from_bytes(digest[i : i + 4], "big") for i in range(0, 32, 4)]
            self._block += 1
        return self._left.pop() / 2**32

    def between(self, low: float, high: float) -> float:
        """The next number from `low` to below `high`."""
        return low + (high - low) * self.roll()

    def shuffled(self, items: Sequence[T]) -> list[T]:
        """The items in a new order (Fisher and Yates)."""
        mixed = list(items)
        for i in range(len(mixed) - 1, 0, -1):
            j = int(self.roll() * (i + 1))
            mixed[i], mixed[j] = mixed[j], mixed[i]
        return mixed


def allotted(shares: Sequence[float], count: int) -> list[int]:
    """`count` things split by shares to whole numbers, by largest remainder; ties go to the first."""
    total = sum(shares)
    exact = [count * s / total if total > 0 else count / len(shares) for s in shares]
    whole = [int(e) for e in exact]
    order = sorted(range(len(shares)), key=lambda i: (whole[i] - exact[i], i))
    for i in order[: count - sum(whole)]:
        whole[i] += 1
    return whole
