"""The best three of n candidates, exactly: icing tints for a palette, jars for a trio.

`best_three` returns the same k triples, in the same order, as scoring every one of the
n(n−1)(n−2)/6 would. What a score is stands in `pair_terms`.
"""

from __future__ import annotations

import numpy as np

from themekit.errors import Problem, raise_all
from themekit.suggest.best_so_far import Best
from themekit.suggest.box_search import Search
from themekit.suggest.boxes import Tree
from themekit.suggest.candidates import Apart, Candidates, Found, PairTables, Texture, Weights, checked
from themekit.suggest.enumeration import enumerate_triples
from themekit.suggest.pair_terms import Pairs, pair_tables, terms
from themekit.suggest.pooled_search import PooledSearch
from themekit.suggest.twins import twins

__all__ = [
    "Apart", "Candidates", "Found", "PairTables", "Texture", "Weights", "best_three", "pair_tables", "terms",
]  # fmt: skip

#: Up to so many candidates all triples are scored; beyond, boxes of them are bounded.
ENUMERATED = 80
#: Up to so many different ones the values of all pairs are worked out first.
POOLED = 2048


def best_three(
    candidates: Candidates,
    weights: Weights,
    k: int,
    *,
    tables: PairTables | None = None,
    budget: int | None = None,
) -> Found:
    """The k best triples of the candidates, exactly; ties in order of the index triples.

    `tables` are the candidates' `pair_tables`, which a home shelf keeps; they save work
    up to `ENUMERATED` candidates and are not needed beyond. `budget` is the number of
    triples of boxes to look at before giving up (None: never); when it is spent `proven`
    is False and `gap` says how much better an unseen triple could be.

    Fewer than k triples come back when fewer are allowed, none of fewer than three
    candidates. Raises `InvalidValue` (a ValueError) naming every field that cannot be used.
    """
    c = checked(candidates, weights, k)
    if tables is not None:
        square = (len(c), len(c))
        fields = (("tables.harmony", tables.harmony), ("tables.contrast", tables.contrast))
        shapes = [(name, t.shape) for name, t in (*fields, ("tables.distinctness", tables.distinctness))]
        raise_all(Problem(name, s, f"shape {square}, from pair_tables") for name, s in shapes if s != square)
    groups = twins(c)
    if len(c) <= max(2, ENUMERATED):
        kept = groups.some(k + 2)
        at = np.ix_(kept, kept)
        if tables is None:
            tables = pair_tables(c)
        tables = PairTables(tables.harmony[at], tables.contrast[at], tables.distinctness[at])
        found = enumerate_triples(c.take(kept), weights, k, tables)
        triples, scores = kept[found.triples], found.scores
    else:
        heads = c.take(groups.first())
        pairs = Pairs(heads)
        best = Best(heads, weights, k, pairs, groups.count(k + 2))
        if len(heads) <= POOLED:
            found = PooledSearch(heads, weights, pairs, best).run(budget)
        else:
            found = Search(Tree(heads, weights, pairs), best).run(budget)
        triples, scores = groups.told_apart(found.triples, found.scores, k)
    return Found(triples, scores, found.proven, found.gap, found.examined)
