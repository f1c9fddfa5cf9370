"""A baker's taste: weights of the parts and a liking for themes, learned from what she chose.

A logistic regression (scikit-learn, L2) foretells whether an idea is kept or passed over
from its parts. Its first feature is the score under the default weights, which is hardly
held back; the others are the single parts, in units of what they add to that score, held
back strongly to 0. So a part's coefficient says how much more it counts for her than it
does by default, and one that explains nothing stays at 0. Three things keep it sane:

* parts are centred within each theme, so that a theme that she dislikes moves no weight;
* what is learned counts only so far as it foretells choices that it has not seen;
* no weight moves beyond a factor that grows from 1 with the number of choices to 2.

No choice overrules a need: needs rule candidates out before anything is weighed. Without
choices every weight is exactly the default.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from themekit.suggest import weights as w
from themekit.suggest.words import listed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

#: What can become of an idea, whether that speaks for it, and how much it says: money
#: that changed hands says more than a click.
WHAT: dict[str, tuple[bool, float]] = {
    "kept": (True, 1.0),
    "passed over": (False, 1.0),
    "sold out": (True, 2.0),
    "left over": (False, 2.0),
}
#: Only so many of the latest choices are learned from.
MOST_EVENTS = 1000
#: No weight leaves this range, as a factor of its default …
MOST = 2.0
#: … nor, after n choices, exp(±STEP·n²). After 10 that is 1.116 either way: for such
#: factors the best score by learned weights has at least 1.116⁻² = 0.803 of the best score
#: by default weights, so the first ten clicks keep the quality floor whatever they are.
STEP = 0.0011
#: How sharply choices are taken to follow the score: 0.025 more is one unit of log odds.
SHARPNESS = 40.0
#: Standard deviation, before any choice, of a part's factor around 1.
SPREAD = 0.8
#: Parts of the choices that are foretold in turn from the others.
FOLDS = 5
#: A theme's liking is pulled to 0 as if so many choices had said neither yes nor no.
THEME_PRIOR = 4.0
#: A factor nearer to 1 than this is not worth a word; neither is such a liking.
_TOLD, _TOLD_LIKING = 0.05, 0.2

#: What each part is about, by scope and name.
WORDS = {
    ("palette", "fit"): "icing near the theme's colours",
    ("palette", "coverage"): "icing that shows all of the theme's colours",
    ("palette", "harmony"): "calm icing colours",
    ("palette", "contrast"): "light and dark icing",
    ("palette", "distinctness"): "icing colours that are easy to tell apart",
    ("palette", "chroma"): "icing as colourful as the theme",
    ("palette", "ease"): "icing of few gels",
    ("trio", "fit"): "toppings near the theme's colours",
    ("trio", "coverage"): "toppings that show all of the theme's colours",
    ("trio", "harmony"): "calm colours of toppings",
    ("trio", "contrast"): "toppings that differ to eye and mouth",
    ("trio", "distinctness"): "toppings that are easy to tell apart",
    ("trio", "suits"): "toppings that go with the icing",
    ("trio", "ties"): "toppings in the colours of the icing",
    ("trio", "stock"): "toppings that are there, idle ones first",
    ("trio", "motif"): "shaped toppings of the theme",
    ("idea", "palette"): "the icing as a whole",
    ("idea", "trio"): "the toppings as a whole",
    ("idea", "cutters"): "the cutters",
}
_DEFAULTS: dict[str, w.Parts] = {"palette": w.PALETTE, "trio": w.TRIO}
_IDEA = {"palette": w.IDEA_PALETTE, "trio": w.IDEA_TRIO, "cutters": w.IDEA_CUTTERS}
#: The parts by scope, and what each weighs in a whole idea by default.
_PARTS = [
    *((scope, name) for scope, parts in _DEFAULTS.items() for name in w.counted(parts)),
    ("idea", "cutters"),
]
_WEIGHTS = [
    _IDEA[scope] * getattr(_DEFAULTS[scope], name) if scope in _DEFAULTS else _IDEA[name] for scope, name in _PARTS
]

Factors = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Choice:
    """What became of one idea.

    what   a word of `WHAT`.
    parts  the idea's parts, each 0–1: {"palette": {...}, "trio": {...}, "idea": {"cutters": ...}};
           those left out are taken as usual.
    theme  the theme's name, or what was asked for.
    """

    what: str
    parts: Mapping[str, Mapping[str, float]]
    theme: str = ""


@dataclass(frozen=True, slots=True)
class Taste:
    """What was learned; without arguments nothing, and every weight is the default.

    factors  by scope ("palette", "trio", "idea") and part, what the default weight is multiplied by.
    themes   by name, case-folded: −1 (never liked) to 1 (always).
    n        the choices that it was learned from.
    trust    0–1, how far the choices could be foretold from one another.
    """

    factors: Factors = field(default_factory=dict)
    themes: Mapping[str, float] = field(default_factory=dict)
    n: int = 0
    trust: float = 0.0
    told: tuple[str, ...] = ()

    @property
    def palette(self) -> w.Parts:
        """Weights of a palette's parts; they add up to 1."""
        return w.scaled(w.PALETTE, self.factors.get("palette", {}))

    @property
    def trio(self) -> w.Parts:
        """Weights of a trio's parts; they add up to 1."""
        return w.scaled(w.TRIO, self.factors.get("trio", {}))

    @property
    def idea(self) -> tuple[float, float, float]:
        """Weights of an idea's palette, trio and cutters; they add up to 1."""
        factors = self.factors.get("idea", {})
        palette, trio, cutters = (_IDEA[name] * factors.get(name, 1.0) for name in _IDEA)
        return palette, trio, cutters

    def liking(self, theme: str) -> float:
        """How well a theme went, −1 to 1, 0 where nothing is known. Only for choosing among themes."""
        return self.themes.get(theme.casefold(), 0.0)


#: Nothing learned.
NO_TASTE = Taste()


def learned(choices: Sequence[Choice]) -> Taste:
    """The taste that choices tell, oldest first; of more than `MOST_EVENTS` the latest.

    The same choices always give the same taste. Raises `KeyError` for a word that is not in `WHAT`.
    """
    choices = list(choices)[-MOST_EVENTS:]
    if not choices:
        return NO_TASTE
    themes = _likings(choices)
    deviations, trust = _deviations(choices)
    factors = _factors(deviations, len(choices)) if trust > 0 else {}
    return Taste(factors, themes, len(choices), round(trust, 4), _told(choices, factors, themes))


def _likings(choices: Sequence[Choice]) -> dict[str, float]:
    """Each theme's mean of yes (1) and no (−1), shrunken to 0."""
    total: Counter[str] = Counter()
    weight: Counter[str] = Counter()
    for choice in choices:
        good, evidence = WHAT[choice.what]
        key = choice.theme.casefold()
        total[key] += evidence if good else -evidence  # type: ignore[assignment]
        weight[key] += evidence  # type: ignore[assignment]
    return {key: round(total[key] / (weight[key] + THEME_PRIOR), 4) for key in sorted(total) if key}


def _deviations(choices: Sequence[Choice]) -> tuple[Floats, float]:
    """How much more each part counts than by default, as a logarithm, and how far to trust that."""
    y = np.array([WHAT[c.what][0] for c in choices])
    nothing = np.zeros(len(_PARTS))
    if y.all() or not y.any():
        return nothing, 0.0
    worth = SHARPNESS * _centred(choices) * np.array(_WEIGHTS)
    # So much larger than the parts, the score is held back by next to nothing.
    features = np.column_stack([100 * worth.sum(axis=1), worth])
    evidence = np.array([WHAT[c.what][1] for c in choices])
    trust = _trust(features, y, evidence)
    if trust <= 0:
        return nothing, 0.0
    return np.asarray(_fitted(features, y, evidence).coef_[0, 1:]) * trust, trust


def _centred(choices: Sequence[Choice]) -> Floats:
    """The parts (n, parts) less what is usual for the theme, which is pulled to what is usual in all."""
    given = np.array([[c.parts.get(scope, {}).get(name, np.nan) for scope, name in _PARTS] for c in choices])
    known = ~np.isnan(given)
    usual = np.where(known, given, 0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
    filled = np.where(known, given, usual)
    themes = [c.theme.casefold() for c in choices]
    out = np.empty_like(filled)
    for theme in dict.fromkeys(themes):
        own = np.array([one == theme for one in themes])
        out[own] = filled[own] - (filled[own].sum(axis=0) + usual) / (own.sum() + 1)
    return out


def _fitted(features: Floats, y: NDArray[np.bool_], evidence: Floats) -> Any:
    from sklearn.linear_model import LogisticRegression

    model = LogisticRegression(C=SPREAD**2, solver="newton-cholesky", tol=1e-8, max_iter=200)
    return model.fit(features, y, sample_weight=evidence)


def _trust(features: Floats, y: NDArray[np.bool_], evidence: Floats) -> float:
    """0–1: how surely the parts foretell unseen choices better than the default score alone does.

    It is the gain in log loss of choices left out in turn, in standard errors: none up to
    one of them, full trust from two on.
    """
    fold = np.empty(len(y), int)
    for value in (False, True):
        of = np.flatnonzero(y == value)
        fold[of] = np.arange(len(of)) % FOLDS
    gain = np.zeros(len(y))
    for number in range(FOLDS):
        seen, unseen = fold != number, fold == number
        if not unseen.any() or y[seen].all() or not y[seen].any():
            continue
        sign = np.where(y[unseen], -1, 1)
        loss = []
        for columns in (slice(0, 1), slice(None)):
            model = _fitted(features[seen, columns], y[seen], evidence[seen])
            loss.append(np.logaddexp(0, sign * model.decision_function(features[unseen, columns])))
        gain[unseen] = evidence[unseen] * (loss[0] - loss[1])
    error = float(np.sqrt((gain**2).sum()))
    return float(np.clip(gain.sum() / error - 1, 0, 1)) if error > 0 else 0.0


def most_factor(n: int) -> float:
    """The factor that no weight leaves after n choices, up or down."""
    return min(MOST, math.exp(STEP * n * n))


def _factors(deviations: Floats, n: int) -> dict[str, dict[str, float]]:
    """Factors by scope; within each the weights' sum stays, and none leaves its range."""
    most = most_factor(n)
    raw = {part: float(d) for part, d in zip(_PARTS, deviations, strict=True)}
    out = {}
    whole = {"cutters": raw[("idea", "cutters")]}
    for scope, parts in _DEFAULTS.items():
        names = w.counted(parts)
        base = np.array([getattr(parts, name) for name in names])
        moved = np.array([raw[(scope, name)] for name in names])
        whole[scope] = float(base @ moved)
        out[scope] = _within(base, moved, most, names)
    names = tuple(_IDEA)
    out["idea"] = _within(
        np.array([_IDEA[name] for name in names]), np.array([whole[name] for name in names]), most, names
    )
    return out


def _within(base: Floats, moved: Floats, most: float, names: Sequence[str]) -> dict[str, float]:
    """exp(moved + shift), cut to the range, with the shift at which the weights' sum is the default's."""
    limit = math.log(most)
    low, high = -limit - float(np.abs(moved).max()), limit + float(np.abs(moved).max())
    for _ in range(80):
        shift = (low + high) / 2
        if float(base @ np.exp(np.clip(moved + shift, -limit, limit))) > base.sum():
            high = shift
        else:
            low = shift
    factors = np.exp(np.clip(moved + low, -limit, limit))
    return {name: float(factor) for name, factor in zip(names, factors, strict=True)}


def _told(choices: Sequence[Choice], factors: Factors, themes: Mapping[str, float]) -> tuple[str, ...]:
    counts = Counter(c.what for c in choices)
    told = [
        f"Learned from {len(choices)} choice{'s' * (len(choices) != 1)}: "
        + listed([f"{counts[word]} {word}" for word in WHAT if counts[word]])
        + "."
    ]
    moved = sorted(
        ((factor, WORDS[(scope, name)]) for scope, parts in factors.items() for name, factor in parts.items()),
        key=lambda one: (-abs(math.log(one[0])), one[1]),
    )
    moved = [one for one in moved if abs(math.log(one[0])) >= _TOLD]
    for word, more in (("more", True), ("less", False)):
        some = [f"{words} ({factor:.2f} times)" for factor, words in moved if (factor > 1) == more][:5]
        told += [f"Counts {word} than by default: {listed(some)}."] if some else []
    if not moved:
        told.append("They show no clear taste yet, so the weights are as good as the defaults.")
    for word, sign in (("well", 1), ("less well", -1)):
        some = [
            name for name, one in sorted(themes.items(), key=lambda t: -abs(t[1])) if sign * one >= _TOLD_LIKING
        ]
        told += [f"Went {word}: {listed([name[:60] for name in some[:5]])}."] if some else []
    return tuple(told)
