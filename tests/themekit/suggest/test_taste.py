"""Learning from choices: bakers whose taste is known, clicks that mean harm, no clicks at all.

The bakers are simulated: each has a utility of her own over the parts of real ideas of the
demo shelf, and keeps or passes over with a chance that follows it (a logistic choice, as in
McFadden, "Conditional logit analysis of qualitative choice behavior", 1974). Rank
correlations are SciPy's Spearman, over themes that were not chosen from.
"""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from datetime import date

import numpy as np
import pytest
from scipy.stats import spearmanr

from catalog.lexicon import lexicon
from themekit.suggest import taste as learning
from themekit.suggest import weights as w
from themekit.suggest.ideas import Idea, Suggester
from themekit.suggest.palettes import score_colours
from themekit.suggest.reverse import LIKING, ReverseSearch
from themekit.suggest.taste import NO_TASTE, STEP, WHAT, Choice, Taste, learned, most_factor
from themekit.values import Jar, Needs, Shelf, Theme

TODAY = date(2026, 11, 25)
Ask = Callable[..., Suggester]
Parts = dict[str, dict[str, float]]
Utility = Mapping[tuple[str, str], float]
CHOSEN_FROM = (
    "owl party", "halloween", "rainbow", "pirates in teal and gold", "baby shower", "under the sea",
    "autumn leaves", "robots", "tea party", "lemonade stand", "christmas", "night sky",
)  # fmt: skip
LEFT_OUT = ("paris", "strawberry", "space", "circus", "harvest", "snowy woodland")
NAMES = [*(("palette", n) for n in w.counted(w.PALETTE)), *(("trio", n) for n in w.counted(w.TRIO))]


def parts_of(idea: Idea) -> Parts:
    return {
        "palette": dict(idea.palette.palette.parts),
        "trio": dict(idea.trio.trio.parts),
        "idea": {"cutters": idea.parts["cutters"]},
    }


@pytest.fixture(scope="module")
def ideas(suggester: Ask) -> dict[str, list[Parts]]:
    """Eight real ideas of each theme, as a baker would be shown them."""
    return {
        theme: [parts_of(i) for i in suggester(theme).ideas(8).ideas if not i.fallback]
        for theme in (*CHOSEN_FROM, *LEFT_OUT)
    }


def utility(parts: Parts, of: Utility) -> float:
    return sum(weight * parts[scope].get(name, 0.5) for (scope, name), weight in of.items())


def default() -> Utility:
    return {
        (scope, name): share * getattr(base, name)
        for scope, base, share in (("palette", w.PALETTE, w.IDEA_PALETTE), ("trio", w.TRIO, w.IDEA_TRIO))
        for name in w.counted(base)
    }


def by(taste: Taste) -> Utility:
    """The learned weights of palette and trio, with the cutters, which no search weighs, left out."""
    (of_palette, of_trio, _), out = taste.idea, {}
    for name in w.counted(w.PALETTE):
        out["palette", name] = of_palette * getattr(taste.palette, name)
    for name in w.counted(w.TRIO):
        out["trio", name] = of_trio * getattr(taste.trio, name)
    return out


def leaning(**more: float) -> Utility:
    """A taste that is half the default's and half of what is named."""
    out = {part: 0.5 * weight for part, weight in default().items()}
    for name, weight in more.items():
        scope, part = name.split("_")
        out[scope, part] = out[scope, part] + 0.4 * weight
    return out


def choices(ideas: dict[str, list[Parts]], of: Utility | None, n: int, seed: int) -> list[Choice]:
    """What a baker of that taste does with n ideas; without a taste she tosses a coin."""
    draw = np.random.default_rng(seed)
    out: list[Choice] = []
    for theme in itertools.cycle(CHOSEN_FROM):
        values = np.zeros(len(ideas[theme]))
        if of is not None:
            values = np.array([utility(parts, of) for parts in ideas[theme]])
            values = 3 * (values - values.mean()) / values.std()
        for at in draw.permutation(len(values))[:5]:
            kept = draw.random() < 1 / (1 + np.exp(-values[at]))
            out.append(Choice("kept" if kept else "passed over", ideas[theme][at], theme))
            if len(out) == n:
                return out
    raise AssertionError


def agreement(ideas: dict[str, list[Parts]], one: Utility, other: Utility) -> float:
    """Mean rank correlation of two orders within each theme that was left out."""
    return float(
        np.mean(
            [
                spearmanr([utility(p, one) for p in ideas[t]], [utility(p, other) for p in ideas[t]]).statistic
                for t in LEFT_OUT
            ]
        )
    )


CONTRAST = leaning(palette_contrast=0.6, trio_contrast=0.4)
ONE_COLOUR = leaning(palette_harmony=0.9, trio_harmony=0.3, palette_distinctness=-0.3)


@pytest.mark.parametrize(
    ("hidden", "n", "gain"),
    [(CONTRAST, 30, 0.08), (CONTRAST, 100, 0.15), (ONE_COLOUR, 60, 0.1), (ONE_COLOUR, 100, 0.15)],
    ids=["contrast 30", "contrast 100", "one colour 60", "one colour 100"],
)
def test_a_known_taste_is_learned(ideas: dict[str, list[Parts]], hidden: Utility, n: int, gain: float) -> None:
    """On themes never chosen from, the learned order agrees better with hers than the default does."""
    before = agreement(ideas, hidden, default())
    after = [agreement(ideas, hidden, by(learned(choices(ideas, hidden, n, seed)))) for seed in range(6)]
    print(f"rank correlation {before:.2f} by default, {np.mean(after):.2f} learned ({min(after):.2f} at least)")
    assert np.mean(after) >= before + gain
    assert min(after) >= before - 0.03


def test_a_baker_who_tosses_a_coin_leaves_the_weights_near_the_default(ideas: dict[str, list[Parts]]) -> None:
    moved = []
    for seed in range(24):
        factors = learned(choices(ideas, None, 100, seed)).factors
        moved.append(max((abs(np.log(f)) for scope in factors.values() for f in scope.values()), default=0.0))
    print(
        f"the most moved weight: {np.exp(np.mean(moved)):.2f} times on average, {np.exp(max(moved)):.2f} at most"
    )
    assert np.mean(moved) < np.log(1.2)
    assert max(moved) < np.log(1.5)


def test_without_choices_everything_is_the_very_default(suggester: Ask) -> None:
    taste = learned([])
    assert taste is NO_TASTE
    assert taste.palette is w.PALETTE
    assert taste.trio is w.TRIO
    assert taste.idea == (w.IDEA_PALETTE, w.IDEA_TRIO, w.IDEA_CUTTERS)
    assert taste.liking("owl party") == 0
    plain = suggester("owl party")
    asked = Suggester(plain.asked, plain.shelf, plain.lexicon, plain.today, taste)
    one, other = (json.dumps([asdict(i) for i in s.ideas(3).ideas], default=str) for s in (plain, asked))
    assert one == other


@pytest.mark.parametrize("what", WHAT)
def test_choices_that_all_say_the_same_move_no_weight(ideas: dict[str, list[Parts]], what: str) -> None:
    taste = learned([Choice(what, parts, t) for t in CHOSEN_FROM for parts in ideas[t]])
    assert (taste.palette, taste.trio) == (w.PALETTE, w.TRIO)
    assert abs(taste.liking("owl party")) > 0.5, "the themes are liked or not all the same"


def test_the_same_choices_tell_the_same(ideas: dict[str, list[Parts]]) -> None:
    given = choices(ideas, CONTRAST, 60, 1)
    assert learned(given) == learned(list(given))
    assert learned(given).told[0].startswith("Learned from 60 choices: ")


@pytest.mark.parametrize("seed", range(4))
def test_weights_keep_their_range_and_sum(ideas: dict[str, list[Parts]], seed: int) -> None:
    sharp: Utility = {("palette", "contrast"): 1.0, ("trio", "distinctness"): -1.0}
    for n in (3, 10, 20, 60, 200):
        taste = learned(choices(ideas, sharp, n, seed))
        for scope in taste.factors.values():
            assert all(1 / most_factor(n) - 1e-9 <= f <= most_factor(n) + 1e-9 for f in scope.values())
        for parts in (taste.palette, taste.trio):
            assert sum(asdict(parts).values()) == pytest.approx(1, abs=1e-9)
        assert sum(taste.idea) == pytest.approx(1, abs=1e-9)
    assert most_factor(200) == 2
    assert max(f for scope in taste.factors.values() for f in scope.values()) > 1.8, "much evidence moves much"


def worst_clicks(ideas: dict[str, list[Parts]], n: int) -> list[list[Choice]]:
    """Clicks that would do most harm: against the score, against each part, and for it."""
    every = [(theme, parts) for theme in CHOSEN_FROM for parts in ideas[theme]]
    aims: list[Utility] = [{k: -v for k, v in default().items()}, default()]
    aims += [{name: sign} for name in NAMES for sign in (1.0, -1.0)]
    out = []
    for aim in aims:
        ranked = sorted(every, key=lambda one: utility(one[1], aim))
        liked = [Choice("sold out", p, t) for t, p in ranked[-(n // 2) :]]
        out.append([*liked, *(Choice("left over", p, t) for t, p in ranked[: n - n // 2])])
    return out


def made_up(draw: np.random.Generator, n: int) -> list[Choice]:
    """Parts that no idea has, all at their ends."""
    return [
        Choice(
            str(draw.choice(list(WHAT))),
            {
                s: {name: float(draw.integers(2)) for scope, name in NAMES if scope == s}
                for s in ("palette", "trio")
            },
            "a theme",
        )
        for _ in range(n)
    ]


@pytest.fixture(scope="module")
def misplaced(suggester: Ask) -> list[tuple[dict[str, float], dict[str, float]]]:
    """For each theme the parts of its best palette, and those of other themes' best judged for it."""
    asked = {theme: suggester(theme) for theme in CHOSEN_FROM}
    best = {theme: one.ideas(1).ideas[0].palette.palette.labs for theme, one in asked.items()}
    judged = {
        (theme, other): score_colours(labs, one.anchors).parts
        for theme, one in asked.items()
        for other, labs in best.items()
    }
    return [(judged[t, t], parts) for (t, other), parts in judged.items() if t != other]


def test_few_clicks_never_turn_a_clear_order_round(
    ideas: dict[str, list[Parts]], misplaced: list[tuple[dict[str, float], dict[str, float]]]
) -> None:
    """Of palettes whose default scores lie a tenth or more apart, the better stays the better."""

    def score(parts: dict[str, float], weights: w.Parts) -> float:
        return sum(getattr(weights, name) * value for name, value in parts.items())

    draw = np.random.default_rng(3)
    hostile = [c for n in (2, 4, 7, 10) for c in worst_clicks(ideas, n)]
    hostile += [made_up(draw, n) for n in (4, 10) for _ in range(10)]
    pairs = [(p, q) for p, q in misplaced if score(p, w.PALETTE) >= score(q, w.PALETTE) + 0.1]
    assert len(pairs) > 80
    moved = 0
    for clicks in hostile:
        weights = learned(clicks).palette
        moved += weights != w.PALETTE
        assert all(score(p, weights) > score(q, weights) for p, q in pairs)
    assert moved > len(hostile) / 4, "many of these clicks do move the weights"


@pytest.mark.parametrize("scope", ["palette", "trio"])
def test_ten_clicks_keep_the_quality_floor_whatever_they_are(scope: str) -> None:
    """For any parts at all: what is best by learned weights has 0.8 of the best default score.

    Over all factors within their range: the bound is reached where the best by default has
    its parts where the factors are low, and the chosen one where they are high.
    """
    base = np.array([getattr(w.PALETTE if scope == "palette" else w.TRIO, n) for s, n in NAMES if s == scope])
    draw, most = np.random.default_rng(5), most_factor(10)
    least = 1.0
    for _ in range(4000):
        factors = np.exp(draw.choice([-1, 1], len(base)) * STEP * 100)
        parts = draw.random((6, len(base))) ** draw.choice([0.2, 1, 5])
        parts[0] = factors < 1
        parts[1] = (factors > 1) * min(
            1.0, (base / factors)[factors < 1].sum() / max(1e-9, base[factors > 1].sum())
        )
        chosen = int(np.argmax(parts @ (base * factors)))
        least = min(least, float((parts @ base)[chosen] / (parts @ base).max()))
    assert w.QUALITY_FLOOR <= most**-2 <= least + 1e-9
    assert least < 0.9, "the bound is nearly reached"


def test_ten_clicks_keep_the_quality_floor_on_a_real_shelf(suggester: Ask, ideas: dict[str, list[Parts]]) -> None:
    plain = suggester("night sky")
    best = plain.ideas(1).ideas[0]
    for clicks in worst_clicks(ideas, 10)[:6]:
        taste = learned(clicks)
        first = Suggester(plain.asked, plain.shelf, plain.lexicon, plain.today, taste).ideas(1).ideas[0]
        for scope, weights in (("palette", w.PALETTE), ("trio", w.TRIO)):
            made, first_parts = parts_of(best)[scope], parts_of(first)[scope]
            score = {
                k: sum(getattr(weights, n) * v for n, v in p.items()) for k, p in ((0, made), (1, first_parts))
            }
            assert score[1] >= w.QUALITY_FLOOR * score[0]


def test_needs_are_never_overruled(suggester: Ask) -> None:
    """A taste for the very ideas that a need rules out brings none of them back."""
    free = suggester("christmas").ideas(6).ideas
    liked = [Choice("sold out", parts_of(i), "christmas") for i in free]
    liked += [Choice("left over", {"palette": dict.fromkeys(w.counted(w.PALETTE), 0.0)}, "christmas")] * 20
    taste = replace(
        learned(liked * 4),
        factors={"palette": {"fit": 2.0, "ease": 0.5}, "trio": {"fit": 2.0, "motif": 0.5, "stock": 0.5}},
    )
    jars = {j.id for i in free for j in i.trio.trio.jars}
    unwanted = min(jars)
    needs = Needs(avoid_allergens=("milk",), youngest_age=2, skip_jars=(unwanted,), include_colours=("#2f5fb3",))
    bound = suggester("christmas", needs=needs)
    found = Suggester(bound.asked, bound.shelf, bound.lexicon, bound.today, taste).ideas(5).ideas
    assert found
    allowed = {j.id for j in bound.allowed.jars}
    assert unwanted not in allowed
    for idea in found:
        assert {j.id for j in idea.trio.trio.jars} <= allowed
    assert {j.id for i in found for j in i.trio.trio.jars}.isdisjoint({unwanted})


def test_a_disliked_theme_moves_no_weight(ideas: dict[str, list[Parts]]) -> None:
    """All of one theme kept and all of another passed over: that is about themes alone."""
    one = [Choice("kept", p, "owl party") for p in ideas["owl party"]]
    other = [Choice("passed over", p, "halloween") for p in ideas["halloween"]]
    taste = learned([*one, *other])
    assert max((abs(np.log(f)) for s in taste.factors.values() for f in s.values()), default=0) < 0.03
    assert taste.liking("Owl Party") == pytest.approx(len(one) / (len(one) + 4), abs=1e-4)
    assert taste.liking("halloween") < -0.5


def test_nothing_heavy_is_loaded_without_choices() -> None:
    code = "import sys; from themekit.suggest.taste import learned; learned([]); print('sklearn' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_only_the_latest_choices_count(ideas: dict[str, list[Parts]], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(learning, "MOST_EVENTS", 40)
    early, late = choices(ideas, CONTRAST, 40, 1), choices(ideas, ONE_COLOUR, 40, 2)
    assert learned([*early, *late]) == learned(late)


def test_what_was_learned_is_told_in_plain_sentences(ideas: dict[str, list[Parts]]) -> None:
    told = learned(choices(ideas, CONTRAST, 100, 4)).told
    assert any("Counts more than by default" in line and "light and dark icing" in line for line in told)
    assert all(line.endswith(".") for line in told)
    assert "no clear taste" in learned(choices(ideas, CONTRAST, 1, 4)).told[1]


def test_a_liking_counts_only_where_themes_are_chosen(demo: Shelf, suggester: Ask) -> None:
    """Of two uses for an idle jar the theme that went well gains; ideas for a theme asked for stay as they are."""
    plain = ReverseSearch(*search_of(demo))
    jar = demo.jars[0].id
    first, second = plain.best(jar, 2)
    liking = {second.theme.name.casefold(): 1.0, first.theme.name.casefold(): -1.0}
    found = {
        use.theme.name: use for use in ReverseSearch(*search_of(demo), taste=Taste(themes=liking)).best(jar, 400)
    }
    assert found[second.theme.name].score == pytest.approx(second.score + LIKING / 2, abs=1e-3)
    assert found[first.theme.name].score == pytest.approx(first.score - LIKING / 2, abs=1e-3)
    asked = suggester("owl party")
    fond = Suggester(asked.asked, demo, asked.lexicon, asked.today, Taste(themes={"owl": -1.0, "halloween": 1.0}))
    assert fond.ideas(2) == asked.ideas(2)


def search_of(shelf: Shelf) -> tuple[tuple[Jar, ...], tuple[Theme, ...], date, tuple[Jar, ...]]:
    return shelf.jars, lexicon().themes, TODAY, shelf.jars
