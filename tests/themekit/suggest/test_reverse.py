"""Themes for a jar: the bounded search against trying every theme, and what is at risk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from catalog.lexicon import lexicon
from themekit.suggest.closeness import anchor_arrays, closeness, fit
from themekit.suggest.idle import idle_jars, left_then
from themekit.suggest.needs import choking
from themekit.suggest.reverse import IN_SEASON, LIKING, MOTIF, ReverseSearch, Use, in_season, shaped, shares_motif
from themekit.suggest.taste import NO_TASTE, Taste
from themekit.suggest.trios import TrioSearch, flat_colours
from themekit.values import Jar, Shelf, Theme

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def search(demo: Shelf) -> ReverseSearch:
    return ReverseSearch(demo.jars, lexicon().themes, TODAY, demo.jars)


#: One who likes quiet colours and shaped pieces, and Christmas not at all.
TASTE = Taste(
    {"trio": {"harmony": 2.0, "contrast": 0.5, "coverage": 0.6, "motif": 1.8, "stock": 0.5}}, {"christmas": -1.0}
)


def _every(jar: Jar, jars: tuple[Jar, ...], themes: tuple[Theme, ...], taste: Taste = NO_TASTE) -> list[Use]:
    """Every theme with the best trio that the required search finds, the best first."""
    out = []
    lab, share, start = flat_colours([jar])
    for at, theme in enumerate(themes):
        labs, weights = anchor_arrays(theme.anchors)
        suits = float(fit(closeness(lab, labs), weights, share, start)[0])
        suits += IN_SEASON * in_season(theme, TODAY) + MOTIF * shares_motif(jar, theme)
        suits += LIKING * taste.liking(theme.name)
        motifs = dict.fromkeys(theme.motifs, 1.0)
        asked = TrioSearch(
            jars, theme.anchors, today=TODAY, use_jars=(jar.id,), shelf_jars=jars, motifs=motifs,
            weights=taste.trio,
        )  # fmt: skip
        for trio in asked.best(1):
            out.append((-round(0.5 * suits + 0.5 * trio.score, 4), at, Use(theme, trio, 0.0)))
    return [replace(use, score=-score) for score, _, use in sorted(out, key=lambda one: one[:2])]


@pytest.mark.parametrize(
    ("place", "taste"), [(0, NO_TASTE), (30, NO_TASTE), (44, NO_TASTE), (52, NO_TASTE), (30, TASTE), (53, TASTE)]
)
def test_no_theme_is_better_than_those_found(search: ReverseSearch, place: int, taste: Taste) -> None:
    """Every fourth theme, each tried with the search that requires the jar."""
    themes = lexicon().themes[place % 4 :: 4]
    some = ReverseSearch(search.jars, themes, TODAY, search.shelf, taste)
    jar = search.jars[place]
    found = some.best(jar.id, 3)
    want = _every(jar, search.jars, themes, taste)[:3]
    assert [(u.theme.name, u.score) for u in found] == [(u.theme.name, u.score) for u in want]
    assert [[j.id for j in u.trio.jars] for u in found] == [[j.id for j in u.trio.jars] for u in want]
    assert some.tried < len(themes) / 2, "and not by trying them all"


def test_bounds_are_never_below_a_score(search: ReverseSearch) -> None:
    """For every jar and a draw of themes; a bound below would hide the best theme."""
    draw = np.random.default_rng(1)
    tasting = ReverseSearch(search.jars, search.themes, TODAY, search.shelf, TASTE)
    for number, jar in enumerate(search.jars[::5]):
        one = tasting if number % 3 == 0 else search
        bounds, fits = one.bounds(jar.id), one.fits(jar.id)
        for at in draw.choice(len(search.themes), 12, replace=False).tolist():
            (trio,) = one.search(at).best_with([jar.id])
            assert 0.5 * fits[at] + 0.5 * trio.score <= bounds[at]


def test_a_shaped_jar_is_drawn_to_themes_that_show_it(search: ReverseSearch) -> None:
    """Dinosaur shapes go to dinosaurs, though other themes have their colours."""
    jar = next(j for j in search.jars if "dinosaur" in j.motifs)
    (use,) = search.best(jar.id)
    assert "dinosaur" in use.theme.motifs


def test_only_the_themes_named_are_tried(search: ReverseSearch) -> None:
    jar = search.jars[10]
    (use,) = search.best(jar.id, 1, ["christmas", "pirate"])
    assert use.theme.name in ("christmas", "pirate")
    assert jar in use.trio.jars
    assert search.best(jar.id, 1, ["no such theme"]) == ()
    assert search.best(10_000) == ()
    assert ReverseSearch(search.jars[:2], search.themes, TODAY, search.shelf).best(search.jars[0].id) == ()


def test_what_is_left_at_the_present_rate(jar: Callable[..., Jar]) -> None:
    """100 g at 0.5 g a day for 60 days leave 70 g; a rate that uses it up leaves nothing."""
    one = jar(1, on_hand_g=100.0, best_before=TODAY + timedelta(days=60))
    assert left_then(one, TODAY, 0.5) == 70
    assert left_then(one, TODAY, 5.0) == 0
    assert left_then(one, TODAY, None) is None
    assert left_then(replace(one, best_before=None), TODAY, 0.5) is None
    assert left_then(replace(one, on_hand_g=None), TODAY, 0.5) is None


def test_a_jar_that_will_not_be_used_in_time_is_idle(jar: Callable[..., Jar]) -> None:
    """Though it was used yesterday and its date is far; what will be left is at risk, in g and money."""
    jars = tuple(
        jar(n, colour, on_hand_g=100.0, best_before=TODAY + timedelta(days=200), price_per_kg=Decimal("12.00"),
            last_used=TODAY - timedelta(days=1))
        for n, colour in enumerate(("#c0392b", "#27ae60", "#f1c40f", "#2980b9"), start=1)
    )  # fmt: skip
    shelf = Shelf(1, "small", jars=jars)
    assert idle_jars(shelf, lexicon(), TODAY) == ()
    rates = {1: 0.1, 2: 0.6, 3: 0.46}
    (found,) = idle_jars(shelf, lexicon(), TODAY, rates=rates)
    assert found.jar.id == 1
    assert found.why == ("at the present rate 80 g will be left on its best-before day",)
    assert (found.left_g, found.grams_at_risk, found.money_at_risk) == (80.0, 80.0, Decimal("0.96"))
    assert found.used_g_per_day == 0.1
    assert found.use is not None


def test_uses_of_the_days_ahead_follow_the_best_of_all(demo: Shelf) -> None:
    ahead = ("christmas", "hanukkah", "new year's eve")
    for one in idle_jars(demo, lexicon(), TODAY, count=8, ahead=ahead):
        if one.jar.best_before and one.jar.best_before < TODAY:
            assert one.uses == ()
            continue
        first, *others = one.uses
        names = [use.theme.name for use in others]
        assert len(names) == 2
        assert set(names) <= set(ahead) - {first.theme.name}
        assert [u.score for u in others] == sorted((u.score for u in others), reverse=True)
        assert first.score >= others[0].score
    last = idle_jars(demo, lexicon(), TODAY, count=8)[-1]
    assert last.use is not None
    again = idle_jars(demo, lexicon(), TODAY, count=8, ahead=(last.use.theme.name,))[-1]
    assert again.uses == last.uses, "the best of all is not told twice"


def test_no_use_for_the_very_young_has_a_choking_piece(search: ReverseSearch) -> None:
    """Neither the jar itself nor those beside it; other themes still take them."""
    young = ["first birthday", "toddler birthday"]
    hard = [j for j in search.jars if choking(j) or j.hard_small_pieces is None]
    assert hard
    for jar in search.jars:
        uses = search.best(jar.id, 2, young)
        assert bool(uses) == (jar not in hard), jar.name
        assert not [j.name for use in uses for j in use.trio.jars if j in hard]
    assert search.best(hard[0].id)


def test_shapes_go_to_themes_that_show_them_else_it_is_said_to_be_for_the_colour(search: ReverseSearch) -> None:
    for jar in (j for j in search.jars if shaped(j)):
        (use,) = search.best(jar.id)
        showing = [t for t in search.themes if shares_motif(jar, t)]
        assert use.by_colour == (not showing)
    dinosaur = next(j for j in search.jars if "dinosaur" in j.motifs)
    (use,) = search.best(dinosaur.id, 1, ["hanukkah", "Hanukkah"])
    assert use.by_colour
    plain = next(j for j in search.jars if not j.motifs)
    assert not search.best(plain.id)[0].by_colour


def test_idle_jars_follow_her_taste(demo: Shelf) -> None:
    """The same jars, with trios as her weights have them; without choices nothing is otherwise."""
    plain = idle_jars(demo, lexicon(), TODAY, count=6)
    assert idle_jars(demo, lexicon(), TODAY, count=6, taste=Taste()) == plain
    hers = idle_jars(demo, lexicon(), TODAY, count=6, taste=TASTE)
    assert [one.jar.id for one in hers] == [one.jar.id for one in plain]
    assert [one.uses for one in hers] != [one.uses for one in plain]
    quiet = [np.mean([u.trio.parts["harmony"] for one in found for u in one.uses]) for found in (plain, hers)]
    assert quiet[1] > quiet[0]
