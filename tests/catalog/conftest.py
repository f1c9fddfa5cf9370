"""Stores to test against, in each sort of database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from catalog.store import Store
from themekit.values import Kind, Texture

KINDS = (
    Kind(
        name="nonpareils",
        aliases=("hundreds and thousands",),
        texture=Texture("sphere", 1.5, "matte", "crisp"),
        density_g_per_ml=0.9,
        density_low=0.8,
        density_high=1.0,
        melts_in_heat=False,
        hard_small_pieces=False,
        source="for tests",
    ),
    Kind(
        name="dragées",
        aliases=("metallic pearls",),
        texture=Texture("sphere", 4.0, "metallic", "hard"),
        density_g_per_ml=None,
        density_low=None,
        density_high=None,
        melts_in_heat=None,
        hard_small_pieces=True,
        source="for tests",
    ),
)


@pytest.fixture(scope="session")
def kinds() -> tuple[Kind, ...]:
    """Two trade kinds, one of them with gaps."""
    return KINDS


@pytest.fixture
def store(database: str, kinds: tuple[Kind, ...]) -> Iterator[Store]:
    """An empty store in each sort of database."""
    opened = Store(database, kinds)
    yield opened
    opened.close()


@pytest.fixture
def sqlite_store(tmp_path: Path, kinds: tuple[Kind, ...]) -> Iterator[Store]:
    """An empty store in an SQLite file, where the sort of database does not matter."""
    opened = Store(f"sqlite:///{tmp_path / 'plain.db'}", kinds)
    yield opened
    opened.close()
