"""Ideas: a palette, a trio and cutters that suit each other, told with reasons.

The palette is chosen first; the trio's harmony with it counts for each jar; the cutters
follow motif, size and the palette. Each idea is the best that lies apart from all before
it and reaches the quality floor; fewer are given rather than worse ones.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np

from themekit.colour.names import Names, names_of
from themekit.errors import Problem, TooFewCandidates, raise_all
from themekit.make import cautions
from themekit.suggest import weights as w
from themekit.suggest.asked import MOST_IDEAS, Asked, require_theme
from themekit.suggest.cutters import Chosen, CutterSearch, cutters_part, search_for
from themekit.suggest.fitting import (
    FEWEST_FITTING,
    obvious,
    of_another_feast,
    too_little,
    too_little_told,
    without_motifs,
    without_nuts,
)
from themekit.suggest.halves import halves
from themekit.suggest.needs import Allowed, allowed, broken, relax_hints
from themekit.suggest.palettes import Palette, PaletteSearch, Tints, Unreached, tints_within_reach
from themekit.suggest.reasons import (
    cutter_cautions,
    cutter_reasons,
    palette_reasons,
    palette_why,
    trio_reasons,
    trio_why,
)
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.ties import kin, leads
from themekit.suggest.trios import Serve, Trio, TrioSearch, motif_part, strays
from themekit.suggest.words import listed
from themekit.values import Anchor, Gel, Jar, Lexicon, Needs, Shelf

#: The theme whose anchors serve when little of a phrase was understood.
FALLBACK_THEME = "rainbow"
#: Ideas are about as good as the first within this share of its score.
_AS_GOOD = 0.05
#: An obvious jar may cost the second idea's trio this share of its score, and fits an icing from this tie on.
_OBVIOUS, _FITS = 0.1, 0.75
#: Obvious are jars in colours of at least this part of the weight of the theme's heaviest.
_CHIEF = 0.9


@dataclass(frozen=True, slots=True)
class InShort:
    """The telling reasons, and every caution in few words, for those who only want to decide."""

    why: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToldPalette:
    """A palette with its reasons and cautions, and both in short."""

    palette: Palette
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    in_short: InShort


@dataclass(frozen=True, slots=True)
class ToldTrio:
    """A trio with its reasons and cautions, and both in short."""

    trio: Trio
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    in_short: InShort


@dataclass(frozen=True, slots=True)
class Idea:
    """Palette, trio and cutters for one kit; `parts` by name, each 0–1."""

    score: float
    parts: dict[str, float]
    palette: ToldPalette
    trio: ToldTrio
    cutters: tuple[Chosen, ...]
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    in_short: InShort
    fallback: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """Ideas with all that was understood, applied, ruled out and not met."""

    asked: Asked
    allowed: Allowed
    ideas: tuple[Idea, ...]
    unreached: tuple[Unreached, ...]
    notes: tuple[str, ...]


class Suggester:
    """One question put to one shelf: needs applied once, then palettes, trios and ideas."""

    def __init__(
        self, asked: Asked, shelf: Shelf, lexicon: Lexicon, today: date | None = None, taste: Taste = NO_TASTE
    ) -> None:
        self.asked, self.shelf, self.lexicon, self.today, self.taste = asked, shelf, lexicon, today, taste
        self.names: Names = names_of(lexicon.colour_basics)
        _check_jars(asked.needs, shelf)
        self.allowed = allowed(shelf, asked.needs, asked.kits, today)
        self.allowed = without_nuts(without_motifs(self.allowed, asked), asked)

    @property
    def anchors(self) -> tuple[Anchor, ...]:
        """The theme's anchors."""
        return self.asked.reading.anchors

    @cached_property
    def cutters(self) -> CutterSearch:
        """The shelf's cutters, ranked for the theme."""
        return search_for(self.shelf.cutters, self.asked)

    def gels(self) -> tuple[Gel, ...]:
        """The gels and kitchen staples that break no need."""
        staples = [g for g in self.lexicon.staples if not broken(g.composition, self.asked.needs)]
        return (*self.allowed.gels, *staples)

    def tints(self) -> Tints:
        """Every icing colour within reach under the needs."""
        return tints_within_reach(self.gels())

    def palette_search(self, anchors: Sequence[Anchor] | None = None) -> PaletteSearch:
        """The search for palettes, for the theme or for other anchors."""
        parts = halves(self.asked) if anchors is None else ()
        anchors = self.anchors if anchors is None else anchors
        return PaletteSearch(self.tints(), anchors, self.asked.needs, self.taste.palette, parts)

    def trio_search(
        self,
        anchors: Sequence[Anchor] | None = None,
        use: Sequence[int] | None = None,
        keep: Sequence[int] = (),
        without: Sequence[Jar] = (),
    ) -> TrioSearch:
        """The search for trios, for the theme or for other anchors.

        use   ids of jars of which each trio holds at least one; None for the needs' own
        keep  ids of jars that stay though they show something else than the theme
        without  jars to leave aside where enough others fit
        """
        motifs = self._motifs() if anchors is None else None
        jars = self.allowed.jars if motifs is None else self._fitting(motifs, keep)
        aside = {j.id for j in without}
        left = tuple(j for j in jars if j.id not in aside)
        return TrioSearch(
            left if len(left) >= FEWEST_FITTING else jars,
            self.anchors if anchors is None else anchors,
            kits=self.asked.kits,
            today=self.today,
            use_jars=self.asked.needs.use_jars if use is None else use,
            ruled_out=self.allowed.ruled_out,
            shelf_jars=self.shelf.jars,
            motifs=motifs,
            weights=self.taste.trio,
        )

    def _fitting(self, motifs: dict[str, float], keep: Sequence[int]) -> tuple[Jar, ...]:
        """The jars less those that show something else or another feast; all where few would be left.

        Pumpkins are not taken for their orange alone, but a jar that is to be used stays.
        """
        stay = {*self.asked.needs.use_jars, *keep}
        away = of_another_feast(self.allowed.jars, self.asked, self.lexicon.themes)
        left = tuple(
            j
            for j in self.allowed.jars
            if j.id in stay or (motif_part(j, motifs) > w.MOTIF_OTHER and j.id not in away)
        )
        return left if len(left) >= FEWEST_FITTING else self.allowed.jars

    def _motifs(self) -> dict[str, float]:
        """The theme's motifs and their synonyms that stand on jars, with their weights."""
        lookup = self.asked.lookup
        weights = {lookup.motif_key(m.word): m.weight for m in reversed(self.asked.reading.motifs)}
        words = {word for jar in self.shelf.jars for word in jar.motifs}
        shown = {
            word: max((weights.get(key, 0.0) for key in lookup.shown_by(word)), default=0.0) for word in words
        }
        return {word: weight for word, weight in sorted(shown.items()) if weight > 0}

    def named(self, palette: Palette) -> Palette:
        """The palette with plain colour names."""
        found = self.names.nearest_many(palette.labs)
        a, b, c = (replace(t, name=name) for t, (name, _) in zip(palette.tints, found, strict=True))
        return replace(palette, tints=(a, b, c))

    def told_palette(self, palette: Palette, unreached: Sequence[Unreached] = ()) -> ToldPalette:
        """A palette with names, reasons and cautions."""
        palette = self.named(palette)
        ids = {d.gel_id for t in palette.tints for d in t.recipe}
        named = {"icing": self.shelf.icing} | {
            cautions.gel_told(g): g.composition for g in self.gels() if g.id in ids
        }
        told = [*cautions.of_tints(palette.tints), *cautions.of_additives(named)]
        return ToldPalette(
            palette,
            tuple(palette_reasons(palette, self.anchors, unreached)),
            tuple(cautions.texts(told)),
            InShort(tuple(palette_why(palette, self.anchors, unreached)), tuple(cautions.shorts(told))),
        )

    def told_trio(self, trio: Trio, palette: Palette | None, anchors: Sequence[Anchor] | None = None) -> ToldTrio:
        """A trio with reasons and cautions."""
        named = {j.name: j.composition for j in trio.jars}
        told = [
            *cautions.of_allergens(named),
            *cautions.of_choking(trio.jars, self.asked.needs),
            *cautions.of_additives(named),
            *cautions.of_heat(trio.jars),
        ]
        anchors = self.anchors if anchors is None else anchors
        odd = strays(trio.jars, palette.labs, anchors) if palette is not None else ()
        reasons = trio_reasons(trio, palette, anchors, self.today, odd)
        short = InShort(tuple(trio_why(trio, self.today, odd)), tuple(cautions.shorts(told)))
        return ToldTrio(trio, tuple(reasons), tuple(cautions.texts(told)), short)

    def ideas(self, count: int, serve: Serve = "apart") -> Answer:
        """Up to `count` ideas; raises `ThemeNotUnderstood`, `TooFewCandidates` or `NeedConflict`."""
        _check_count(count)
        require_theme(self.asked)
        every = self.trio_search()
        palettes = self.palette_search()
        if not every.best(1):
            raise TooFewCandidates(
                "No three jars meet all the needs together.",
                [
                    Problem(
                        "jars",
                        len(every.jars),
                        "three jars with at least one of those to use",
                        relax_hints(self.allowed.ruled_out),
                    )
                ],
            )
        unreached = tuple(palettes.unreached(self.names))
        cutters = self.cutters
        made: list[Idea] = []
        used: Counter[int] = Counter()
        fallback = self.asked.reading.fallback
        # First of jars that hold enough for the kits; of the others only what is then missing.
        short = too_little(every.jars, self.asked.kits, self.asked.needs.use_jars)
        stocked = self.trio_search(without=short) if short else every
        for trios in (stocked, every) if stocked.jars != every.jars else (every,):
            while len(made) < count - (1 if fallback and count > 1 else 0):
                idea = self._next(palettes, trios, cutters, made, used, serve, unreached)
                if idea is None:
                    break
                made.append(idea)
                used.update(c.cutter.id for c in idea.cutters)
        made = _in_order(made, self.asked.kits)
        shown = {jar.id for idea in made for jar in idea.trio.trio.jars}
        aside = [jar for jar in short if jar.id not in shown]
        notes = [*self._without_gels(), *_notes(self.asked, made, count)]
        if aside:
            notes.append(too_little_told(aside, self.asked.kits))
        if fallback:
            many = self._many_coloured(cutters, made, used, serve)
            if many is not None:
                made.append(many)
                notes.append("Little of the phrase was understood, so the last idea is simply many-coloured.")
        if len(made) < count:
            notes.append(
                f"{len(made)} idea{'s' * (len(made) != 1)} instead of {count}: further ones would be near copies "
                f"or fall below {w.QUALITY_FLOOR:.0%} of the best score."
            )
        return Answer(self.asked, self.allowed, tuple(made), unreached, tuple(notes))

    def _without_gels(self) -> list[str]:
        """What a shelf that is still without gels should know of its icing."""
        if self.shelf.gels:
            return []
        staples = listed([g.name for g in self.lexicon.staples])
        return [
            "No gels are entered yet, so the icing here is only what kitchen staples give "
            f"({staples}). Enter your gels to get the theme's own colours."
        ]

    def _next(
        self, palettes: PaletteSearch, trios: TrioSearch, cutters: CutterSearch, made: Sequence[Idea],
        used: Counter[int], serve: Serve, unreached: Sequence[Unreached],
    ) -> Idea | None:  # fmt: skip
        found = palettes.best(1, [i.palette.palette for i in made])
        if not found:
            return None
        earlier = [i.trio.trio for i in made]
        trio = trios.best(1, found[0].labs, earlier, serve)
        if not trio:
            return None
        lying = self._left_lying(trios, found[0], earlier)
        if lying:
            # What is obvious for the theme is seen by the second idea, where that is about as good.
            with_it = trios.with_all(lying).best(1, found[0].labs, earlier, serve)
            trio = with_it if with_it and with_it[0].score >= (1 - _OBVIOUS) * trio[0].score else trio
        idea = self._idea(found[0], trio[0], cutters, used, unreached)
        floor = w.QUALITY_FLOOR
        if made and (
            idea.parts["palette"] < floor * made[0].parts["palette"]
            or idea.parts["trio"] < floor * made[0].parts["trio"]
        ):
            return None
        return idea

    def _left_lying(self, trios: TrioSearch, palette: Palette, earlier: Sequence[Trio]) -> list[int]:
        """For a second idea, ids of jars in the theme's own colour that fit it and are not in the first."""
        if len(earlier) != 1:
            return []
        first = {jar.id for jar in earlier[0].jars}
        found = [jar for jar, near in obvious(trios.jars, leads(self.anchors, _CHIEF)) if first.isdisjoint(near)]
        return [j.id for j in found if kin(np.array([j.colours[0].lab]), palette.labs)[0] >= _FITS]

    def _idea(
        self, palette: Palette, trio: Trio, cutters: CutterSearch, used: Counter[int],
        unreached: Sequence[Unreached], fallback: bool = False,
    ) -> Idea:  # fmt: skip
        chosen = tuple(cutters.choose(self.asked.cookies, palette.labs, used))
        return self.idea_of(palette, trio, chosen, unreached, fallback)

    def idea_of(
        self, palette: Palette, trio: Trio, chosen: tuple[Chosen, ...], unreached: Sequence[Unreached] = (),
        fallback: bool = False,
    ) -> Idea:  # fmt: skip
        """A palette, a trio and cutters as one idea, with its score, reasons and cautions."""
        told = self.told_palette(palette, unreached)
        told_trio = self.told_trio(trio, told.palette)
        parts = {
            "palette": told.palette.score,
            "trio": trio.score,
            "cutters": cutters_part(chosen, self.asked.cookies, self.cutters.named),
        }
        of_palette, of_trio, of_cutters = self.taste.idea
        score = of_palette * parts["palette"] + of_trio * parts["trio"] + of_cutters * parts["cutters"]
        gel_ids = {d.gel_id for t in told.palette.tints for d in t.recipe}
        gel_names = {d.gel for t in told.palette.tints for d in t.recipe if d.gel_id is None}
        gels = [g for g in self.gels() if g.id in gel_ids or g.name in gel_names]
        kit = [
            *cautions.of_kit(trio.jars, gels, self.shelf.dough, self.shelf.icing, self.asked.needs),
            *cautions.of_tints(told.palette.tints),
            *cutter_cautions(chosen),
        ]
        of_cookies = cutter_reasons(chosen, self.cutters.named, self.cutters.lacking)
        return Idea(
            score=round(score, 6),
            parts=parts,
            palette=told,
            trio=told_trio,
            cutters=chosen,
            reasons=(*told.reasons, *told_trio.reasons, *of_cookies),
            cautions=(*(u.sentence() for u in self.allowed.unmet), *cautions.texts(kit)),
            in_short=InShort(tuple(of_cookies), tuple(cautions.shorts(kit))),
            fallback=fallback,
        )

    def _many_coloured(
        self, cutters: CutterSearch, made: Sequence[Idea], used: Counter[int], serve: Serve
    ) -> Idea | None:
        theme = next((t for t in self.lexicon.themes if t.name == FALLBACK_THEME), None)
        if theme is None:
            return None
        palette = self.palette_search(theme.anchors).best(1, [i.palette.palette for i in made])
        if not palette:
            return None
        trio = self.trio_search(theme.anchors).best(1, palette[0].labs, [i.trio.trio for i in made], serve)
        return self._idea(palette[0], trio[0], cutters, used, (), fallback=True) if trio else None


def _in_order(made: Sequence[Idea], kits: int) -> list[Idea]:
    """Ideas that make fewer kits than asked last; those of unknown amount after others about as good."""
    makes = {id(idea): idea.trio.trio.makes_kits for idea in made}
    out: list[Idea] = []
    for idea in (i for i in made if makes[id(i)] is None or (makes[id(i)] or 0) >= kits):
        unknown = [n for n, other in enumerate(out) if makes[id(other)] is None]
        as_good = [n for n in unknown if idea.score >= (1 - _AS_GOOD) * out[n].score]
        known = makes[id(idea)] is not None
        out.insert(as_good[0] if known and as_good else len(out), idea)
    return out + [i for i in made if all(i is not other for other in out)]


def _check_count(count: int) -> None:
    if not 1 <= count <= MOST_IDEAS:
        raise_all([Problem("count", count, f"a whole number from 1 to {MOST_IDEAS}", "Change the number.")])


def _check_jars(needs: Needs, shelf: Shelf) -> None:
    """Jars named in needs must be on the shelf."""
    ids = {j.id for j in shelf.jars}
    raise_all(
        [
            Problem(f"needs.{name}", jar, "the id of a jar on this shelf", "Look the id up in the list of jars.")
            for name in ("use_jars", "skip_jars")
            for jar in getattr(needs, name)
            if jar not in ids
        ],
        "Some needs name jars that are not on the shelf.",
    )


def _notes(asked: Asked, made: Sequence[Idea], count: int) -> list[str]:
    notes = []
    if asked.reading.unknown:
        told = ", ".join(f"“{word}”" for word in asked.reading.unknown)
        notes.append(f"Not understood: {told}. Name colours or things to see to make up for it.")
    makes = [i.trio.trio.makes_kits for i in made]
    short = [kits for kits in makes if kits is not None and kits < asked.kits]
    if short:
        notes.append(
            f"{len(short)} of the ideas need{'s' * (len(short) == 1)} more than is on hand for {asked.kits} "
            f"kit{'s' * (asked.kits != 1)}."
        )
    return notes
