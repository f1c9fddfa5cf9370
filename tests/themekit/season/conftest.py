"""Small seasons made up on the spot: a few lines with a few offers on a few jars."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from themekit.season.stock import Stock, stock_of
from themekit.season.values import LineOffers, Offer, Planned
from themekit.suggest.palettes import Palette
from themekit.suggest.trios import Portion, Trio
from themekit.values import ColourShare, Composition, Jar, Texture, Tint

TODAY = date(2026, 11, 25)
Small = Callable[..., tuple[tuple[LineOffers, ...], Stock]]


def made_jar(number: int, on_hand_g: float, idle_days: int = 0, price: str | None = "10") -> Jar:
    """A jar with so much in it, unused for so many days."""
    return Jar(
        id=number,
        name=f"jar {number}",
        kind="nonpareils",
        colours=(ColourShare((60.0, 10.0 * number, 0.0), 1.0),),
        texture=Texture("sphere", 1.5, "matte", "crisp"),
        density_g_per_ml=0.9,
        on_hand_g=on_hand_g,
        last_used=TODAY - timedelta(days=idle_days),
        price_per_kg=price and Decimal(price),
        composition=Composition((), (), (), "vegan"),
    )


def made_offer(jars: list[Jar], quality: float, grams: float, family: int) -> Offer:
    """An offer of three jars that takes so many grams of each."""
    tint = Tint((50.0, 0.0, 0.0), "#777777", "grey", ())
    a, b, c = (Portion(j, 1 / 3, grams) for j in jars)
    return Offer(
        "a theme", Palette((tint, tint, tint), quality, {}), Trio((a, b, c), "apart", quality, {}), (),
        quality, {}, tuple((j.id, round(grams * 1000)) for j in jars), family, "best",
    )  # fmt: skip


@pytest.fixture
def small() -> Small:
    """A season drawn at random: (lines, stock) from a seed."""

    def make(seed: int, lines: int = 4, offers: int = 6, jars: int = 8, full: float = 60) -> tuple[
        tuple[LineOffers, ...], Stock
    ]:  # fmt: skip
        draw = np.random.default_rng(seed)
        shelf = [
            made_jar(n + 1, round(float(draw.uniform(0, full)), 3), int(draw.integers(0, 300)),
                     None if draw.random() < 0.2 else f"{draw.uniform(5, 40):.2f}")
            for n in range(jars)
        ]  # fmt: skip
        made = []
        for _ in range(lines):
            found = [
                made_offer(
                    [shelf[i] for i in sorted(draw.choice(jars, 3, replace=False))],
                    round(float(draw.uniform(0.6, 0.9)), 6), round(float(draw.uniform(10, 40)), 3),
                    int(draw.integers(0, 4)),
                )
                for _o in range(int(draw.integers(0 if seed % 5 == 0 else 1, offers + 1)))
            ]  # fmt: skip
            found.sort(key=lambda o: -o.quality)
            day = TODAY + timedelta(days=int(draw.integers(1, 90)))
            made.append(LineOffers(Planned("a theme", 2, day), tuple(found)))
        return tuple(made), stock_of(shelf, made, TODAY)

    return make


@pytest.fixture(name="made_jar")
def _jar() -> Callable[..., Jar]:
    return made_jar


@pytest.fixture(name="made_offer")
def _offer() -> Callable[..., Offer]:
    return made_offer
