"""Using jars up: the fewest kits or blends that bring chosen jars to zero, each above the floor.

Zero means that less is left than one cup takes. Candidates are trios that hold one, two or
three of the chosen jars, for the themes that suit them best among all there are, apart in
cups and mixed as a blend; how many kits of which is a small integer programme.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from themekit.errors import Problem, raise_all
from themekit.make.settings import Settings
from themekit.season.programme import status_of
from themekit.season.stock import MG
from themekit.season.values import Status
from themekit.suggest import weights as w
from themekit.suggest.asked import MOST_KITS
from themekit.suggest.lookup import lookup_for
from themekit.suggest.needs import grams_per_tablespoon
from themekit.suggest.reverse import LIKING, ReverseSearch
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.trios import SERVES, Serve, Trio
from themekit.values import Jar, Lexicon, Shelf, Theme

MOST_CHOSEN = 12
#: Themes tried for each chosen jar.
_THEMES = 4
#: The best trios tried for each chosen jar and each of its themes.
_PARTNERS = 10
#: What a further sort of kit counts, in kits, and a cup's worth that is left over for want
#: of partners; the first only settles between plans with equally many kits.
_SORT, _LEFT = 0.005, 3.0
#: What a perfect trio counts less than a poor one, in kits; less than any of the above.
_QUALITY = 0.001
#: The relative gap at which the solver may end: of up to 300 kits less than one.
_GAP = 0.003


@dataclass(frozen=True, slots=True)
class Suggestion:
    """So many kits of one trio for a theme; `takes` is (jar, g for all of them)."""

    theme: Theme
    trio: Trio
    kits: int
    takes: tuple[tuple[Jar, float], ...]
    of_best: float


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a chosen jar, g; `cups` whole cups of it, 0 where it is used up."""

    jar: Jar
    grams: float
    cups: int


@dataclass(frozen=True, slots=True)
class UseUp:
    """The plan that uses chosen jars up; `status` and `gap` are the solver's.

    optimal  whether it is proven that no choice of these candidates needs fewer kits
    """

    suggestions: tuple[Suggestion, ...]
    kits: int
    rests: tuple[Rest, ...]
    status: Status
    message: str
    gap: float | None
    candidates: int
    optimal: bool


@dataclass(frozen=True, slots=True)
class Fewest:
    """Counts of each candidate, and what the solver says of them."""

    counts: tuple[int, ...]
    status: Status
    message: str
    gap: float | None
    proven: bool


def use_up(
    ids: Sequence[int],
    shelf: Shelf,
    lexicon: Lexicon,
    today: date,
    settings: Settings | None = None,
    time_limit_s: float | None = 4.0,
    taste: Taste = NO_TASTE,
) -> UseUp:
    """The fewest kits that bring these jars to zero; every trio reaches the floor of its theme's best.

    `taste` is what her choices tell: it weighs the parts of trios, and of plans with equally many kits
    and sorts it prefers themes that went well.

    Raises `InvalidValue` with every jar that cannot be planned for: not on the shelf, not
    counted, of unknown weight, or past its date.
    """
    chosen = _chosen(ids, shelf, today)
    settings = settings or Settings()
    usable = tuple(j for j in shelf.jars if _usable(j, today))
    themes = tuple(dict.fromkeys(lookup_for(lexicon, shelf.themes).themes.values()))
    made = _candidates(chosen, ReverseSearch(usable, themes, today, shelf.jars, taste))
    by_id = {jar.id: at for at, jar in enumerate(usable)}
    takes = np.zeros((len(made), len(usable)))
    for row, (_, trio, _) in enumerate(made):
        for portion in trio.portions:
            takes[row, by_id[portion.jar.id]] = _mg_per_kit(portion.jar, portion.share, trio.serve, settings)
    free = np.array([round((j.on_hand_g or 0.0) * MG) for j in usable], float)
    cups = np.array([_mg_per_kit(j, 1 / 3, "apart", settings) for j in usable])
    wanted = np.array([by_id[j.id] for j in chosen], np.int64)
    worth = np.array([trio.score + LIKING * taste.liking(theme.name) for theme, trio, _ in made])
    found = fewest(takes, free, cups, wanted, np.clip(worth, 0, 1), time_limit_s)
    left = free - np.array(found.counts, float) @ takes if made else free
    suggestions = [
        Suggestion(
            theme, trio, count,
            tuple((p.jar, round(float(count * takes[row, by_id[p.jar.id]]) / MG, 3)) for p in trio.portions),
            of_best,
        )
        for row, ((theme, trio, of_best), count) in enumerate(zip(made, found.counts, strict=True))
        if count
    ]  # fmt: skip
    suggestions.sort(key=lambda s: (-s.kits, -s.trio.score, s.theme.name))
    rests = [Rest(usable[at], round(float(left[at]) / MG, 3), int((left[at] + 1e-6) // cups[at])) for at in wanted]
    return UseUp(
        tuple(suggestions), sum(found.counts), tuple(rests), found.status, found.message, found.gap, len(made),
        found.proven,
    )  # fmt: skip


def fewest(
    takes: np.ndarray[Any, Any], free: np.ndarray[Any, Any], cups: np.ndarray[Any, Any],
    wanted: np.ndarray[Any, Any], score: np.ndarray[Any, Any], time_limit_s: float | None = None,
) -> Fewest:  # fmt: skip
    """How many kits of each candidate, so that less than a cup is left of each wanted jar.

    Parameters
    ----------
    takes   (C, n) mg of each jar in one kit of each candidate
    free    (n,) mg that there are
    cups    (n,) mg of each jar in one cup
    wanted  positions of the jars to use up
    score   (C,) what each candidate is worth, 0–1

    Fewest kits count first, where cups that cannot be used up count three kits each; then
    fewest sorts of kit, then scores. `proven` says that no fewer kits do.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    count, n = takes.shape
    if not count:
        return Fewest((), "optimal", "There was nothing to choose.", 0.0, True)
    with np.errstate(divide="ignore"):
        most = np.floor(np.where(takes > 0, (free + 1e-6) / takes, np.inf).min(axis=1))
    most = np.minimum(most, MOST_KITS)
    # Columns: kits of each candidate, whether it is made at all, cups' worth left of each wanted jar.
    size = 2 * count + len(wanted)
    cost = np.concatenate([
        np.ones(count), np.full(count, _SORT) + _QUALITY * (1 - score), np.full(len(wanted), _LEFT),
    ])  # fmt: skip
    options: Any = {"mip_rel_gap": _GAP} | ({} if time_limit_s is None else {"time_limit": time_limit_s})
    unit = cups[:, None]
    stock = np.hstack([(takes.T / unit), np.zeros((n, count + len(wanted)))])
    used = np.hstack([takes.T[wanted] / unit[wanted], np.zeros((len(wanted), count)), np.eye(len(wanted))])
    made = np.hstack([np.eye(count), -np.diag(most), np.zeros((count, len(wanted)))])
    enough = free[wanted] / cups[wanted] - 1 + 1e-6
    found = milp(
        cost,
        integrality=np.concatenate([np.ones(2 * count, np.int64), np.zeros(len(wanted), np.int64)]),
        bounds=Bounds(np.zeros(size), np.concatenate([most, np.ones(count), np.full(len(wanted), np.inf)])),
        constraints=[
            LinearConstraint(stock, -np.inf, free / cups),
            LinearConstraint(used, enough, np.inf),
            LinearConstraint(made, -np.inf, 0),
        ],
        options=options,
    )
    status, message = status_of(found.status), str(found.message)
    if found.x is None:
        return Fewest((0,) * count, status, message, None, False)
    counts = tuple(int(v) for v in np.round(found.x[:count]))
    # One kit fewer, with as many sorts as kits, would be worth less than the solver's bound.
    fewer = (sum(counts) - 1) * (1 + _SORT + _QUALITY)
    left = bool((found.x[2 * count :] > 1e-6).any())
    proven = found.mip_dual_bound is not None and float(found.mip_dual_bound) > fewer
    gap = None if found.mip_gap is None else float(found.mip_gap)
    return Fewest(counts, status, message, gap, proven and (found.status == 0 or not left))


def _chosen(ids: Sequence[int], shelf: Shelf, today: date) -> list[Jar]:
    by_id = {jar.id: jar for jar in shelf.jars}
    problems = []
    if not 1 <= len(set(ids)) <= MOST_CHOSEN:
        problems.append(Problem("jars", len(set(ids)), f"1 to {MOST_CHOSEN} jars", "Choose the most idle ones."))
    for at, id in enumerate(ids):
        jar = by_id.get(id)
        if jar is None:
            hint = "Look the id up in the list of jars."
            problems.append(Problem(f"jars.{at}", id, "the id of a jar on this shelf", hint))
        elif jar.on_hand_g is None:
            problems.append(Problem(f"jars.{at}", id, "a jar that was counted", f"Count {jar.name} first."))
        elif jar.density_g_per_ml is None:
            hint = f"Weigh a level tablespoon of {jar.name} and enter its density."
            problems.append(Problem(f"jars.{at}", id, "a jar whose weight per spoon is known", hint))
        elif jar.best_before and jar.best_before < today:
            hint = f"{jar.name} is past its date: check it, do not sell it."
            problems.append(Problem(f"jars.{at}", id, "a jar within its date", hint))
    raise_all(problems, "These jars cannot be planned for.")
    return [by_id[id] for id in dict.fromkeys(ids)]


def _usable(jar: Jar, today: date) -> bool:
    known = jar.on_hand_g is not None and grams_per_tablespoon(jar)
    return bool(known) and not (jar.best_before and jar.best_before < today)


def _candidates(chosen: Sequence[Jar], reverse: ReverseSearch) -> list[tuple[Theme, Trio, float]]:
    """Trios that hold chosen jars, with their part of the theme's best score; both ways of serving."""
    suited: dict[int, list[int]] = {}
    for jar in chosen:
        for use in reverse.best(jar.id, _THEMES):
            suited.setdefault(reverse.themes.index(use.theme), []).append(jar.id)
    ids = sorted(jar.id for jar in chosen)
    pairs = list(itertools.combinations(ids, 2))
    out: list[tuple[Theme, Trio, float]] = []
    for at, by in suited.items():
        search = reverse.search(at)
        best = search.best(1)[0].score
        trios = [*search.best_with(ids), *search.best_with_both(pairs)]
        for id in by:
            trios += search.holding(id).best(_PARTNERS)
        jars = {_ids(t) for t in trios} | set(itertools.combinations(ids, 3))
        for serve in SERVES:
            for trio in search.of_jars(sorted(jars), serve):
                if trio.score >= w.QUALITY_FLOOR * best:
                    out.append((reverse.themes[at], trio, round(trio.score / best, 4)))
    return out


def _ids(trio: Trio) -> tuple[int, int, int]:
    a, b, c = sorted(jar.id for jar in trio.jars)
    return a, b, c


def _mg_per_kit(jar: Jar, share: float, serve: Serve, settings: Settings) -> float:
    """mg of a jar in one kit, waste included."""
    spoons = settings.contents.topping_tbsp * (3 * share if serve == "mixed" else 1)
    return spoons * (grams_per_tablespoon(jar) or 0.0) * (1 + settings.contents.waste_share) * MG
