"""Candidates equal in everything that counts, of which a search needs only a few."""

from __future__ import annotations

import numpy as np

from themekit.suggest.candidates import Candidates, Ints

_MIX = np.uint64(0x9E3779B97F4A7C15)


def without_twins(c: Candidates, keep: int) -> Ints:
    """Indices, ascending, of the candidates without all but the first `keep` of equal ones.

    Take a triple with a member that comes r-th (from 0) among its equals. Putting an
    earlier equal in its place gives a triple of the same score that comes before it, and
    at least r − 2 of those are not in the triple already. So with `keep` = k + 2 no
    triple that is left out can be among the first k.
    """
    columns = _columns(c)
    code = np.zeros(len(c), np.uint64)
    for column in columns:
        code = (code ^ column) * _MIX
        code ^= code >> np.uint64(29)
    order = np.argsort(code, kind="stable")
    ahead, behind = order[1:], order[:-1]
    equal = code[ahead] == code[behind]
    if not equal.any():
        return np.arange(len(c))
    # Equal codes of unequal candidates are next to impossible; they only split a group.
    for column in columns:
        equal &= column[ahead] == column[behind]
    first = np.concatenate([[True], ~equal])
    rank = np.arange(len(c)) - np.maximum.accumulate(np.where(first, np.arange(len(c)), 0))
    return np.sort(order[rank < keep])


def _columns(c: Candidates) -> list[np.ndarray[tuple[int], np.dtype[np.uint64]]]:
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
