"""The candidates of each planned line, from the exact best three; work is shared between lines.

For each of a few palettes that lie apart: the k best trios; for the first of them also the
best trio that holds each of the jars that stand most idle.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from datetime import date
from threading import RLock

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.errors import TooFewCandidates
from themekit.make.settings import Settings
from themekit.season.stock import MG, idleness
from themekit.season.values import LineOffers, Offer, Planned, Stop, never
from themekit.suggest import weights as w
from themekit.suggest.asked import ask, require_theme
from themekit.suggest.cutters import Chosen, cutters_part
from themekit.suggest.ideas import Suggester
from themekit.suggest.idle import theme_fits
from themekit.suggest.needs import TABLESPOON_ML
from themekit.suggest.pair_terms import cheapest_matching
from themekit.suggest.palettes import Palette, PaletteSearch
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.trios import Serve, Trio, TrioSearch, idle_part
from themekit.suggest.words import listed
from themekit.values import Jar, Lexicon, Needs, Shelf


@dataclass(frozen=True, slots=True)
class Breadth:
    """How many candidates each line gets.

    palettes  palettes, each apart from those before it
    best      the best trios for each palette
    idle      most idle jars, for each the best trio that holds it, with the first palette
    themes    themes tried for a free choice
    """

    palettes: int = 3
    best: int = 40
    idle: int = 20
    themes: int = 3

    def twice(self) -> Breadth:
        """Twice as many of everything."""
        return Breadth(2 * self.palettes, 2 * self.best, 2 * self.idle, 2 * self.themes)

    def told(self) -> str:
        """How candidates are chosen, in words."""
        return (
            f"For each line up to {self.palettes} palettes apart from each other, and for each of them the "
            f"{self.best} best trios by the exact search, for the first also the best trio that holds each of the "
            f"{self.idle} most idle jars, of jars that hold enough for the line (or all, if fewer than three do); "
            f"kept are those that reach {w.QUALITY_FLOOR:.0%} of the best. "
            f"A free choice tries {self.themes} themes of its season."
        )


@dataclass
class _Palettes:
    """A search for palettes, those found so far, and whether there are no more."""

    search: PaletteSearch
    found: list[Palette] = field(default_factory=list)
    ended: bool = False


#: Lines whose candidates are remembered; those of a long season and a look at twice as many.
_MOST_MADE = 120


@dataclass
class _Kept:
    """What is worked out for lines, whichever plan they belong to; families of palettes are a plan's own."""

    made: OrderedDict[object, tuple[Offer, ...] | str] = field(default_factory=OrderedDict)
    palettes: dict[tuple[str, Needs], _Palettes] = field(default_factory=dict)
    askings: dict[tuple[str, int, Needs], Suggester] = field(default_factory=dict)
    lock: RLock = field(default_factory=RLock)


@dataclass
class Offering:
    """Candidates for lines on one shelf; what equal lines need is worked out once."""

    shelf: Shelf
    lexicon: Lexicon
    today: date | None = None
    settings: Settings = field(default_factory=Settings)
    taste: Taste = NO_TASTE
    _kept: _Kept = field(default_factory=_Kept, repr=False)
    _leaders: np.ndarray = field(default_factory=lambda: np.zeros((0, 3, 3)), repr=False)

    def lines(
        self, planned: Sequence[Planned], breadth: Breadth, tell: Callable[[float], None], stop: Stop = never
    ) -> tuple[LineOffers, ...]:
        """The candidates of every line. Raises `InvalidValue`, `ThemeNotUnderstood` or `NeedConflict`."""
        out = []
        for number, line in enumerate(planned):
            if stop():
                break
            out.append(self.line(line, breadth, stop))
            tell((number + 1) / len(planned))
        return tuple(out)

    def line(self, line: Planned, breadth: Breadth, stop: Stop = never) -> LineOffers:
        """The candidates of one line, the best first; once stopped, of no further theme."""
        unknown = [j for j in self.shelf.jars if j.on_hand_g is None or j.density_g_per_ml is None]
        notes: tuple[str, ...] = ()
        if unknown:
            told = listed([j.name for j in unknown[:3]]) + (" and others" if len(unknown) > 3 else "")
            notes = (f"Left aside, for their stock or weight is not known: {told}.",)
        themes = [line.theme] if line.theme is not None else self._free(line, breadth.themes)
        found: list[Offer] = []
        why = ""
        for at, theme in enumerate(themes):
            if at and stop():
                break
            made = self._of_theme(line, theme, breadth)
            if isinstance(made, str):
                why = why or made
            else:
                found += self._in_families(made)
        best = max((o.quality for o in found), default=0.0)
        kept = [o for o in found if o.quality >= w.QUALITY_FLOOR * best]
        kept.sort(key=lambda o: (-o.quality, o.theme, [t.hex for t in o.palette.tints], o.taken))
        return LineOffers(line, tuple(kept), "" if kept else why or "No theme suits this shelf.", notes)

    def _free(self, line: Planned, count: int) -> list[str]:
        """Themes of the line's season that suit the jars that want to be used."""
        day = line.day or self.today
        themes = [t for t in (*self.shelf.themes, *self.lexicon.themes) if day is None or day.month in t.months]
        themes = themes or list(self.lexicon.themes)
        jars = self._idle(self.shelf.jars, 8) or list(self.shelf.jars[:8])
        fits = theme_fits(jars, themes, day or date(2000, 1, 1), self.taste.themes)
        wish = np.array([idle_part(j, self.today) for j in jars]) + 0.1
        order = np.argsort(-np.round(wish @ fits, 9), kind="stable") if len(jars) else np.arange(len(themes))
        return list(dict.fromkeys(themes[int(at)].name for at in order))[:count]

    def _idle(self, jars: Sequence[Jar], count: int) -> list[Jar]:
        idle = sorted(((-idleness(j, self.today), j.id, j) for j in jars), key=lambda one: one[:2])
        return [j for part, _, j in idle if part < 0][:count]

    def _of_theme(self, line: Planned, theme: str, breadth: Breadth) -> tuple[Offer, ...] | str:
        needs = line.needs or Needs()
        key = (theme, line.kits, needs, line.day, line.serve, breadth)
        with self._kept.lock:
            made = self._kept.made.get(key)
            if made is None:
                try:
                    made = self._work(line, theme, needs, breadth)
                except TooFewCandidates as error:
                    made = " ".join([error.message, *(p.hint for p in error.problems if p.hint)])
            self._kept.made[key] = made
            self._kept.made.move_to_end(key)
            while len(self._kept.made) > _MOST_MADE:
                self._kept.made.popitem(last=False)
        return made

    def _work(self, line: Planned, theme: str, needs: Needs, breadth: Breadth) -> tuple[Offer, ...]:
        shared = self.suggester(theme, line.kits, needs)
        asked = shared.asked
        require_theme(asked)
        # From the shared one, so that lines of one question rank them once.
        cutters, suggester = shared.cutters, copy(shared)
        usable = tuple(j for j in suggester.allowed.jars if _usable(j, line.day))
        stocked = tuple(j for j in usable if self._enough(j, line))
        search = _searched(suggester, stocked if _some(stocked, needs) else usable)
        palettes = self._apart((theme, needs), suggester, breadth.palettes)
        idle = [j.id for j in self._idle(search.jars, breadth.idle)]
        out: list[Offer] = []
        best: Trio | None = None
        for number, palette in enumerate(palettes):
            chosen = tuple(cutters.choose(asked.cookies, palette.labs))
            part = cutters_part(chosen, asked.cookies, cutters.named)
            seen: set[tuple[int, ...]] = set()
            trios = [("best", t) for t in search.best(breadth.best, palette.labs, (), line.serve)]
            if number == 0:
                trios += [("idle", t) for t in search.best_with(idle, palette.labs, line.serve)]
            best = best or (trios[0][1] if trios else None)
            for how, trio in trios:
                jars = tuple(j.id for j in trio.jars)
                if jars not in seen and best is not None and _above(palette, palettes[0], trio, best):
                    seen.add(jars)
                    out.append(self._offer(theme, palette, trio, chosen, part, line, how))
        return tuple(out)

    def suggester(self, theme: str, kits: int, needs: Needs | None) -> Suggester:
        """A line's question put to the shelf; whoever cuts its jars down takes a copy."""
        key = (theme, kits, needs or Needs())
        found = self._kept.askings.get(key)
        if found is None:
            asked = ask(theme, self.shelf, self.lexicon, key[2], kits)
            found = Suggester(asked, self.shelf, self.lexicon, self.today, self.taste)
            if len(self._kept.askings) >= _MOST_MADE:
                self._kept.askings.clear()
            self._kept.askings[key] = found
        return found

    def _apart(self, key: tuple[str, Needs], suggester: Suggester, count: int) -> list[Palette]:
        """The first palettes of a theme, each apart from those before it and above the floor.

        They depend on neither kits nor day, so lines of one theme share them, and a look at
        more of them goes on from where the last one ended.
        """
        if key not in self._kept.palettes:
            if len(self._kept.palettes) >= _MOST_MADE:
                self._kept.palettes.clear()
            self._kept.palettes[key] = _Palettes(suggester.palette_search())
        kept = self._kept.palettes[key]
        while len(kept.found) < count and not kept.ended:
            more = kept.search.best(1, kept.found)
            kept.ended = not more or (bool(kept.found) and more[0].score < w.QUALITY_FLOOR * kept.found[0].score)
            kept.found += [] if kept.ended else more
        return kept.found[:count]

    def _enough(self, jar: Jar, line: Planned) -> bool:
        """Whether a jar alone holds enough for the line; of a mix, for a third of it."""
        return (jar.on_hand_g or 0.0) * MG >= self._mg(jar, 1 / 3, line.kits, line.serve)

    def _offer(
        self, theme: str, palette: Palette, trio: Trio, cutters: tuple[Chosen, ...], part: float, line: Planned,
        how: str,
    ) -> Offer:  # fmt: skip
        parts = {"palette": palette.score, "trio": trio.score, "cutters": part}
        of_palette, of_trio, of_cutters = self.taste.idea
        score = of_palette * parts["palette"] + of_trio * parts["trio"] + of_cutters * parts["cutters"]
        taken = tuple((p.jar.id, self._mg(p.jar, p.share, line.kits, line.serve)) for p in trio.portions)
        return Offer(theme, palette, trio, cutters, round(score, 6), parts, taken, 0, how)

    def _mg(self, jar: Jar, share: float, kits: int, serve: Serve) -> int:
        """What a line takes of a jar, waste included, as a batch of it would."""
        set_ = self.settings.contents
        spoons = set_.topping_tbsp * (3 * share if serve == "mixed" else 1)
        grams = spoons * TABLESPOON_ML * (jar.density_g_per_ml or 0.0)
        # Rounded up as a batch's need is; noise below 1e-9 g is none.
        return math.ceil(round(grams * kits * (1 + set_.waste_share), 9) * MG - 1e-6)

    def _in_families(self, made: Sequence[Offer]) -> list[Offer]:
        """The same offers with the families of this plan."""
        families: dict[tuple[str, ...], int] = {}
        out = []
        for offer in made:
            key = tuple(t.hex for t in offer.palette.tints)
            if key not in families:
                families[key] = self._family(offer.palette)
            out.append(replace(offer, family=families[key]))
        return out

    def _family(self, palette: Palette) -> int:
        """A number that palettes too like each other share: that of the first one like it."""
        cost = delta_e_2000(palette.labs[None, :, None, :], self._leaders[:, None, :, :])
        alike = np.flatnonzero(cheapest_matching(cost) < w.APART)
        if len(alike):
            return int(alike[0])
        self._leaders = np.concatenate([self._leaders, palette.labs[None]])
        return len(self._leaders) - 1


#: The last offering; a plan is seldom made once, and its other lines are then there.
_last: list[Offering] = []


def offering_of(shelf: Shelf, lexicon: Lexicon, today: date | None, settings: Settings, taste: Taste) -> Offering:
    """An offering for one plan; what was worked out for the last plan of the very same shelf is not done again.

    The answers are the same either way: nothing that is kept depends on the other lines.
    """
    made = Offering(shelf, lexicon, today, settings, taste)
    for last in _last[:1]:
        same = last.shelf is shelf and last.lexicon is lexicon
        if same and (last.today, last.settings, last.taste) == (today, settings, taste):
            made._kept = last._kept
    _last[:] = [made]
    return made


def _usable(jar: Jar, day: date | None) -> bool:
    """Whether a jar's grams are known, and it is good on the day."""
    known = jar.on_hand_g is not None and jar.density_g_per_ml is not None
    return known and not (day and jar.best_before and jar.best_before < day)


def _some(jars: Sequence[Jar], needs: Needs) -> bool:
    """Whether a trio can be made of these jars at all."""
    return len(jars) >= 3 and (not needs.use_jars or any(j.id in needs.use_jars for j in jars))


def _searched(suggester: Suggester, jars: tuple[Jar, ...]) -> TrioSearch:
    """The search for trios of these jars. Raises `TooFewCandidates`."""
    suggester.allowed = replace(suggester.allowed, jars=jars)
    return suggester.trio_search()


def _above(palette: Palette, best: Palette, trio: Trio, best_trio: Trio) -> bool:
    """Whether both reach the floor, as every idea does."""
    floor = w.QUALITY_FLOOR
    return palette.score >= floor * best.score and trio.score >= floor * best_trio.score
