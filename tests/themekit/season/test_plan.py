"""The joint plan on the demo shelf: better than kit by kit, within stock, the same every time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from catalog.lexicon import lexicon
from themekit.errors import InvalidValue, ThemeNotUnderstood
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.settings import Settings
from themekit.make.work import stock_needs
from themekit.season import offers
from themekit.season.offers import Breadth, Offering
from themekit.season.plan import season_plan
from themekit.season.values import Planned, SeasonPlan
from themekit.suggest.ideas import Suggester
from themekit.suggest.taste import Taste
from themekit.values import Jar, Needs, Shelf

TODAY = date(2026, 11, 25)
NARROW = Breadth(palettes=2, best=12, idle=8, themes=2)


def _lines(*named: tuple[str | None, int]) -> list[Planned]:
    return [Planned(theme, kits, TODAY + timedelta(days=10 + 9 * n)) for n, (theme, kits) in enumerate(named)]


WINTER = _lines(
    ("christmas", 14), ("hanukkah", 12), ("winter", 14), ("new year's eve", 10), ("lunar new year", 8),
    ("valentine's day", 16), ("saint patrick's day", 10), ("easter", 10), (None, 6),
)  # fmt: skip


@pytest.fixture(scope="module")
def winter(demo: Shelf) -> SeasonPlan:
    return season_plan(WINTER, demo, lexicon(), today=TODAY, further=False)


def _taken(plan: SeasonPlan) -> Counter[int]:
    taken: Counter[int] = Counter()
    for line in plan.lines:
        taken.update(dict(line.offer.taken) if line.offer else {})
    return taken


def test_it_beats_kit_by_kit_on_the_demo_shelf(winter: SeasonPlan) -> None:
    """Every line is made without buying, and the plan is worth more; the figures add up."""
    assert winter.solved.optimal
    assert winter.worth.value > winter.one_by_one.value + 0.05
    assert winter.worth.lines_left_out == 0
    assert winter.worth.bought == ()
    w = winter.worth
    assert w.value == pytest.approx(w.quality + w.idle - w.again - w.buying - w.left_out, abs=1e-5)
    assert w.quality == pytest.approx(sum(line.offer.quality for line in winter.lines if line.offer), abs=1e-5)


def test_no_jar_gives_more_than_it_holds(winter: SeasonPlan, demo: Shelf) -> None:
    """And what is taken is, to the mg, what a batch of each line would need."""
    jars = {jar.id: jar for jar in demo.jars}
    for id, mg in _taken(winter).items():
        assert mg <= (jars[id].on_hand_g or 0) * 1000
    for line in winter.lines[:3]:
        assert line.offer is not None
        kit = Kit(
            line.offer.theme,
            line.offer.palette.tints,
            tuple(Topping(p.jar, p.share) for p in line.offer.trio.portions),
            tuple(Cut(c.cutter, c.cookies) for c in line.offer.cutters),
        )
        needed = stock_needs(Order(kit, line.planned.kits, Settings()), demo, lexicon().staples)
        for id, mg in line.offer.taken:
            assert round((needed["jars", id] or 0) * 1000) == mg


def test_what_is_bought_is_what_is_short(demo: Shelf) -> None:
    """Of a nearly empty shelf: what lines buy adds up to what the whole plan buys, and stays within need."""
    poor = replace(demo, jars=tuple(replace(j, on_hand_g=j.on_hand_g and j.on_hand_g / 20) for j in demo.jars))
    plan = season_plan(WINTER[:4], poor, lexicon(), today=TODAY, further=False, breadth=NARROW)
    jars = {jar.id: jar for jar in poor.jars}
    short = {
        id: mg / 1000 - (jars[id].on_hand_g or 0)
        for id, mg in _taken(plan).items()
        if mg / 1000 > (jars[id].on_hand_g or 0)
    }
    assert {b.jar.id: b.grams for b in plan.worth.bought} == pytest.approx(short, abs=1e-3)
    by_line: Counter[int] = Counter()
    for line in plan.lines:
        by_line.update({b.jar.id: b.grams for b in line.bought})
    assert dict(by_line) == pytest.approx(short, abs=1e-3)
    for one in plan.worth.bought:
        assert one.cost is not None
        assert float(one.cost) == pytest.approx(float(one.jar.price_per_kg or 0) * one.grams / 1000, abs=0.006)


def test_without_buying_what_cannot_be_made_is_left_out_with_why(demo: Shelf) -> None:
    """And nothing is taken that is not there."""
    poor = replace(demo, jars=tuple(replace(j, on_hand_g=min(j.on_hand_g or 0, 40.0)) for j in demo.jars))
    lines = _lines(("christmas", 2), ("winter", 900), ("halloween", 2))
    plan = season_plan(lines, poor, lexicon(), today=TODAY, buy=False, further=False, breadth=NARROW)
    assert [line.offer is None for line in plan.lines] == [False, True, False]
    assert plan.lines[1].why_none
    assert plan.worth.lines_left_out == 1
    assert plan.worth.bought == ()


def test_it_is_the_same_every_time(winter: SeasonPlan, demo: Shelf) -> None:
    """To the last figure, whatever order the shelf was read in."""
    again = season_plan(WINTER, demo, lexicon(), today=TODAY, further=False)
    assert _chosen(again) == _chosen(winter)
    assert again.worth == winter.worth


def _chosen(plan: SeasonPlan) -> list[tuple[str, list[str], list[int]] | None]:
    return [
        line.offer
        and (line.offer.theme, [t.hex for t in line.offer.palette.tints], [j.id for j in line.offer.trio.jars])
        for line in plan.lines
    ]


def test_equal_lines_get_different_kits(demo: Shelf) -> None:
    """Repeats count against a plan, so three lines of one theme differ in palette and jars."""
    lines = _lines(("christmas", 4), ("christmas", 4), ("christmas", 4))
    plan = season_plan(lines, demo, lexicon(), today=TODAY, further=False)
    assert len({line.offer.family for line in plan.lines if line.offer}) == 3
    assert sum(n - 1 for n in _uses(plan.lines).values()) <= 1


def _uses(lines: Sequence[object]) -> Counter[int]:
    return Counter(j.id for line in lines for j in line.offer.trio.jars)  # type: ignore[attr-defined]


def test_needs_and_dates_hold_for_each_line(demo: Shelf) -> None:
    """No jar that breaks a line's needs or is past its date on the day."""
    lines = [
        Planned("christmas", 4, TODAY + timedelta(days=200), Needs(diet="vegan", avoid_allergens=("soy",))),
        Planned("winter", 4, TODAY + timedelta(days=20), Needs(youngest_age=2)),
    ]
    plan = season_plan(lines, demo, lexicon(), today=TODAY, further=False, breadth=NARROW)
    first, second = (line.offer.trio.jars for line in plan.lines if line.offer)
    assert all(j.composition.diet == "vegan" and "soy" not in (j.composition.allergens or ()) for j in first)
    assert all(j.best_before is None or j.best_before >= lines[0].day for j in first)
    assert all(not j.hard_small_pieces for j in second)


def test_twice_the_candidates_are_told_of(demo: Shelf) -> None:
    """Either nothing better is found among them, or by how much."""
    plan = season_plan(WINTER[:3], demo, lexicon(), today=TODAY, breadth=NARROW)
    assert "twice as many" in plan.more
    assert "no more" in plan.more or "more, of" in plan.more
    assert "exact search" in plan.how


def test_progress_is_told_and_stopping_ends_it(demo: Shelf) -> None:
    """Stages come in order and grow; a stop before the solver gives the choice kit by kit."""
    told: list[tuple[str, float]] = []
    plan = season_plan(
        WINTER[:2], demo, lexicon(), today=TODAY, breadth=NARROW, progress=lambda s, d: told.append((s, d))
    )
    assert plan.solved.optimal
    assert list(dict.fromkeys(s for s, _ in told)) == [
        "candidates", "one by one", "joint choice", "more candidates",
    ]  # fmt: skip
    for stage in {s for s, _ in told}:
        done = [d for s, d in told if s == stage]
        assert done == sorted(done)
        assert done[-1] == 1
    asked = iter([False, False, True, True, True])
    stopped = season_plan(WINTER[:2], demo, lexicon(), today=TODAY, breadth=NARROW, stop=lambda: next(asked, True))
    assert stopped.solved.status == "stopped"
    assert stopped.worth == stopped.one_by_one
    at_once = season_plan(WINTER[:2], demo, lexicon(), today=TODAY, breadth=NARROW, stop=lambda: True)
    assert [line.offer for line in at_once.lines] == [None, None]


def test_what_cannot_be_planned_is_refused(demo: Shelf) -> None:
    """Every problem at once; a theme without meaning asks for colours."""
    with pytest.raises(InvalidValue) as error:
        season_plan([Planned("christmas", 0), Planned("winter", 1001)], demo, lexicon())
    assert [p.field for p in error.value.problems] == ["kits.0.kits", "kits.1.kits"]
    with pytest.raises(InvalidValue):
        season_plan([], demo, lexicon())
    with pytest.raises(ThemeNotUnderstood):
        season_plan([Planned("qzx vrrk", 2)], demo, lexicon(), breadth=NARROW)


def test_jars_whose_stock_is_unknown_are_told(demo: Shelf, winter: SeasonPlan) -> None:
    """They are not counted as empty, nor used."""
    unknown: list[Jar] = [j for j in demo.jars if j.on_hand_g is None or j.density_g_per_ml is None]
    assert unknown
    assert any(unknown[0].name in note for note in winter.notes)
    assert not {j.id for j in unknown} & set(_taken(winter))


def test_lines_of_one_theme_share_the_work_on_palettes(demo: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever their kits and days; a look at twice as many goes on from the first, and finds the same ones."""
    made = []
    real = Suggester.palette_search
    monkeypatch.setattr(Suggester, "palette_search", lambda self: made.append(self) or real(self))
    lines = _lines(("christmas", 4), ("christmas", 9), ("winter", 2))
    offering = Offering(demo, lexicon(), TODAY)
    first = [offering.line(line, NARROW) for line in lines]
    wider = offering.line(lines[0], NARROW.twice())
    assert len(made) == 2
    alone = real(made[0]).diverse(2 * NARROW.palettes)
    for found, count in ((first[1], NARROW.palettes), (wider, 2 * NARROW.palettes)):
        hexes = {tuple(t.hex for t in offer.palette.tints) for offer in found.offers}
        assert hexes == {tuple(t.hex for t in palette.tints) for palette in alone[:count]}


def test_a_plan_made_again_does_only_what_is_new(demo: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    """And is the very plan that it would be if nothing had been kept; of another shelf nothing is kept."""
    lines = _lines(("winter", 3), ("christmas", 4), ("hanukkah", 2))
    more = {"today": TODAY, "breadth": NARROW, "further": False}
    season_plan(lines[:2], demo, lexicon(), **more)
    made: list[object] = []
    real = Suggester.trio_search
    monkeypatch.setattr(Suggester, "trio_search", lambda self: made.append(self) or real(self))
    again = season_plan([lines[1], lines[2], lines[0]], demo, lexicon(), **more)
    assert len(made) == 1
    monkeypatch.setattr(offers, "_last", [])
    fresh = season_plan([lines[1], lines[2], lines[0]], demo, lexicon(), **more)
    assert len(made) == 4
    assert replace(again, solved=replace(again.solved, seconds=0)) == replace(
        fresh, solved=replace(fresh.solved, seconds=0)
    )
    other = replace(demo, name="other")
    season_plan(lines[:1], other, lexicon(), **more)
    assert len(made) == 5
    season_plan(lines[:1], other, lexicon(), **more, taste=Taste(themes={"winter": 0.5}))
    assert len(made) == 6
