"""The best three of n candidates, exactly: icing tints for a palette, jars for a trio.

`best_three` returns the same k triples, in the same order, as scoring every one of the
n(n−1)(n−2)/6 would. What a score is stands in `pair_terms`.
"""

from __future__ import annotations

import numpy as np

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
ENUMERATED = 60
#: Up to so many the values of all pairs are worked out first.
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

    `tables` are the candidates' `pair_tables`, which a home shelf keeps. `budget` is
    the number of boxes of triples to look at before giving up (None: never); when it is
    spent `proven` is False and `gap` says how much better an unseen triple could be.

    Fewer than k triples come back when fewer are allowed, none of fewer than three
    candidates. Raises `InvalidValue` (a ValueError) naming every field that cannot be used.
    """
    c = checked(candidates, weights, k)
    groups = twins(c)
    if tables is None and len(c) > max(2, ENUMERATED):
        heads = c.take(groups.first())
        pairs = Pairs(heads)
        best = Best(heads, weights, k, pairs, groups.count(k + 2))
        if len(heads) <= POOLED:
            found = PooledSearch(heads, weights, pairs, best).run(budget)
        else:
            found = Search(Tree(heads, weights, pairs), best).run(budget)
        triples, scores = groups.told_apart(found.triples, found.scores, k)
        return Found(triples, scores, found.proven, found.gap, found.examined)
    kept = groups.some(k + 2)
    if len(kept) < len(c):
        c = c.take(kept)
        if tables is not None:
            at = np.ix_(kept, kept)
            tables = PairTables(tables.harmony[at], tables.contrast[at], tables.distinctness[at])
    found = enumerate_triples(c, weights, k, tables or pair_tables(c))
    return Found(kept[found.triples], found.scores, found.proven, found.gap, found.examined)
