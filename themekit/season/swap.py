"""One kit of a plan for another of its candidates, the rest kept as it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from themekit.errors import Problem, raise_all
from themekit.season.stock import Stock, bought
from themekit.season.values import Keep, LineOffers, Offer, Other

#: Others offered for a line; more make a list nobody reads.
MOST_OTHERS = 6


def keep_of(offer: Offer) -> Keep:
    """What names an offer among the candidates of its line."""
    return Keep(offer.theme, tuple(t.hex for t in offer.palette.tints), tuple(j.id for j in offer.trio.jars))


def narrowed(lines: Sequence[LineOffers]) -> tuple[LineOffers, ...]:
    """The lines, those that keep a kit with that one offer alone.

    Raises `InvalidValue` with every line whose kit is no longer among its candidates.
    """
    out, problems = [], []
    for number, line in enumerate(lines):
        keep = line.planned.keep
        kept = [o for o in line.offers if keep_of(o) == keep] if keep else list(line.offers)
        if keep and not kept:
            hint = "The shelf has changed since, or this line did: plan it anew."
            problems.append(Problem(f"kits.{number}.keep", "this kit", "a kit that was offered for it", hint))
        out.append(replace(line, offers=tuple(kept)))
    raise_all(problems, "A kit of this plan is no longer to be had.")
    return tuple(out)


def places_of(
    lines: Sequence[LineOffers], narrow: Sequence[LineOffers], chosen: Sequence[int | None]
) -> tuple[int | None, ...]:
    """Where the offers chosen of narrowed lines stand among all candidates."""
    return tuple(
        None if at is None else next(i for i, o in enumerate(line.offers) if o is few.offers[at])
        for line, few, at in zip(lines, narrow, chosen, strict=True)
    )


def others(
    lines: Sequence[LineOffers], chosen: Sequence[int | None], stock: Stock, most: int = MOST_OTHERS
) -> list[tuple[Other, ...]]:
    """For each line up to `most` other kits, those that stock suffices for beside the other lines first.

    Each differs from the chosen one and from those before it in its palette or in two jars.
    """
    taken: Counter[int] = Counter()
    for line, at in zip(lines, chosen, strict=True):
        if at is not None:
            taken.update(dict(line.offers[at].taken))
    return [_others(line, at, taken, stock, most) for line, at in zip(lines, chosen, strict=True)]


def _others(line: LineOffers, at: int | None, taken: Counter[int], stock: Stock, most: int) -> tuple[Other, ...]:
    own = {} if at is None else dict(line.offers[at].taken)
    found = []
    for offer in line.offers:
        lacking = {id: taken[id] - own.get(id, 0) + mg - stock.free[id] for id, mg in offer.taken}
        short = tuple(bought(stock.jars[id], mg) for id, mg in sorted(lacking.items()) if mg > 0)
        found.append(Other(offer, keep_of(offer), short))
    seen = [] if at is None else [line.offers[at]]
    out: list[Other] = []
    for one in sorted(found, key=lambda one: (bool(one.short), -one.offer.quality)):
        if len(out) < most and all(_differ(one.offer, before) for before in seen):
            seen.append(one.offer)
            out.append(one)
    return tuple(out)


def _differ(one: Offer, other: Offer) -> bool:
    if (one.theme, one.family) != (other.theme, other.family):
        return True
    return len({j.id for j in one.trio.jars} & {j.id for j in other.trio.jars}) < 2


__all__ = ["MOST_OTHERS", "keep_of", "narrowed", "others", "places_of"]
