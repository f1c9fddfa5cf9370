"""The colours of many pixels: clusters in CIELAB, as many as the data show.

Many small clusters are made first and then joined: those that look alike, and those that are
one thing in light and shade. What only stands between two colours at blurred edges, or is
glare on a colour, is no colour of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import lab_to_xyz, xyz_to_lab

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

#: Clusters to start with, and pixels that they are made from.
_START, _SAMPLE = 32, 20_000
_SEED = 20_261_125
#: Below this CIEDE2000 two clusters are one colour; of light and shade, with the lightness made equal.
ALIKE, _SHADE = 6.0, 7.0
#: Shade is at least this part of the light beside it, and a good part of its outline meets it.
_DARKEST, _CONTACT = 0.35, 0.25
#: Smallest share that is told.
LEAST_SHARE = 0.02
#: An in-between colour lies this near, in ΔE*ab, to the line between two others.
_ON_LINE = 10.0
#: Pixels of a real colour that are away from edges, at least, where it looks in-between.
_CORE = 0.35


@dataclass(frozen=True, slots=True)
class Cluster:
    """One colour: its CIELAB where it is lit well, its share, and the share of it away from edges."""

    lab: Floats
    share: float
    core: float


def clusters(lab: Floats, usable: Bools, flat: Bools, backdrop: Floats, most: int) -> list[Cluster]:
    """Colours of the usable pixels, the largest first, at most `most`; shares add up to 1 or less.

    Parameters
    ----------
    lab       CIELAB of the picture, shape (h, w, 3).
    usable    pixels of the thing itself, shape (h, w).
    flat      pixels away from edges, shape (h, w).
    backdrop  CIELAB of what lies behind, shape (n, 3), perhaps of no colours.
    most      how many colours are told at most.
    """
    core = usable & flat
    if not core.any():
        return []
    labels = np.full(core.shape, -1)
    labels[core], count = _small(lab[core], most)
    centres = np.array([np.median(lab[labels == i], axis=0) for i in range(count)])
    joined = _joined(centres, np.bincount(labels[core], minlength=count), _contact(labels, count))
    labels[core] = joined[labels[core]]
    spread = _spread(labels, usable)
    total = max(int((spread >= 0).sum()), 1)
    found = []
    for i in range(int(joined.max()) + 1):
        inside = lab[labels == i]
        size = int((spread == i).sum())
        found.append(Cluster(_lit(inside), size / total, len(inside) / max(size, 1)))
    found.sort(key=lambda c: -c.share)
    kept = _real(found, backdrop)
    return [c for c in kept if c.share >= LEAST_SHARE][:most]


def _small(lab: Floats, most: int) -> tuple[Ints, int]:
    """Numbers of small clusters for each colour, without gaps, and how many there are."""
    from sklearn.cluster import MiniBatchKMeans

    distinct = len(np.unique(np.round(lab, 1), axis=0))
    start = min(max(_START, 3 * most), distinct)
    if start < 2:
        return np.zeros(len(lab), np.intp), 1
    chosen = np.random.default_rng(_SEED).permutation(len(lab))[:_SAMPLE]
    fitted = MiniBatchKMeans(start, random_state=_SEED, n_init=3, batch_size=2048).fit(lab[chosen])
    _, numbers = np.unique(fitted.predict(lab), return_inverse=True)
    return np.asarray(numbers, np.intp), int(numbers.max()) + 1


def _contact(labels: Ints, count: int) -> Floats:
    """How much of each cluster's outline meets each other cluster, shape (n, n), rows add up to 1."""
    meets = np.zeros((count, count))
    for one, other in ((labels[1:], labels[:-1]), (labels[:, 1:], labels[:, :-1])):
        both = (one >= 0) & (other >= 0) & (one != other)
        np.add.at(meets, (one[both], other[both]), 1)
        np.add.at(meets, (other[both], one[both]), 1)
    return np.asarray(meets / np.maximum(meets.sum(axis=1, keepdims=True), 1))


def _joined(centres: Floats, sizes: Ints, contact: Floats) -> Ints:
    """The number of the joined cluster of each small one; the nearest pairs are joined first."""
    of = np.arange(len(centres))
    weight = sizes.astype(float)
    centres, contact = centres.copy(), contact.copy()
    alive = list(range(len(centres)))
    while len(alive) > 1:
        apart = _apart(centres[alive], contact[np.ix_(alive, alive)])
        i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
        if apart[i, j] >= 1:
            break
        keep, gone = (alive[i], alive[j]) if weight[alive[i]] >= weight[alive[j]] else (alive[j], alive[i])
        whole = weight[keep] + weight[gone]
        centres[keep] = (centres[keep] * weight[keep] + centres[gone] * weight[gone]) / whole
        outline = contact[keep] * weight[keep] + contact[gone] * weight[gone]
        outline[[keep, gone]] = 0
        contact[keep] = outline / max(outline.sum(), 1e-9)
        contact[:, keep] += contact[:, gone]
        weight[keep] = whole
        of[of == gone] = keep
        alive.remove(gone)
    return np.asarray(np.searchsorted(alive, of), np.intp)


def _apart(centres: Floats, contact: Floats) -> Floats:
    """Distance of each pair as a part of what still counts as one colour; below 1 they are joined."""
    plain = delta_e_2000(centres[:, None], centres[None]) / ALIKE
    xyz = np.maximum(lab_to_xyz(centres), 1e-6)
    Y = xyz[:, 1]
    lighter = np.maximum(Y[:, None], Y[None])
    scaled = xyz_to_lab(xyz[:, None] * (lighter / Y[:, None])[..., None])
    shade = delta_e_2000(scaled, scaled.transpose(1, 0, 2)) / _SHADE
    lit = np.minimum(Y[:, None], Y[None]) / lighter >= _DARKEST
    touching = np.where(Y[:, None] <= Y[None], contact, contact.T) >= _CONTACT
    apart = np.minimum(plain, np.where(lit & touching, shade, np.inf))
    np.fill_diagonal(apart, np.inf)
    return np.asarray(apart)


def _spread(labels: Ints, usable: Bools) -> Ints:
    """Labels carried from smooth pixels to the usable ones at edges, at most four pixels far."""
    from scipy import ndimage

    far, (rows, columns) = ndimage.distance_transform_edt(labels < 0, return_indices=True)
    carried = labels[rows, columns]
    return np.asarray(np.where(usable & (far <= 4), carried, -1))


def _lit(lab: Floats) -> Floats:
    """The median colour of the well-lit pixels: shade and what glare is left are passed over."""
    # Bounds that are pixels themselves, so that even two pixels leave one between them.
    low, high = np.percentile(lab[:, 0], [40, 90], method="nearest")
    return np.asarray(np.median(lab[(lab[:, 0] >= low) & (lab[:, 0] <= high)], axis=0))


def _real(found: list[Cluster], backdrop: Floats) -> list[Cluster]:
    """Clusters without those that only stand between two others, or between one and glare."""
    ends = [c.lab for c in found]
    extra = [np.array([100.0, 0, 0]), *backdrop]
    kept = []
    for i, one in enumerate(found):
        larger = [ends[j] for j in range(len(found)) if found[j].share > 1.5 * one.share]
        lines = [(a, b) for n, a in enumerate(larger) for b in [*larger[n + 1 :], *extra]]
        between = any(_on_line(one.lab, a, b) for a, b in lines)
        if i == 0 or one.core >= _CORE or not between:
            kept.append(one)
    return kept


def _on_line(lab: Floats, a: Floats, b: Floats) -> bool:
    """Whether a colour lies between two others, whose light may have mixed or faded into one another."""
    t = np.linspace(0.1, 0.9, 17)[:, None]
    light = xyz_to_lab(lab_to_xyz(a) * (1 - t) + lab_to_xyz(b) * t)
    straight = a * (1 - t) + b * t
    near = np.linalg.norm(np.concatenate([light, straight]) - lab, axis=1).min()
    return bool(near < _ON_LINE)
