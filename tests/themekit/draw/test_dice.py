"""Chance from a name: the same everywhere, in range, fair; shares to whole numbers."""

from __future__ import annotations

import hashlib

import pytest

from themekit.draw.dice import Dice, allotted


def test_first_number_is_that_of_the_hash():
    """SHA-256 as in FIPS 180-4, here by Python's hashlib."""
    digest = hashlib.sha256(b"a jar" + bytes(4)).digest()
    assert Dice("a jar").roll() == int.from_bytes(digest[28:], "big") / 2**32


def test_numbers_are_spread_over_their_range():
    dice = Dice("spread")
    found = [dice.between(-2, 2) for _ in range(2000)]
    assert -2 <= min(found) < -1.98
    assert 1.98 < max(found) < 2
    assert sum(found) / 2000 == pytest.approx(0, abs=0.1)
    assert len(set(found)) == 2000


def test_shuffling_keeps_every_item_and_depends_on_the_seed_alone():
    items = list(range(40))
    once, again, other = (Dice(s).shuffled(items) for s in ("x", "x", "y"))
    assert sorted(once) == items
    assert once == again != other
    assert once != items


@pytest.mark.parametrize(
    ("shares", "count", "whole"),
    [((0.5, 0.25, 0.25), 8, [4, 2, 2]), ((1, 1, 1), 4, [2, 1, 1]), ((0.9, 0.1), 3, [3, 0]), ((0, 0), 2, [1, 1])],
)
def test_shares_come_out_in_whole_numbers(shares, count, whole):
    assert allotted(shares, count) == whole
