"""Kits of which some parts are held: the best of the rest to go with them, by the same scores.

What is held was laid down by the baker herself: needs and the rules of a palette bind what
is chosen to go with it, not what she holds.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, hex_to_lab
from themekit.colour.tint import solve, tint_of
from themekit.errors import Problem, raise_all
from themekit.suggest import weights as w
from themekit.suggest.cutters import Chosen, CutterSearch
from themekit.suggest.ideas import Suggester
from themekit.suggest.palettes import Palette, PaletteSearch, Tints
from themekit.suggest.trios import Portion, Serve, Trio, TrioSearch
from themekit.values import Anchor, Cutter, Gel, Jar, Needs, Tint


@dataclass(frozen=True, slots=True)
class Made:
    """A colour that was asked for, and the icing that comes nearest; `delta_e` CIEDE2000 apart."""

    asked: str
    tint: Tint
    delta_e: float


def made_of(colour: str, tints: Tints) -> Made:
    """The icing nearest to a colour: a tint of the candidates by its own recipe, else the best recipe."""
    target = hex_to_lab(colour)
    if colour in tints.hex:
        doses: Floats = tints.doses[tints.hex.index(colour)]
    else:
        found = solve((float(target[0]), float(target[1]), float(target[2])), tints.gels)
        doses = _doses(found.doses, tints.gels)
    tint = tint_of(doses, tints.gels)
    return Made(colour, tint, round(float(delta_e_2000(target, np.array(tint.lab))), 2))


def _doses(recipe: Sequence[object], gels: Sequence[Gel]) -> Floats:
    """A recipe as doses (g,) of these gels."""
    out = np.zeros(len(gels))
    for dose in recipe:
        own, name = getattr(dose, "gel_id", None), getattr(dose, "gel", "")
        at = next(i for i, g in enumerate(gels) if (g.id == own if own is not None else g.name == name))
        out[at] += getattr(dose, "g_per_100g", 0.0)
    return out


class KeptPalettes(PaletteSearch):
    """Palettes with all of the held tints in them, exactly the best such.

    Of three held tints there is one palette, that of the three. What is not held differs
    from one palette to the next as whole palettes do.
    """

    def __init__(
        self,
        tints: Tints,
        anchors: Sequence[Anchor],
        needs: Needs,
        held: Sequence[Tint],
        weights: w.Parts = w.PALETTE,
    ) -> None:
        _check_held("tints", [t.hex for t in held])
        whole = len(held) == 3
        free = np.zeros(len(tints.hex), bool) if whole else np.ones(len(tints.hex), bool)
        for avoided in needs.avoid_colours:
            free &= delta_e_2000(tints.lab, hex_to_lab(avoided)) >= w.AVOIDED_WITHIN
        joined, rows = _joined(tints, np.flatnonzero(free), held)
        super().__init__(joined, anchors, Needs() if whole else replace(needs, avoid_colours=()), weights)
        must = np.zeros((len(joined.hex), len(rows)), bool)
        must[rows, np.arange(len(rows))] = True
        c = self.candidates
        self.candidates = replace(
            c,
            at_most_one=_without_held(c.at_most_one, rows),
            at_least_one=np.hstack([c.at_least_one, must]),
        )
        # Held tints differ by nothing, so the mean is that of the free ones.
        self.least_apart = w.APART * (3 - len(held)) / 3


def _joined(tints: Tints, kept: NDArray[np.intp], held: Sequence[Tint]) -> tuple[Tints, list[int]]:
    """Some of the tints and all held ones in order of hex, and the rows of the held ones."""
    labs = {tints.hex[i]: tints.lab[i] for i in kept}
    doses = {tints.hex[i]: tints.doses[i] for i in kept}
    for tint in held:
        labs.setdefault(tint.hex, np.array(tint.lab))
        doses.setdefault(tint.hex, _doses(tint.recipe, tints.gels))
    order = sorted(labs)
    lab = np.array([labs[h] for h in order]).reshape(-1, 3)
    dose = np.array([doses[h] for h in order]).reshape(-1, len(tints.gels))
    return Tints(tints.gels, lab, dose, tuple(order)), [order.index(t.hex) for t in held]


def _without_held(columns: NDArray[np.bool_], rows: Sequence[int]) -> NDArray[np.bool_]:
    """Of each column at most one: two that are held count as one, so that no third comes to them."""
    out = columns.copy()
    for column in out.T:
        together = [row for row in rows if column[row]]
        column[together[1:]] = False
    return out


class KeptTrios:
    """Trios with all of the held jars in them, exactly the best such."""

    def __init__(self, suggester: Suggester, held: Sequence[int], anchors: Sequence[Anchor] | None = None) -> None:
        _check_held("jars", held)
        self.held = tuple(held)
        with_held = copy(suggester)
        free = {jar.id for jar in suggester.allowed.jars} if len(held) < 3 else set()
        jars = tuple(j for j in suggester.shelf.jars if j.id in held or j.id in free)
        with_held.allowed = replace(suggester.allowed, jars=jars)
        self.search: TrioSearch = with_held.trio_search(anchors, () if len(held) == 3 else None, held)
        jars = self.search.jars
        must = np.array([[j.id == one for one in self.held] for j in jars], bool).reshape(len(jars), -1)
        self.search.must = np.hstack([self.search.must, must])

    def best(
        self, count: int, palette: Floats | None = None, earlier: Sequence[Trio] = (), serve: Serve = "apart"
    ) -> list[Trio]:
        """The `count` best; each shares with an earlier trio the held jars alone, or one jar if none is held."""
        return self.search.best(count, palette, [self._without_held(trio) for trio in earlier], serve)

    def _without_held(self, trio: Trio) -> Trio:
        """An earlier trio with one held jar at most: with it none of the others may come again."""
        own = [p for p in trio.portions if p.jar.id in self.held]
        kept = own[:1] + [p for p in trio.portions if p.jar.id not in self.held]
        kept += kept[-1:] * (3 - len(kept))
        return replace(trio, portions=cast(tuple[Portion, Portion, Portion], tuple(kept)))


def kept_cutters(
    search: CutterSearch,
    held: Sequence[tuple[Cutter, int]],
    cookies: int,
    palette: Floats,
    taken: Mapping[int, int] | None = None,
) -> list[Chosen]:
    """The held cutters with their cookies first, then the best for the cookies that are left."""
    out = [search.chosen(cutter, count, cookies, palette) for cutter, count in held]
    left = cookies - sum(count for _, count in held)
    if left > 0:
        others = copy(search)
        ids = {cutter.id for cutter, _ in held}
        others.cutters = [c for c in search.cutters if c.id not in ids]
        out += others.choose(left, palette, taken or Counter())
    return out


def other_cutters(
    search: CutterSearch, kept: Sequence[tuple[Cutter, int]], place: int, palette: Floats, most: int
) -> list[Chosen]:
    """Up to `most` cutters that could cut the cookies of one place, the best first, none that is in the kit."""
    cookies, ids = sum(count for _, count in kept), {cutter.id for cutter, _ in kept}
    found = [search.chosen(c, kept[place][1], cookies, palette) for c in search.cutters if c.id not in ids]
    return sorted(found, key=lambda one: (-one.score, one.cutter.id))[:most]


def palette_seen(colours: Sequence[str]) -> Palette:
    """Three colours that lay there before, to be kept apart from; neither scored nor mixed."""
    labs = [hex_to_lab(colour) for colour in colours]
    a, b, c = (
        Tint((float(lab[0]), float(lab[1]), float(lab[2])), colour, "", ())
        for lab, colour in zip(labs, colours, strict=True)
    )
    return Palette((a, b, c), 0.0, {})


def trio_seen(jars: Sequence[Jar]) -> Trio:
    """Three jars that lay there before, not to come again together; unscored."""
    a, b, c = (Portion(jar, 1 / 3, None) for jar in jars)
    return Trio((a, b, c), "apart", 0.0, {})


def _check_held(field: str, held: Sequence[object]) -> None:
    if len(held) > 3 or len(set(held)) < len(held):
        allowed = "at most three, each once"
        raise_all([Problem(field, ", ".join(map(str, held)), allowed, "Hold fewer, or choose another.")])


def placed(before: Sequence[object], after: Sequence[object]) -> list[int]:
    """Where the members of `after` go, so that those that were there `before` keep their places."""
    left = [i for i, one in enumerate(after) if one not in before]
    order = []
    for one in before:
        order.append(list(after).index(one) if one in after else left.pop(0))
    return order


__all__ = [
    "KeptPalettes",
    "KeptTrios",
    "Made",
    "Palette",
    "kept_cutters",
    "made_of",
    "other_cutters",
    "palette_seen",
    "placed",
    "trio_seen",
]
