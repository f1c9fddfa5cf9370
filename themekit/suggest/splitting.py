"""How candidates are split into nested boxes: by their places in a space in units of score."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from themekit.colour import harmony
from themekit.suggest.candidates import Candidates, Floats, Ints, Weights
from themekit.suggest.pair_terms import LIGHTNESS_STEP, Pairs

Singles = NDArray[np.float32]

_SPAN = harmony.HIGHEST - harmony.LOWEST
#: Rounding of single precision, times the size of what is added up: about twenty sums
#: of values rounded to 6e-8 of themselves.
ROUNDING = 4e-6
#: Steepest slopes of HLsum and HdL in lightness, and of HC in the colour gap.
_LIGHT_SLOPE, _GAP_SLOPE = 0.54 * 0.029 + 0.15 * 0.2, 0.53 * 0.045
#: Colours count a third of their steepest when boxes are split: the fastest of those
#: tried on random shelves of 1,000 and 10,000; it decides speed only.
_COLOUR_PART = 1 / 3


def members_alone(c: Candidates, weights: Weights, pairs: Pairs) -> tuple[Floats, Floats, Floats]:
    """What each member brings alone (n,), its weighted closeness (A, n), and its place (d, n).

    Places are points in space by which boxes are split, all in units of score.
    """
    hue, mean = np.zeros(len(c)), np.zeros((3, len(c)))
    for s in range(pairs.most):
        hue += pairs.share[:, s] * pairs.colours.HSY[:, s]
        mean += pairs.share[:, s] * pairs.lab[:, s].T
    # HH is unary: each member brings its HSY to two of the three pairs.
    own = c.unary / 3 + weights.harmony * 2 / 3 * hue / _SPAN
    near = weights.coverage * c.anchor_weights[:, None] * c.closeness.T
    light = weights.harmony * _LIGHT_SLOPE / _SPAN
    if c.texture is None:
        light += weights.contrast / LIGHTNESS_STEP
    colour = weights.harmony * _GAP_SLOPE / _SPAN
    scale = np.array([[light], [colour], [colour]]) * _COLOUR_PART
    return own, near, np.vstack([own, near, mean * scale])


def edges(n: int, level: int, depth: int) -> Ints:
    """Where the boxes of a level begin, and n: boxes are of 2^(depth − level), the last may be smaller."""
    size = 1 << (depth - level)
    return np.append(np.arange(0, n, size), n)


def halved(points: Floats, depth: int) -> Ints:
    """An order of points (d, n) whose runs of level after level are split where they are widest."""
    n = points.shape[1]
    order = np.arange(n)
    for level in range(depth):
        edge = edges(n, level, depth)
        first, size = edge[:-1], np.diff(edge)
        here = points[:, order]
        width = np.maximum.reduceat(here, first, axis=1) - np.minimum.reduceat(here, first, axis=1)
        widest = np.repeat(width.argmax(axis=0), size)
        key = here[widest, np.arange(n)]
        key = (key - key.min()) / (np.ptp(key) or 1.0) * 0.999
        order = order[np.argsort(np.repeat(np.arange(len(first)), size) + key)]
    return order
