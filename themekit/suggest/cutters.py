"""Cutters for a theme: two to four of them, spread over the kit's cookies by motif and size."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats
from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.meaning import Meaning
from themekit.suggest.weights import CLOSENESS_SCALE
from themekit.values import Cutter, Motif

MOST_CUTTERS, FEWEST_CUTTERS = 4, 2
#: Cookies of about this size fill a usual box; common practice, no source.
USUAL_MM, MINI_MM = 80.0, 40.0
#: Weights of motif, size and colour in a cutter's score.
_MOTIF, _SIZE, _COLOUR = 0.80, 0.12, 0.08
#: Below this a cutter does not show the theme.
SHOWS = 0.34
#: What a cutter's later motifs count, and a motif that it shows as a special sort ("hat"
#: by a witch hat), the special sort named first or later; judged on trial themes, no
#: outside source.
LATER, SPECIAL, SPECIAL_LATER = 0.65, 0.6, 0.85
#: What a cutter counts that is a kind of what is wanted: an open book where a book is.
KIND = 0.9
#: Cosine from which a cutter's motif is like a wanted one, and what that counts.
ALIKE, ALIKE_COUNTS = 0.56, 0.75
#: What a cutter's name holds beside the thing it shows.
_NOT_SHOWN = re.compile(
    r"\([^)]*\)|,.*|\b(?:(?:cookie|biscuit) )?cutter\b|\b\d+(?:\.\d+)? ?(?:mm|cm|in|inch)?\b", re.IGNORECASE
)
#: Plain shapes that go with anything, tried in this order when no cutter shows the theme.
PLAIN = ("circle", "round", "scalloped round", "heart", "square", "star", "hexagon", "oval", "plaque")


@dataclass(frozen=True, slots=True)
class Chosen:
    """One cutter, the cookies to cut with it, and the motif for which it was taken ("" for none).

    `alike` says that the cutter does not show the motif but something near it in meaning.
    """

    cutter: Cutter
    cookies: int
    motif: str
    score: float
    alike: bool = False


@dataclass(frozen=True, slots=True)
class Match:
    """The wanted motif that a cutter stands for ("" for none), how well, and if only alike."""

    motif: str = ""
    weight: float = 0.0
    alike: bool = False


def seen_in(cutter: Cutter) -> tuple[str, ...]:
    """What a cutter shows: its motifs, or its name where none is entered."""
    if cutter.motifs:
        return cutter.motifs
    name = " ".join(_NOT_SHOWN.sub(" ", cutter.name).split())
    return (name,) if name else ()


class CutterSearch:
    """Ranks a shelf's cutters once for a theme's motifs."""

    def __init__(
        self, cutters: Sequence[Cutter], motifs: Sequence[Motif], lookup: Lookup, avoid: Sequence[str] = ()
    ):
        self.lookup = lookup
        self.wanted: dict[Key, tuple[str, float]] = {}
        for motif in motifs:
            self.wanted.setdefault(lookup.motif_key(motif.word), (motif.word, motif.weight))
        self._vectors: NDArray[np.float32] | None = None
        unwanted = {lookup.motif_key(word) for word in avoid}
        self.cutters = [c for c in cutters if not any(unwanted & lookup.named_in(m) for m in seen_in(c))]
        self.matched: Mapping[int, Match] = {c.id: self._match(c) for c in self.cutters}

    def _match(self, cutter: Cutter) -> Match:
        """The motif that a cutter shows best, and how well.

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
                motif, weight = self.wanted.get(key, ("", 0.0))
                weight *= KIND if step else 1.0
                weight *= 1.0 if place == 0 else LATER
                weight *= min(sorts, default=1.0)
                if weight > best.weight:
                    best = Match(motif, weight)
        return best if best.weight else self._alike(cutter)

    def _alike(self, cutter: Cutter) -> Match:
        """The wanted motif nearest in meaning to the cutter's first word.

        Motifs that share a word or a piece of one are passed over: vectors take "bat" for
        "baseball bat", where the shared word is the whole likeness.
        """
        meaning = self.lookup.lexicon.meaning
        seen = seen_in(cutter)
        if meaning is None or not seen or not self.wanted:
            return Match()
        motifs = list(self.wanted.values())
        if self._vectors is None:
            self._vectors = meaning.embed_many([word for word, _ in motifs])
        own = _pieces(meaning, seen[0])
        for at, cosine in meaning.nearest(seen[0], self._vectors, len(motifs)):
            word, weight = motifs[at]
            if cosine < ALIKE:
                break
            if own.isdisjoint(_pieces(meaning, word)) and not word.startswith(seen[0]):
                return Match(word, weight * cosine * ALIKE_COUNTS, alike=True)
        return Match()

    def choose(self, cookies: int, palette: Floats, taken: Mapping[int, int] | None = None) -> list[Chosen]:
        """Two to four cutters for `cookies` cookies iced in `palette` (3, 3).

        `taken` counts in how many earlier ideas a cutter was used: each lowers its rank a
        little, so that ideas differ. Fewer than two cutters come back from a shelf that
        has fewer, or for a single cookie.
        """
        taken = taken or {}
        showing = sorted(
            ((self._score(c, cookies, palette), c) for c in self.cutters if self.matched[c.id].weight >= SHOWS),
            key=lambda pair: (-pair[0] + 0.12 * taken.get(pair[1].id, 0), pair[1].id),
        )
        wanted = min(MOST_CUTTERS, cookies, max(FEWEST_CUTTERS, round(cookies / 2.6)))
        picked: list[tuple[float, Cutter]] = []
        shown: set[str] = set()
        for score, cutter in showing:  # one cutter for each motif first
            if len(picked) < wanted and self.matched[cutter.id].motif not in shown:
                picked.append((score, cutter))
                shown.add(self.matched[cutter.id].motif)
        for score, cutter in showing:
            if len(picked) < min(wanted, FEWEST_CUTTERS) and all(cutter.id != c.id for _, c in picked):
                picked.append((score, cutter))
        for cutter in self._plain():
            if len(picked) < min(wanted, FEWEST_CUTTERS) and all(cutter.id != c.id for _, c in picked):
                picked.append((0.0, cutter))
        counts = _spread(cookies, [s for s, _ in picked])
        return [
            Chosen(cutter, count, self.matched[cutter.id].motif, round(score, 4), self.matched[cutter.id].alike)
            for (score, cutter), count in zip(picked, counts, strict=True)
        ]

    def chosen(self, cutter: Cutter, count: int, cookies: int, palette: Floats) -> Chosen:
        """One cutter of her own choice for `count` of the kit's `cookies`, with what it shows of the theme."""
        match = self.matched.get(cutter.id, Match())
        score = self._score(cutter, cookies, palette) if cutter.id in self.matched else 0.0
        return Chosen(cutter, count, match.motif, round(score, 4), match.alike)

    def _score(self, cutter: Cutter, cookies: int, palette: Floats) -> float:
        size = max(cutter.width_mm or USUAL_MM, cutter.height_mm or USUAL_MM)
        ideal = MINI_MM if cookies > 14 else USUAL_MM
        fits = float(np.exp(-((np.log(size / ideal) / 0.5) ** 2)))
        colour = 0.5
        if cutter.colours:
            distance = delta_e_2000(np.array(cutter.colours)[:, None, :], palette[None, :, :])
            colour = float(np.exp(-((distance.min(axis=1) / CLOSENESS_SCALE) ** 2)).mean())
        return _MOTIF * self.matched[cutter.id].weight + _SIZE * fits + _COLOUR * colour

    def _plain(self) -> list[Cutter]:
        """Plain shapes first, then whatever there is, both in a settled order."""

        def rank(cutter: Cutter) -> tuple[int, int, int]:
            words = (cutter.name.casefold(), *cutter.motifs)
            place = next((i for i, p in enumerate(PLAIN) if any(p in word for word in words)), len(PLAIN))
            return (int("mini" in words[0]), place, cutter.id)

        return sorted(self.cutters, key=rank)


def _pieces(meaning: Meaning, phrase: str) -> frozenset[str]:
    return frozenset(piece for word in phrase.split() for piece in (word, *meaning.pieces_of(word)))


def _spread(cookies: int, scores: Sequence[float]) -> list[int]:
    """Whole cookies for each cutter, at least one, more for the better; they add up to `cookies`."""
    if not scores:
        return []
    ideal = np.array([max(0.4, s) for s in scores])
    counts = [1] * len(scores)
    for _ in range(cookies - len(scores)):
        counts[int(np.argmax(ideal / np.array([c + 0.5 for c in counts])))] += 1
    return counts


def cutters_part(chosen: Sequence[Chosen], cookies: int) -> float:
    """How well the cutters show the theme, 0–1: the cookies' mean motif weight."""
    return round(sum(c.score * c.cookies for c in chosen if c.motif) / cookies, 4) if cookies else 0.0
