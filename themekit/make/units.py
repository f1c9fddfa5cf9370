"""Kitchen units: exact factors, conversions, and amounts as people write them.

US customary units are those of NIST Handbook 44, Appendix C: the inch is 25.4 mm, the
pound 453.59237 g and the gallon 231 cubic inches, all exact; NIST SP 430 gives the spoons
and cups in whole parts of them. The units of US nutrition labels are rounder by rule
(21 CFR 101.9(b)(5)(viii)) and stand apart as "label tsp" and so on: the two sets differ by
1.4 %, enough to turn a rounded figure on a label.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from themekit.errors import Problem, raise_all

System = Literal["metric", "US"]

INCH_MM = 25.4
LB_G = 453.59237
OZ_G = LB_G / 16
CUP_ML = 231 * 2.54**3 / 16
FL_OZ_ML = CUP_ML / 8
TBSP_ML = CUP_ML / 16
TSP_ML = CUP_ML / 48

#: What each unit measures, and how much of g, mL or mm one of it is.
UNITS: Mapping[str, tuple[str, float]] = MappingProxyType(
    {
        "g": ("mass", 1.0), "kg": ("mass", 1000.0), "oz": ("mass", OZ_G), "lb": ("mass", LB_G),
        "label oz": ("mass", 28.0),
        "ml": ("volume", 1.0), "l": ("volume", 1000.0), "tsp": ("volume", TSP_ML), "tbsp": ("volume", TBSP_ML),
        "fl oz": ("volume", FL_OZ_ML), "cup": ("volume", CUP_ML),
        "label tsp": ("volume", 5.0), "label tbsp": ("volume", 15.0), "label fl oz": ("volume", 30.0),
        "label cup": ("volume", 240.0),
        "mm": ("length", 1.0), "cm": ("length", 10.0), "in": ("length", INCH_MM),
    }
)  # fmt: skip

#: Grams in one US tablespoon of what icing is made of. USDA National Nutrient Database, Release 28
#: (nos. 19336 unsifted, 01124, 01145), cup weights over 16; cup and spoon weights of that table differ
#: by up to 7 %, so nothing here is closer. Meringue powder: two recipe pages, ± 8 %. Milk from memory.
TBSP_G: Mapping[str, float] = MappingProxyType(
    {
        "confectioners' sugar": 7.5,
        "meringue powder": 10.5,
        "pasteurised egg white": 15.2,
        "water": 14.8,
        "butter": 14.2,
        "milk": 15.25,
    }
)

_QUARTERS = {0: "", 1: "1/4", 2: "1/2", 3: "3/4"}
_EIGHTHS = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}


def convert(amount: float, unit: str, to: str) -> float:
    """`amount` of one unit in another of the same kind, without rounding.

    Raises `InvalidValue`, every problem at once, for a unit that is not in `UNITS`, for two
    units of different kinds (grams and spoons need a density), and for an amount that is not finite.
    """
    problems = [
        Problem(field, got, "one of " + ", ".join(UNITS), "Choose a unit of the list.")
        for field, got in (("unit", unit), ("to", to))
        if got not in UNITS
    ]
    if not problems and UNITS[unit][0] != UNITS[to][0]:
        allowed = "a unit of " + UNITS[unit][0]
        problems.append(Problem("to", to, allowed, "A density is needed between mass and volume."))
    if not math.isfinite(amount):
        problems.append(Problem("amount", str(amount), "a finite number", "Give a number."))
    raise_all(problems, "The amount cannot be converted.")
    return amount * UNITS[unit][1] / UNITS[to][1]


def celsius(fahrenheit: float) -> float:
    """A temperature in °C."""
    return (fahrenheit - 32) / 1.8


def nearest(value: float, step: float) -> int:
    """How many whole steps `value` ≥ 0 is nearest to; a half goes up."""
    return math.floor(value / step + 0.5)


def mass(grams: float, system: System = "metric") -> str:
    """Grams ≥ 0 as people write them: "340 g", "1.25 kg"; "12 oz", "1 lb 4 1/2 oz".

    Metric: hundredths below 1 g, tenths below 100 g, whole grams below 1 kg. US: quarter
    ounces below a pound, half ounces below ten pounds, whole ounces beyond.
    """
    _check("grams", grams)
    return _us_mass(grams) if system == "US" else _metric(grams, "g", "kg")


def volume(ml: float, system: System = "metric") -> str:
    """Millilitres ≥ 0 as people write them: "15 ml"; US spoons and cups as of `spoons`."""
    _check("ml", ml)
    return spoons(ml) if system == "US" else _metric(ml, "ml", "l")


def spoons(ml: float) -> str:
    """A volume ≥ 0 in US spoons and cups: "1 1/2 tsp", "2 tbsp 1/2 tsp", "1 1/4 cups 1 tbsp".

    To quarter teaspoons below a tablespoon, half teaspoons below a quarter cup, tablespoons
    below four cups, quarter cups beyond; so at most 1/8 tsp, 1/4 tsp, 1/2 tbsp, 1/8 cup off.
    """
    _check("ml", ml)
    quarters = nearest(ml, TSP_ML / 4)
    if quarters == 0:
        return "0 tsp" if ml == 0 else "under 1/4 tsp"
    if quarters < 12:
        return f"{_parts(quarters, 4, _QUARTERS)} tsp"
    halves = nearest(ml, TSP_ML / 2)
    if halves < 24:
        tbsp, rest = divmod(halves, 6)
        return _joined(f"{tbsp} tbsp", f"{_parts(rest * 2, 4, _QUARTERS)} tsp" if rest else "")
    tbsp = nearest(ml, TBSP_ML)
    if tbsp < 64:
        quarter_cups, rest = divmod(tbsp, 4)
        return _joined(_cups(quarter_cups), f"{rest} tbsp" if rest else "")
    return _cups(nearest(ml, CUP_ML / 4))


def spoonfuls(name: str, grams: float) -> str | None:
    """An ingredient of `TBSP_G` in US spoons and cups, good to ± 7 %; None for any other."""
    _check("grams", grams)
    weight = TBSP_G.get(name)
    return None if weight is None else spoons(grams / weight * TBSP_ML)


def length(mm: float, system: System = "metric") -> str:
    """A length ≥ 0: "76 mm"; in inches to eighths, "3 1/8 in"."""
    _check("mm", mm)
    if system == "metric":
        return f"{nearest(mm, 1)} mm" if mm >= 10 else f"{_number(mm, 1)} mm"
    eighths = nearest(mm, INCH_MM / 8)
    return "under 1/8 in" if eighths == 0 and mm > 0 else f"{_parts(eighths, 8, _EIGHTHS)} in"


def temperature(c: float, system: System = "metric") -> str:
    """An oven's heat: "177 °C"; in °F to the 5 that its dial shows, "350 °F"."""
    if system == "metric":
        return f"{round(c)} °C"
    return f"{5 * round((c * 1.8 + 32) / 5)} °F"


def _check(field: str, value: float) -> None:
    if not 0 <= value < math.inf:
        raise_all([Problem(field, str(value), "0 or more, and finite", "Correct the amount.")])


def _metric(value: float, small: str, large: str) -> str:
    if value == 0:
        return f"0 {small}"
    if value < 0.005:
        return f"under 0.01 {small}"
    if value < 0.995:
        return f"{_number(value, 2)} {small}"
    if value < 99.95:
        return f"{_number(value, 1)} {small}"
    if value < 999.5:
        return f"{nearest(value, 1)} {small}"
    return f"{_number(value / 1000, 2)} {large}"


def _us_mass(grams: float) -> str:
    quarters = nearest(grams, OZ_G / 4)
    if quarters < 64:
        return "under 1/4 oz" if quarters == 0 and grams > 0 else f"{_parts(quarters, 4, _QUARTERS)} oz"
    halves = nearest(grams, OZ_G / 2)
    if halves >= 320:
        halves = 2 * nearest(grams, OZ_G)
    pounds, rest = divmod(halves, 32)
    return _joined(f"{pounds} lb", f"{_parts(rest * 2, 4, _QUARTERS)} oz" if rest else "")


def _cups(quarters: int) -> str:
    return f"{_parts(quarters, 4, _QUARTERS)} {'cups' if quarters > 4 else 'cup'}"


def _parts(count: int, whole: int, names: Mapping[int, str]) -> str:
    """`count` parts of a whole as a mixed number."""
    full, rest = divmod(count, whole)
    return _joined(str(full) if full or not rest else "", names[rest])


def _number(value: float, places: int) -> str:
    """A number with at most so many decimals, a half rounded up."""
    scale = 10**places
    text = f"{math.floor(value * scale + 0.5) / scale:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _joined(*words: str) -> str:
    return " ".join(word for word in words if word)
