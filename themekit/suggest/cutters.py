"""Cutters for a theme: two to four of them, spread over the kit's cookies by motif and size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats
from themekit.suggest.lookup import Key, Lookup
from themekit.suggest.weights import CLOSENESS_SCALE
from themekit.values import Cutter, Motif

MOST_CUTTERS, FEWEST_CUTTERS = 4, 2
#: Cookies of about this size fill a usual box; common practice, no source.
USUAL_MM, MINI_MM = 80.0, 40.0
#: Weights of motif, size and colour in a cutter's score.
_MOTIF, _SIZE, _COLOUR = 0.80, 0.12, 0.08
#: Below this a cutter does not show the theme.
SHOWS = 0.34
#: What a cutter's later motifs count, and a motif that it shows as a special sort
#: ("hat" by a witch hat); judged on trial themes, no outside source.
LATER, SPECIAL = 0.65, 0.6
#: Cosine from which a cutter's motif is like a wanted one, and what that counts.
ALIKE, ALIKE_COUNTS = 0.54, 0.75
#: Plain shapes that go with anything, tried in this order when no cutter shows the theme.
PLAIN = ("circle", "round", "scalloped round", "heart", "square", "star", "hexagon", "oval", "plaque")


@dataclass(frozen=True, slots=True)
class Chosen:
    """One cutter, the cookies to cut with it, and the motif for which it was taken ("" for none)."""

    cutter: Cutter
    cookies: int
    motif: str
    score: float


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
        self.cutters = [c for c in cutters if not unwanted & {lookup.motif_key(m) for m in c.motifs}]
        self.matched: Mapping[int, tuple[str, float]] = {c.id: self._match(c) for c in self.cutters}

    def _match(self, cutter: Cutter) -> tuple[str, float]:
        """The motif that a cutter shows best, and how well.

        Its later words count less, and so does a word of which it is a special sort that
        was not asked for. A cutter that shows none may show something alike in meaning.
        """
        best = ("", 0.0)
        special = [m for m in cutter.motifs if " " in m and self.lookup.motif_key(m) not in self.wanted]
        for place, word in enumerate(cutter.motifs):
            motif, weight = self.wanted.get(self.lookup.motif_key(word), ("", 0.0))
            weight *= 1.0 if place == 0 else LATER
            weight *= SPECIAL if any(m.endswith(" " + word) for m in special) else 1.0
            if weight > best[1]:
                best = (motif, weight)
        return best if best[1] else self._alike(cutter)

    def _alike(self, cutter: Cutter) -> tuple[str, float]:
        """The wanted motif nearest in meaning to the cutter's first word."""
        meaning = self.lookup.lexicon.meaning
        if meaning is None or not cutter.motifs or not self.wanted:
            return ("", 0.0)
        motifs = list(self.wanted.values())
        if self._vectors is None:
            self._vectors = meaning.embed_many([word for word, _ in motifs])
        near = meaning.nearest(cutter.motifs[0], self._vectors, 1)
        if not near or near[0][1] < ALIKE:
            return ("", 0.0)
        word, weight = motifs[near[0][0]]
        return (word, weight * near[0][1] * ALIKE_COUNTS)

    def choose(self, cookies: int, palette: Floats, taken: Mapping[int, int] | None = None) -> list[Chosen]:
        """Two to four cutters for `cookies` cookies iced in `palette` (3, 3).

        `taken` counts in how many earlier ideas a cutter was used: each lowers its rank a
        little, so that ideas differ. Fewer than two cutters come back from a shelf that
        has fewer, or for a single cookie.
        """
        taken = taken or {}
        scored = sorted(
            ((self._score(c, cookies, palette), c) for c in self.cutters),
            key=lambda pair: (-pair[0] + 0.12 * taken.get(pair[1].id, 0), pair[1].id),
        )
        showing = [(s, c) for s, c in scored if self.matched[c.id][1] >= SHOWS]
        wanted = min(MOST_CUTTERS, cookies, max(FEWEST_CUTTERS, round(cookies / 2.6)))
        picked: list[tuple[float, Cutter]] = []
        shown: set[str] = set()
        for score, cutter in showing:  # one cutter for each motif first
            if len(picked) < wanted and self.matched[cutter.id][0] not in shown:
                picked.append((score, cutter))
                shown.add(self.matched[cutter.id][0])
        for score, cutter in showing:
            if len(picked) < min(wanted, FEWEST_CUTTERS) and all(cutter.id != c.id for _, c in picked):
                picked.append((score, cutter))
        for cutter in self._plain():
            if len(picked) < min(wanted, FEWEST_CUTTERS) and all(cutter.id != c.id for _, c in picked):
                picked.append((0.0, cutter))
        counts = _spread(cookies, [s for s, _ in picked])
        return [
            Chosen(cutter, count, self.matched[cutter.id][0], round(score, 4))
            for (score, cutter), count in zip(picked, counts, strict=True)
        ]

    def _score(self, cutter: Cutter, cookies: int, palette: Floats) -> float:
        size = max(cutter.width_mm or USUAL_MM, cutter.height_mm or USUAL_MM)
        ideal = MINI_MM if cookies > 14 else USUAL_MM
        fits = float(np.exp(-((np.log(size / ideal) / 0.5) ** 2)))
        colour = 0.5
        if cutter.colours:
            distance = delta_e_2000(np.array(cutter.colours)[:, None, :], palette[None, :, :])
            colour = float(np.exp(-((distance.min(axis=1) / CLOSENESS_SCALE) ** 2)).mean())
        return _MOTIF * self.matched[cutter.id][1] + _SIZE * fits + _COLOUR * colour

    def _plain(self) -> list[Cutter]:
        """Plain shapes first, then whatever there is, both in a settled order."""

        def rank(cutter: Cutter) -> tuple[int, int, int]:
            words = (cutter.name.casefold(), *cutter.motifs)
            place = next((i for i, p in enumerate(PLAIN) if any(p in word for word in words)), len(PLAIN))
            return (int("mini" in words[0]), place, cutter.id)

        return sorted(self.cutters, key=rank)


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
