"""Settings of the working days."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import setting


@dataclass(frozen=True, slots=True)
class Work:
    """Days before the pick-up on which each step is done, and the hours she has."""

    bake_days_before: int = setting(3, "baking, days before pick-up", unit="days", least=0, most=60)
    icing_days_before: int = setting(
        2, "mixing and filling icing, days before pick-up", unit="days", least=0, most=60
    )
    pack_days_before: int = setting(1, "packing, days before pick-up", unit="days", least=0, most=60)
    shop_days_before: int = setting(6, "shopping, days before pick-up", unit="days", least=0, most=120)
    filling_share: float = setting(
        0.5, "of the minutes for a kit, those on the icing day; the rest is packing", least=0, most=1
    )
    hours_per_week: float = setting(20.0, "hours of work that she has in a week", unit="h", least=0.5, most=168)
    hours_per_day: float = setting(8.0, "hours of work that she has on one day", unit="h", least=0.5, most=24)
    orders_open_days: int = setting(35, "orders open, days before the day", unit="days", least=1, most=365)
    orders_close_days: int = setting(7, "orders close, days before the day", unit="days", least=0, most=180)
    ready_days_before: int = setting(
        3, "kits handed over, days before a holiday, so that there is time to decorate", unit="days",
        least=0, most=60,
    )  # fmt: skip
