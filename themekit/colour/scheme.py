"""Plain words for how the hues of a few colours stand to one another.

Naming only, never scoring: it says what a palette is, not how good it looks. Hues are
compared with the hue templates of Cohen-Or et al. on the HSV colour wheel, narrowest
first; a palette's scheme is the first template that can be turned so that it holds all
its hues. Three hues about equally far apart, for which the paper has no template, are
called triadic.

References
----------
Cohen-Or, D., Sorkine, O., Gal, R., Leyvand, T. and Xu, Y.-Q. (2006). Color
harmonization. ACM Transactions on Graphics 25(3), 624–630. doi:10.1145/1141911.1141933.
Sector widths are those of its figure 3.
"""

from __future__ import annotations

import colorsys
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.space import lab_to_xyz, to_gamut, xyz_to_rgb

Floats = NDArray[np.float64]

#: Below this CIELAB chroma a colour counts as a neutral, without a hue of its own.
NEUTRAL_CHROMA = 10.0
#: How far three hues may stand from 120° apart and still be called triadic, in degrees.
_TRIAD_SLACK = 30.0


@dataclass(frozen=True, slots=True)
class Scheme:
    """How hues stand to one another.

    name      one of the names below, for people
    sentence  what it means, as half a sentence
    template  the paper's letter for it, or "" where it has none
    """

    name: str
    sentence: str
    template: str


@dataclass(frozen=True, slots=True)
class _Template:
    """Sectors of the hue wheel: (centre, width) in degrees."""

    scheme: Scheme
    sectors: tuple[tuple[float, float], ...]


NEUTRAL = Scheme("neutral", "whites, greys and other quiet colours without a clear hue", "N")
ACCENT = Scheme("neutral with an accent", "quiet colours around one clear hue", "N")
TRIADIC = Scheme("triadic", "three hues about equally far apart on the colour wheel", "")
VARIED = Scheme("varied", "hues from all around the colour wheel", "")
_TEMPLATES = (
    _Template(Scheme("one hue", "shades of one hue", "i"), ((0, 18),)),
    _Template(
        Scheme("complementary", "two hues from opposite sides of the colour wheel", "I"), ((0, 18), (180, 18))
    ),
    _Template(Scheme("analogous", "neighbouring hues", "V"), ((0, 93.6),)),
    _Template(
        Scheme("right angle", "two groups of hues a quarter of the wheel apart", "L"), ((0, 18), (90, 79.2))
    ),
    _Template(
        Scheme("complementary with neighbours", "neighbouring hues and the one opposite them", "Y"),
        ((0, 93.6), (180, 18)),
    ),
    _Template(Scheme("half the wheel", "hues from one half of the colour wheel", "T"), ((0, 180),)),
    _Template(
        Scheme("double complementary", "two groups of neighbouring hues, opposite each other", "X"),
        ((0, 93.6), (180, 93.6)),
    ),
)


def hues(lab: ArrayLike) -> Floats:
    """Hue on the HSV wheel in degrees, 0–360, of CIELAB colours (n, 3); NaN of a neutral."""
    lab = np.asarray(lab, float).reshape(-1, 3)
    rgb = np.clip(xyz_to_rgb(lab_to_xyz(to_gamut(lab))), 0, 1)
    found = np.array([colorsys.rgb_to_hsv(*row)[0] * 360 for row in rgb.tolist()])
    return np.where(np.hypot(lab[:, 1], lab[:, 2]) < NEUTRAL_CHROMA, np.nan, found)


def scheme(lab: ArrayLike) -> Scheme:
    """The scheme of CIELAB colours (n, 3), n at least 1; their order does not matter.

    Neutrals are left out of the comparison, so white beside two opposite hues is
    complementary still.

    >>> scheme([(53, 80, 67), (91, -48, -14), (97, 0, 2)]).name  # red, cyan, white
    'complementary'
    """
    found = hues(lab)
    clear = found[~np.isnan(found)]
    if len(clear) == 0:
        return NEUTRAL
    if len(clear) == 1 and len(found) > 1:
        return ACCENT
    if _is_triad(clear):
        return TRIADIC
    for template in _TEMPLATES:
        if _fits(clear, template.sectors):
            return template.scheme
    return VARIED


def _is_triad(clear: Floats) -> bool:
    """Whether there are three hues, each gap between neighbours within the slack of 120°."""
    if len(clear) != 3:
        return False
    gaps = np.diff(np.sort(clear), append=np.min(clear) + 360)
    return bool((np.abs(gaps - 120) <= _TRIAD_SLACK).all())


def _fits(clear: Floats, sectors: tuple[tuple[float, float], ...]) -> bool:
    """Whether some turn of the sectors holds every hue.

    If one does, it can be turned on until a hue meets a sector's edge: only those turns
    need trying.
    """
    turns = np.concatenate([clear - (centre + side * width / 2) for centre, width in sectors for side in (-1, 1)])
    held = np.zeros((len(turns), len(clear)), bool)
    for centre, width in sectors:
        away = (clear[None, :] - turns[:, None] - centre + 180) % 360 - 180
        held |= np.abs(away) <= width / 2 + 1e-9
    return bool(held.all(axis=1).any())
