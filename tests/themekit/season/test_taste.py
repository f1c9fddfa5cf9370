"""The season by a learned taste: other weights and other themes, but never against a need."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from catalog.lexicon import lexicon
from themekit.season.offers import Breadth, Offering
from themekit.season.plan import season_plan
from themekit.season.values import Planned, SeasonPlan
from themekit.suggest.taste import Taste, learned
from themekit.values import Needs, Shelf

TODAY = date(2026, 11, 25)
NARROW = Breadth(palettes=2, best=12, idle=8, themes=3)
NEEDS = Needs(diet="vegan", youngest_age=2)
LINES = [
    Planned("christmas", 6, TODAY + timedelta(days=20)),
    Planned("winter", 4, TODAY + timedelta(days=40), NEEDS),
]
#: As far as learning ever goes: some parts twice their weight, others half of it.
STRONG = Taste({
    "palette": {"distinctness": 2.0, "fit": 0.5, "contrast": 0.5},
    "trio": {"distinctness": 2.0, "fit": 0.5, "contrast": 0.5},
    "idea": {"cutters": 0.5},
})  # fmt: skip


def _planned(shelf: Shelf, taste: Taste | None) -> SeasonPlan:
    more = {} if taste is None else {"taste": taste}
    return season_plan(LINES, shelf, lexicon(), today=TODAY, further=False, breadth=NARROW, **more)


def test_a_taste_changes_what_is_chosen_as_it_says(demo: Shelf) -> None:
    """It gives kits that are easier to tell apart, and each score is by the learned weights."""
    usual, own = _planned(demo, None), _planned(demo, STRONG)

    def apart(plan: SeasonPlan) -> float:
        found = [line.offer for line in plan.lines if line.offer]
        return sum(o.palette.parts["distinctness"] + o.trio.parts["distinctness"] for o in found)

    assert apart(own) > apart(usual) + 0.2
    of_palette, of_trio, of_cutters = STRONG.idea
    for line in own.lines:
        assert line.offer is not None
        assert line.idea is not None
        parts = line.offer.parts
        score = of_palette * parts["palette"] + of_trio * parts["trio"] + of_cutters * parts["cutters"]
        assert line.offer.quality == pytest.approx(score, abs=1e-6)
        assert line.idea.score == pytest.approx(score, abs=1e-6)


def test_no_taste_overrules_a_need(demo: Shelf) -> None:
    """Not even for a shelf where the best by taste breaks it."""
    offer = _planned(demo, STRONG).lines[1].offer
    assert offer is not None
    assert all(j.composition.diet == "vegan" and not j.hard_small_pieces for j in offer.trio.jars)


def test_without_choices_nothing_changes(demo: Shelf) -> None:
    """To the last figure."""
    usual, nothing = _planned(demo, None), _planned(demo, learned([]))
    assert nothing == replace(usual, solved=replace(usual.solved, seconds=nothing.solved.seconds))


def test_a_free_choice_prefers_themes_that_went_well(demo: Shelf) -> None:
    """A theme that never sold is tried after others; one that always did before them."""
    free = Planned(None, 3, TODAY + timedelta(days=20))
    first = _themes(demo, free, Taste())[0]
    disliked = _themes(demo, free, Taste(themes={first.casefold(): -1.0}))
    assert disliked[0] != first
    liked = _themes(demo, free, Taste(themes={disliked[0].casefold(): 1.0}))
    assert liked[0] == disliked[0]


def _themes(shelf: Shelf, line: Planned, taste: Taste) -> list[str]:
    offering = Offering(shelf, lexicon(), TODAY, taste=taste)
    found = offering.line(line, Breadth(palettes=1, best=2, idle=0, themes=1))
    return list(dict.fromkeys(offer.theme for offer in found.offers))
