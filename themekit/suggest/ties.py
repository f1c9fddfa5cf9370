"""Whether a jar belongs with an icing: what ties each of its colours to the palette and the theme.

A colour is tied by being kin to one of the three tints, to what the theme leads with, or
by being a neutral that goes with nearly everything. Of a theme of many colours each of them
ties a jar of several. A jar counts by the shares of its colours.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, lab_to_lch
from themekit.suggest import weights as w
from themekit.values import Anchor

Bools = NDArray[np.bool_]


def kin(labs: Floats, others: Floats) -> Floats:
    """How far each colour (m, 3) of a jar is of one kin with any of others (n, 3), 0–1, shape (m,)."""
    if not len(others):
        return np.zeros(len(labs))
    distance = delta_e_2000(labs[:, None, :], others[None, :, :], w.TIE_K_L)
    one, other = np.hypot(*labs[:, None, 1:].T), np.hypot(*others[None, :, 1:].T)
    # A grey is of no colour's kin, however near.
    grey = (np.minimum(one, other) < w.GREY_C) & (np.maximum(one, other) > w.COLOURED_C)
    near = np.where(grey.T, 0.0, (w.UNTIED_FROM - distance) / (w.UNTIED_FROM - w.TIED_WITHIN))
    # Much more colourful than the tint, a topping outshouts it: orange beside tan.
    loud = np.clip((one - other - w.LOUD_FROM) / w.LOUD_SPAN, 0, w.LOUD_MOST).T
    return np.asarray((np.clip(near, 0, 1) * (1 - loud)).max(axis=1))


def leads(anchors: Sequence[Anchor], least: float = w.LEADS) -> list[Anchor]:
    """The anchors that a theme leads with: those of at least that part of the heaviest one's weight."""
    most = max((a.weight for a in anchors), default=0.0)
    return [a for a in anchors if a.weight >= least * most]


def theme_ties(labs: Floats, mixed: Bools, anchors: Sequence[Anchor], many: float) -> Floats:
    """What ties colours (m, 3) to a theme, 0–1, shape (m,).

    mixed  (m,) which of them are of jars with several colours
    many   how many-coloured the theme is, 0–1
    """
    first = np.array([a.lab for a in leads(anchors)]).reshape(-1, 3)
    every = np.array([a.lab for a in anchors]).reshape(-1, 3)
    return np.asarray(np.maximum(kin(labs, first), many * mixed * kin(labs, every)))


def neutral(labs: Floats, metallic: Bools) -> Bools:
    """Which colours (m, 3) are white, cream, silver grey or of a metal, shape (m,).

    `metallic` (m,) tells the finish of their jars. Black is none: it is heavy beside a pale icing.
    """
    light, chroma, hue = lab_to_lch(labs).T
    white = (light >= 86) & (chroma <= 10)
    cream = (light >= 82) & (chroma <= 24) & (hue >= 55) & (hue <= 110)
    silver = (light >= 60) & (chroma <= 8)
    return np.asarray(white | cream | silver | metallic)


def chocolate(labs: Floats) -> Bools:
    """Which colours (m, 3) are of chocolate, shape (m,)."""
    light, chroma, hue = lab_to_lch(labs).T
    return np.asarray((light <= 32) & (chroma >= 8) & (chroma <= 35) & (hue >= 20) & (hue <= 80))


def warm(palette: Floats) -> bool:
    """Whether a palette (3, 3) has anything warm, beside which chocolate is at home."""
    _, chroma, hue = lab_to_lch(palette).T
    return bool(((chroma >= 15) & (hue >= 10) & (hue <= 105)).any())


def ties(
    labs: Floats, share: Floats, start: NDArray[np.int64], metallic: Bools, of_theme: Floats, palette: Floats
) -> Floats:
    """How far each of n jars belongs with a palette (3, 3), 0–1, shape (n,).

    labs      (m, 3) colours of all jars, with their shares (m,); those of jar i begin at start[i]
    metallic  (m,) whether the jar's finish is of a metal
    of_theme  (m,) what `theme_ties` gives for them
    """
    plain = neutral(labs, metallic)
    if warm(palette):
        plain |= chocolate(labs)
    best = np.maximum(np.maximum(kin(labs, palette), of_theme), w.NEUTRAL_TIE * plain)
    return np.asarray(np.add.reduceat(best * share, start[:-1]))
