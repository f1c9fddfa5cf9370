"""Settings of work, cost and price."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from themekit.make.settings.base import OWN, setting


@dataclass(frozen=True, slots=True)
class Cost:
    """Labour, overhead and how the price is made; money in the shelf's currency."""

    wage_per_hour: Decimal | None = setting(
        None, "what her hour is worth", unit="money", least=0, most=10000, source=OWN
    )
    minutes_per_batch: float = setting(
        60.0, "setting out, tinting and clearing up, once a batch", unit="min", least=0, most=6000
    )
    minutes_per_kit: float = setting(12.0, "filling and packing one kit", unit="min", least=0, most=600)
    minutes_per_load: float = setting(
        15.0, "rolling, cutting and baking one oven load", unit="min", least=0, most=600
    )
    overhead_share: float = setting(0.15, "overhead, of ingredients, packaging and labour", least=0, most=5)
    overhead_per_batch: Decimal = setting(
        Decimal(0), "fixed cost of a batch, such as a market stall", unit="money", least=0, most=1000000
    )
    equipment_price: Decimal = setting(
        Decimal(0), "what her tools cost to buy", unit="money", least=0, most=1000000, source=OWN
    )
    equipment_years: float = setting(5.0, "years that her tools last", unit="years", least=0.5, most=50)
    product_lines: int = setting(1, "kinds of goods that share her tools", least=1, most=1000)
    kits_per_year: int | None = setting(None, "kits that she packs in a year", least=1, most=100000, source=OWN)
    price_by: str = setting("margin", "how the price follows from the cost", choices=("margin", "markup", "price"))
    margin_share: float = setting(0.40, "margin, of the price", least=0, most=0.99)
    markup_share: float = setting(0.67, "markup, on the cost", least=0, most=50)
    price: Decimal | None = setting(
        None,
        "her own price of a kit; it goes before margin and markup",
        unit="money",
        least=0,
        most=1000000,
        source=OWN,
    )
    round_to: Decimal = setting(
        Decimal("0.50"), "prices are rounded up to a multiple of", unit="money", least=0, most=1000
    )
    bought_blend_per_kg: Decimal | None = setting(
        None, "what a bought mix of toppings costs", unit="money/kg", least=0, most=100000, source=OWN
    )
