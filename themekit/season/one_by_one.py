"""Choosing kit by kit in the order of days: what the joint plan is compared with."""

from __future__ import annotations

from collections.abc import Sequence

from themekit.season.stock import Stock, worth
from themekit.season.values import LineOffers, Weights, in_order


def one_by_one(
    lines: Sequence[LineOffers], stock: Stock, weights: Weights, buy: bool = True
) -> tuple[int | None, ...]:
    """Each line in turn takes the offer that is worth most beside those chosen before it.

    It goes by the very rules of the joint plan, but looks at no later line. Without `buy` a
    line that finds too little stock is left out. Ties go to the better offer by itself.
    """
    chosen: list[int | None] = [None] * len(lines)
    for number in in_order([line.planned for line in lines]):
        best = (worth(lines, chosen, stock, weights).value, None)
        for at in range(len(lines[number].offers)):
            tried = worth(lines, [*chosen[:number], at, *chosen[number + 1 :]], stock, weights)
            if (buy or not tried.bought) and tried.value > best[0] + 1e-9:
                best = (tried.value, at)  # type: ignore[assignment]
        chosen[number] = best[1]
    return tuple(chosen)
