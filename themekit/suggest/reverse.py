"""The reverse of an idea: the jar is given, the theme is sought, among all there are.

A theme's score for a jar is half how well the jar suits it, half the best trio that holds
the jar. Every theme is bounded from above for every jar; trios are worked out for the
likeliest themes first, until no other theme can reach the best.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache

import numpy as np

from themekit.colour.space import Floats
from themekit.suggest import weights as w
from themekit.suggest.anchors import many_coloured
from themekit.suggest.best_three import PairTables, pair_tables
from themekit.suggest.closeness import closeness, fit, shown
from themekit.suggest.needs import choking
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.trios import Trio, TrioSearch, flat_colours, motif_part, stock_part
from themekit.values import Jar, Theme

#: A theme that is asked for in these coming days goes before others.
AHEAD_DAYS = 60
#: What being in season adds to a theme's fit (out of season it takes as much away), and
#: carrying the jar's motif.
IN_SEASON, MOTIF = 0.15, 0.4
#: What it adds that a theme always went well, and takes that it never did.
LIKING = 0.1
_PARTS = ("fit", "coverage", "harmony", "contrast", "distinctness", "stock", "motif")
_DECIMALS = 4
#: Parts of names of themes whose guests are younger than four.
_VERY_YOUNG = ("toddler", *(f"{nth} birthday" for nth in ("first", "1st", "second", "2nd", "third", "3rd")))


@dataclass(frozen=True, slots=True)
class Use:
    """A theme that suits a jar, with the best trio that holds the jar.

    `by_colour`: the jar's shapes are none of the theme's motifs, so its colour alone suits.
    """

    theme: Theme
    trio: Trio
    score: float
    by_colour: bool = False


@dataclass(frozen=True, slots=True)
class _Themes:
    """Arrays over T themes and n jars, A the most anchors of a theme.

    fits     (T, n) how well each jar suits the theme by colour, 0–1
    unary    (T, n) what depends on one jar alone in a trio's score, weighted
    near     (T, n, A) how far a jar shows each anchor, weighted; 0 where there is none
    pair     (T, 3) weights of harmony, contrast and distinctness
    full     (T,) what a score is divided by
    """

    fits: Floats
    unary: Floats
    near: Floats
    pair: Floats
    full: Floats


@dataclass
class ReverseSearch:
    """Themes for jars on one shelf; `jars` are those that may be used, in id order.

    `taste` weighs the parts of trios, and draws to themes that went well.
    """

    jars: tuple[Jar, ...]
    themes: tuple[Theme, ...]
    today: date
    shelf: tuple[Jar, ...]
    taste: Taste = NO_TASTE
    tried: int = 0
    _searches: dict[int, TrioSearch] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self._place = {jar.id: at for at, jar in enumerate(self.jars)}
        self._season = np.array([in_season(t, self.today) for t in self.themes], float)
        self._liking = np.array([self.taste.liking(t.name) for t in self.themes], float)
        if len(self.jars) >= 3 and self.themes:
            self._arrays = _arrays(self.jars, self.themes, self.today, self.taste.trio)
            whole = self._search_of(self.jars, self.themes[0])
            self._tables: PairTables = whole.tables or pair_tables(whole.candidates()[0])

    def search(self, theme: int) -> TrioSearch:
        """The search for trios for the theme at that place."""
        if theme not in self._searches:
            found = self.themes[theme]
            self._searches[theme] = self._search_of(self.for_theme(found), found)
        return self._searches[theme]

    def for_theme(self, theme: Theme) -> tuple[Jar, ...]:
        """The jars that may go into a kit for the theme: no choking pieces where its guests are very young."""
        if not for_the_very_young(theme):
            return self.jars
        return tuple(j for j in self.jars if not choking(j) and j.hard_small_pieces is not None)

    def _search_of(self, jars: tuple[Jar, ...], theme: Theme) -> TrioSearch:
        motifs = dict.fromkeys(theme.motifs, 1.0)
        return TrioSearch(
            jars, theme.anchors, today=self.today, shelf_jars=self.shelf, motifs=motifs, weights=self.taste.trio
        )

    def fits(self, jar: int) -> Floats:
        """How well each theme suits the jar of that id, by colour, season and motif, (T,)."""
        at = self._place[jar]
        motif = np.array([shares_motif(self.jars[at], theme) for theme in self.themes])
        fits = self._arrays.fits[:, at] + IN_SEASON * self._season + MOTIF * motif
        return np.asarray(fits + LIKING * self._liking)

    def bounds(self, jar: int) -> Floats:
        """No trio that holds the jar of that id gives a theme a higher score than this, (T,)."""
        a, at, t = self._arrays, self._place[jar], self._tables
        base = a.unary[:, at] / 3 + a.near[:, at].sum(axis=1)
        gain = np.maximum(a.near - a.near[:, at : at + 1], 0).sum(axis=2) + a.unary / 3
        # The smallest of three distances is at most the mean of the two to this jar.
        to_jar = np.stack([t.harmony[at] / 3, t.contrast[at] / 3, t.distinctness[at] / 2])
        gain += a.pair @ to_jar
        gain[:, at] = -np.inf
        two = np.partition(gain, -2, axis=1)[:, -2:].sum(axis=1)
        others = (a.pair[:, 0] * t.harmony.max() + a.pair[:, 1] * t.contrast.max()) / 3
        # Rounding of scores may add a little.
        return np.asarray(0.5 * self.fits(jar) + 0.5 * (base + two + others) / a.full + 1e-4)

    def _may(self, jar: Jar, theme: Theme) -> bool:
        """Whether the jar, and two others, may go into a kit for the theme."""
        if not for_the_very_young(theme):
            return True
        left = self.for_theme(theme)
        return len(left) >= 3 and any(other.id == jar.id for other in left)

    def best(self, jar: int, count: int = 1, among: Iterable[str] | None = None) -> tuple[Use, ...]:
        """The `count` best themes for the jar of that id, exactly; ties in order of the themes.

        `among` restricts them to themes of these names. None are found for a jar that may not
        be used, and where fewer than three jars may be.
        """
        if jar not in self._place or len(self.jars) < 3 or not self.themes or count < 1:
            return ()
        bounds, fits = self.bounds(jar), self.fits(jar)
        wanted = None if among is None else frozenset(among)
        own = self.jars[self._place[jar]]
        if wanted is None and shaped(own):
            # Shapes are for themes that show them; where none does, any theme of the colour.
            wanted = frozenset(t.name for t in self.themes if self._may(own, t) and shares_motif(own, t)) or None
        order = [
            at
            for at in np.argsort(-bounds, kind="stable").tolist()
            if wanted is None or self.themes[at].name in wanted
        ]
        found: list[tuple[float, int, Use]] = []
        for at in order:
            if len(found) >= count and bounds[at] < -found[count - 1][0]:
                break
            if not self._may(own, self.themes[at]):
                continue
            self.tried += 1
            for trio in self.search(at).best_with([jar]):
                score = round(0.5 * float(fits[at]) + 0.5 * trio.score, _DECIMALS)
                by_colour = shaped(own) and not shares_motif(own, self.themes[at])
                found.append((-score, at, Use(self.themes[at], trio, score, by_colour)))
            found.sort(key=lambda one: one[:2])
        return tuple(use for _, _, use in found[:count])


def shaped(jar: Jar) -> bool:
    """Whether the jar's pieces show something of their own, such as a fish, and no plain form alone."""
    return any(word not in w.PLAIN_MOTIFS for word in jar.motifs)


def for_the_very_young(theme: Theme) -> bool:
    """Whether the theme's name tells of guests below the age for choking pieces."""
    name = theme.name.casefold()
    return any(words in name for words in _VERY_YOUNG)


def shares_motif(jar: Jar, theme: Theme) -> float:
    """1 when the jar carries the theme's first motif, less for later ones, 0 for none."""
    ranks = [theme.motifs.index(m) for m in jar.motifs if m in theme.motifs]
    return 1 - min(ranks) / len(theme.motifs) if ranks else 0.0


def in_season(theme: Theme, today: date) -> int:
    """1 when the theme is asked for in the coming days, −1 when at another time, 0 at any."""
    if not theme.months:
        return 0
    ahead = {(today + timedelta(days=d)).month for d in range(0, AHEAD_DAYS + 1, 7)}
    return 1 if ahead & set(theme.months) else -1


def _arrays(jars: tuple[Jar, ...], themes: tuple[Theme, ...], today: date, trio: w.Parts) -> _Themes:
    _, share, start = flat_colours(jars)
    near, place = _closeness(tuple(j.colours for j in jars), themes)
    n, count = len(jars), len(themes)
    most = max(len(t.anchors) for t in themes)
    stock = np.array([stock_part(j, 1, today) for j in jars])
    kinds = sorted({j.motifs for j in jars})
    of_kind = np.array([kinds.index(j.motifs) for j in jars])
    example = [next(j for j in jars if j.motifs == kind) for kind in kinds]
    made = _Themes(
        np.zeros((count, n)),
        np.zeros((count, n)),
        np.zeros((count, n, most)),
        np.zeros((count, 3)),
        np.zeros(count),
    )
    for row, theme in enumerate(themes):
        weights = np.array([a.weight for a in theme.anchors])
        own = near[:, place[row]]
        parts = w.rescaled(trio, bool(len(weights)), many_coloured(theme.anchors))
        fits = fit(own, weights, share, start)
        motifs = dict.fromkeys(theme.motifs, 1.0)
        motif = np.array([motif_part(j, motifs) for j in example])[of_kind]
        made.fits[row] = fits
        made.unary[row] = parts.fit * fits + parts.stock * stock + parts.motif * motif
        if len(weights):
            made.near[row, :, : len(weights)] = parts.coverage * weights * shown(own, share, start)
        made.pair[row] = (parts.harmony, parts.contrast, parts.distinctness)
        made.full[row] = sum(getattr(parts, name) for name in _PARTS)
    return made


@lru_cache(maxsize=4)
def _closeness(
    colours: tuple[tuple[object, ...], ...], themes: tuple[Theme, ...]
) -> tuple[Floats, list[list[int]]]:
    """Closeness of every colour to every different anchor, and the columns of each theme's anchors."""
    labs = np.array([c.lab for jar in colours for c in jar])  # type: ignore[attr-defined]
    different: dict[tuple[float, float, float], int] = {}
    place = [[different.setdefault(a.lab, len(different)) for a in t.anchors] for t in themes]
    anchors = np.array(list(different)).reshape(-1, 3)
    return closeness(labs.reshape(-1, 3), anchors), place
