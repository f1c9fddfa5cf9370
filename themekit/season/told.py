"""Why the joint plan chose what it chose, in plain sentences."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from themekit.season.stock import MG, Stock
from themekit.season.values import LineOffers, Solved, Worth
from themekit.suggest.asked import Asked
from themekit.suggest.words import listed


def line_reasons(
    line: LineOffers, at: int, stock: Stock, uses: Mapping[int, int], today: date | None
) -> tuple[str, ...]:
    """Why a line has this offer: what it uses up, what it shares, what it gave up for others."""
    offer, best = line.offers[at], line.offers[0]
    names = {id: stock.jars[id].name for id, _ in offer.taken}
    reasons = []
    if line.planned.theme is None:
        reasons.append(f"Free choice: “{offer.theme}” suits the season and the jars to use.")
    idle = [id for id, _ in offer.taken if stock.idle[id] > 0]
    if idle:
        told = [f"{names[id]} ({_idle(stock, id, today)})" for id in idle]
        reasons.append(f"Uses {listed(told)}.")
    shared = [names[id] for id, _ in offer.taken if uses[id] > 1]
    if shared:
        reasons.append(f"Shared with other lines: {listed(shared)}.")
    if at and line.planned.keep:
        reasons.append(f"By itself another idea scores {best.quality - offer.quality:.3f} more.")
    elif at:
        lost = best.quality - offer.quality
        kept = [j.name for j in best.trio.jars if j.id not in names]
        what = f"leaves {listed(kept)} for other uses" if kept else "takes another palette"
        reasons.append(
            f"By itself another idea scores {lost:.3f} more; for the whole season this one is better: it {what}."
        )
    else:
        reasons.append("By itself also the best idea for this line.")
    return tuple(reasons)


def understood_told(asked: Asked) -> list[str]:
    """What of a line's theme was not understood, or hardly."""
    told = []
    if asked.reading.fallback:
        told.append("Little of this theme was understood: name two or three colours to make it surer.")
    if asked.reading.unknown:
        told.append(f"Not understood: {listed([f'“{word}”' for word in asked.reading.unknown])}.")
    return told


def _idle(stock: Stock, id: int, today: date | None) -> str:
    jar = stock.jars[id]
    told = []
    if today and jar.last_used and (today - jar.last_used).days > 0:
        told.append(f"unused for {(today - jar.last_used).days} days")
    if today and jar.best_before:
        told.append(f"best before in {(jar.best_before - today).days} days")
    return ", ".join(told) or "it wants to be used"


def more_told(value: Worth, wider: Worth, solved: Solved, candidates: int) -> str:
    """What a choice among more candidates would change."""
    how = f"With twice as many of each sort ({candidates} candidates)"
    if wider.value <= value.value + 1e-6:
        if solved.optimal:
            return f"{how} the best choice is worth no more: {value.value:.3f} points."
        return f"{how} nothing better was found in the time given."
    told = f"{how} the plan would be worth {wider.value - value.value:.3f} points more, of {value.value:.3f}"
    return told + ("." if solved.optimal else f", at least; the time ended with a gap of {solved.gap or 0:.2%}.")


def better_told(value: Worth, alone: Worth) -> str:
    """By how much the joint plan is better than choosing kit by kit."""
    parts = []
    if alone.lines_left_out != value.lines_left_out:
        parts.append(f"{alone.lines_left_out - value.lines_left_out} more lines made")
    less = sum(b.grams for b in alone.bought) - sum(b.grams for b in value.bought)
    if abs(less) >= 1 / MG:
        parts.append(f"{abs(less):.0f} g {'less' if less > 0 else 'more'} to buy")
    for name, got, had in (("quality", value.quality, alone.quality), ("idle jars", value.idle, alone.idle),
                           ("repeats", -value.again, -alone.again)):  # fmt: skip
        if abs(got - had) >= 0.0005:
            parts.append(f"{name} {got - had:+.3f}")
    by = f"{value.value - alone.value:.3f} points"
    return f"Better than kit by kit by {by}: {', '.join(parts)}." if parts else "As good as kit by kit."
