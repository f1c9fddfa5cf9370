"""Values of very many pairs at once, in single precision: what tables for the search are made of.

The same sums as in `pair_terms`, four times as fast, to about a hundred-thousandth.
"""

from __future__ import annotations

import numpy as np

from themekit.colour import harmony
from themekit.suggest.candidates import Ints
from themekit.suggest.pair_terms import (
    FINISH_SHARE,
    FORM_SHARE,
    GRAIN_DOUBLINGS,
    GRAIN_SHARE,
    LIGHTNESS_STEP,
    Pairs,
)
from themekit.suggest.splitting import Singles

_CHROMA_LOSS = np.float32(1 - 1 / harmony.CHROMA_DIVISOR**2)
_MIXES = 20


class PairValues:
    """CH without HH, ΔE*ab and contrast of pairs, in tree order and single precision.

    Of mixes of colours the weighted means, as `Pairs` defines them.
    """

    def __init__(self, pairs: Pairs, order: Ints) -> None:
        self.texture, single = pairs.texture, pairs.single[order]
        lab, chroma = pairs.lab[order], pairs.colours.C[order]
        self.plain = np.array([*lab[:, 0].T, chroma[:, 0]], np.float32)
        self.light = pairs.light[order].astype(np.float32)
        if self.texture is not None:
            grain = self.texture.grain_log2[order] / GRAIN_DOUBLINGS
            self.grain = grain.astype(np.float32)
            self.codes = [
                (
                    np.where(codes >= 0, codes, 0).astype(np.float32),
                    (np.sqrt(part) * (codes >= 0)).astype(np.float32),
                )
                for codes, part in (
                    (self.texture.form[order], FORM_SHARE),
                    (self.texture.finish[order], FINISH_SHARE),
                )
            ]
        self.mixed = np.flatnonzero(~single)
        self.mixes = self._mix(pairs, order) if len(self.mixed) else None

    def _mix(self, pairs: Pairs, order: Ints) -> tuple[Singles, Singles]:
        """CH without HH, and distance, of each mix of colours with all, (mixes, n)."""
        plain = np.flatnonzero(pairs.single[order])
        at = order[self.mixed]
        used = pairs.share[at] > 0
        used[:, 0] = True
        colours = np.array([*pairs.lab[at][used].T, pairs.colours.C[at][used]], np.float32)
        share = pairs.share[at][used].astype(np.float32)
        first = np.concatenate([[0], np.cumsum(used.sum(axis=1))])
        means, distances = np.empty((2, len(at), len(order)), np.float32)
        for row in range(0, len(at), _MIXES):
            own = slice(first[row], first[min(row + _MIXES, len(at))])
            begin, weight = first[:-1][row : row + _MIXES] - first[row], share[own, None]
            these = slice(row, row + _MIXES)
            ch, gap = _colour_pairs(colours[:, own, None], self.plain[:, None, plain])
            means[these, plain] = np.add.reduceat(ch * weight, begin, axis=0)
            both = np.add.reduceat(gap * weight, begin, axis=0) + np.minimum.reduceat(gap, begin, axis=0)
            distances[these, plain] = both / 2
            ch, gap = _colour_pairs(colours[:, own, None], colours[:, None, :])
            ch = np.add.reduceat(ch * weight, begin, axis=0) * share
            means[these, self.mixed] = np.add.reduceat(ch, first[:-1], axis=1)
            there = np.minimum.reduceat(gap, first[:-1], axis=1) * weight
            back = np.minimum.reduceat(gap, begin, axis=0) * share
            both = np.add.reduceat(there, begin, axis=0) + np.add.reduceat(back, first[:-1], axis=1)
            distances[these, self.mixed] = both / 2
        return means, distances

    def rows(self, these: slice, rest: slice) -> tuple[Singles, Singles, Singles]:
        """The values of some candidates with a run of others, (rows, columns) each."""
        ch, gap = _colour_pairs(self.plain[:, these, None], self.plain[:, None, rest])
        if self.mixes is not None:
            r, c = (
                np.flatnonzero((self.mixed >= s.start) & (self.mixed < (s.stop or np.inf))) for s in (these, rest)
            )
            for block, values in zip((ch, gap), self.mixes, strict=True):
                block[:, self.mixed[c] - rest.start] = values[c][:, these].T
                block[self.mixed[r] - these.start] = values[r][:, rest]
        return ch, gap, self._contrast(these, rest)

    def _contrast(self, these: slice, rest: slice) -> Singles:
        if self.texture is None:
            step = self.light[these, None] - self.light[rest]
            np.abs(step, out=step)
            step *= np.float32(1 / LIGHTNESS_STEP)
            np.minimum(step, 1, out=step)
            return step
        total: Singles = np.abs(self.grain[these, None] - self.grain[rest])
        np.fmin(total, 1, out=total)
        total[np.isnan(self.grain[these])] = 0
        total[:, np.isnan(self.grain[rest])] = 0
        total *= np.float32(GRAIN_SHARE)
        for code, root in self.codes:
            both = root[these, None] * root[rest]
            both *= code[these, None] != code[rest]
            total += both
        return total


def _colour_pairs(x: Singles, y: Singles) -> tuple[Singles, Singles]:
    """CH without HH, and ΔE*ab, of colours given as rows L, a, b, C that broadcast."""
    step = x[0] - y[0]
    gap = x[1] - y[1]
    gap *= gap
    other = x[2] - y[2]
    other *= other
    gap += other
    np.subtract(x[3], y[3], out=other)
    other *= other
    other *= _CHROMA_LOSS
    dC = gap - other
    # Rounding must not make the root's argument smaller than it can be.
    np.maximum(dC, gap * (1 - _CHROMA_LOSS), out=dC)
    np.sqrt(dC, out=dC)
    gap += np.multiply(step, step, out=other)
    np.sqrt(gap, out=gap)
    np.abs(step, out=step)
    dC *= np.float32(-0.045)
    dC += np.float32(0.8)
    ch = np.tanh(dC, out=dC)
    ch *= np.float32(0.53)
    np.add(x[0], y[0], out=other)
    other *= np.float32(0.029)
    other -= np.float32(3.88)
    np.tanh(other, out=other)
    other *= np.float32(0.54)
    ch += other
    step *= np.float32(0.2)
    step -= np.float32(2)
    np.tanh(step, out=step)
    step *= np.float32(0.15)
    ch += step
    ch += np.float32(0.04 + 0.28 + 0.14)
    return ch, gap
