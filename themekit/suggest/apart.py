"""What sets two kits apart, in sentences: icing, toppings, cutters, cost, stock and cautions."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.suggest.words import listed
from themekit.values import Tint

#: Tints of two kits nearer than this (CIEDE2000) are told as the same colour; judged by eye, no source.
_SAME = 3.0


@dataclass(frozen=True, slots=True)
class Side:
    """One of two kits: what is in it, cost of a kit in `currency`, and how many kits the stock makes.

    `name` is how it is spoken of, such as "the first"; `makes` None is not known.
    """

    name: str
    tints: tuple[Tint, ...]
    jars: tuple[str, ...]
    cutters: tuple[tuple[str, int], ...]
    mixed: bool
    cost: Decimal
    at_least: bool
    currency: str
    makes: int | None
    cautions: tuple[str, ...]


def apart(a: Side, b: Side) -> list[str]:
    """The differences, one sentence each; two kits without any have one sentence that says so."""
    out = [*_icing(a, b), *_toppings(a, b), *_cutters(a, b)]
    if not out:
        out = ["The same icing, toppings and cutters lie in both."]
    return [*out, *_cost(a, b), *_stock(a, b), *_cautions(a, b)]


def _icing(a: Side, b: Side) -> list[str]:
    own_a = [t.name for t in a.tints if not _among(t, b.tints)]
    own_b = [t.name for t in b.tints if not _among(t, a.tints)]
    if not own_a and not own_b:
        return []
    shared = [t.name for t in a.tints if _among(t, b.tints)]
    told = f"Both have {listed(shared)} icing; only " if shared else "No icing is the same: "
    out = f"{told}{a.name} has {listed(own_a)}, {b.name} {listed(own_b)}." if own_a and own_b else ""
    spans = [max(t.lab[0] for t in s.tints) - min(t.lab[0] for t in s.tints) for s in (a, b)]
    lines = [out] if out else []
    if abs(spans[0] - spans[1]) >= 15:
        wider = a if spans[0] > spans[1] else b
        lines.append(
            f"{wider.name.capitalize()} has the wider step from dark to light, so lines show better on it."
        )
    return lines


def _among(tint: Tint, others: tuple[Tint, ...]) -> bool:
    labs = np.array([other.lab for other in others]).reshape(-1, 3)
    return bool(len(labs)) and float(delta_e_2000(labs, np.array(tint.lab)).min()) <= _SAME


def _toppings(a: Side, b: Side) -> list[str]:
    lines = []
    own_a, own_b = [j for j in a.jars if j not in b.jars], [j for j in b.jars if j not in a.jars]
    shared = [j for j in a.jars if j in b.jars]
    if own_a or own_b:
        first = f"{listed(shared)} in both; " if shared else ""
        told = f"{first}{listed(own_a)} only in {a.name}, {listed(own_b)} only in {b.name}."
        lines.append(told[0].upper() + told[1:])
    if a.mixed != b.mixed:
        mixed, cups = (a, b) if a.mixed else (b, a)
        lines.append(f"{mixed.name.capitalize()} has its toppings as one mix, {cups.name} in three cups.")
    return lines


def _cutters(a: Side, b: Side) -> list[str]:
    of_a, of_b = dict(a.cutters), dict(b.cutters)
    if of_a == of_b:
        return []
    lines = []
    own_a = [f"{n} {name}" for name, n in a.cutters if name not in of_b]
    own_b = [f"{n} {name}" for name, n in b.cutters if name not in of_a]
    for side, own in ((a, own_a), (b, own_b)):
        if own:
            lines.append(f"Only {side.name} has {listed(own)}.")
    for name, count in a.cutters:
        if name in of_b and of_b[name] != count:
            lines.append(f"{name.capitalize()}: {count} in {a.name}, {of_b[name]} in {b.name}.")
    total_a, total_b = sum(of_a.values()), sum(of_b.values())
    if total_a != total_b:
        lines.append(f"{a.name.capitalize()} has {total_a} cookies, {b.name} {total_b}.")
    return lines


def _cost(a: Side, b: Side) -> list[str]:
    if a.cost == b.cost:
        return [f"Both cost {_money(a.cost, a)} a kit{', at least' if a.at_least or b.at_least else ''}."]
    cheap, dear = (a, b) if a.cost < b.cost else (b, a)
    told = f"{cheap.name.capitalize()} costs {_money(dear.cost - cheap.cost, a)} less a kit: "
    doubt = ", so far as prices are entered" if a.at_least or b.at_least else ""
    return [f"{told}{_money(cheap.cost, a)} against {_money(dear.cost, a)}{doubt}."]


def _money(amount: Decimal, side: Side) -> str:
    return f"{amount:.2f} {side.currency}".strip()


def _stock(a: Side, b: Side) -> list[str]:
    if a.makes is None or b.makes is None:
        unknown = listed([s.name for s in (a, b) if s.makes is None])
        known = next((s for s in (a, b) if s.makes is not None), None)
        told = f"How many kits the jars make is not known of {unknown}"
        return [f"{told}; {known.name} makes {known.makes}." if known else f"{told}."]
    if a.makes == b.makes:
        return [f"What is on the shelf makes {a.makes} of either."]
    return [f"What is on the shelf makes {a.makes} of {a.name} and {b.makes} of {b.name}."]


def _cautions(a: Side, b: Side) -> list[str]:
    lines = []
    for side, other in ((a, b), (b, a)):
        own = [text for text in side.cautions if text not in other.cautions]
        lines += [f"Take care only with {side.name}: {text}" for text in own]
    return lines or ["The same cautions go for both."]
