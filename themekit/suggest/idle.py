"""Idle jars: what stands unused or will pass its best-before, and the best use for each.

The reverse of an idea: the jar is given, the theme is sought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from themekit.colour.space import Floats
from themekit.errors import Problem, TooFewCandidates, raise_all
from themekit.suggest.closeness import anchor_arrays, closeness, fit
from themekit.suggest.lookup import lookup_for
from themekit.suggest.trios import SOON_DAYS, Trio, TrioSearch, flat_colours, idle_part
from themekit.values import Jar, Lexicon, Shelf, Theme

#: A theme that is asked for in these coming days goes before others.
AHEAD_DAYS = 60
#: Themes tried with a trio for each jar, and themes told.
_TRIED, MOST_DAYS, MOST_JARS = 4, 3650, 200
#: What being in season adds to a theme's fit (out of season it takes as much away), and
#: carrying the jar's motif.
_IN_SEASON, _MOTIF = 0.15, 0.4


@dataclass(frozen=True, slots=True)
class Use:
    """A theme that suits a jar, with the best trio that holds the jar."""

    theme: Theme
    trio: Trio
    score: float


@dataclass(frozen=True, slots=True)
class IdleJar:
    """One idle jar: why, what is at risk, and its best use (None when there is none)."""

    jar: Jar
    why: tuple[str, ...]
    idle: float
    grams_at_risk: float | None
    money_at_risk: Decimal | None
    use: Use | None


def idle_jars(shelf: Shelf, lexicon: Lexicon, today: date, days: int = 90, count: int = 20) -> tuple[IdleJar, ...]:
    """The least used and soonest dated jars of a shelf, worst first, each with its best use.

    A jar is idle when nothing has used it for `days` or when its best-before is past or
    nearer than 60 days. Raises `InvalidValue` for numbers out of range.
    """
    _check(days, count)
    found = [(idle_part(j, today), why, j) for j in shelf.jars if (why := _why(j, today, days))]
    found.sort(key=lambda f: (-f[0], f[2].best_before or date.max, f[2].last_used or date.max, f[2].id))
    found = found[:count]
    themes = tuple(dict.fromkeys(lookup_for(lexicon, shelf.themes).themes.values()))
    fits = theme_fits([j for _, _, j in found], themes, today)
    fresh = tuple(j for j in shelf.jars if not j.best_before or j.best_before >= today)
    return tuple(
        IdleJar(
            jar=jar,
            why=why,
            idle=round(idle, 4),
            grams_at_risk=jar.on_hand_g,
            money_at_risk=_money(jar),
            use=_best_use(jar, fresh, themes, row, today, shelf.jars),
        )
        for (idle, why, jar), row in zip(found, fits, strict=True)
    )


def _check(days: int, count: int) -> None:
    problems = []
    if not 1 <= days <= MOST_DAYS:
        problems.append(
            Problem("days", days, f"a whole number from 1 to {MOST_DAYS}", "Change the number of days.")
        )
    if not 1 <= count <= MOST_JARS:
        problems.append(Problem("count", count, f"a whole number from 1 to {MOST_JARS}", "Change the number."))
    raise_all(problems)


def _why(jar: Jar, today: date, days: int) -> tuple[str, ...]:
    out = []
    if jar.last_used and (today - jar.last_used).days >= days:
        out.append(f"not used for {(today - jar.last_used).days} days")
    if jar.best_before:
        left = (jar.best_before - today).days
        if left < 0:
            out.append(f"past its best-before by {-left} days: check it, do not sell it")
        elif left <= SOON_DAYS:
            out.append(f"best before in {left} days")
    return tuple(out)


def _money(jar: Jar) -> Decimal | None:
    if jar.price_per_kg is None or jar.on_hand_g is None:
        return None
    return (jar.price_per_kg * Decimal(str(jar.on_hand_g)) / 1000).quantize(Decimal("0.01"))


def theme_fits(jars: Sequence[Jar], themes: Sequence[Theme], today: date) -> Floats:
    """How well each theme suits each jar, 0–1 and a little over, shape (jars, themes).

    Only themes that share a motif with the jar or own one of the anchors nearest to its
    colours are looked at: the nearest by ΔE*ab, found with a k-d tree, then compared by
    CIEDE2000.
    """
    if not jars or not themes:
        return np.zeros((len(jars), len(themes)))
    from sklearn.neighbors import NearestNeighbors

    anchors = np.array([a.lab for t in themes for a in t.anchors])
    owner = np.repeat(np.arange(len(themes)), [len(t.anchors) for t in themes])
    tree = NearestNeighbors(n_neighbors=min(120, len(anchors)), algorithm="kd_tree").fit(anchors)
    out = np.zeros((len(jars), len(themes)))
    season = np.array([_in_season(t, today) for t in themes])
    for row, jar in enumerate(jars):
        lab, share, start = flat_colours([jar])
        alike = [at for at, theme in enumerate(themes) if _shares_motif(jar, theme)]
        near = owner[tree.kneighbors(lab, return_distance=False).ravel()]
        for at in np.unique([*near, *alike]):
            labs, weights = anchor_arrays(themes[at].anchors)
            out[row, at] = fit(closeness(lab, labs), weights, share, start)[0]
            out[row, at] += _IN_SEASON * season[at] + _MOTIF * _shares_motif(jar, themes[at])
    return out


def _shares_motif(jar: Jar, theme: Theme) -> float:
    """1 when the jar carries the theme's first motif, less for later ones, 0 for none."""
    ranks = [theme.motifs.index(m) for m in jar.motifs if m in theme.motifs]
    return 1 - min(ranks) / len(theme.motifs) if ranks else 0.0


def _in_season(theme: Theme, today: date) -> int:
    """1 when the theme is asked for in the coming days, −1 when at another time, 0 at any."""
    if not theme.months:
        return 0
    ahead = {(today + timedelta(days=d)).month for d in range(0, AHEAD_DAYS + 1, 7)}
    return 1 if ahead & set(theme.months) else -1


def _best_use(
    jar: Jar, jars: tuple[Jar, ...], themes: Sequence[Theme], fits: NDArray[np.float64], today: date,
    shelf: tuple[Jar, ...],
) -> Use | None:  # fmt: skip
    """The best of the likeliest themes, judged with a real trio that holds the jar."""
    if jar not in jars:
        return None
    best: Use | None = None
    for at in np.argsort(-fits, kind="stable")[:_TRIED]:
        try:
            motifs = dict.fromkeys(themes[at].motifs, 1.0)
            search = TrioSearch(
                jars, themes[at].anchors, today=today, use_jars=(jar.id,), shelf_jars=shelf, motifs=motifs
            )
        except TooFewCandidates:
            return None
        for trio in search.best(1):
            score = round(0.5 * float(fits[at]) + 0.5 * trio.score, 4)
            if best is None or score > best.score:
                best = Use(themes[at], trio, score)
    return best
