"""How near candidates' colours lie to a theme's anchors."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, lab_to_lch
from themekit.suggest.weights import CLOSENESS_SCALE, SHOWN_SHARE
from themekit.values import Anchor

Starts = NDArray[np.int64]


def anchor_arrays(anchors: Sequence[Anchor]) -> tuple[Floats, Floats]:
    """Colours (A, 3) and weights (A,) of the anchors."""
    labs = np.array([a.lab for a in anchors], float).reshape(-1, 3)
    return labs, np.array([a.weight for a in anchors], float)


def closeness(labs: Floats, anchors: Floats) -> Floats:
    """1 on an anchor, falling with CIEDE2000, shape (m, A)."""
    distance = delta_e_2000(labs[:, None, :], anchors[None, :, :])
    return np.asarray(np.exp(-((distance / CLOSENESS_SCALE) ** 2)))


def fit(near: Floats, weights: Floats, share: Floats, start: Starts) -> Floats:
    """Share-weighted closeness of each candidate's colours to the anchors, shape (n,).

    `near` (m, A) is the closeness of every colour. Each colour counts by its nearest
    anchor; a light anchor counts up to a quarter less than the heaviest.
    """
    if not len(weights):
        return np.zeros(len(start) - 1)
    best = (near * (0.75 + 0.25 * weights / weights.max())).max(axis=1)
    return np.asarray(np.add.reduceat(best * share, start[:-1]))


def shown(near: Floats, share: Floats, start: Starts) -> Floats:
    """How well each candidate shows each anchor, shape (n, A).

    A colour of a many-coloured jar is seen in full from a share of `SHOWN_SHARE` on, so
    that a rainbow shows each of its colours and is not punished for having many; but it
    counts by how much of the jar belongs to the theme at all, 1 for a single colour.
    """
    if not len(near) or not near.shape[1]:
        return np.zeros((len(start) - 1, near.shape[1]))
    visible = near * np.minimum(1.0, share / SHOWN_SHARE)[:, None]
    best = near.max(axis=1)
    belongs = np.add.reduceat(best * share, start[:-1]) / np.maximum.reduceat(np.maximum(best, 1e-12), start[:-1])
    return np.asarray(np.maximum.reduceat(visible, start[:-1], axis=0) * belongs[:, None])


def chroma_part(labs: Floats, anchors: Floats, weights: Floats) -> Floats:
    """Whether each tint is as colourful as the theme, 0–1, shape (n,); 1 for all of a grey theme."""
    asked = float(lab_to_lch(anchors)[:, 1] @ weights) if len(weights) else 0.0
    if asked < 12:
        return np.ones(len(labs))
    return np.asarray(np.minimum(1.0, np.hypot(labs[:, 1], labs[:, 2]) / asked))
