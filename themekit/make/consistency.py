"""How much water thins stiff royal icing, from the baker's own seconds-counts only.

A cut in the icing closes the sooner the more water is in it. No published curve was found:
it shifts with humidity, mixing, powder and colour. So the logarithm of the seconds is
fitted as a line in the water, over her own points, and nothing is said beyond them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: What bakers do by the eye and the clock. Recipe pages; no study behind it.
STEPS = (
    "Draw a knife through the icing, about 1 in (25 mm) deep, and count the seconds until the top is level again.",
    "10 to 15 s floods a cookie; 20 to 25 s holds an outline; stiff icing keeps a peak and does not close.",
    "Too slow: stir in 1/4 tsp (1.2 ml) of water for each half to three quarters of a cup (120 to 180 ml) of "
    "icing, and count again. Too quick: stir in 1/2 tsp of confectioners' sugar.",
    "These are steps of common practice. Note two or more counts of your own (water added in g for 100 g of "
    "stiff icing, and the seconds), and the water is worked out from them.",
)
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Fit:
    """ln(seconds) = log_seconds + slope · (water − water_g), by least squares over her points.

    water_g, log_seconds        the means that the line goes through; water in g for 100 g of stiff icing.
    slope                       below 0, per g of water for 100 g.
    least_water, most_water     g for 100 g, between which her points lie.
    least_seconds, most_seconds the counts between which they lie.
    points                      how many were used.
    """

    water_g: float
    log_seconds: float
    slope: float
    least_water: float
    most_water: float
    least_seconds: float
    most_seconds: float
    points: int

    def water_for(self, seconds: float) -> float | None:
        """Water for these seconds, g for 100 g of stiff icing; None beyond her points, in water or in seconds."""
        if not self.least_seconds * (1 - _SLACK) <= seconds <= self.most_seconds * (1 + _SLACK):
            return None
        water = self.water_g + (math.log(seconds) - self.log_seconds) / self.slope
        slack = _SLACK * max(1.0, self.most_water)
        if not self.least_water - slack <= water <= self.most_water + slack:
            return None
        return min(max(water, self.least_water), self.most_water)


def fit_points(points: Sequence[tuple[float, float]]) -> tuple[Fit | None, str]:
    """The line through points (water in g for 100 g of stiff icing, seconds), and "" or why there is none.

    There is none with fewer than two amounts of water, with a count of 0 s, or where more
    water did not make the icing quicker.
    """
    if not points:
        return None, "No seconds-counts of your own are entered."
    if any(seconds <= 0 for _, seconds in points):
        return None, "A seconds-count of 0 cannot be used: correct it or take it out."
    waters = [water for water, _ in points]
    logs = [math.log(seconds) for _, seconds in points]
    mean_water = math.fsum(waters) / len(points)
    mean_log = math.fsum(logs) / len(points)
    spread = math.fsum((w - mean_water) ** 2 for w in waters)
    if len(set(waters)) < 2 or spread <= 0:
        return None, "The seconds-counts are all of one amount of water: test at least two."
    slope = math.fsum((w - mean_water) * (y - mean_log) for w, y in zip(waters, logs, strict=True)) / spread
    if slope >= 0:
        return None, (
            "By these seconds-counts more water does not make the icing quicker, so no line is drawn through "
            "them: test again."
        )
    seconds = [s for _, s in points]
    return Fit(mean_water, mean_log, slope, min(waters), max(waters), min(seconds), max(seconds), len(points)), ""


@dataclass(frozen=True, slots=True)
class Consistency:
    """How the icing is brought to the wanted seconds.

    wanted_seconds   the count asked for.
    water_g_per_100  water to stir into 100 g of stiff icing; None where her points do not tell.
    fit              the line through her points, or None.
    told             plain sentences, the steps of practice where there is no line.
    """

    wanted_seconds: float
    water_g_per_100: float | None
    fit: Fit | None
    told: tuple[str, ...]


def consistency(points: Sequence[tuple[float, float]], wanted_seconds: float) -> Consistency:
    """Water for the wanted seconds from her own points, or the steps of practice and why."""
    fit, why = fit_points(points)
    if fit is None:
        return Consistency(wanted_seconds, None, None, (why, *STEPS))
    water = fit.water_for(wanted_seconds)
    if water is None:
        why = (
            f"{wanted_seconds:g} s lies beyond your own tests ({fit.least_seconds:g} to {fit.most_seconds:g} s, "
            f"with {fit.least_water:g} to {fit.most_water:g} g of water for 100 g): test nearer to it, or "
            "wish for a count between them."
        )
        return Consistency(wanted_seconds, None, fit, (why, *STEPS))
    told = (
        f"For {wanted_seconds:g} s, {water:.1f} g of water for 100 g of stiff icing, by a line through "
        f"{fit.points} tests of your own.",
        "Add half of the water, count, then add the rest: humidity, powder and colour shift it from day to day.",
    )
    return Consistency(wanted_seconds, water, fit, told)
