"""When to open orders, the last day for them, and when to bake, from lead times and capacity."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from themekit.make.days import day_plan, told_day
from themekit.make.kit import Cut, Kit, Order
from themekit.make.settings import Settings
from themekit.suggest.asked import MOST_KITS, USUAL_COOKIES
from themekit.suggest.cutters import USUAL_MM
from themekit.values import Cutter

_WEEK = 7
#: Any day: minutes do not depend on it.
_SOME_DAY = date(2026, 1, 5)


@dataclass(frozen=True, slots=True)
class SellingDays:
    """The days of selling and making what is handed over on one day.

    most_kits  of a usual kit, in the hours of one week; `weeks` of work that the kits asked take.
    told       what to mind: days in the past, more than a week of work, none at all.
    """

    open_orders: date
    last_orders: date
    shop: date
    bake: date
    icing: date
    pack: date
    ready_by: date
    hours: float | None
    weeks: int
    most_kits: int
    told: tuple[str, ...]


def selling_days(
    ready_by: date, settings: Settings, kits: int | None = None, order: Order | None = None,
    today: date | None = None,
) -> SellingDays:  # fmt: skip
    """Worked back from the day on which kits have to be ready.

    Parameters
    ----------
    ready_by  the day on which the kits are handed over.
    kits      how many; None where that is not known yet: a week's work at most.
    order     the kits themselves where they are chosen; else a usual kit stands for them.
    today     days before it are told; None: not asked.

    Orders close before the shopping. What takes more than one week's hours opens, and
    closes, so many weeks earlier.
    """
    work = settings.work
    most = most_kits(settings)
    minutes = None
    if order is not None:
        minutes = day_plan(order, ready_by).minutes
    elif kits is not None:
        minutes = _minutes(kits, settings)
    weeks = 1 if minutes is None else max(1, math.ceil(minutes / (60 * work.hours_per_week) - 1e-9))
    earlier = _WEEK * (weeks - 1)
    closes = max(work.orders_close_days, work.shop_days_before) + earlier
    days = {
        "open_orders": max(work.orders_open_days + earlier, closes),
        "last_orders": closes,
        "shop": work.shop_days_before,
        "bake": work.bake_days_before,
        "icing": work.icing_days_before,
        "pack": work.pack_days_before,
    }
    on = {name: ready_by - timedelta(days=n) for name, n in days.items()}
    told = []
    if weeks > 1 and minutes is not None:
        told.append(
            f"This takes {minutes / 60:.1f} h, more than the {work.hours_per_week:g} h of a week: spread it over "
            f"{weeks} weeks, as far as cookies and icing keep, or take fewer orders."
        )
    if most == 0:
        told.append(f"Not one kit can be made in the {work.hours_per_week:g} h of a week.")
    if today is not None and ready_by < today:
        told.append(f"It would have to be ready on {told_day(ready_by)}, which is past.")
    elif today is not None and on["last_orders"] < today:
        told.append(f"The last day for orders was {told_day(on['last_orders'])}: take what can still be made.")
    return SellingDays(
        **on,
        ready_by=ready_by,
        hours=None if minutes is None else round(minutes / 60, 2),
        weeks=weeks,
        most_kits=most,
        told=tuple(told),
    )


def most_kits(settings: Settings) -> int:
    """How many usual kits the hours of one week make; 0 where not one can be made."""
    return _most(settings.work.hours_per_week, settings)


@lru_cache(maxsize=64)
def _most(hours: float, settings: Settings) -> int:
    low, high = 0, MOST_KITS
    while low < high:
        middle = (low + high + 1) // 2
        if _minutes(middle, settings) <= 60 * hours + 1e-9:
            low = middle
        else:
            high = middle - 1
    return low


def _minutes(kits: int, settings: Settings) -> float:
    """Minutes of work for so many usual kits: round cookies of a usual size."""
    round_ = Cutter(1, "round", width_mm=USUAL_MM, height_mm=USUAL_MM)
    kit = Kit("usual", (), (), (Cut(round_, USUAL_COOKIES),))
    return day_plan(Order(kit, min(kits, MOST_KITS), settings), _SOME_DAY).minutes
