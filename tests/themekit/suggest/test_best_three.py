"""The search for the best three against a slow plain oracle and a chunked enumeration.

The oracle shares no code with the engine: it loops over all triples with Python floats
and its own harmony formula (Ou and Luo 2006, doi:10.1002/col.20208).
"""

import dataclasses
import math
from itertools import combinations, permutations

import numpy as np
import pytest

from themekit.suggest import best_three as engine
from themekit.suggest.best_three import Apart, Candidates, Texture, Weights, best_three, pair_tables, terms

WEIGHTS = Weights(coverage=0.35, harmony=0.2, contrast=0.15, distinctness=0.1)


# ---- the oracle ----------------------------------------------------------------------------


def plain_harmony(one, two):
    (L1, a1, b1), (L2, a2, b2) = one, two
    C1, C2 = math.hypot(a1, b1), math.hypot(a2, b2)
    turn = math.atan2(b1, a1) - math.atan2(b2, a2)
    gap = math.sqrt((2 * math.sqrt(C1 * C2) * math.sin(turn / 2)) ** 2 + ((C1 - C2) / 1.46) ** 2)
    value = 0.04 + 0.53 * math.tanh(0.8 - 0.045 * gap)
    value += 0.28 + 0.54 * math.tanh(-3.88 + 0.029 * (L1 + L2))
    value += 0.14 + 0.15 * math.tanh(-2 + 0.2 * abs(L1 - L2))
    for L, C, a, b in ((L1, C1, a1, b1), (L2, C2, a2, b2)):
        h = math.degrees(math.atan2(b, a)) % 360
        x = (90 - h) / 10
        hue = -0.08 - 0.14 * math.sin(math.radians(h + 50)) - 0.07 * math.sin(math.radians(2 * h + 90))
        hue += (0.22 * L - 12.8) / 10 * math.exp(x - math.exp(x))
        value += (0.5 + 0.5 * math.tanh(-2 + 0.5 * C)) * hue
    return value


def plain_pair(c, i, j):
    """Harmony, contrast and distinctness of one pair, rounded to nine decimals."""
    one, two = ([(tuple(c.lab[m]), float(c.share[m])) for m in range(c.start[x], c.start[x + 1])] for x in (i, j))
    ch = sum(s * t * plain_harmony(p, q) for p, s in one for q, t in two)
    there = sum(s * min(math.dist(p, q) for q, _ in two) for p, s in one)
    back = sum(t * min(math.dist(p, q) for p, _ in one) for q, t in two)
    if c.texture is None:
        light = [sum(s * p[0] for p, s in colours) for colours in (one, two)]
        contrast = min(1, abs(light[0] - light[1]) / 40)
    else:
        x = c.texture
        forms = x.form[i] != x.form[j] and min(x.form[i], x.form[j]) >= 0
        finishes = x.finish[i] != x.finish[j] and min(x.finish[i], x.finish[j]) >= 0
        step = abs(x.grain_log2[i] - x.grain_log2[j]) / 2
        contrast = 0.45 * forms + 0.35 * (0 if math.isnan(step) else min(1, step)) + 0.2 * finishes
    parts = min(1, max(0, (ch + 1.24) / 2.63)), contrast, min(1, (there + back) / 2 / 40)
    return tuple(round(float(part), 9) for part in parts)


def plain_allowed(c, t):
    if any(c.at_most_one[t, g].sum() > 1 for g in range(c.at_most_one.shape[1])):
        return False
    if any(not c.at_least_one[t, m].any() for m in range(c.at_least_one.shape[1])):
        return False
    return all(
        min(sum(a.cost[m, p] for m, p in zip(t, order, strict=True)) for order in permutations(range(3))) / 3
        >= a.threshold - 1e-9
        for a in c.apart
    )


def oracle(c, w, k):
    n = len(c.unary)
    pair = {ij: plain_pair(c, *ij) for ij in combinations(range(n), 2)}
    closeness, unary = c.closeness.tolist(), c.unary.tolist()
    anchors = list(enumerate(c.anchor_weights.tolist()))
    scored = []
    for i, j, m in combinations(range(n), 3):
        if not plain_allowed(c, [i, j, m]):
            continue
        h, t, d = zip(pair[i, j], pair[i, m], pair[j, m], strict=True)
        score = sum(sorted((unary[i], unary[j], unary[m]))) / 3
        score += w.coverage * sum(
            omega * max(closeness[i][a], closeness[j][a], closeness[m][a]) for a, omega in anchors
        )
        score += w.harmony * (sum(sorted(h)) / 3)
        score += w.contrast * (sum(sorted(t)) / 3)
        score += w.distinctness * min(d)
        scored.append((-float(np.round(score, 12)), (i, j, m)))
    best = sorted(scored)[:k]
    return [t for _, t in best], [-s for s, _ in best]


# ---- shelves -------------------------------------------------------------------------------


def shelf(rng, n, *, anchors=3, jars=False, twins=0.3, mixes=0.0, white=False, ties=False, bounds=()):
    """A random shelf of `n`: clumped colours, and what the arguments ask for."""
    middles = np.column_stack([rng.uniform(25, 95, 9), rng.uniform(-60, 60, (9, 2))])
    start, lab, share = [0], [], []
    for _ in range(n):
        colours = int(rng.integers(2, 7)) if rng.random() < mixes else 1
        lab.append(middles[rng.integers(9, size=colours)] + rng.normal(0, 4, (colours, 3)))
        share.append(rng.dirichlet(np.ones(colours)))
        start.append(start[-1] + colours)
    lab, share, start = np.concatenate(lab), np.concatenate(share), np.array(start)
    if white:
        lab[:] = (97, 0, 1)
    if ties:
        lab = np.round(lab / 20) * 20
    goals = middles[rng.integers(9, size=anchors)] + rng.normal(0, 6, (anchors, 3))
    gaps = np.linalg.norm(lab[:, None] - goals, axis=-1)
    near = np.add.reduceat(np.exp(-gaps / 25) * share[:, None], start[:-1])
    unary = 0.2 * near.mean(axis=1) if anchors else np.zeros(n)
    unary = unary + 0.05 * rng.integers(0, 3, n)
    texture = None
    if jars:
        grain = np.log2(rng.choice([0.5, 1, 1.5, 2, 4, 7], n))
        grain[rng.random(n) < 0.1] = np.nan
        texture = Texture(rng.integers(-1, 5, n), rng.integers(-1, 4, n), grain)
    earlier = middles[rng.integers(9, size=(2, 3))]
    apart = [Apart(np.linalg.norm(lab[start[:-1], None] - e, axis=-1), float(rng.uniform(5, 60))) for e in earlier]
    omega = rng.dirichlet(np.ones(anchors)) if anchors else np.zeros(0)
    c = Candidates(
        lab, share, start, unary, np.minimum(near, 1), omega, texture,
        rng.random((n, 2 if "most" in bounds else 0)) < 0.3,
        rng.random((n, 1 if "least" in bounds else 0)) < 0.2,
        tuple(apart) if "apart" in bounds else (),
    )  # fmt: skip
    source = np.where(rng.random(n) < twins, rng.integers(0, n, n), np.arange(n))
    return c.take(source)


KINDS = {
    "tints": {},
    "jars": {"jars": True},
    "no theme": {"anchors": 0},
    "many-coloured jars": {"jars": True, "mixes": 0.5, "anchors": 5},
    "ties": {"ties": True, "twins": 0.6},
    "tied jars": {"ties": True, "twins": 0.6, "jars": True},
    "all white": {"white": True},
    "white jars": {"white": True, "jars": True, "mixes": 0.3},
    "one jar only": {"jars": True, "twins": 1.0},
    "every constraint": {"bounds": ("most", "least", "apart"), "anchors": 4},
    "every constraint on jars": {"bounds": ("most", "least", "apart"), "jars": True, "mixes": 0.3},
    "kept apart": {"bounds": ("apart",), "anchors": 6},
    "must-use": {"bounds": ("least",), "jars": True},
}


#: Most candidates that are enumerated, and that are pooled, to have each way take all.
WAYS = {"enumeration": (1000, 0), "pooled tables": (2, 10_000), "boxes": (2, 0)}


def same(found, expected):
    triples, scores = expected
    assert [tuple(t) for t in found.triples.tolist()] == triples
    assert found.scores.tolist() == scores
    assert found.proven
    assert found.gap == 0


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("lane", range(4))
def test_same_triples_and_scores_as_the_oracle(kind, lane, monkeypatch):
    """Ten shelves each, 520 in all: most of 3 to 25 candidates, one of up to 60.

    Each is searched in all three ways: by enumeration, with and without tables, as home
    shelves are, by pooled tables, as larger ones are, and by boxes, as the largest are.
    """
    rng = np.random.default_rng([lane, *kind.encode()])
    for at in range(10):
        n = int(rng.integers(3, 26)) if at else int(rng.integers(40, 61))
        c = shelf(rng, n, **KINDS[kind])
        w = Weights(*rng.uniform(0, 0.4, 4))
        if kind == "one jar only":
            c = c.take(np.zeros(n, np.int64))
        k = int(rng.integers(1, 15))
        expected = oracle(c, w, k)
        for enumerated, pooled in WAYS.values():
            monkeypatch.setattr(engine, "ENUMERATED", enumerated)
            monkeypatch.setattr(engine, "POOLED", pooled)
            same(best_three(c, w, k), expected)
        monkeypatch.setattr(engine, "ENUMERATED", 1000)
        same(best_three(c, w, k, tables=pair_tables(c)), expected)


@pytest.mark.parametrize("way", WAYS)
def test_each_weight_alone_and_none_at_all(way, monkeypatch):
    for name, most in zip(("ENUMERATED", "POOLED"), WAYS[way], strict=True):
        monkeypatch.setattr(engine, name, most)
    rng = np.random.default_rng(5)
    for row in (*np.eye(4), np.zeros(4)):
        c = shelf(rng, 25, jars=True, mixes=0.2)
        same(best_three(c, Weights(*row), 8), oracle(c, Weights(*row), 8))


@pytest.mark.parametrize("way", WAYS)
def test_where_all_triples_tie_the_first_ones_come_back_in_order(way, monkeypatch):
    for name, most in zip(("ENUMERATED", "POOLED"), WAYS[way], strict=True):
        monkeypatch.setattr(engine, name, most)
    for twins in (0, 0.7):
        c = dataclasses.replace(shelf(np.random.default_rng(9), 30, twins=twins), unary=np.zeros(30))
        found = best_three(c, Weights(0, 0, 0, 0), 40)
        assert [tuple(t) for t in found.triples.tolist()] == list(combinations(range(30), 3))[:40]


@pytest.mark.parametrize("n", [0, 1, 2])
def test_fewer_than_three_is_an_empty_answer(n):
    found = best_three(shelf(np.random.default_rng(1), 5).take(np.arange(n)), WEIGHTS, 5)
    assert found.triples.shape == (0, 3)
    assert found.scores.shape == (0,)
    assert found.proven


def test_fewer_triples_than_asked_for_come_back_all():
    c = shelf(np.random.default_rng(2), 4)
    assert len(best_three(c, WEIGHTS, 50).triples) == 4


def test_constraints_that_leave_nothing_leave_an_empty_answer():
    rng = np.random.default_rng(3)
    c = shelf(rng, 30)
    blocked = Candidates(
        c.lab, c.share, c.start, c.unary, c.closeness, c.anchor_weights, None,
        np.ones((30, 1), bool), c.at_least_one,
    )  # fmt: skip
    found = best_three(blocked, WEIGHTS, 5)
    assert len(found.triples) == 0
    assert found.proven


def test_a_rainbow_equals_its_twin_and_not_its_average():
    """Distance is that of the distributions: 0 to an equal mix, far from the mean grey."""
    rainbow = [(50, 60, 0), (50, -60, 0), (60, 0, 60), (60, 0, -60)]
    c = Candidates(
        np.array([*rainbow, *rainbow, (55, 0, 0)], float), np.array([0.25] * 8 + [1.0]),
        np.array([0, 4, 8, 9]), np.zeros(3), np.zeros((3, 0)), np.zeros(0), None,
        np.zeros((3, 0), bool), np.zeros((3, 0), bool),
    )  # fmt: skip
    tables = pair_tables(c)
    assert tables.distinctness[0, 1] == 0
    assert tables.distinctness[0, 2] == 1


def test_terms_are_the_parts_that_the_score_adds_up():
    rng = np.random.default_rng(4)
    c = shelf(rng, 20, jars=True, mixes=0.3)
    found = best_three(c, WEIGHTS, 6)
    parts = terms(c, found.triples)
    total = c.unary[found.triples].mean(axis=1)
    for name, values in parts.items():
        assert ((values >= 0) & (values <= 1)).all()
        total += getattr(WEIGHTS, name) * values
    assert total == pytest.approx(found.scores, abs=1e-12)


# ---- larger shelves ------------------------------------------------------------------------


def chunked_enumeration(c, w, k, tables):
    """All triples from pair tables, one first member at a time; ties among k + 200 kept are ordered."""
    n, H = len(c.unary), w.harmony * tables.harmony / 3 + w.contrast * tables.contrast / 3
    D = w.distinctness * tables.distinctness
    kept = []
    for i in range(n - 2):
        j, m = (x + i + 1 for x in np.triu_indices(n - i - 1, 1))
        s = (c.unary[i] + c.unary[j] + c.unary[m]) / 3 + H[i, j] + H[i, m] + H[j, m]
        s += np.minimum(np.minimum(D[i, j], D[i, m]), D[j, m])
        for a, omega in enumerate(c.anchor_weights):
            s += (
                w.coverage
                * omega
                * np.maximum(np.maximum(c.closeness[i, a], c.closeness[j, a]), c.closeness[m, a])
            )
        ok = np.ones(len(s), bool)
        for g in c.at_most_one.T:
            ok &= g[i].astype(int) + g[j] + g[m] <= 1
        for g in c.at_least_one.T:
            ok &= g[i] | g[j] | g[m]
        for a in c.apart:
            sums = [a.cost[i, p] + a.cost[j, q] + a.cost[m, r] for p, q, r in permutations(range(3))]
            ok &= np.min(sums, axis=0) / 3 >= a.threshold - 1e-9
        s[~ok] = -np.inf
        top = np.argpartition(-s, k + 200)[: k + 200] if len(s) > k + 200 else np.arange(len(s))
        kept += [(-float(np.round(s[x], 11)), (i, int(j[x]), int(m[x]))) for x in top if s[x] > -np.inf]
    kept.sort()
    return kept[:k]


LARGE = ["tints", "jars", "many-coloured jars", "every constraint", "kept apart", "tied jars", "no theme"]


@pytest.mark.parametrize(
    ("kind", "n"),
    [
        *((kind, 300) for kind in LARGE),
        *(pytest.param(kind, 1000, marks=pytest.mark.long) for kind in ("jars", "every constraint")),
    ],
)
def test_large_shelves_equal_a_chunked_enumeration(kind, n, monkeypatch):
    rng = np.random.default_rng([n, *kind.encode()])
    c = shelf(rng, n, **KINDS[kind])
    expected = chunked_enumeration(c, WEIGHTS, 10, pair_tables(c))
    for pooled in (10_000, 0):
        monkeypatch.setattr(engine, "POOLED", pooled)
        found = best_three(c, WEIGHTS, 10)
        assert found.proven
        assert [tuple(t) for t in found.triples.tolist()] == [t for _, t in expected]
        assert found.scores == pytest.approx([-s for s, _ in expected], abs=2e-11)


@pytest.mark.parametrize("way", ["pooled tables", "boxes"])
def test_a_spent_budget_is_said_with_the_gap_that_remains(way, monkeypatch):
    c = shelf(np.random.default_rng(8), 400, jars=True)
    for name, most in zip(("ENUMERATED", "POOLED"), WAYS[way], strict=True):
        monkeypatch.setattr(engine, name, most)
    whole, cut = best_three(c, WEIGHTS, 10), best_three(c, WEIGHTS, 10, budget=100)
    assert whole.proven
    assert not cut.proven
    assert cut.examined < whole.examined
    assert cut.scores[0] <= whole.scores[0] <= cut.scores[-1] + cut.gap


# ---- bad input -----------------------------------------------------------------------------


def changed(**fields):
    c = shelf(np.random.default_rng(6), 6, jars=True)
    names = ("lab", "share", "start", "unary", "closeness", "anchor_weights", "texture", "at_most_one",
             "at_least_one", "apart")  # fmt: skip
    return Candidates(**({name: getattr(c, name) for name in names} | fields))


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("unary", np.full(6, np.nan), "unary[0]"),
        ("unary", np.zeros(5), "unary"),
        ("lab", np.full((6, 3), np.inf), "lab[0, 0]"),
        ("lab", np.zeros((6, 2)), "lab"),
        ("share", np.full(6, 0.5), "share of candidate 0"),
        ("closeness", np.full((6, 3), 1.5), "closeness[0, 0]"),
        ("anchor_weights", np.ones(3), "anchor_weights"),
        ("start", np.array([0, 2, 1]), "start"),
        ("at_most_one", np.zeros((5, 1), bool), "at_most_one"),
        ("at_least_one", np.zeros(6, bool), "at_least_one"),
        ("apart", (Apart(np.zeros((6, 2)), 8.0),), "apart[0].cost"),
        ("apart", (Apart(np.zeros((6, 3)), math.nan),), "apart[0].threshold"),
        ("texture", Texture(np.zeros(6, int), np.zeros(6, int), np.full(6, np.inf)), "texture.grain_log2"),
    ],
)
def test_bad_fields_are_named(field, value, named):
    with pytest.raises(ValueError, match=r"cannot be searched|cannot be used") as caught:
        best_three(changed(**{field: value}), WEIGHTS, 3)
    assert named in [p.field for p in caught.value.problems]


@pytest.mark.parametrize("name", ["coverage", "harmony", "contrast", "distinctness"])
@pytest.mark.parametrize("value", [-0.1, math.nan, math.inf])
def test_bad_weights_are_named(name, value):
    weights = Weights(**({"coverage": 1, "harmony": 1, "contrast": 1, "distinctness": 1} | {name: value}))
    with pytest.raises(ValueError, match=f"weights.{name}"):
        best_three(changed(), weights, 3)


def test_k_below_one_is_named():
    with pytest.raises(ValueError, match="k: got 0"):
        best_three(changed(), WEIGHTS, 0)


def test_tables_of_other_candidates_are_named():
    with pytest.raises(ValueError, match=r"tables.harmony: got \(5, 5\)"):
        best_three(changed(), WEIGHTS, 3, tables=pair_tables(changed().take(np.arange(5))))
