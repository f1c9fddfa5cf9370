"""A strong first floor for the search: good triples found fast, with no promise of being best."""

from __future__ import annotations

from itertools import combinations
from typing import Protocol

import numpy as np

from themekit.suggest.best_so_far import Best
from themekit.suggest.candidates import Floats, Ints
from themekit.suggest.splitting import Singles

_PICKS = 8
_STARTS = 4
_ROUNDS = 6
#: Swaps scored exactly, for each start and each member put out, of all n that are bounded.
_SWAPS = 8


class Known(Protocol):
    """What a first floor needs of a search: members alone and their pairs with all others."""

    n: int
    own: Floats
    near: Floats

    def with_all(self, members: Ints) -> tuple[Singles, Singles, Singles, Singles]: ...


def raise_floor(best: Best, tree: Known) -> None:
    """Offer `best` the triples of the likeliest candidates, then single swaps from several of them."""
    picks = _likeliest(best, tree.own, tree.near)
    triples = np.array(list(combinations(picks.tolist(), 3)), dtype=np.int64).reshape(-1, 3)
    starts = _unlike(*best.offer(triples))
    seen: set[tuple[int, ...]] = set()
    for _ in range(_ROUNDS):
        fresh = sorted({tuple(t) for t in starts.tolist()} - seen)
        if not fresh:
            return
        seen.update(fresh)
        starts = _best_swaps(best, tree, np.array(fresh))


def _likeliest(best: Best, own: Floats, near: Floats) -> Ints:
    """Candidates good alone or for one anchor, and some that each must-have column names."""
    total = own + near.sum(axis=0)
    chosen = [_top(total, _PICKS)]
    chosen += [_top(own + 3 * row, 3) for row in near]
    for column in best.c.at_least_one.T:
        hit = np.flatnonzero(column)
        chosen.append(hit[_top(total[hit], 4)])
    return np.unique(np.concatenate(chosen))


def _top(values: Floats | Singles, count: int) -> Ints:
    if values.shape[-1] <= count:
        return np.broadcast_to(np.arange(values.shape[-1]), values.shape)
    return np.argpartition(-values, count - 1, axis=-1)[..., :count]


def _unlike(triples: Ints, scores: Floats) -> Ints:
    """The best triple, then the best that shares at most one member with each taken before."""
    taken: list[set[int]] = []
    for t in triples[np.argsort(-scores, kind="stable")].tolist():
        if all(len(other.intersection(t)) <= 1 for other in taken):
            taken.append(set(t))
            if len(taken) == _STARTS:
                break
    return np.array([sorted(t) for t in taken], np.int64).reshape(-1, 3)


def _best_swaps(best: Best, tree: Known, starts: Ints) -> Ints:
    """Of each start (s, 3) the best triple that differs from it in at most one member."""
    own, near, together, apart = tree.with_all(starts.ravel())
    s, n = len(starts), tree.n
    together, apart = together.reshape(s, 3, n), apart.reshape(s, 3, n)
    made = [np.column_stack([np.arange(s), starts])]
    for out, (p, q) in enumerate(((1, 2), (0, 2), (0, 1))):
        one, two = starts[:, p], starts[:, q]
        gain = together[:, p] + together[:, q] + own
        least = np.minimum(apart[:, p], apart[:, q])
        gain += np.minimum(least, apart[np.arange(s), p, two][:, None])
        for row in near:
            gain += np.maximum(row, np.maximum(row[one], row[two])[:, None])
        for kept in (one, two):
            gain[np.arange(s), kept] = -np.inf
        into = _top(gain, _SWAPS)
        swapped = np.repeat(starts[:, None, :], into.shape[1], axis=1)
        swapped[:, :, out] = into
        made.append(np.column_stack([np.repeat(np.arange(s), into.shape[1]), swapped.reshape(-1, 3)]))
    rows = np.concatenate(made)
    rows[:, 1:].sort(axis=1)
    rows = rows[(rows[:, 1] < rows[:, 2]) & (rows[:, 2] < rows[:, 3])]
    return best.best_of(rows[:, 0], rows[:, 1:])
