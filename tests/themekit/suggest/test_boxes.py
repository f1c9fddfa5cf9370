"""No triple scores above the bound of the boxes it is drawn from, at any level.

The searches are exact as long as this holds; shelves here include the colours at which
scaled harmony is clipped (dark and pale yellows), mixes of colours and unknown textures.
"""

import numpy as np
import pytest

from themekit.suggest.best_so_far import Best
from themekit.suggest.best_three import Candidates, Texture, Weights
from themekit.suggest.boxes import Tree
from themekit.suggest.pair_terms import Pairs, exact_scores
from themekit.suggest.pooled_search import PooledSearch

WEIGHTS = Weights(coverage=0.3, harmony=0.4, contrast=0.15, distinctness=0.1)


def shelf(seed, n, jars, mixes):
    rng = np.random.default_rng(seed)
    counts = np.where(rng.random(n) < mixes, rng.integers(2, 7, n), 1)
    start = np.concatenate([[0], np.cumsum(counts)])
    m = start[-1]
    lab = np.column_stack([rng.uniform(0, 100, m), rng.normal(0, 40, (m, 2))])
    # Dark yellows are clipped at 0, pale ones at 1.
    yellow = rng.random(m) < 0.4
    lab[yellow] = np.column_stack([
        rng.choice([rng.uniform(0, 8), rng.uniform(92, 100)], yellow.sum()),
        rng.normal(0, 2, yellow.sum()),
        rng.uniform(10, 90, yellow.sum()),
    ])  # fmt: skip
    share = rng.random(m) + 0.1
    share /= np.repeat(np.add.reduceat(share, start[:-1]), counts)
    texture = None
    if jars:
        grain = np.where(rng.random(n) < 0.2, np.nan, rng.uniform(-1, 3, n))
        texture = Texture(rng.integers(-1, 70, n), rng.integers(-1, 3, n), grain)
    none = np.zeros((n, 0), bool)
    return Candidates(
        lab, share, start, rng.normal(0, 0.2, n), rng.random((n, 4)), np.full(4, 0.25), texture, none, none
    )  # fmt: skip


def random_triples(n, seed):
    rng = np.random.default_rng(seed)
    return np.sort(np.array([rng.choice(n, 3, replace=False) for _ in range(1500)]), axis=1)


@pytest.mark.parametrize("jars", [False, True])
@pytest.mark.parametrize("mixes", [0.0, 0.5])
@pytest.mark.parametrize("seed", range(5))
def test_a_box_bound_is_never_below_a_score(jars, mixes, seed):
    c = shelf(seed, 150, jars, mixes)
    pairs, triples = Pairs(c), random_triples(150, seed)
    scores = exact_scores(c, WEIGHTS, pairs, triples)
    tree = Tree(c, WEIGHTS, pairs)
    place = np.argsort(tree.order)[triples]
    for depth in range(tree.depth + 1):
        level = tree.level(depth)
        a, b, d = boxes = np.sort(place >> (tree.depth - depth), axis=1).T
        ends = [tree.pair_bounds(depth, x, y) for x, y in ((a, b), (a, d), (b, d))]
        bound = tree.constant + sum(level.own[x] for x in boxes) + level.near[:, boxes].max(axis=1).sum(axis=0)
        bound = bound + sum(together for together, _ in ends) + np.min([apart for _, apart in ends], axis=0)
        assert (bound >= scores).all()
    if not mixes:
        assert bound == pytest.approx(scores, abs=1e-4)


@pytest.mark.parametrize("jars", [False, True])
@pytest.mark.parametrize("mixes", [0.0, 0.5])
@pytest.mark.parametrize("seed", range(5))
def test_a_pooled_bound_is_never_below_a_score_and_equals_it_at_the_end(jars, mixes, seed):
    c = shelf(seed, 150, jars, mixes)
    pairs, triples = Pairs(c), random_triples(150, seed)
    scores = exact_scores(c, WEIGHTS, pairs, triples)
    search = PooledSearch(c, WEIGHTS, pairs, Best(c, WEIGHTS, 5, pairs))
    place = np.argsort(search.order)[triples]
    for depth, level in enumerate(search._levels()):
        a, b, d = boxes = np.sort(place >> (search.depth - depth), axis=1).T
        ends = ((a, b), (a, d), (b, d))
        bound = search.margin + level.near[:, boxes].max(axis=1).sum(axis=0)
        bound = bound + sum(level.pair[e] for e in ends) + np.min([level.apart[e] for e in ends], axis=0)
        assert (bound >= scores).all()
    assert bound == pytest.approx(scores, abs=1e-4)


def test_the_shelves_reach_both_ends_of_scaled_harmony():
    c = shelf(0, 150, False, 0.0)
    i, j = np.triu_indices(150, 1)
    values = Pairs(c).harmony(i, j)
    assert (values == 0).any()
    assert (values == 1).any()
