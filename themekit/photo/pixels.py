"""Which pixels of a photo tell a colour: the smooth ones that are neither background nor glare."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import rgb_to_xyz

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

#: A photo is worked on with at most so many pixels along its longer side.
MOST_SIDE = 512
#: From this sRGB level on a channel may have been cut off by the camera.
CLIPPED = 0.985
#: A smooth region that touches the border and fills this share of the picture is background.
_BACKGROUND = 0.08
#: A smooth region nearer to the background than this CIEDE2000 is a piece of it; up to twice that
#: where the brightest linear level is below the other.
_LIKE, _ENOUGH_LIGHT = 6.0, 0.15
#: Differences in ΔE*ab between neighbours that still count as smooth; noise raises it.
_SMOOTH, _OVER_NOISE = 5.0, 1.8


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo ready to be read: CIE XYZ, shape (h, w, 3), and where a channel was cut off."""

    xyz: Floats
    clipped: Bools
    scale: int


def prepared(rgb: NDArray[np.generic]) -> Picture:
    """A picture of at most `MOST_SIDE` pixels a side, averaged in linear light, without speckles."""
    from scipy import ndimage

    levels = np.asarray(rgb, float) / (255 if rgb.dtype == np.uint8 else 1)
    scale = -(-max(levels.shape[:2]) // MOST_SIDE)
    clipped = levels.max(axis=-1) >= CLIPPED
    linear = rgb_to_xyz(levels)
    if scale > 1:
        linear, clipped = _blocks(linear, scale), _blocks(clipped.astype(float), scale) > 0.5
    # The median of three by three takes noise away and keeps edges.
    calm = np.stack([ndimage.median_filter(linear[..., i], 3, mode="nearest") for i in range(3)], axis=-1)
    return Picture(calm, clipped, scale)


def _blocks(values: Floats, scale: int) -> Floats:
    """Means of blocks of scale × scale; a rest at the right and the bottom is left out."""
    height, width = (n // scale * scale for n in values.shape[:2])
    shape = (height // scale, scale, width // scale, scale, *values.shape[2:])
    return np.asarray(values[:height, :width].reshape(shape).mean(axis=(1, 3)))


def smooth(lab: Floats) -> Bools:
    """Pixels away from edges: CIELAB differs little within three by three, shape (h, w)."""
    from scipy import ndimage

    spans = [
        ndimage.maximum_filter(lab[..., i], 3, mode="nearest")
        - ndimage.minimum_filter(lab[..., i], 3, mode="nearest")
        for i in range(3)
    ]
    change = np.sqrt(sum(span**2 for span in spans))
    noise = float(np.percentile(change, 25))
    return np.asarray(change <= max(_SMOOTH, _OVER_NOISE * noise))


def regions_of(flat: Bools) -> Ints:
    """The connected smooth regions numbered from 1; 0 where the picture is not smooth."""
    from scipy import ndimage

    numbered, _ = ndimage.label(flat)
    return np.asarray(numbered, np.intp)


def background(lab: Floats, regions: Ints, reference: Bools | None, brightest: float) -> tuple[Bools, Floats]:
    """Plate, paper and table, shape (h, w), and their CIELAB, shape (n, 3), the largest first.

    Large smooth regions at the border, the reference itself, and smaller regions that look
    like one of them: noise and what lies about cut a background into pieces.
    """
    from scipy import ndimage

    border = np.concatenate([regions[0], regions[-1], regions[:, 0], regions[:, -1]])
    counts = np.bincount(regions.ravel())
    touching = np.unique(border[border > 0])
    large = touching[counts[touching] >= _BACKGROUND * regions.size]
    large = large[np.argsort(-counts[large])]
    found = np.isin(regions, large)
    colours = [np.median(lab[regions == number], axis=0) for number in large]
    if reference is not None:
        found |= reference
        colours.append(np.median(lab[reference], axis=0))
    if not colours:
        return found, np.zeros((0, 3))
    backdrop = np.array(colours)
    numbers = np.arange(1, len(counts))
    means = np.stack([ndimage.mean(lab[..., i], regions, numbers) for i in range(3)], axis=-1)
    # In poor light the levels of a photo are coarse, and even paper is patchy.
    farthest = float(np.clip(_LIKE * np.sqrt(_ENOUGH_LIGHT / max(brightest, 1e-6)), _LIKE, 2 * _LIKE))
    like = delta_e_2000(means[:, None], backdrop[None]).min(axis=1) < farthest
    return found | np.isin(regions, numbers[like]), backdrop


def edge_width(lightness: Floats) -> float:
    """How many pixels the sharpest edges take from one level to the other; 1–3 is sharp.

    0 where the picture has no edges.
    """
    from scipy import ndimage

    down, across = np.gradient(lightness)
    steep = np.hypot(down, across)
    least = float(np.percentile(steep, 98))
    if least < 1:
        return 0.0
    span = ndimage.maximum_filter(lightness, 13) - ndimage.minimum_filter(lightness, 13)
    strong = steep >= least
    return float(np.median(span[strong] / steep[strong]))
