"""What the joint plan takes and gives.

Values are points: 1 is one planned kit with a perfect idea. Grams are those taken from a
jar for all kits of a line, waste included; amounts within are whole mg, as the ledger's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from themekit.suggest.asked import Asked
from themekit.suggest.cutters import Chosen
from themekit.suggest.ideas import Idea
from themekit.suggest.palettes import Palette
from themekit.suggest.trios import Serve, Trio
from themekit.values import Jar, Needs

#: Called with a stage and how much of it is done, 0–1.
Progress = Callable[[str, float], None]
#: Asked between stages and before each solve; True ends the work.
Stop = Callable[[], bool]
Status = Literal["optimal", "time limit", "infeasible", "stopped", "other"]


@dataclass(frozen=True, slots=True)
class Keep:
    """A candidate of a line by name: its theme, its colours as hex and the ids of its jars."""

    theme: str
    tints: tuple[str, ...]
    jars: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Planned:
    """One line of the season: a theme, or None for a free choice, and how many kits by when.

    keep  the kit that it has to be, of all its candidates; None where it is to be chosen.
    """

    theme: str | None
    kits: int
    day: date | None = None
    needs: Needs | None = None
    serve: Serve = "apart"
    keep: Keep | None = None


@dataclass(frozen=True, slots=True)
class Weights:
    """What counts how much in the joint plan, in points; no published source, a judgement.

    The floor on quality leaves a line at most a fifth of a point to gain, so a jar is bought
    only where stock leaves no other way, and nothing is left out that can be bought.

    idle           for using a jar once that wants to be used in full (`idle_part` 1)
    jar_again      for each line beyond the first that uses one jar
    palette_again  for each line beyond the first with one palette, or one too like it
    jar_bought     for each jar of which something has to be bought
    bought         for toppings bought that cost as much as the dearest line's
    left_out       for a line that cannot be made
    """

    idle: float = 0.15
    jar_again: float = 0.02
    palette_again: float = 0.10
    jar_bought: float = 0.5
    bought: float = 5.0
    left_out: float = 50.0


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to make a line: palette, trio and cutters; `taken` is (jar id, mg) for the line.

    quality  the idea's score, 0–1.
    family   palettes of one number are too like each other to be given twice.
    how      why it is a candidate: "best" or "idle".
    """

    theme: str
    palette: Palette
    trio: Trio
    cutters: tuple[Chosen, ...]
    quality: float
    parts: dict[str, float]
    taken: tuple[tuple[int, int], ...]
    family: int
    how: str


@dataclass(frozen=True, slots=True)
class Other:
    """Another kit for a line, and what would be short of its jars, were the other lines kept."""

    offer: Offer
    keep: Keep
    short: tuple[Bought, ...]


@dataclass(frozen=True, slots=True)
class LineOffers:
    """The candidates of one line, the best first; none, and why, where it cannot be made at all."""

    planned: Planned
    offers: tuple[Offer, ...]
    why_none: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Solved:
    """What the solver says of one joint choice.

    chosen     position of each line's offer, None where the line is left out.
    status     as HiGHS reports it; `message` in its own words.
    gap        how far at most the best possible lies above, as a share of the value (HiGHS's
               relative gap); None where nothing was found.
    bound      no choice of these candidates is worth more than this; None where not known.
    seconds    the solver's own time.
    """

    chosen: tuple[int | None, ...]
    status: Status
    message: str
    gap: float | None
    bound: float | None
    seconds: float

    @property
    def optimal(self) -> bool:
        """Whether it is proven that no choice of these candidates is better."""
        return self.status == "optimal"


@dataclass(frozen=True, slots=True)
class Bought:
    """What has to be bought of one jar; `cost` None where its price is not known."""

    jar: Jar
    grams: float
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class Worth:
    """What a choice is worth, in points, and what makes it.

    Every part is positive: `value` is quality + idle − again − buying − left_out.
    """

    value: float
    quality: float
    idle: float
    again: float
    buying: float
    left_out: float
    lines_left_out: int
    idle_jars_used: int
    bought: tuple[Bought, ...]


@dataclass(frozen=True, slots=True)
class LinePlan:
    """One line as planned; offer and idea None where it is left out, with why.

    asked   what its theme was understood to mean, with all needs that are kept.
    others  other kits that could stand in its place, the rest of the plan kept.
    """

    planned: Planned
    offer: Offer | None
    idea: Idea | None
    bought: tuple[Bought, ...]
    reasons: tuple[str, ...]
    why_none: str = ""
    asked: Asked | None = None
    others: tuple[Other, ...] = ()


@dataclass(frozen=True, slots=True)
class SeasonPlan:
    """The joint plan.

    one_by_one   what choosing kit by kit in the order of days gives, by the same rules
    candidates   how many there were, and how they were chosen
    more         what twice as many candidates would change; "" where that was not looked at
    """

    lines: tuple[LinePlan, ...]
    worth: Worth
    one_by_one: Worth
    solved: Solved
    candidates: int
    how: str
    more: str
    notes: tuple[str, ...]


def never() -> bool:
    """The `stop` of those who do not want to."""
    return False


def untold(stage: str, done: float) -> None:
    """The `progress` of those who do not listen."""


def in_order(planned: Sequence[Planned]) -> list[int]:
    """The lines in the order in which they would be made: by day, those without one last."""
    return sorted(range(len(planned)), key=lambda i: (planned[i].day or date.max, i))
