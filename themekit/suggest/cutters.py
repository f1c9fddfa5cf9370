"""Cutters for a theme: two to four of them, spread over the kit's cookies by motif and size."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats
from themekit.suggest.asked import Asked
from themekit.suggest.bound import FESTIVE, celebrated, love_is_meant, season_of, themes_in
from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.named import Named, age_in, named_in
from themekit.suggest.weights import CLOSENESS_SCALE, PLAIN_MOTIFS
from themekit.suggest.words import key_of
from themekit.values import Cutter, Motif, Theme

MOST_CUTTERS, FEWEST_CUTTERS = 4, 2
#: Cookies of about this size fill a usual box; common practice, no source.
USUAL_MM, MINI_MM = 80.0, 40.0
#: Weights of motif, size and colour in a cutter's score.
_MOTIF, _SIZE, _COLOUR = 0.80, 0.12, 0.08
#: Below this weight a theme's motif is only near to it, and below that one a neighbour is none.
SHOWS, NEIGHBOURS = 0.34, 0.15
#: From these weights on a motif is one of its theme's first, or leads it, whatever else it may say.
MAIN, LEADS = 0.75, 0.8
#: Plain shapes that many themes list last: from this weight on they show a theme, below
#: they only fill up like an occasion's.
FILLS = 0.7
#: What such a plain shape counts among what a word is guessed to mean.
FILLED = 0.5
#: What a cutter's later motifs count, and a motif that it shows as a special sort ("hat"
#: by a witch hat), the special sort named first or later; judged on trial themes, no
#: outside source.
LATER, SPECIAL, SPECIAL_LATER = 0.65, 0.6, 0.85
#: What a cutter counts that is a kind of what is wanted: an open book where a book is.
KIND = 0.9
#: Cosine from which a cutter's motif is like a wanted one, and what that counts.
ALIKE, ALIKE_COUNTS = 0.56, 0.75
#: What of the cutters' part is left where they show nothing of what is named, only what goes with it.
MISSED = 0.6
#: What a cutter's name holds beside the thing it shows.
_NOT_SHOWN = re.compile(
    r"\([^)]*\)|,.*|\b(?:(?:cookie|biscuit) )?cutter\b|\b\d+(?:\.\d+)? ?(?:mm|cm|in|inch)?\b", re.IGNORECASE
)
#: Digits in a cutter's name that are no measure.
_COUNTED = re.compile(r"\b\d+\b(?! ?(?:\.|mm|cm|in\b|inch))")
#: Plain shapes that go with anything, tried in this order when no cutter shows the theme.
PLAIN = ("circle", "round", "scalloped round", "heart", "square", "star", "hexagon", "oval", "plaque")


#: How a cutter suits: it shows the theme; it shows what a word is guessed to mean; it is near
#: the theme; it shows what is celebrated; it shows nothing of it. In the order of their worth.
How = Literal["theme", "guess", "near", "occasion", ""]
_ORDER: tuple[How, ...] = ("theme", "guess", "near", "occasion", "")


@dataclass(frozen=True, slots=True)
class Match:
    """The wanted motif that a cutter stands for ("" for none), how well, how, and of what.

    `of` is what it is near to, the words guessed at or the occasion; "" where it shows the theme.
    """

    motif: str = ""
    weight: float = 0.0
    how: How = ""
    of: str = ""

    @property
    def rank(self) -> tuple[int, float]:
        """The better, the smaller."""
        return (_ORDER.index(self.how), -self.weight)


@dataclass(frozen=True, slots=True)
class Chosen:
    """One cutter, the cookies to cut with it, and the motif for which it was taken ("" for none).

    `shows` and `goes_with` are names of what the phrase names.
    """

    cutter: Cutter
    cookies: int
    motif: str
    score: float
    how: How = "theme"
    of: str = ""
    shows: tuple[str, ...] = ()
    goes_with: tuple[str, ...] = ()


def seen_in(cutter: Cutter) -> tuple[str, ...]:
    """What a cutter shows: its motifs, or its name where none is entered."""
    if cutter.motifs:
        return cutter.motifs
    name = " ".join(_NOT_SHOWN.sub(" ", cutter.name).split())
    return (name,) if name else ()


class CutterSearch:
    """Ranks a shelf's cutters once for a theme's motifs.

    named  what the phrase names: each is shown by one cutter, if the shelf has one, before companions
    age    the age that is celebrated: a number goes with it
    themes what the phrase was read as, to leave out what is bound to other seasons and occasions;
           None leaves nothing out
    """

    def __init__(
        self,
        cutters: Sequence[Cutter],
        motifs: Sequence[Motif],
        lookup: Lookup,
        avoid: Sequence[str] = (),
        named: Sequence[Named] = (),
        age: int | None = None,
        themes: Sequence[Theme] | None = None,
    ):
        self.lookup, self.named, self.age = lookup, tuple(named), age
        self.themes = None if themes is None or any(theme.own for theme in themes) else tuple(themes)
        self._loving = self.themes is None or love_is_meant(self.themes)
        self.wanted: dict[Key, Motif] = {}
        for motif in motifs:
            self.wanted.setdefault(lookup.motif_key(motif.word), motif)
        self._core = [m for m in self.wanted.values() if m.kind == "theme" and m.weight >= SHOWS]
        self._vectors: NDArray[np.float32] | None = None
        unwanted = {lookup.motif_key(word) for word in avoid}
        self.cutters = [c for c in cutters if not any(unwanted & lookup.named_in(m) for m in seen_in(c))]
        self._direct = {c.id: self._keys(c, direct=True) for c in self.cutters}
        self._seen = {c.id: self._keys(c) for c in self.cutters}
        matched = {c.id: self._in_place(c, self._match(c)) for c in self.cutters}
        for cutter in self.cutters:
            if self._numbers(cutter) and matched[cutter.id].how in ("", "near", "occasion"):
                matched[cutter.id] = Match("number", 1.0, "occasion", f"age of {age}")
        self.matched: Mapping[int, Match] = matched
        #: Named things and themes that no cutter of the shelf shows.
        self.lacking = tuple(n for n in self.named if not any(self._shows(c, n) for c in self.cutters))

    def _keys(self, cutter: Cutter, direct: bool = False) -> frozenset[Key]:
        """The keys that a cutter shows; `direct` leaves out what it only has to do with: a bottle, a baby."""
        seen = seen_in(cutter)
        words = [w for at, w in enumerate(seen) if not direct or _leads(seen, at) or w == cutter.name.casefold()]
        return frozenset(key for word in words for key in self.lookup.shown_by(word))

    def _shows(self, cutter: Cutter, named: Named) -> bool:
        return not self._direct[cutter.id].isdisjoint(named.itself)

    def _goes_with(self, cutter: Cutter, named: Named) -> bool:
        keys = self._seen[cutter.id]
        return not keys.isdisjoint(named.itself) or not keys.isdisjoint(named.further)

    def _numbers(self, cutter: Cutter) -> bool:
        """Whether a cutter is for a number that may be the age: no six for a fifth birthday."""
        told = (cutter.name, *seen_in(cutter))
        words = {word for name in told for word in key_of(name)}
        digits = {number for name in told for number in _COUNTED.findall(name)}
        return self.age is not None and (str(self.age) in digits or ("number" in words and not digits))

    def _match(self, cutter: Cutter) -> Match:
        """The motif that a cutter shows best, how well, and in what way.

        Its later words count less, and so does a word of which it is a special sort that
        was not asked for. A cutter that shows none may show something alike in meaning.
        """
        best = Match()
        seen = seen_in(cutter)
        special = [
            (place, m) for place, m in enumerate(seen) if " " in m and self.lookup.motif_key(m) not in self.wanted
        ]
        for place, word in enumerate(seen):
            sorts = [SPECIAL if at < place else SPECIAL_LATER for at, m in special if m.endswith(" " + word)]
            for step, key in enumerate(self.lookup.shown_by(word)):
                motif = self.wanted.get(key)
                if motif is None:
                    continue
                weight = motif.weight * (KIND if step else 1.0) * (1.0 if _leads(seen, place) else LATER)
                weight *= min(sorts, default=1.0)
                # A special sort that was not asked for is not even near: no witch hat for sailors.
                made = Match() if sorts and weight < SHOWS else _judged(motif, weight)
                best = min(best, made, key=lambda m: m.rank)
        return best if best.how in ("theme", "guess") else min(best, self._alike(cutter), key=lambda m: m.rank)

    def _in_place(self, cutter: Cutter, match: Match) -> Match:
        """The match, or none where the cutter says another season, an occasion or love that is not meant."""
        shown = any(one.thing and self._shows(cutter, one) for one in self.named)
        if self.themes is None or not match.how or shown:
            return match
        if match.motif == "heart" and match.how != "guess" and not self._loving:
            return Match()
        own = self.wanted.get(self.lookup.motif_key(match.motif))
        weight = own.weight if own else 0.0
        seen = seen_in(cutter)
        keys = [self.lookup.motif_key(word) for word in seen]
        leading = {key for at, key in enumerate(keys) if _leads(seen, at)}
        if "animal" in seen and self.lookup.motif_key(match.motif) not in leading and weight < MAIN:
            # An owl is a bird, but no swan, and not the birds of a sunset.
            return Match()
        if celebrated(self.lookup, keys[0]):
            meant = self.age is not None or any(theme.group in FESTIVE for theme in self.themes)
            return match if meant or (match.how == "theme" and weight >= LEADS) else Match()
        months = frozenset(month for theme in self.themes for month in theme.months)
        for key in keys:
            season = season_of(self.lookup, key)
            if season and not season & months:
                itself = key == self.lookup.motif_key(match.motif)
                named_so = self.lookup.motif_key(cutter.name) in self.wanted
                if match.how == "near" or not (itself or named_so or weight >= MAIN):
                    return Match()
        return match

    def _alike(self, cutter: Cutter) -> Match:
        """The theme's motif nearest in meaning to the cutter's first word.

        Motifs that share a word or a piece of one are passed over: vectors take "bat" for
        "baseball bat", where the shared word is the whole likeness.
        """
        meaning = self.lookup.lexicon.meaning
        seen = seen_in(cutter)
        if meaning is None or not seen or not self._core:
            return Match()
        if self.themes is not None and ("animal" in seen or seen[0] in PLAIN_MOTIFS):
            # One animal is no other, and a plain shape is like everything.
            return Match()
        if self._vectors is None:
            self._vectors = meaning.embed_many([m.word for m in self._core])
        own = meaning.pieces(seen[0])
        for at, cosine in meaning.nearest(seen[0], self._vectors, len(self._core)):
            word, weight = self._core[at].word, self._core[at].weight
            if cosine < ALIKE:
                break
            if own.isdisjoint(meaning.pieces(word)) and not word.startswith(seen[0]):
                return Match(word, weight * cosine * ALIKE_COUNTS, "near", word)
        return Match()

    def choose(self, cookies: int, palette: Floats, taken: Mapping[int, int] | None = None) -> list[Chosen]:
        """Two to four cutters for `cookies` cookies iced in `palette` (3, 3).

        What shows the theme goes first, then what a word is guessed to mean, what is near,
        what is celebrated, and plain shapes only to make up two. `taken` counts in how many
        earlier ideas a cutter was used: each lowers its rank a little, so that ideas
        differ. Fewer than two cutters come back from a shelf that has fewer, or for a
        single cookie.
        """
        taken = taken or {}
        scored = sorted(
            ((self._score(c, cookies, palette), c) for c in self.cutters if self.matched[c.id].how),
            key=lambda pair: (-pair[0] + 0.12 * taken.get(pair[1].id, 0), pair[1].id),
        )
        wanted = min(MOST_CUTTERS, cookies, max(FEWEST_CUTTERS, round(cookies / 2.6)))
        fewest = min(wanted, FEWEST_CUTTERS)
        picked = self._of_named(scored, wanted)
        order: list[tuple[How, int]] = [
            ("theme", wanted),
            ("guess", wanted),
            ("near", fewest),
            ("occasion", wanted),
        ]
        if (
            any(n.thing for n in self.named)
            and not picked
            and not any(self.matched[c.id].how == "theme" for _, c in scored)
        ):
            # What goes with a thing that is named says more than a guess at another word.
            order[1], order[2] = order[2], order[1]
        for how, most in order:
            group = [(s, c) for s, c in scored if self.matched[c.id].how == how]
            # A dinosaur's bone comes after what shows Christmas.
            group.sort(key=lambda pair: not any(self._shows(pair[1], n) for n in self.named))
            # With nothing of the theme on the shelf, what is near may fill the kit.
            self._pick(picked, group, wanted if how == "near" and not picked else most)
        themed = [(s, c) for s, c in scored if self.matched[c.id].how == "theme"]
        for again, shapes in ((themed, False), (self._plain, True), (self._plain, False)):
            for score, cutter in again:
                same = any(c.id == cutter.id or (shapes and _alike_in_shape(c, cutter)) for _, c in picked)
                if len(picked) < fewest and not same:
                    picked.append((score, cutter))
        counts = _spread(cookies, [s for s, _ in picked])
        return [self._told(cutter, count, score) for (score, cutter), count in zip(picked, counts, strict=True)]

    def _of_named(self, scored: Sequence[tuple[float, Cutter]], most: int) -> list[tuple[float, Cutter]]:
        """One cutter for each that is named and for the age, what is missed most first."""
        picked: list[tuple[float, Cutter]] = []
        themed = [(s, c) for s, c in scored if self.matched[c.id].how == "theme"]
        loose = [n for n in self.named if not n.firm]
        for one in (*(n for n in self.named if n.firm), None, *loose):
            if one is None:
                self._pick(picked, [(s, c) for s, c in scored if self._numbers(c)][:1], most)
                continue
            for fits in (self._shows, self._goes_with):
                group = [(s, c) for s, c in themed if fits(c, one)]
                if group:
                    if not any(fits(c, one) for _, c in picked):
                        self._pick(picked, group, min(most, len(picked) + 1))
                    break
        return picked

    def _pick(self, picked: list[tuple[float, Cutter]], group: Sequence[tuple[float, Cutter]], most: int) -> None:
        """Add cutters of a group until there are `most`, one for each motif."""
        shown = {self.matched[c.id].motif for _, c in picked}
        for score, cutter in group:
            if len(picked) < most and self.matched[cutter.id].motif not in shown:
                picked.append((score, cutter))
                shown.add(self.matched[cutter.id].motif)

    def chosen(self, cutter: Cutter, count: int, cookies: int, palette: Floats) -> Chosen:
        """One cutter of her own choice for `count` of the kit's `cookies`, with what it shows of the theme."""
        return self._told(cutter, count, self._score(cutter, cookies, palette) if cutter.id in self.matched else 0)

    def _told(self, cutter: Cutter, count: int, score: float) -> Chosen:
        match = self.matched.get(cutter.id, Match())
        known = [n for n in self.named if cutter.id in self.matched]
        shows = tuple(n.name for n in known if self._shows(cutter, n))
        goes = tuple(n.name for n in known if n.name not in shows and self._goes_with(cutter, n))
        return Chosen(cutter, count, match.motif, round(score, 4), match.how, match.of, shows, goes)

    def _score(self, cutter: Cutter, cookies: int, palette: Floats) -> float:
        size = max(cutter.width_mm or USUAL_MM, cutter.height_mm or USUAL_MM)
        ideal = MINI_MM if cookies > 14 else USUAL_MM
        fits = float(np.exp(-((np.log(size / ideal) / 0.5) ** 2)))
        colour = 0.5
        if cutter.colours:
            distance = delta_e_2000(np.array(cutter.colours)[:, None, :], palette[None, :, :])
            colour = float(np.exp(-((distance.min(axis=1) / CLOSENESS_SCALE) ** 2)).mean())
        return _MOTIF * self.matched[cutter.id].weight + _SIZE * fits + _COLOUR * colour

    @cached_property
    def _plain(self) -> list[tuple[float, Cutter]]:
        """Plain shapes first, then whatever there is, both in a settled order."""

        def rank(cutter: Cutter) -> tuple[int, int, int]:
            words = (cutter.name.casefold(), *cutter.motifs)
            place = next((i for i, p in enumerate(PLAIN) if any(p in word for word in words)), len(PLAIN))
            heart = not self._loving and "heart" in words
            return (int("mini" in words[0]) + int(heart), place, cutter.id)

        return [(0.0, cutter) for cutter in sorted(self.cutters, key=rank)]


def search_for(cutters: Sequence[Cutter], asked: Asked) -> CutterSearch:
    """The search for what a customer asked for."""
    reading, lookup = asked.reading, asked.lookup
    named = named_in(reading, lookup)
    themes = themes_in(reading, lookup)
    return CutterSearch(cutters, reading.motifs, lookup, asked.avoid_motifs, named, age_in(reading), themes)


def _alike_in_shape(one: Cutter, other: Cutter) -> bool:
    return seen_in(one)[:1] == seen_in(other)[:1]


def _leads(seen: Sequence[str], place: int) -> bool:
    """Whether a word says what the cutter is: its first, or a sort of that, as "christmas tree" of "tree"."""
    return place == 0 or seen[place].endswith(" " + seen[0])


def _judged(motif: Motif, weight: float) -> Match:
    """A match with a motif at a weight: by the motif's kind, or less where it is faint or a mere filler."""
    if motif.kind == "theme":
        if weight < FILLS and motif.word in PLAIN_MOTIFS:
            # A star or a heart at the end of a theme's list goes with anything.
            return Match(motif.word, weight, "occasion") if weight >= NEIGHBOURS else Match()
        if weight >= SHOWS:
            return Match(motif.word, weight, "theme")
    if motif.kind == "guess" and motif.word in PLAIN_MOTIFS and weight < FILLS:
        weight *= FILLED
    if weight < NEIGHBOURS:
        return Match()
    return Match(motif.word, weight, "near" if motif.kind == "theme" else motif.kind, motif.of)


def _spread(cookies: int, scores: Sequence[float]) -> list[int]:
    """Whole cookies for each cutter, at least one, more for the better; they add up to `cookies`."""
    if not scores:
        return []
    ideal = np.array([max(0.4, s) for s in scores])
    counts = [1] * len(scores)
    for _ in range(cookies - len(scores)):
        counts[int(np.argmax(ideal / np.array([c + 0.5 for c in counts])))] += 1
    return counts


def cutters_part(chosen: Sequence[Chosen], cookies: int, named: Sequence[Named] = ()) -> float:
    """How well the cutters show the theme, 0–1: the cookies' mean motif weight.

    Where something of `named` is not shown it is less, and with nothing shown never very good.
    """
    if not cookies:
        return 0.0
    firm = {one.name for one in named if one.firm}
    shown = firm & {name for one in chosen for name in one.shows}
    share = len(shown) / len(firm) if firm else 1.0
    mean = sum(c.score * c.cookies for c in chosen if c.motif) / cookies
    return round(mean * (MISSED + (1 - MISSED) * share), 4)
