"""The shopping list: what to buy first, then what to look for, then what there is enough of."""

from __future__ import annotations

from decimal import Decimal

from api.prints.amounts import of_unit
from api.prints.job import Job, Json
from themekit.make.days import told_day
from themekit.make.shopping import ShoppingLine, Status
from themekit.make.units import System

_PARTS: tuple[tuple[Status, str], ...] = (
    ("buy", "To buy"),
    ("check", "Look first: not known whether there is enough"),
    ("enough", "Enough on the shelf"),
)


def shopping(job: Job) -> Json:
    """The list's data: tick boxes, packs and prices, the sum of what is known."""
    listed, days = job.work.shopping, job.work.days
    currency = job.work.cost.currency
    total = ("at least " if listed.at_least else "") + money(listed.total, currency)
    return {
        **job.basics,
        "kits": f"{job.work.order.kits} {'kit' if job.work.order.kits == 1 else 'kits'}",
        "due": f"shop on {told_day(days.step('shop').day)}" if days else "",
        "parts": [
            {
                "title": title,
                "tick": status != "enough",
                "lines": [line(x, job.system, currency) for x in lines],
                "total": total if status == "buy" else "",
            }
            for status, title in _PARTS
            if (lines := [x for x in listed.lines if x.status == status])
        ],
        "at_least": listed.at_least,
        "empty": "Nothing is needed for this batch." if not listed.lines else "",
    }


def money(amount: Decimal | None, currency: str) -> str:
    """An amount with its currency's code, "" where it is not known."""
    return "" if amount is None else f"{amount:f} {currency}".rstrip()


def line(line: ShoppingLine, system: System, currency: str) -> Json:
    """One line with what is needed, there and to be bought, as it is printed."""
    unit = line.unit
    packs = ""
    if line.packs and line.pack_size is not None:
        size = of_unit(line.pack_size, unit, system)
        packs = f"{line.packs} × {size}{' pieces' if unit == 'piece' else ''}"
    elif line.short:
        packs = of_unit(line.short, unit, system)
    other = line.matched and line.matched.casefold() != line.name.casefold()
    return {
        "name": line.name,
        "matched": line.matched if other else "",
        "for_what": ", ".join(line.for_what),
        "need": of_unit(line.needed, unit, system),
        "have": "" if line.on_hand is None else of_unit(line.on_hand, unit, system),
        "buy": packs,
        "price": money(line.price, currency) if line.status == "buy" else "",
        "note": line.note,
    }
