"""Candidates equal in everything that counts: one stands for all until the end of a search.

Of equals a search for the k best needs only the first k + 2. Take a triple with a member
that comes r-th (from 0) among its equals. Putting an earlier one in its place gives a
triple of the same score that comes before it, and at least r − 2 of those are not in the
triple already. So with r ≥ k + 2 the triple cannot be among the first k.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from themekit.suggest.candidates import Candidates, Floats, Ints

_MIX = np.uint64(0x9E3779B97F4A7C15)


@dataclass(frozen=True, slots=True)
class Twins:
    """n candidates in groups of equals, each in index order, groups by their first member.

    member  (n,) the candidates, group after group
    start   (groups + 1,) group g is member[start[g]:start[g + 1]]
    """

    member: Ints
    start: Ints

    def first(self) -> Ints:
        """One candidate of each group, ascending."""
        return self.member[self.start[:-1]]

    def some(self, most: int) -> Ints:
        """At most `most` candidates of each group, ascending."""
        rank = np.arange(len(self.member)) - np.repeat(self.start[:-1], np.diff(self.start))
        return np.sort(self.member[rank < most])

    def count(self, most: int) -> Ints:
        """The size of each group, at most `most`."""
        return np.minimum(np.diff(self.start), most)

    def told_apart(self, triples: Ints, scores: Floats, k: int) -> tuple[Ints, Floats]:
        """The first k triples of candidates behind triples of groups, with their scores.

        A group named twice or three times in a triple means so many different members.
        """
        made: list[tuple[float, tuple[int, ...]]] = []
        for triple, score in zip(triples.tolist(), scores.tolist(), strict=True):
            groups = [self.member[self.start[g] : self.start[g + 1]].tolist() for g in triple]
            made += [(-score, t) for t in _first(triple, groups, k)]
        made = sorted(made)[:k]
        return np.array([t for _, t in made], np.int64).reshape(-1, 3), np.array([-s for s, _ in made])


def _first(names: list[int], groups: list[list[int]], k: int) -> list[tuple[int, ...]]:
    """The first k triples with one member of each group; equal names ask for different members.

    Stepping one rank up always gives a later triple, so a heap meets them in order.
    """
    ranks = tuple(names[:at].count(name) for at, name in enumerate(names))
    if any(r >= len(g) for r, g in zip(ranks, groups, strict=True)):
        return []
    heap = [(tuple(sorted(g[r] for r, g in zip(ranks, groups, strict=True))), ranks)]
    seen = {ranks}
    found: list[tuple[int, ...]] = []
    while heap and len(found) < k:
        triple, ranks = heappop(heap)
        found.append(triple)
        for at in range(3):
            step = (*ranks[:at], ranks[at] + 1, *ranks[at + 1 :])
            clash = at < 2 and names[at + 1] == names[at] and step[at] >= step[at + 1]
            if step[at] < len(groups[at]) and not clash and step not in seen:
                seen.add(step)
                heappush(heap, (tuple(sorted(g[r] for r, g in zip(step, groups, strict=True))), step))
    return found


def twins(c: Candidates) -> Twins:
    """Groups of candidates that are equal in every value a score or a constraint may read."""
    n, columns = len(c), _columns(c)
    code = np.zeros(n, np.uint64)
    for column in columns:
        code = (code ^ column) * _MIX
        code ^= code >> np.uint64(29)
    order = np.argsort(code, kind="stable")
    ahead, behind = order[1:], order[:-1]
    equal = code[ahead] == code[behind]
    if not equal.any():
        return Twins(np.arange(n), np.arange(n + 1))
    # Equal codes of unequal candidates are next to impossible; they only split a group.
    at = np.flatnonzero(equal)
    for column in columns:
        at = at[column[ahead[at]] == column[behind[at]]]
    head = np.ones(n, bool)
    head[at + 1] = False
    first = order[head]
    group = np.empty(n, np.int64)
    place = np.empty(len(first), np.int64)
    place[np.argsort(first)] = np.arange(len(first))
    group[order] = place[np.cumsum(head) - 1]
    sizes = np.bincount(group)
    return Twins(np.argsort(group, kind="stable"), np.concatenate([[0], np.cumsum(sizes)]))


def _columns(c: Candidates) -> list[NDArray[np.uint64]]:
    """Every value that a score or a constraint may read, as bit patterns, (n,) each."""
    counts = np.diff(c.start)
    columns = [counts.astype(np.float64), c.unary, *c.closeness.T]
    for s in range(int(counts.max(initial=0))):
        has = counts > s
        at = np.where(has, c.start[:-1] + s, 0)
        columns += [np.where(has, values[at], 0.0) for values in (*c.lab.T, c.share)]
    if c.texture is not None:
        columns += [c.texture.form.astype(float), c.texture.finish.astype(float), c.texture.grain_log2]
    columns += [flag.astype(float) for flag in (*c.at_most_one.T, *c.at_least_one.T)]
    for demand in c.apart:
        columns += list(demand.cost.T)
    # Adding 0.0 turns −0.0 into 0.0, the one pair of equal numbers with unequal bits.
    return [np.ascontiguousarray(column + 0.0).view(np.uint64) for column in columns]
