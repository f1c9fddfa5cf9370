"""How many cookies lie on a tray, and how many trays and oven loads they take."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from themekit.make.settings.dough import Dough

#: A cookie that fits to the last hair counts as fitting, whatever the floating point says.
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Grid:
    """How one cookie is laid on a tray: so many in a row across its width, so many rows.

    `row_mm` is what one row takes of the tray's length, gap included; `turned` says
    that the cookie lies with its height across the tray.
    """

    across: int
    rows: int
    row_mm: float
    turned: bool

    @property
    def per_tray(self) -> int:
        """Cookies on one tray, 0 where not even one fits."""
        return self.across * self.rows


@dataclass(frozen=True, slots=True)
class Baking:
    """Trays to fill, oven loads, and the minutes that the oven bakes in all."""

    trays: int
    loads: int
    bake_minutes: float


def grid_of(width_mm: float, height_mm: float, dough: Dough) -> Grid:
    """The best upright grid of one cookie on the tray, after it has spread in baking.

    n = floor((W − 2e + g)/(w + g)) × floor((L − 2e + g)/(h + g)) for a tray of width W and
    length L with a free edge e and gaps g, tried with the cookie either way round; of equal
    ones the cookie is not turned. No staggered rows.

    Parameters
    ----------
    width_mm, height_mm  bounding box of the cut cookie, mm, above 0.
    """
    grow = 1 + dough.spread_share
    room_w = dough.tray_width_mm - 2 * dough.tray_edge_mm + dough.tray_gap_mm
    room_l = dough.tray_length_mm - 2 * dough.tray_edge_mm + dough.tray_gap_mm
    grids = []
    for turned in (False, True):
        across, along = (height_mm, width_mm) if turned else (width_mm, height_mm)
        step_w, step_l = across * grow + dough.tray_gap_mm, along * grow + dough.tray_gap_mm
        fit_w = max(0, math.floor(room_w / step_w + _HAIR))
        fit_l = max(0, math.floor(room_l / step_l + _HAIR))
        if fit_w * fit_l == 0:
            fit_w = fit_l = 0
        grids.append(Grid(fit_w, fit_l, step_l, turned))
    return max(grids, key=lambda grid: grid.per_tray)


def baking(cookies: Iterable[tuple[Grid, int]], dough: Dough) -> Baking:
    """Trays and oven loads of so many cookies by grid; those that fit no tray are left out.

    Each cutter first fills trays of its own. The rows that are left over share trays, the
    deepest first, each on the first tray with room: a layout that works, if not always the
    tightest.
    """
    room = dough.tray_length_mm - 2 * dough.tray_edge_mm + dough.tray_gap_mm
    trays, sharing, left = 0, 0, list[float]()
    for grid, count in cookies:
        if not grid.per_tray:
            continue
        full, rest = divmod(count, grid.per_tray)
        trays += full
        sharing += rest > 0
        left += [grid.row_mm] * math.ceil(rest / grid.across)
    shared: list[float] = []
    for row in sorted(left, reverse=True):
        for number, free in enumerate(shared):
            if row <= free + _HAIR:
                shared[number] = free - row
                break
        else:
            shared.append(room - row)
    # A tray for each cutter always works, so that is the most.
    trays += min(len(shared), sharing)
    loads = math.ceil(trays / dough.trays_per_load)
    return Baking(trays, loads, loads * dough.bake_minutes)
