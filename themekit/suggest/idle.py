"""Idle jars: what stands unused or will pass its best-before, what that puts at risk, and best uses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from themekit.colour.space import Floats
from themekit.errors import Problem, raise_all
from themekit.suggest.closeness import anchor_arrays, closeness, fit
from themekit.suggest.lookup import lookup_for
from themekit.suggest.reverse import IN_SEASON, LIKING, MOTIF, ReverseSearch, Use, in_season, shares_motif
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.trios import SOON_DAYS, flat_colours, idle_part
from themekit.values import Jar, Lexicon, Shelf, Theme

MOST_DAYS, MOST_JARS = 3650, 200
#: So far ahead it is asked whether a jar will be used by its best-before.
FORESEEN_DAYS = 365
#: A rest at its best-before below this part of what is on hand is no matter.
_SMALL = 0.1
#: Uses told for each jar: the best of all themes, and of those of the days ahead.
_AHEAD = 2


@dataclass(frozen=True, slots=True)
class IdleJar:
    """One idle jar: why, what is at risk, and its best uses (none for a jar that should not be used).

    uses             the best of all themes first, then the best of the themes of the days ahead
    used_g_per_day   at the present rate; None where the ledger is too young to tell
    left_g           of it on its best-before day at that rate; None where that is not known
    """

    jar: Jar
    why: tuple[str, ...]
    idle: float
    grams_at_risk: float | None
    money_at_risk: Decimal | None
    uses: tuple[Use, ...]
    used_g_per_day: float | None = None
    left_g: float | None = None

    @property
    def use(self) -> Use | None:
        """The best use of all."""
        return self.uses[0] if self.uses else None


def idle_jars(
    shelf: Shelf,
    lexicon: Lexicon,
    today: date,
    days: int = 90,
    count: int = 20,
    rates: Mapping[int, float] | None = None,
    ahead: Sequence[str] = (),
    taste: Taste = NO_TASTE,
) -> tuple[IdleJar, ...]:
    """The least used and soonest dated jars of a shelf, worst first, each with its best uses.

    A jar is idle when nothing has used it for `days`, when its best-before is past or nearer
    than 60 days, or when at the present rate some of it will be left on that day.

    Parameters
    ----------
    rates   g a day that are used of a jar, by its id; jars of which that is not known are left out.
    ahead   names of the themes of the days ahead; the best of them for a jar are told too.
    taste   what her choices tell: how a trio's parts weigh, and which themes go before others.

    At risk is all of a jar that stands unused or is past its date, else what will be left on
    that day. Raises `InvalidValue` for numbers out of range.
    """
    _check(days, count)
    rates = rates or {}
    found = [(idle_part(j, today), why, j) for j in shelf.jars if (why := _why(j, today, days, rates.get(j.id)))]
    found.sort(key=lambda f: (-f[0], f[2].best_before or date.max, f[2].last_used or date.max, f[2].id))
    themes = tuple(dict.fromkeys(lookup_for(lexicon, shelf.themes).themes.values()))
    fresh = tuple(j for j in shelf.jars if not j.best_before or j.best_before >= today)
    search = ReverseSearch(fresh, themes, today, shelf.jars, taste) if found else None
    return tuple(_idle_jar(jar, why, idle, search, today, days, rates, ahead) for idle, why, jar in found[:count])


def _idle_jar(
    jar: Jar, why: tuple[str, ...], idle: float, search: ReverseSearch | None, today: date, days: int,
    rates: Mapping[int, float], ahead: Sequence[str],
) -> IdleJar:  # fmt: skip
    uses: list[Use] = []
    if search is not None:
        uses += search.best(jar.id)
        names = {use.theme.name for use in uses}
        uses += search.best(jar.id, _AHEAD, [name for name in ahead if name not in names]) if ahead else ()
    left = left_then(jar, today, rates.get(jar.id))
    grams = jar.on_hand_g if left is None or _unused(jar, today, days) else left
    return IdleJar(
        jar=jar,
        why=why,
        idle=round(idle, 4),
        grams_at_risk=grams,
        money_at_risk=_money(jar, grams),
        uses=tuple(uses),
        used_g_per_day=rates.get(jar.id),
        left_g=left,
    )


def left_then(jar: Jar, today: date, rate: float | None) -> float | None:
    """g that will be left on the jar's best-before day at `rate` g a day; None where not known."""
    if rate is None or jar.best_before is None or jar.on_hand_g is None:
        return None
    return round(max(0.0, jar.on_hand_g - rate * max(0, (jar.best_before - today).days)), 3)


def _check(days: int, count: int) -> None:
    problems = []
    if not 1 <= days <= MOST_DAYS:
        problems.append(
            Problem("days", days, f"a whole number from 1 to {MOST_DAYS}", "Change the number of days.")
        )
    if not 1 <= count <= MOST_JARS:
        problems.append(Problem("count", count, f"a whole number from 1 to {MOST_JARS}", "Change the number."))
    raise_all(problems)


def _unused(jar: Jar, today: date, days: int) -> bool:
    return bool(jar.last_used and (today - jar.last_used).days >= days)


def _why(jar: Jar, today: date, days: int, rate: float | None) -> tuple[str, ...]:
    out = []
    if jar.last_used and _unused(jar, today, days):
        out.append(f"not used for {(today - jar.last_used).days} days")
    if jar.best_before:
        left = (jar.best_before - today).days
        if left < 0:
            out.append(f"past its best-before by {-left} days: check it, do not sell it")
        elif left <= SOON_DAYS:
            out.append(f"best before in {left} days")
        rest = left_then(jar, today, rate)
        if rest is not None and 0 <= left <= FORESEEN_DAYS and rest > max(1.0, _SMALL * (jar.on_hand_g or 0)):
            out.append(f"at the present rate {rest:.0f} g will be left on its best-before day")
    return tuple(out)


def _money(jar: Jar, grams: float | None) -> Decimal | None:
    if jar.price_per_kg is None or grams is None:
        return None
    return (jar.price_per_kg * Decimal(str(grams)) / 1000).quantize(Decimal("0.01"))


def theme_fits(
    jars: Sequence[Jar], themes: Sequence[Theme], today: date, liking: Mapping[str, float] | None = None
) -> Floats:
    """How well each theme suits each jar, 0–1 and a little over, shape (jars, themes).

    `liking` tells, by case-folded name, how well a theme went before, −1 to 1.

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
    season = np.array([in_season(t, today) for t in themes])
    for row, jar in enumerate(jars):
        lab, share, start = flat_colours([jar])
        alike = [at for at, theme in enumerate(themes) if shares_motif(jar, theme)]
        near = owner[tree.kneighbors(lab, return_distance=False).ravel()]
        for at in np.unique([*near, *alike]):
            labs, weights = anchor_arrays(themes[at].anchors)
            out[row, at] = fit(closeness(lab, labs), weights, share, start)[0]
            out[row, at] += IN_SEASON * season[at] + MOTIF * shares_motif(jar, themes[at])
            out[row, at] += LIKING * (liking or {}).get(themes[at].name.casefold(), 0.0)
    return out
