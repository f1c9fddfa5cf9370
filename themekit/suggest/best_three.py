"""The best three of n candidates, exactly: icing tints for a palette, jars for a trio.

`best_three` returns the same k triples, in the same order, as scoring every one of the
n(n−1)(n−2)/6 would. What a score is stands in `pair_terms`.
"""

from __future__ import annotations

import numpy as np

from themekit.suggest.candidates import Apart, Candidates, Found, PairTables, Texture, Weights, checked
from themekit.suggest.enumeration import enumerate_triples
from themekit.suggest.pair_terms import pair_tables, terms
from themekit.suggest.twins import without_twins

__all__ = [
    "Apart", "Candidates", "Found", "PairTables", "Texture", "Weights", "best_three", "pair_tables", "terms",
]  # fmt: skip


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
    kept = without_twins(c, k + 2)
    if len(kept) < len(c):
        c = c.take(kept)
        if tables is not None:
            square = np.ix_(kept, kept)
            tables = PairTables(tables.harmony[square], tables.contrast[square], tables.distinctness[square])
    found = enumerate_triples(c, weights, k, tables or pair_tables(c))
    return Found(kept[found.triples], found.scores, found.proven, found.gap, found.examined)
