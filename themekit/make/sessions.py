"""Work that batches due together share: one dough to mix and bake, one white icing to divide."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from themekit.make.dough import DoughPlan, Ingredient, baked_together, eggs_in, recipe_for
from themekit.make.icing import icing_plan, white_recipe
from themekit.make.kit import Order
from themekit.make.settings.dough import Dough
from themekit.make.trays import Baking

#: Settings that must be the same for doughs to be mixed as one, and cookies to share an oven.
RECIPE = ("butter_per_100", "sugar_per_100", "egg_per_100", "milk_per_100", "baking_powder_per_100", "egg_g")
OVEN = (
    "tray_length_mm", "tray_width_mm", "tray_edge_mm", "tray_gap_mm", "trays_per_load", "bake_minutes", "oven_c",
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Due:
    """One batch of the plan: its name, order, pick-up and dough."""

    name: str
    order: Order
    due: date
    dough: DoughPlan

    def before(self, days: int) -> date:
        """So many days before the pick-up."""
        return self.due - timedelta(days=days)


@dataclass(frozen=True, slots=True)
class DoughSession:
    """One dough, mixed, rolled and baked on one day for several batches.

    dough_g   the batches' doughs added up; the ingredients add up to it exactly.
    baking    trays and loads of all cookies together, never more than apart.
    minutes   of work; `at_least` when the size of some cutter is not known.
    """

    day: date
    batches: tuple[str, ...]
    cookies: int
    dough_g: int
    ingredients: tuple[Ingredient, ...]
    eggs: int
    baking: Baking
    oven_c: float
    minutes: float
    at_least: bool


@dataclass(frozen=True, slots=True)
class Portion:
    """White icing to weigh out for one colour of one batch, g, and what it becomes."""

    batch: str
    colour: str
    hex: str
    white_g: float
    grams: float


@dataclass(frozen=True, slots=True)
class IcingSession:
    """One white icing, made on one day and divided; its recipe (ingredient → g) adds up to `white_g`."""

    day: date
    batches: tuple[str, ...]
    white_g: float
    recipe: Mapping[str, float]
    portions: tuple[Portion, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class Shared:
    """Batches that do one thing together on `day`, the earliest that any of them asks for."""

    day: date
    members: tuple[Due, ...]


def shared_days(
    batches: Sequence[Due],
    wanted: Callable[[Due], date],
    alike: Callable[[Due], Hashable],
    keeps: Callable[[Due], int],
    not_before: Callable[[Due], date],
) -> list[Shared]:
    """Batches grouped for work that one ISO week's batches can do at once.

    A batch joins the first group of its week that is made alike, whose day is not before
    `not_before`, and from which its part still keeps until its pick-up; else it opens one
    on the day it wanted. Groups are in order of day.
    """
    groups: list[tuple[Hashable, date, list[Due]]] = []
    for batch in sorted(batches, key=lambda b: (wanted(b), b.due, b.name)):
        day = wanted(batch)
        key = (day.isocalendar()[:2], alike(batch))
        for known, start, members in groups:
            if known == key and not_before(batch) <= start and batch.due <= start + timedelta(days=keeps(batch)):
                members.append(batch)
                break
        else:
            groups.append((key, day, [batch]))
    return [Shared(day, tuple(members)) for _, day, members in groups]


def dough_alike(batch: Due) -> Hashable:
    """What must be the same for batches to be mixed and baked together."""
    return tuple(getattr(batch.order.settings.dough, name) for name in RECIPE + OVEN)


def icing_alike(batch: Due) -> tuple[tuple[str, float], ...]:
    """What must be the same for batches to share one white icing."""
    return tuple(white_recipe(batch.order.settings.icing, 100.0).items())


def dough_session(shared: Shared) -> DoughSession:
    """The dough and the baking of these batches, as one."""
    members = shared.members
    dough: Dough = members[0].order.settings.dough
    grams = sum(batch.dough.dough_g for batch in members)
    ingredients = recipe_for(grams, dough)
    made = baked_together([line for batch in members for line in batch.dough.lines], dough)
    # Apart, full trays and rows left over may fall out better by luck; then that is taken.
    trays = min(made.trays, sum(batch.dough.baking.trays for batch in members))
    loads = math.ceil(trays / dough.trays_per_load)
    return DoughSession(
        day=shared.day,
        batches=tuple(batch.name for batch in members),
        cookies=sum(batch.dough.to_cut for batch in members),
        dough_g=grams,
        ingredients=ingredients,
        eggs=eggs_in(ingredients, dough),
        baking=Baking(trays, loads, loads * dough.bake_minutes),
        oven_c=dough.oven_c,
        minutes=loads * max(batch.order.settings.cost.minutes_per_load for batch in members),
        at_least=any(batch.dough.at_least or batch.dough.problems for batch in members),
    )


def icing_session(shared: Shared, minutes: float) -> IcingSession:
    """The white icing of these batches, made once, and what of it each colour takes."""
    portions = tuple(
        Portion(batch.name, colour.name, colour.hex, colour.white_g, colour.grams)
        for batch in shared.members
        for colour in icing_plan(batch.order, (), {}).colours
    )
    white = math.fsum(portion.white_g for portion in portions)
    return IcingSession(
        day=shared.day,
        batches=tuple(batch.name for batch in shared.members),
        white_g=white,
        recipe=white_recipe(shared.members[0].order.settings.icing, white),
        portions=portions,
        minutes=minutes,
    )
