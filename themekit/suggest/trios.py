"""Trios: three jars that suit a theme and a palette, apart in cups or mixed in one blend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from themekit.colour import harmony
from themekit.colour.space import Floats
from themekit.errors import Problem, TooFewCandidates
from themekit.suggest import weights as w
from themekit.suggest.anchors import many_coloured
from themekit.suggest.best_three import Candidates, PairTables, Weights, best_three, pair_tables, terms
from themekit.suggest.blend import grams_per_kit, shares
from themekit.suggest.closeness import anchor_arrays, closeness, fit, shown
from themekit.suggest.needs import grams_per_tablespoon, relax_hints
from themekit.suggest.pair_terms import KnownPairs, exact_scores
from themekit.suggest.texture import texture_codes
from themekit.suggest.ties import theme_ties, ties
from themekit.suggest.with_one import best_with
from themekit.values import Anchor, Jar

Serve = Literal["apart", "mixed"]
SERVES: tuple[Serve, ...] = ("apart", "mixed")
#: A jar unused for so many days counts as idle in full.
IDLE_DAYS = 180
#: A best-before nearer than this adds to the wish to use a jar.
SOON_DAYS = 60
#: Tables of pairs are kept for shelves up to this size.
_KEPT = 400


@dataclass(frozen=True, slots=True)
class Portion:
    """One jar's part in a kit: its share of the volume and grams, None where density is unknown."""

    jar: Jar
    share: float
    grams_per_kit: float | None


@dataclass(frozen=True, slots=True)
class Trio:
    """Three jars with the score and its parts, each 0–1."""

    portions: tuple[Portion, Portion, Portion]
    serve: Serve
    score: float
    parts: dict[str, float]
    proven: bool = True

    @property
    def jars(self) -> tuple[Jar, ...]:
        """The three jars."""
        return tuple(p.jar for p in self.portions)

    @property
    def makes_kits(self) -> int | None:
        """About how many kits the jars on hand make, a tablespoon of each and no waste; None where unknown.

        What can be promised is told by `make.quantities.most_kits`, by the settings of an order.
        """
        counts = [_kits(p) for p in self.portions]
        known = [c for c in counts if c is not None]
        return min(known) if len(known) == 3 else None

    @property
    def price_per_kit(self) -> Decimal | None:
        """What the toppings of one kit cost; None while a price or density is unknown."""
        total = Decimal(0)
        for portion in self.portions:
            if portion.jar.price_per_kg is None or portion.grams_per_kit is None:
                return None
            total += portion.jar.price_per_kg * Decimal(str(round(portion.grams_per_kit, 3))) / 1000
        return total.quantize(Decimal("0.01"))


def _kits(portion: Portion) -> int | None:
    if portion.jar.on_hand_g is None or not portion.grams_per_kit:
        return None
    return int((portion.jar.on_hand_g + 1e-9) / portion.grams_per_kit)


class TrioSearch:
    """Trios for one theme from one set of jars; `jars` in id order."""

    def __init__(
        self,
        jars: Sequence[Jar],
        anchors: Sequence[Anchor],
        *,
        kits: int = 1,
        today: date | None = None,
        use_jars: Sequence[int] = (),
        ruled_out: dict[str, int] | None = None,
        shelf_jars: tuple[Jar, ...] | None = None,
        motifs: Mapping[str, float] | None = None,
        weights: w.Parts = w.TRIO,
    ) -> None:
        if len(jars) < 3:
            raise TooFewCandidates(
                "Fewer than three jars are left to choose from.",
                [Problem("jars", len(jars), "at least 3 jars that break no need", relax_hints(ruled_out or {}))],
            )
        self.jars = tuple(jars)
        self.anchor_labs, self.anchor_weights = anchor_arrays(anchors)
        many = many_coloured(anchors)
        self.parts = w.rescaled(weights, bool(len(anchors)), many)
        self.lab, self.share, self.start = flat_colours(self.jars)
        near = closeness(self.lab, self.anchor_labs)
        self.own = {
            "fit": fit(near, self.anchor_weights, self.share, self.start),
            "stock": np.array([stock_part(j, kits, today) for j in self.jars]),
        }
        if motifs is not None:
            self.own["motif"] = np.array([motif_part(j, motifs) for j in self.jars])
        self.metallic = np.repeat([_metallic(j) for j in self.jars], np.diff(self.start))
        mixed = np.repeat(np.diff(self.start) > 2, np.diff(self.start))
        self.of_theme = theme_ties(self.lab, mixed, anchors, many)
        self.shown = shown(near, self.share, self.start)
        self.must = np.array([[j.id in use_jars] for j in self.jars], bool) if use_jars else _none(self.jars)
        self.texture = texture_codes(self.jars)
        self.tables = _tables_for(self.jars, shelf_jars or self.jars)
        self.weights = Weights(
            self.parts.coverage, self.parts.harmony, self.parts.contrast, self.parts.distinctness
        )

    def best(
        self,
        count: int,
        palette: Floats | None = None,
        earlier: Sequence[Trio] = (),
        serve: Serve = "apart",
        budget: int | None = None,
    ) -> list[Trio]:
        """The `count` best trios for a palette (3, 3), sharing at most one jar with each earlier."""
        candidates, own = self.candidates(palette, earlier)
        found = best_three(candidates, self.weights, count, tables=self.tables, budget=budget)
        return self._told(candidates, own, found.triples, found.scores, serve, found.proven)

    def best_with(self, ids: Sequence[int], palette: Floats | None = None, serve: Serve = "apart") -> list[Trio]:
        """For each of these jars the best trio that holds it; none for a jar without one."""
        place = {jar.id: at for at, jar in enumerate(self.jars)}
        candidates, own = self.candidates(palette)
        tables = self.tables or pair_tables(candidates)
        made = best_with(candidates, self.weights, tables, [place[id] for id in ids if id in place])
        found = [one for one in made if one is not None]
        triples = np.array([triple for triple, _ in found], np.int64).reshape(-1, 3)
        return self._told(candidates, own, triples, np.array([score for _, score in found]), serve, True)

    def best_with_both(self, pairs: Sequence[tuple[int, int]], serve: Serve = "apart") -> list[Trio]:
        """For each pair of jars, by id, the best trio that holds both; none where one is not there."""
        place = {jar.id: at for at, jar in enumerate(self.jars)}
        candidates, own = self.candidates()
        known = KnownPairs(self.tables or pair_tables(candidates))
        triples, best = [], []
        for one, other in pairs:
            if one not in place or other not in place or one == other:
                continue
            both = (place[one], place[other])
            thirds = np.array([at for at in range(len(self.jars)) if at not in both])
            made = np.sort(np.stack([np.full(len(thirds), both[0]), np.full(len(thirds), both[1]), thirds], 1), 1)
            scores = exact_scores(candidates, self.weights, known, made)
            score, triple = min((-s, tuple(t)) for s, t in zip(scores.tolist(), made.tolist(), strict=True))
            triples.append(triple)
            best.append(-score)
        return self._told(candidates, own, np.array(triples, np.int64).reshape(-1, 3), np.array(best), serve, True)

    def holding(self, jar: int) -> TrioSearch:
        """The same search for trios that hold the jar of that id."""
        found = copy(self)
        found.must = np.array([[j.id == jar] for j in self.jars], bool)
        return found

    def with_all(self, ids: Sequence[int]) -> TrioSearch:
        """The same search for trios that hold all of these jars, and one of those to use as before."""
        found = copy(self)
        columns = np.array([[j.id == one for one in ids] for j in self.jars], bool).reshape(len(self.jars), -1)
        found.must = np.hstack([self.must, columns])
        return found

    def of_jars(self, triples: Sequence[tuple[int, int, int]], serve: Serve = "apart") -> list[Trio]:
        """The trios of these jars by id, each in ascending order; none where one is not there."""
        place = {jar.id: at for at, jar in enumerate(self.jars)}
        made = [[place[id] for id in ids] for ids in triples if all(id in place for id in ids)]
        candidates, own = self.candidates()
        known = KnownPairs(self.tables or pair_tables(candidates))
        at = np.array(made, np.int64).reshape(-1, 3)
        return self._told(candidates, own, at, exact_scores(candidates, self.weights, known, at), serve, True)

    def candidates(
        self, palette: Floats | None = None, earlier: Sequence[Trio] = ()
    ) -> tuple[Candidates, dict[str, Floats]]:
        """The jars as candidates for the best three, and their own parts by name, each (n,)."""
        own = dict(self.own)
        if palette is not None:
            own["suits"] = self._suits(palette)
            own["ties"] = self.ties(palette)
        unary = sum((getattr(self.parts, n) * part for n, part in own.items()), np.zeros(len(self.jars)))
        ids = [{j.id for j in trio.jars} for trio in earlier]
        taken = np.array([[j.id in trio for trio in ids] for j in self.jars], bool).reshape(len(self.jars), -1)
        candidates = Candidates(
            self.lab,
            self.share,
            self.start,
            unary,
            self.shown,
            self.anchor_weights,
            self.texture,
            taken,
            self.must,
        )
        return candidates, own

    def _told(
        self, candidates: Candidates, own: dict[str, Floats], triples: NDArray[np.int64], scores: Floats,
        serve: Serve, proven: bool,
    ) -> list[Trio]:  # fmt: skip
        """Triples as trios with their parts."""
        if not len(triples):
            return []
        parts = terms(candidates, triples)
        out = []
        for row, triple in enumerate(triples.tolist()):
            told = {n: float(values[triple].mean()) for n, values in own.items()}
            told |= {n: float(values[row]) for n, values in parts.items()}
            told = {n: round(told[n], 4) for n in w.TRIO.__dataclass_fields__ if n in told
                    and getattr(self.parts, n) > 0}  # fmt: skip
            full = sum(getattr(self.parts, n) for n in told)
            trio = self._portions([self.jars[i] for i in triple], serve)
            out.append(Trio(trio, serve, round(float(scores[row]) / full, 6), told, proven))
        return out

    def diverse(self, count: int, palette: Floats | None = None, serve: Serve = "apart") -> list[Trio]:
        """Up to `count` trios, each sharing at most one jar with all before it, above the floor."""
        out: list[Trio] = []
        while len(out) < count:
            more = self.best(1, palette, out, serve)
            if not more or (out and more[0].score < w.QUALITY_FLOOR * out[0].score):
                break
            out += more
        return out

    def _portions(self, jars: list[Jar], serve: Serve) -> tuple[Portion, Portion, Portion]:
        parts = shares(jars, self.anchor_labs, self.anchor_weights) if serve == "mixed" else (1 / 3, 1 / 3, 1 / 3)
        a, b, c = (
            Portion(
                jar,
                round(part, 4),
                grams_per_kit(jar, part) if serve == "mixed" else grams_per_tablespoon(jar),
            )
            for jar, part in zip(jars, parts, strict=True)
        )
        return a, b, c

    def ties(self, palette: Floats) -> Floats:
        """How far each jar belongs with a palette (3, 3), 0–1, shape (n,)."""
        return ties(self.lab, self.share, self.start, self.metallic, self.of_theme, palette)

    def _suits(self, palette: Floats) -> Floats:
        """Each jar's harmony with the palette, 0–1, by its shares and the three tints."""
        pairs = harmony.scaled(harmony.harmony(self.lab[:, None, :], palette[None, :, :])).mean(axis=1)
        return np.asarray(np.add.reduceat(pairs * self.share, self.start[:-1]))


def flat_colours(jars: Sequence[Jar]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """All colours (m, 3), their shares (m,), and where each jar's begin (n+1,)."""
    lab = np.array([c.lab for j in jars for c in j.colours], float).reshape(-1, 3)
    share = np.array([c.share for j in jars for c in j.colours], float)
    start = np.concatenate([[0], np.cumsum([len(j.colours) for j in jars])]).astype(np.int64)
    return lab, share, start


def _metallic(jar: Jar) -> bool:
    """Whether a jar glints like metal, which goes with most colours; gold glitter counts too."""
    return jar.texture.finish == "metallic" or "glitter" in jar.kind


def strays(jars: Sequence[Jar], palette: Floats, anchors: Sequence[Anchor]) -> tuple[Jar, ...]:
    """The jars of a kit that neither its icing (3, 3) nor what its theme leads with accounts for."""
    if len(jars) < 3:
        return ()
    tied = TrioSearch(jars, anchors).ties(palette)
    return tuple(jar for jar, part in zip(jars, tied.tolist(), strict=True) if part < w.STRAY_BELOW)


def motif_part(jar: Jar, motifs: Mapping[str, float]) -> float:
    """How well a shaped jar's motifs suit a theme's, 0–1; `motifs` are those with their weights."""
    best = max((motifs.get(word, 0.0) for word in jar.motifs), default=0.0)
    if best > 0:
        return w.MOTIF_NONE + (w.MOTIF_OF_THEME - w.MOTIF_NONE) * best
    if not all(word in w.PLAIN_MOTIFS for word in jar.motifs):
        return w.MOTIF_OTHER
    if jar.kind not in w.OF_THE_PANTRY:
        return w.MOTIF_NONE
    named = any(motifs.get(word.removesuffix("s"), 0.0) > 0 for word in jar.kind.split())
    return w.MOTIF_NONE if named else w.MOTIF_PANTRY


def idle_part(jar: Jar, today: date | None) -> float:
    """How much a jar wants to be used, 0–1: long unused, or soon past its best."""
    if today is None:
        return 0.0
    unused = (today - jar.last_used).days / IDLE_DAYS if jar.last_used else 0.0
    soon = 1 - (jar.best_before - today).days / SOON_DAYS if jar.best_before else 0.0
    return float(np.clip(max(unused, soon), 0, 1))


def stock_part(jar: Jar, kits: int, today: date | None) -> float:
    """0–1: seven tenths for having enough, three for standing idle; unknown stock is half."""
    spoon = grams_per_tablespoon(jar)
    enough = 0.5
    if jar.on_hand_g is not None and spoon is not None:
        enough = min(1.0, jar.on_hand_g / (spoon * kits))
    return 0.7 * enough + 0.3 * idle_part(jar, today)


def _none(jars: Sequence[Jar]) -> NDArray[np.bool_]:
    return np.zeros((len(jars), 0), bool)


@lru_cache(maxsize=16)
def _kept_tables(jars: tuple[Jar, ...]) -> PairTables:
    lab, share, start = flat_colours(jars)
    n = len(jars)
    empty = np.zeros((n, 0), bool)
    return pair_tables(
        Candidates(
            lab, share, start, np.zeros(n), np.zeros((n, 0)), np.zeros(0), texture_codes(jars), empty, empty
        )
    )


def _tables_for(jars: tuple[Jar, ...], shelf: tuple[Jar, ...]) -> PairTables | None:
    """Pair tables of a home shelf, cut to the jars that needs have left."""
    if len(shelf) > _KEPT:
        return None
    tables = _kept_tables(shelf)
    if len(jars) == len(shelf):
        return tables
    place = {jar.id: i for i, jar in enumerate(shelf)}
    at = np.ix_(*2 * ([place[j.id] for j in jars],))
    return PairTables(tables.harmony[at], tables.contrast[at], tables.distinctness[at])
