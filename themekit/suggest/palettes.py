"""Palettes: three icing tints that the gels can make, chosen for a theme."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.names import Names
from themekit.colour.space import Floats, hex_to_lab, labs_to_hex
from themekit.colour.tint import reachable, tint_of
from themekit.errors import NeedConflict, Problem, TooFewCandidates
from themekit.suggest import weights as w
from themekit.suggest.anchors import many_coloured
from themekit.suggest.best_three import Apart, Candidates, Weights, best_three, terms
from themekit.suggest.closeness import anchor_arrays, chroma_part, closeness, fit, shown
from themekit.suggest.halves import Half
from themekit.values import Anchor, Gel, Needs, Tint


@dataclass(frozen=True, slots=True)
class Unreached:
    """An anchor that the gels cannot make, and the nearest that they can."""

    hex: str
    name: str
    nearest: str
    delta_e: float


@dataclass(frozen=True, slots=True)
class Palette:
    """Three tints with the score and its parts, each 0–1."""

    tints: tuple[Tint, Tint, Tint]
    score: float
    parts: dict[str, float]

    @property
    def labs(self) -> Floats:
        """CIELAB of the three tints, shape (3, 3)."""
        return np.array([t.lab for t in self.tints])


@dataclass(frozen=True, eq=False, slots=True)
class Tints:
    """Every tint within reach of some gels, in order of hex; row i is candidate i."""

    gels: tuple[Gel, ...]
    lab: Floats
    doses: Floats
    hex: tuple[str, ...]


@lru_cache(maxsize=32)
def tints_within_reach(gels: tuple[Gel, ...]) -> Tints:
    """The reachable tints of gels and staples, one for each hex, kept in memory.

    Beside three gels and more, staples are offered by themselves, not mixed with gels.
    """
    own = [i for i, g in enumerate(gels) if g.id >= 0]
    rest = [i for i, g in enumerate(gels) if g.id < 0]
    groups = [own, rest] if len(own) >= 3 else [[*own, *rest]]
    labs, doses = [], []
    for group in groups:
        reach = reachable([gels[i] for i in group])
        spread = np.zeros((len(reach.lab), len(gels)))
        spread[:, group] = reach.doses
        labs.append(reach.lab)
        doses.append(spread)
    lab, dose = np.concatenate(labs), np.concatenate(doses)
    first: dict[str, int] = {}
    for i, colour in enumerate(labs_to_hex(lab)):
        first.setdefault(colour, i)
    order = [first[colour] for colour in sorted(first)]
    return Tints(gels, lab[order], dose[order], tuple(sorted(first)))


class PaletteSearch:
    """Palettes for one theme from one set of gels, best first, each apart from the earlier.

    `least_apart` is the mean CIEDE2000 by which they differ; `weights` are those of the parts.
    Every palette shows each of the `halves` of a wish that the gels reach.
    """

    least_apart = w.APART

    def __init__(
        self,
        tints: Tints,
        anchors: Sequence[Anchor],
        needs: Needs,
        weights: w.Parts = w.PALETTE,
        halves: Sequence[Half] = (),
    ) -> None:
        self.anchor_labs, self.anchor_weights = anchor_arrays(anchors)
        self.parts = w.rescaled(weights, bool(len(anchors)), many_coloured(anchors))
        self.all_tints = tints
        usable = self._usable(tints, needs)
        if len(usable) < 3:
            raise TooFewCandidates(
                "Fewer than three icing colours are left to choose from.",
                [
                    Problem(
                        "gels",
                        len(usable),
                        "gels that make at least three tints",
                        "Enter gels, enter what their labels say, or relax a need.",
                    )
                ],
            )
        self.tints = Tints(tints.gels, tints.lab[usable], tints.doses[usable], tuple(tints.hex[i] for i in usable))
        n = len(usable)
        share, start = np.ones(n), np.arange(n + 1)
        near = closeness(self.tints.lab, self.anchor_labs)
        self.own = {
            "fit": fit(near, self.anchor_weights, share, start),
            "chroma": chroma_part(self.tints.lab, self.anchor_labs, self.anchor_weights),
            "ease": _ease(self.tints),
        }
        unary = sum((getattr(self.parts, name) * part for name, part in self.own.items()), np.zeros(n))
        self.candidates = Candidates(
            lab=self.tints.lab,
            share=share,
            start=start,
            unary=unary,
            closeness=shown(near, share, start),
            anchor_weights=self.anchor_weights,
            texture=None,
            at_most_one=_one_dark_one_white(self.tints.lab),
            at_least_one=np.hstack([self._included(needs), self._showing(halves)]),
        )
        if sum(half.said for half in halves) == 3:
            # All three tints are spoken for, so palettes can differ by their shades alone.
            self.least_apart = w.APART / 2
        self.weights = Weights(
            self.parts.coverage, self.parts.harmony, self.parts.contrast, self.parts.distinctness
        )

    def _usable(self, tints: Tints, needs: Needs) -> NDArray[np.intp]:
        keep = np.ones(len(tints.hex), bool)
        for avoided in needs.avoid_colours:
            keep &= delta_e_2000(tints.lab, hex_to_lab(avoided)) >= w.AVOIDED_WITHIN
        return np.flatnonzero(keep)

    def _included(self, needs: Needs) -> NDArray[np.bool_]:
        columns = np.zeros((len(self.tints.hex), len(needs.include_colours)), bool)
        problems = []
        for column, wanted in enumerate(needs.include_colours):
            distance = delta_e_2000(self.tints.lab, hex_to_lab(wanted))
            columns[:, column] = distance <= w.INCLUDED_WITHIN
            if not columns[:, column].any():
                nearest = self.tints.hex[int(np.argmin(distance))]
                problems.append(
                    Problem(
                        "needs.include_colours",
                        wanted,
                        f"a colour within ΔE00 {w.INCLUDED_WITHIN:g} of what the gels can make",
                        f"The nearest they make is {nearest}, ΔE00 {distance.min():.1f} away.",
                    )
                )
        if problems:
            raise NeedConflict("The gels cannot make an included colour.", problems)
        return columns

    def _showing(self, halves: Sequence[Half]) -> NDArray[np.bool_]:
        """One column for each half that some tint shows: the tints that show it, (n, halves)."""
        columns = []
        for half in halves:
            distance = half.shown_by(self.tints.lab)
            far, near = w.SHOWN_WITHIN, w.SHOWN_WITHIN
            if half.said:
                far, near = w.SAID_FAR, float(distance.min()) + w.SAID_SLACK
            if distance.min() <= far:
                columns.append(distance <= near)
        return np.array(columns, bool).reshape(-1, len(self.tints.hex)).T

    def best(self, count: int, apart_from: Sequence[Palette] = ()) -> list[Palette]:
        """The `count` best palettes that lie apart from the given ones."""
        apart = tuple(
            Apart(delta_e_2000(self.tints.lab[:, None, :], p.labs[None, :, :]), self.least_apart)
            for p in apart_from
        )
        c = self.candidates
        searched = Candidates(
            c.lab, c.share, c.start, c.unary, c.closeness, c.anchor_weights, None, c.at_most_one,
            c.at_least_one, apart,
        )  # fmt: skip
        found = best_three(searched, self.weights, count)
        return self._told(found.triples, found.scores)

    def diverse(self, count: int) -> list[Palette]:
        """Up to `count` palettes, each the best apart from all before it, above the floor."""
        out: list[Palette] = []
        while len(out) < count:
            more = self.best(1, out)
            if not more or (out and more[0].score < w.QUALITY_FLOOR * out[0].score):
                break
            out += more
        return out

    def _told(self, triples: NDArray[np.int64], scores: Floats) -> list[Palette]:
        if not len(triples):
            return []
        shared = terms(self.candidates, triples)
        out = []
        for row, (triple, score) in enumerate(zip(triples.tolist(), scores.tolist(), strict=True)):
            parts = {name: float(values[triple].mean()) for name, values in self.own.items()}
            parts |= {name: float(values[row]) for name, values in shared.items()}
            used = {name: round(parts[name], 4) for name in w.PALETTE.__dataclass_fields__ if name in parts
                    and getattr(self.parts, name) > 0}  # fmt: skip
            order = sorted(triple, key=lambda i: -self._weight(i))
            a, b, c = (tint_of(self.tints.doses[i], self.tints.gels) for i in order)
            out.append(Palette((a, b, c), round(score, 6), used))
        return out

    def _weight(self, i: int) -> float:
        """How much a tint stands for the theme: what one sees first comes first."""
        if not len(self.anchor_weights):
            return 0.0
        return float((closeness(self.tints.lab[i : i + 1], self.anchor_labs)[0] * self.anchor_weights).max())

    def unreached(self, names: Names) -> list[Unreached]:
        """The anchors of some weight that no usable tint comes near to."""
        out = []
        for lab, weight in zip(self.anchor_labs, self.anchor_weights, strict=True):
            distance = delta_e_2000(self.tints.lab, lab)
            at = int(np.argmin(distance))
            if weight >= 0.08 and distance[at] > w.OUT_OF_REACH:
                out.append(
                    Unreached(
                        labs_to_hex(lab[None])[0],
                        names.nearest(lab)[0],
                        self.tints.hex[at],
                        round(float(distance[at]), 1),
                    )
                )
        return out


def _ease(tints: Tints) -> Floats:
    """1 for one gel or none, less for each more, and for staples beside gels, shape (n,).

    A staple's label is seldom entered, so a gel that does the same goes before it.
    """
    staple = np.array([g.id < 0 for g in tints.gels], bool)
    used = tints.doses > 0
    several = 1 - 0.25 * np.maximum(0, used.sum(axis=1) - 1)
    return np.asarray(several - 0.5 * (used & staple).any(axis=1) * (not staple.all()))


def _one_dark_one_white(lab: Floats) -> NDArray[np.bool_]:
    """Columns of which a palette may hold one: very dark tints (they bleed), and whites."""
    dark = lab[:, 0] < w.VERY_DARK_L
    white = (lab[:, 0] > w.WHITE_L) & (np.hypot(lab[:, 1], lab[:, 2]) < w.WHITE_C)
    return np.stack([dark, white], axis=1)


def score_colours(labs: Floats, anchors: Sequence[Anchor], weights: w.Parts = w.PALETTE) -> Palette:
    """What the tool makes of three colours of her own, shape (3, 3); recipes are left out."""
    anchor_labs, anchor_weights = anchor_arrays(anchors)
    parts = w.rescaled(weights, bool(len(anchors)), many_coloured(anchors))
    share, start = np.ones(3), np.arange(4)
    near = closeness(labs, anchor_labs)
    own = {
        "fit": fit(near, anchor_weights, share, start),
        "chroma": chroma_part(labs, anchor_labs, anchor_weights),
        "ease": np.ones(3),
    }
    candidates = Candidates(
        labs, share, start, np.zeros(3), shown(near, share, start), anchor_weights, None,
        np.zeros((3, 0), bool), np.zeros((3, 0), bool),
    )  # fmt: skip
    shared = terms(candidates, np.array([[0, 1, 2]]))
    values = {name: float(v.mean()) for name, v in own.items()} | {n: float(v[0]) for n, v in shared.items()}
    told = {
        n: round(values[n], 4) for n in w.PALETTE.__dataclass_fields__ if n in values and getattr(parts, n) > 0
    }
    told.pop("ease")
    score = sum(getattr(parts, n) * v for n, v in told.items()) / sum(getattr(parts, n) for n in told)
    a, b, c = (
        Tint((float(lab[0]), float(lab[1]), float(lab[2])), colour, "", ())
        for lab, colour in zip(labs, labs_to_hex(labs), strict=True)
    )
    return Palette((a, b, c), round(score, 6), told)
