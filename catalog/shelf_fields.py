"""What a baker may say of the shelf itself: its name, money and place, and the standing recipes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from catalog.changes import check_recipes, shown_recipes
from catalog.fields import Checks
from catalog.rows import RECIPES, Record
from catalog.tables import ShelfTable
from themekit.errors import Problem
from themekit.make.settings import checked

DETAILS = ("name", "currency", "locale", "region")
_SET_BY_STORE = ("id", "version")


def check_details(checks: Checks, given: Mapping[str, Any]) -> Record:
    """Name, currency (ISO 4217), locale and region, clean; the name is required."""
    clean = {
        "name": checks.text("name", given.get("name"), required=True),
        "currency": checks.text("currency", given.get("currency")),
        "locale": checks.text("locale", given.get("locale"), longest=35),
        "region": checks.text("region", given.get("region")),
    }
    if clean["currency"] is not None and not re.fullmatch("[A-Z]{3}", clean["currency"]):
        checks.wrong("currency", given["currency"], "three capital letters of ISO 4217, such as EUR")
    if clean["locale"] is not None and not _known_locale(clean["locale"]):
        checks.wrong(
            "locale", given["locale"], "a language and a country of the Unicode CLDR, such as en-US or de-DE"
        )
    return clean


def _known_locale(text: str) -> bool:
    """Whether days, numbers and money can be written so; Babel is only loaded where a locale is told."""
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(text.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return False
    return True


def shelf_record(shelf: ShelfTable) -> Record:
    """The shelf in the API's form; `version` grows with every change of anything on it."""
    details = {name: getattr(shelf, name) for name in DETAILS}
    settings = shelf.settings or {}
    return {"id": shelf.id, "version": shelf.revision, **details, **shown_recipes(shelf), "settings": settings}


def merged_settings(old: Mapping[str, Any] | None, changes: Any) -> tuple[Record, list[Problem]]:
    """Settings that differ from the defaults, with `changes` over them, and every problem.

    None takes a setting back to its default; None for a group all of it.
    """
    if changes is None:
        return {}, []
    _, problems = checked(changes)
    if problems:
        return dict(old or {}), problems
    new = {group: dict(values) for group, values in (old or {}).items()}
    for group, values in changes.items():
        new[group] = {n: v for n, v in {**new.get(group, {}), **values}.items() if v is not None}
    return {group: values for group, values in new.items() if values}, []


def check_shelf_changes(shelf: ShelfTable, changes: Any) -> tuple[Record, dict[str, Record], list[Problem]]:
    """The details and recipes of `shelf` with `changes` over them, and every problem."""
    checks = Checks()
    known = (*DETAILS, *RECIPES, "settings")
    if not isinstance(changes, Mapping):
        checks.wrong("shelf", changes, "an object with " + ", ".join(known), "Send an object.")
        changes = {}
    for name in changes:
        if name in known:
            continue
        near = get_close_matches(str(name)[:60], known, n=1)
        hint = f"Did you mean {near[0]}?" if near else "Leave it out."
        if name in _SET_BY_STORE:
            hint = "It is set by the store; leave it out."
        path = str(name)[:60].encode("utf-8", "replace").decode()
        checks.wrong(path, changes[name], "one of the fields " + ", ".join(known), hint)
    old = {name: getattr(shelf, name) for name in DETAILS}
    details = check_details(checks, old | {n: v for n, v in changes.items() if n in DETAILS})
    given = {n: v for n, v in changes.items() if n in RECIPES}
    recipes, problems = check_recipes(given, shown_recipes(shelf))
    if "settings" in changes:
        recipes["settings"], more = merged_settings(shelf.settings, changes["settings"])
        problems = [*problems, *more]
    return details, recipes, [*checks.problems, *problems]
