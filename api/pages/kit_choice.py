"""All that could stand in one place of a kit, to look through and take, with and without script."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from api.choices import FURTHER, choices, why_not, with_taken
from api.pages.kit_address import address, colour_of, fields_of, with_cutter
from api.tables import Laid, Spread, Table
from themekit.suggest.words import listed
from themekit.values import Lab

_PLACE = re.compile(r"([tj][0-2]|c(?:\d|1\d|n))(?:-([0-9a-f]{6}|\d{1,10}))?", re.IGNORECASE | re.ASCII)
#: What a person looks for in a list is no longer than this.
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of taking something: the kit with it, or in a plain sentence why it stays as it was."""

    laid: Laid | None
    place: str = ""
    told: str = ""


def taken(on: Spread, take: str, own: str, words: Mapping[str, Lab]) -> Taken:
    """Take what a form names, "j1-57" or "t0-1d8a8a", or for "t0" alone the colour that was typed."""
    match = _PLACE.fullmatch(take.strip())
    place = match[1].lower() if match else ""
    if not match or not there(on, place):
        return Taken(None, "", "This place is not in the kit, so nothing was changed.")
    name, value = "this colour", None  # type: str, Any
    if place[0] == "t":
        given = match[2] or own
        value = colour_of(given, words)
        if value is None:
            return Taken(
                None, place, f"“{given[:40]}” is no colour that can be read. Write one such as #2a9d8f, or teal."
            )
    else:
        things = on.suggester.shelf.jars if place[0] == "j" else on.suggester.shelf.cutters
        found = next((one for one in things if str(one.id) == match[2]), None)
        if found is None:
            return Taken(None, place, "This is no longer on the shelf, so nothing was changed.")
        name, value = found.name, found.id
        if value in (on.laid.jars if place[0] == "j" else [id for id, _ in on.laid.cuts]):
            return Taken(None, place, f"{name} is in the kit already.")
    why = why_not(on, place, value)
    if why:
        return Taken(None, place, f"{name[:1].upper()}{name[1:]} was not taken: it {listed(list(why))}.")
    return Taken(with_taken(on.laid, place, value), place)


def there(on: Spread, place: str) -> bool:
    """Whether a kit has a place, or room for a further cutter."""
    if place == FURTHER:
        return with_cutter(on.laid, 1) is not None
    return place[:1] in ("t", "j") or (place[:1] == "c" and int(place[1:]) < len(on.laid.cuts))


def to_choose(table: Table, place: str, sought: str) -> dict[str, Any] | None:
    """What the page shows of all that could stand in a place; None where the kit has no such place."""
    match = _PLACE.fullmatch(place.strip())
    if not match or match[2] or not there(table.on, match[1].lower()):
        return None
    place, sought = match[1].lower(), " ".join(sought.split())[:_LONGEST]
    words = sought.casefold().split()
    found = choices(table.on, place)
    shown = [one for one in found if all(word in one.value.name.casefold() for word in words)]
    return {
        "place": place,
        "sort": {"j": "jars", "c": "cutters", "t": "colours"}[place[0]],
        "fields": fields_of(table.laid),
        "sought": sought,
        "free": [one for one in shown if not one.why_not],
        "refused": [{"value": one.value, "why": listed(list(one.why_not))} for one in shown if one.why_not],
        "all": len(found),
        "close": address(table.laid),
    }


def all_of(laid: Laid, place: str) -> str:
    """Where everything that could stand in a place is shown."""
    return f"{address(laid)}&pick={place}"


__all__ = ["Taken", "all_of", "taken", "there", "to_choose"]
