"""The demo shelf and the real lexicon, and small jars made on the spot."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from catalog.demo import create_demo
from catalog.lexicon import lexicon
from catalog.store import Store
from themekit.colour.space import hex_to_lab
from themekit.suggest.asked import ask
from themekit.suggest.ideas import Suggester
from themekit.values import ColourShare, Composition, Jar, Needs, Shelf, Texture

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    """The invented demo shelf."""
    file: Path = tmp_path_factory.mktemp("demo") / "demo.db"
    store = Store(f"sqlite:///{file}")
    shelf = store.read(create_demo(store, TODAY).id)
    store.close()
    return shelf


@pytest.fixture(scope="session")
def suggester(demo: Shelf) -> Callable[..., Suggester]:
    """A question put to the demo shelf, or to another."""

    def make(text: str, shelf: Shelf | None = None, needs: Needs | None = None, **more: Any) -> Suggester:
        on = shelf or demo
        return Suggester(ask(text, on, lexicon(), needs, **more), on, lexicon(), TODAY)

    return make


def jar(number: int, *colours: str, **more: Any) -> Jar:
    """A plain jar with equal shares of its colours."""
    labs = [tuple(hex_to_lab(c).tolist()) for c in colours or ("#ffffff",)]
    fields: dict[str, Any] = {
        "name": f"jar {number}",
        "kind": "nonpareils",
        "colours": tuple(ColourShare(lab, 1 / len(labs)) for lab in labs),
        "texture": Texture("sphere", 1.5, "matte", "crisp"),
        "density_g_per_ml": 0.9,
        "on_hand_g": 100.0,
        "composition": Composition((), (), (), "vegan"),
        "hard_small_pieces": False,
    }
    return Jar(id=number, **(fields | more))


@pytest.fixture(scope="session", name="jar")
def jar_fixture() -> Callable[..., Jar]:
    return jar
