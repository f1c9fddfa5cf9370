"""The jars as the joint plan sees them, and what a choice takes, buys and is worth."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import median

from themekit.season.values import Bought, LineOffers, Offer, Weights, Worth
from themekit.suggest.trios import idle_part
from themekit.values import Jar

#: Where no jar of the shelf has a price, sprinkles are taken to cost this much a kg to
#: weigh purchases against each other; it is never shown as a price.
_NO_PRICE = 20.0
MG = 1000
#: A jar counts as idle from this `idle_part` on: unused for a quarter of half a year, or so.
IDLE_FROM = 0.25


@dataclass(frozen=True, slots=True)
class Stock:
    """The jars that some candidate uses, by id.

    free    mg that are promised to nobody
    idle    how much each wants to be used, 0–1; 0 below `IDLE_FROM`
    price   money for a mg, to weigh purchases by; the median where it is not known
    full    the price of a line's toppings that `Weights.bought` stands for
    """

    jars: Mapping[int, Jar]
    free: Mapping[int, int]
    idle: Mapping[int, float]
    price: Mapping[int, float]
    full: float


def stock_of(jars: Sequence[Jar], lines: Sequence[LineOffers], today: date | None) -> Stock:
    """What the candidates' jars hold, how idle they stand and what they cost."""
    used = sorted({id for line in lines for offer in line.offers for id, _ in offer.taken})
    by_id = {jar.id: jar for jar in jars}
    known = [float(jar.price_per_kg) for jar in jars if jar.price_per_kg is not None]
    usual = median(known) if known else _NO_PRICE
    price = {
        id: float(usual if by_id[id].price_per_kg is None else by_id[id].price_per_kg or 0) / 1_000_000
        for id in used
    }
    costs = [sum(price[id] * mg for id, mg in offer.taken) for line in lines for offer in line.offers]
    return Stock(
        {id: by_id[id] for id in used},
        {id: round((by_id[id].on_hand_g or 0.0) * MG) for id in used},
        {id: idleness(by_id[id], today) for id in used},
        price,
        max(costs, default=0.0) or 1.0,
    )


def idleness(jar: Jar, today: date | None) -> float:
    """How much a jar wants to be used, 0–1; 0 for one that was in use lately and keeps long."""
    part = idle_part(jar, today)
    return part if part >= IDLE_FROM else 0.0


def worth(lines: Sequence[LineOffers], chosen: Sequence[int | None], stock: Stock, weights: Weights) -> Worth:
    """What a choice of one offer for each line is worth: the plain rule that the programme maximises."""
    offers = [line.offers[at] for line, at in zip(lines, chosen, strict=True) if at is not None]
    left = len(lines) - len(offers)
    uses = Counter(id for offer in offers for id, _ in offer.taken)
    families = Counter(offer.family for offer in offers)
    short = shortfall(offers, stock)
    quality = sum(offer.quality for offer in offers)
    idle = weights.idle * sum(stock.idle[id] for id in sorted(uses))
    again = weights.jar_again * sum(n - 1 for n in uses.values())
    again += weights.palette_again * sum(n - 1 for n in families.values())
    buying = weights.jar_bought * len(short)
    buying += weights.bought * sum(stock.price[id] * mg for id, mg in short.items()) / stock.full
    out = weights.left_out * left
    return Worth(
        value=round(quality + idle - again - buying - out, 6),
        quality=round(quality, 6),
        idle=round(idle, 6),
        again=round(again, 6),
        buying=round(buying, 6),
        left_out=round(out, 6),
        lines_left_out=left,
        idle_jars_used=sum(stock.idle[id] > 0 for id in uses),
        bought=tuple(bought(stock.jars[id], mg) for id, mg in short.items()),
    )


def shortfall(offers: Sequence[Offer], stock: Stock) -> dict[int, int]:
    """mg that the offers take of each jar beyond what is free, by jar id."""
    taken: Counter[int] = Counter()
    for offer in offers:
        for id, mg in offer.taken:
            taken[id] += mg
    return {id: taken[id] - stock.free[id] for id in sorted(taken) if taken[id] > stock.free[id]}


def bought(jar: Jar, mg: int) -> Bought:
    """So much of a jar to buy, with its cost."""
    cost = None
    if jar.price_per_kg is not None:
        cost = (jar.price_per_kg * mg / 1_000_000).quantize(Decimal("0.01"))
    return Bought(jar, mg / MG, cost)
