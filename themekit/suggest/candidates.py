"""What the search for the best three takes and gives: plain values, checked in one place."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from themekit.errors import Problem, raise_all

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Texture:
    """Texture of n candidates; unknown counts as "not differing".

    form        (n,) code of the form, −1 unknown
    finish      (n,) code of the finish, −1 unknown
    grain_log2  (n,) log2 of the grain size in mm, NaN unknown
    """

    form: Ints
    finish: Ints
    grain_log2: Floats


@dataclass(frozen=True, slots=True)
class Apart:
    """A demand to differ from something earlier, such as a palette already suggested.

    cost       (n, 3) distance of each candidate from each of the three earlier members
    threshold  a triple is allowed when its cheapest matching to the three, as a mean,
               reaches this (less than 1e-9 below still counts as reached)
    """

    cost: Floats
    threshold: float


@dataclass(frozen=True, slots=True)
class Candidates:
    """n candidates in id order; their index order is also the order of ties.

    lab            (m, 3) CIELAB colours of all candidates, one after another
    share          (m,) share of each colour; adds up to 1 per candidate
    start          (n+1,) the colours of candidate i are lab[start[i]:start[i+1]]
    unary          (n,) all that depends on one candidate alone, already weighted
    closeness      (n, A) closeness to each of A anchors, 0–1, 1 is on it; A may be 0
    anchor_weights (A,) weights of the anchors, adding up to 1
    texture        None where contrast is lightness steps (icing tints), else textures
    at_most_one    (n, G) of each column at most one member may be in a triple
    at_least_one   (n, M) each column must be hit by some member of a triple
    apart          triples must differ from each of these
    """

    lab: Floats
    share: Floats
    start: Ints
    unary: Floats
    closeness: Floats
    anchor_weights: Floats
    texture: Texture | None
    at_most_one: Bools
    at_least_one: Bools
    apart: tuple[Apart, ...] = ()

    def __len__(self) -> int:
        return len(self.unary)

    def take(self, index: Ints) -> Candidates:
        """The candidates at `index`, in that order."""
        counts = np.diff(self.start)[index]
        start = np.concatenate([[0], np.cumsum(counts)])
        flat = np.arange(start[-1]) + np.repeat(self.start[index] - start[:-1], counts)
        texture = self.texture and Texture(
            self.texture.form[index], self.texture.finish[index], self.texture.grain_log2[index]
        )
        return Candidates(
            self.lab[flat], self.share[flat], start, self.unary[index], self.closeness[index],
            self.anchor_weights, texture, self.at_most_one[index], self.at_least_one[index],
            tuple(Apart(a.cost[index], a.threshold) for a in self.apart),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Weights:
    """How much each part of a triple's score counts; all at least 0."""

    coverage: float
    harmony: float
    contrast: float
    distinctness: float


@dataclass(frozen=True, slots=True)
class PairTables:
    """Harmony, contrast and distinctness of every pair, (n, n), 0–1, symmetric.

    They depend on the candidates' colours and textures only, neither on a theme nor on
    weights, so they can be kept as long as the candidates stay.
    """

    harmony: Floats
    contrast: Floats
    distinctness: Floats


@dataclass(frozen=True, slots=True)
class Found:
    """The best triples.

    triples   (r, 3) indices i < j < k, best first; r < k when fewer are allowed
    scores    (r,) their scores, rounded to 12 decimals; ties in order of the triples
    proven    whether these are surely the best r; False when the work budget was spent
    gap       by how much at most an unseen triple may score above the last of these
              (0 when proven)
    examined  triples and boxes of triples that were looked at
    """

    triples: Ints
    scores: Floats
    proven: bool
    gap: float
    examined: int


def checked(c: Candidates, weights: Weights | None = None, k: int = 1) -> Candidates:
    """`c` with arrays of the right types, or `InvalidValue` naming every wrong field."""
    problems: list[Problem] = []

    def array(name: str, value: object, shape: tuple[int | None, ...], kind: type = float) -> NDArray:  # type: ignore[type-arg]
        made = np.asarray(value)
        want = " × ".join("any" if s is None else str(s) for s in shape)
        fits = made.ndim == len(shape) and all(s is None or s == t for s, t in zip(shape, made.shape, strict=True))
        if not fits:
            problems.append(Problem(name, made.shape, f"an array of shape {want}"))
            return np.zeros([s or 0 for s in shape], kind)
        try:
            return np.ascontiguousarray(made, dtype=kind)
        except (TypeError, ValueError):
            problems.append(Problem(name, made.dtype, f"values of type {kind.__name__}"))
            return np.zeros(made.shape, kind)

    def finite(name: str, values: Floats, low: float = -np.inf, high: float = np.inf) -> Floats:
        # A billion is beyond any sensible weight or colour, and keeps sums exact enough.
        bad = ~(np.isfinite(values) & (values >= max(low, -1e9)) & (values <= min(high, 1e9)))
        if bad.any():
            allowed = "finite numbers" if low == -np.inf else f"finite numbers from {low:g} to {high:g}"
            where = np.argwhere(bad)[0].tolist()
            problems.append(Problem(f"{name}{where}", float(values[tuple(where)]), allowed))
        return values

    start = array("start", c.start, (None,), int)
    n = len(start) - 1
    if n < 0 or start[0] != 0 or (np.diff(start) < 1).any():
        allowed = "n + 1 positions from 0, each candidate with at least one colour"
        raise_all([*problems, Problem("start", start.tolist()[:20], allowed)])
    lab = finite("lab", array("lab", c.lab, (int(start[-1]), 3)), -1000, 1000)
    share = finite("share", array("share", c.share, (int(start[-1]),)), 0, 1 + 1e-6)
    if n and len(share) == start[-1]:
        off = np.abs(np.add.reduceat(share, start[:-1]) - 1) > 1e-6
        if off.any():
            problems.append(Problem(f"share of candidate {off.argmax()}", "another sum", "shares adding up to 1"))
    unary = finite("unary", array("unary", c.unary, (n,)))
    anchors = finite("anchor_weights", array("anchor_weights", c.anchor_weights, (None,)), 0, 1 + 1e-6)
    if len(anchors) and abs(anchors.sum() - 1) > 1e-6:
        problems.append(Problem("anchor_weights", float(anchors.sum()), "weights adding up to 1"))
    closeness = finite("closeness", array("closeness", c.closeness, (n, len(anchors))), 0, 1)
    texture = None
    if c.texture is not None:
        texture = Texture(
            array("texture.form", c.texture.form, (n,), int),
            array("texture.finish", c.texture.finish, (n,), int),
            array("texture.grain_log2", c.texture.grain_log2, (n,)),
        )
        if np.isinf(texture.grain_log2).any():
            problems.append(Problem("texture.grain_log2", "infinity", "finite numbers, NaN for unknown"))
    at_most = array("at_most_one", c.at_most_one, (n, None), bool)
    at_least = array("at_least_one", c.at_least_one, (n, None), bool)
    apart = []
    for i, a in enumerate(c.apart):
        apart.append(
            Apart(finite(f"apart[{i}].cost", array(f"apart[{i}].cost", a.cost, (n, 3))), float(a.threshold))
        )
        if not isfinite(a.threshold):
            problems.append(Problem(f"apart[{i}].threshold", a.threshold, "a finite number"))
    if weights is not None:
        for name in ("coverage", "harmony", "contrast", "distinctness"):
            value = getattr(weights, name)
            if not (isfinite(value) and 0 <= value <= 1e6):
                problems.append(Problem(f"weights.{name}", value, "a number from 0 to 1,000,000"))
    if not 1 <= k <= 10_000:
        problems.append(Problem("k", k, "a whole number from 1 to 10,000"))
    raise_all(problems, "The candidates cannot be searched.")
    return Candidates(lab, share, start, unary, closeness, anchors, texture, at_most, at_least, tuple(apart))
