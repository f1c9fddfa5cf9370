"""All settings together, and changes to them checked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any

from themekit.errors import Problem
from themekit.make.settings.base import Rule
from themekit.make.settings.contents import Contents
from themekit.make.settings.cost import Cost
from themekit.make.settings.dough import Dough
from themekit.make.settings.icing import Icing
from themekit.make.settings.label import Label
from themekit.make.settings.packing import Packing
from themekit.make.settings.work import Work


@dataclass(frozen=True, slots=True)
class Settings:
    """Every setting by group; the defaults are those of practice."""

    contents: Contents = field(default_factory=Contents)
    icing: Icing = field(default_factory=Icing)
    dough: Dough = field(default_factory=Dough)
    packing: Packing = field(default_factory=Packing)
    cost: Cost = field(default_factory=Cost)
    label: Label = field(default_factory=Label)
    work: Work = field(default_factory=Work)


GROUPS: tuple[str, ...] = tuple(f.name for f in fields(Settings))
_DEFAULTS = Settings()
_MOST_POINTS = 40


def rules() -> dict[str, dict[str, tuple[Any, Rule]]]:
    """Default and rule of every setting, by group and name."""
    return {
        group: {f.name: (f.default, f.metadata["rule"]) for f in fields(getattr(_DEFAULTS, group))}
        for group in GROUPS
    }


def checked(given: Any, base: Settings = _DEFAULTS, where: str = "settings") -> tuple[Settings, list[Problem]]:
    """`base` with the given settings over it, {"icing": {"film_mm": 2}}, and every problem.

    None sets one back to its default. Money may be a number or a text such as "12.50".
    """
    problems: list[Problem] = []
    if not isinstance(given, Mapping):
        problems.append(
            Problem(where, _shown(given), "an object of groups: " + ", ".join(GROUPS), "Send an object.")
        )
        return base, problems
    settings = base
    for group, changes in given.items():
        path = f"{where}.{_name(group)}"
        if group not in GROUPS:
            problems.append(
                Problem(path, _shown(changes), "one of the groups " + ", ".join(GROUPS), _near(group, GROUPS))
            )
            continue
        if not isinstance(changes, Mapping):
            problems.append(Problem(path, _shown(changes), "an object with settings", "Send an object."))
            continue
        known = {f.name: f for f in fields(getattr(base, group))}
        new: dict[str, Any] = {}
        for name, value in changes.items():
            there = f"{path}.{_name(name)}"
            if name not in known:
                problems.append(
                    Problem(there, _shown(value), "one of " + ", ".join(known), _near(name, tuple(known)))
                )
                continue
            default = known[name].default
            found, problem = _value(there, value, default, str(known[name].type), known[name].metadata["rule"])
            if problem:
                problems.append(problem)
            else:
                new[name] = found
        settings = replace(settings, **{group: replace(getattr(settings, group), **new)})
    return settings, problems


def _value(path: str, value: Any, default: Any, kind: str, rule: Rule) -> tuple[Any, Problem | None]:
    """One value as its field holds it, or the problem that it has."""
    if value is None:
        return default, None
    allowed = _allowed(kind, rule)
    made: Any = None
    if kind == "bool":
        made = value if isinstance(value, bool) else None
    elif kind == "str":
        made = _text(value, rule)
    elif kind.startswith("tuple"):
        made = _points(value, rule)
    elif "Decimal" in kind:
        made = _decimal(value, rule)
    elif kind.startswith("int"):
        made = value if isinstance(value, int) and not isinstance(value, bool) and _within(value, rule) else None
    elif isinstance(value, int | float) and not isinstance(value, bool) and _within(value, rule):
        made = float(value)
    if made is None:
        return None, Problem(path, _shown(value), allowed, "Correct it, or leave it out for the default.")
    return made, None


def _text(value: Any, rule: Rule) -> str | None:
    if not isinstance(value, str):
        return None
    if rule.choices:
        return value if value in rule.choices else None
    fits = len(value) <= (rule.most or 1000) and all(c.isprintable() or c == "\n" for c in value)
    return value if fits else None


def _decimal(value: Any, rule: Rule) -> Decimal | None:
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal) or len(str(value)) > 30:
        return None
    try:
        made = Decimal(str(value))
    except InvalidOperation:
        return None
    return made if made.is_finite() and _within(float(made), rule) else None


def _points(value: Any, rule: Rule) -> tuple[tuple[float, float], ...] | None:
    if not isinstance(value, list | tuple) or len(value) > _MOST_POINTS:
        return None
    made = []
    for point in value:
        if not isinstance(point, list | tuple) or len(point) != 2:
            return None
        if any(isinstance(v, bool) or not isinstance(v, int | float) or not _within(v, rule) for v in point):
            return None
        made.append((float(point[0]), float(point[1])))
    return tuple(sorted(made))


def _within(value: float, rule: Rule) -> bool:
    try:
        finite = math.isfinite(value)
    except OverflowError:
        return False
    least = -math.inf if rule.least is None else rule.least
    most = math.inf if rule.most is None else rule.most
    return finite and least <= value <= most


def _allowed(kind: str, rule: Rule) -> str:
    if rule.choices:
        return "one of " + ", ".join(rule.choices)
    if kind == "bool":
        return "true or false"
    if kind == "str":
        return f"a text of at most {rule.most or 1000:g} characters"
    span = f"from {rule.least:g} to {rule.most:g} {rule.unit}".strip()
    if kind.startswith("tuple"):
        return f"a list of at most {_MOST_POINTS} pairs {rule.unit}, each {span}"
    return f"a {'whole number' if kind.startswith('int') else 'number'} {span}"


def _near(name: Any, known: tuple[str, ...]) -> str:
    near = get_close_matches(str(name)[:60], known, n=1)
    return f"Did you mean {near[0]}?" if near else "Leave it out."


def _name(name: Any) -> str:
    return str(name)[:60].encode("utf-8", "replace").decode()


def _shown(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, str | int | float | bool) or value is None:
        text = str(value)
        return value if len(text) <= 60 else text[:59].encode("utf-8", "replace").decode() + "…"
    return f"a {type(value).__name__}"
