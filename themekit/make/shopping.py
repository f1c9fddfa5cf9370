"""The shopping list: what is needed, less what is on the shelf, in the packs she buys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import Literal

from themekit.make.goods import EGG_G, Needed, Stock, canonical, converted, exact, find, is_water
from themekit.make.quantities import KitContents, taken, whole
from themekit.suggest.words import key_of, listed
from themekit.values import Box, Shelf

Status = Literal["buy", "check", "enough"]

_CENT = Decimal("0.01")
_ORDER: tuple[Status, ...] = ("buy", "check", "enough")


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """One thing to buy, to check, or that the shelf has enough of. None is not known.

    name       what is needed
    status     "buy"; "check" where stock or need is not known; "enough"
    needed     in `unit` (g, ml, piece or m), waste included
    on_hand    on the shelf, in the same unit
    short      what is lacking
    packs      whole packs that cover it, of `pack_size` each
    price      of what is to be bought
    matched    the jar, gel, box or supply that was taken for it
    for_what   what it is needed for
    note       why, and what to do
    """

    name: str
    status: Status
    needed: float | None
    unit: str
    on_hand: float | None
    short: float | None
    packs: int | None
    pack_size: float | None
    price: Decimal | None
    matched: str | None
    for_what: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """Lines to buy first, then to check, then those with enough; `total` of the known prices.

    `at_least` says that the total may grow; `missing` says why.
    """

    lines: tuple[ShoppingLine, ...]
    total: Decimal
    at_least: bool
    missing: tuple[str, ...]


def needs_of(
    contents: KitContents,
    dough: Mapping[str, float | None] | None = None,
    icing: Mapping[str, float | None] | None = None,
    gels: Mapping[str, float | None] | None = None,
    box: Box | None = None,
) -> tuple[Needed, ...]:
    """Everything that the batch takes: dough, icing and gels (grams by name), toppings, goods, box.

    Water is left out. Without `box` the need is told as a box that is not chosen.
    """
    out = [
        Needed(name, grams, "g", what, "gel" if what == "tinting" else "supply")
        for what, parts in (("dough", dough), ("icing", icing), ("tinting", gels))
        for name, grams in (parts or {}).items()
        if not is_water(name)
    ]
    out += [Needed(p.jar.name, p.total_g, "g", "toppings", "jar") for p in contents.toppings]
    for line in contents.goods:
        if line.what == "box":
            name = box.name if box else line.what
            out.append(Needed(name, line.total, "piece", "packing", "box", "packaging"))
            continue
        packed = (line.per_kit or 0) * contents.kits
        expected = taken(packed, contents.waste_share)
        out.append(Needed(line.what, line.total, line.unit, "packing", "supply", "packaging", expected))
    return tuple(need for need in out if need.amount is None or need.amount > 0)


def shopping(needed: Sequence[Needed], shelf: Shelf, egg_g: float = EGG_G) -> ShoppingList:
    """What to buy: needs of one thing joined, less what is on hand, rounded up to whole packs.

    Stock that is not known makes a line to check: it is taken neither for none nor for enough.
    Jars and gels are priced by weight, since what a new one holds is not known here.

    Raises
    ------
    InvalidValue    an amount that is negative or not finite.
    """
    groups: dict[tuple[object, ...], tuple[Stock | None, list[Needed]]] = {}
    for need in needed:
        if is_water(need.name):
            continue
        stock = find(need.name, need.of, shelf)
        key: tuple[object, ...] = (
            ("", need.of, key_of(canonical(need.name)), need.unit) if stock is None else (stock.of, stock.id)
        )
        groups.setdefault(key, (stock, []))[1].append(need)
    missing: list[str] = []
    lines = [_line(stock, needs, egg_g, missing) for stock, needs in groups.values()]
    lines.sort(key=lambda line: _ORDER.index(line.status))
    total = sum((line.price for line in lines if line.price is not None), Decimal("0.00"))
    return ShoppingList(tuple(lines), total, bool(missing), tuple(missing))


def packs_for(short: Decimal, size: Decimal) -> int:
    """The fewest whole packs of `size` that hold `short`."""
    return int((short / size).to_integral_value(ROUND_CEILING))


def _line(stock: Stock | None, needs: Sequence[Needed], egg_g: float, missing: list[str]) -> ShoppingLine:
    name = listed([n.name for n in needs])
    unit = needs[0].unit if stock is None else stock.unit or needs[0].unit
    amount, why = _together(needs, unit, stock, egg_g)
    have = None if stock is None else stock.on_hand
    short = packs = price = None
    status: Status = "check"
    notes = [] if not stock or not stock.others else [f"also on the shelf: {listed(stock.others)}"]
    if why:
        missing.append(why)
        notes.append(why)
    elif amount is not None and stock is None:
        status, short = "buy", amount
        notes.append("nothing on the shelf matches it, so its price is not known")
        missing.append(f"Nothing on the shelf matches {name}: enter it with its pack and price.")
    elif amount is not None and stock is not None and have is None:
        told = _without_stock(amount, stock, unit)
        notes.append(told)
        missing.append(f"How much {stock.name} there is is not known: {told}.")
    elif amount is not None and stock is not None and have is not None:
        short = max(amount - have, Decimal(0))
        status = "buy" if short else "enough"
        packs, price, lack = _bought(short, stock)
        if lack:
            missing.append(lack)
            notes.append(lack)
    return ShoppingLine(
        name=name,
        status=status,
        needed=_float(amount),
        unit=unit,
        on_hand=_float(have),
        short=_float(short),
        packs=packs,
        pack_size=_float(stock.pack_size if stock else None),
        price=price,
        matched=stock.name if stock else None,
        for_what=tuple(dict.fromkeys(n.for_what for n in needs)),
        note="; ".join(note.rstrip(".") for note in notes),
    )


def _together(needs: Iterable[Needed], unit: str, stock: Stock | None, egg_g: float) -> tuple[Decimal | None, str]:
    """All amounts in one unit; or None and why they cannot be told."""
    total = Decimal(0)
    for need in needs:
        if need.amount is None:
            return None, f"How much {need.name} is needed is not known."
        if stock is not None and stock.unit is None:
            return None, f"The unit of {stock.name} is not entered."
        amount = converted(exact(need.amount, need.name), need.unit, unit, need.name, egg_g)
        if amount is None:
            return None, f"{need.name} is needed in {need.unit} but kept in {unit}: compare by hand."
        total += amount
    # Nobody buys part of a piece, such as a third of an egg.
    return exact(float(total) if unit != "piece" else whole(float(total)), "amount"), ""


def _bought(short: Decimal, stock: Stock) -> tuple[int | None, Decimal | None, str]:
    """Packs and price of what is lacking, and what is not known of them."""
    if not short:
        return 0, Decimal("0.00"), ""
    if stock.of in ("jar", "gel"):
        if stock.price is None:
            return None, None, f"The price of {stock.name} is not entered."
        by_weight = f"What a new {stock.of} of {stock.name} holds is not known: its price is told by weight."
        return None, _money(short * stock.price / 1000), by_weight
    if stock.pack_size is None:
        return None, None, f"The pack size of {stock.name} is not entered."
    packs = packs_for(short, stock.pack_size)
    if stock.price is None:
        return packs, None, f"The price of {stock.name} is not entered."
    return packs, _money(packs * stock.price), ""


def _without_stock(amount: Decimal, stock: Stock, unit: str) -> str:
    """What to do where nobody counted."""
    if stock.pack_size is None:
        return f"look whether {amount.normalize():f} {unit} are there"
    packs = packs_for(amount, stock.pack_size)
    size = f"{stock.pack_size.normalize():f} {unit}"
    return f"count it; if there is none, buy {packs} {'pack' if packs == 1 else 'packs'} of {size}"


def _money(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_EVEN)


def _float(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)
