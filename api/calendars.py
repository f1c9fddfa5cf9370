"""The question which days are ahead; like `api.questions`."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from api.answers import Json
from api.bodies import Body
from api.season_answers import days_told
from api.works import settings_of
from catalog import calendar
from catalog import lexicon as built_in
from catalog.store import Store
from themekit.errors import Problem
from themekit.make.settings import Settings
from themekit.season.selling import selling_days

CALENDAR = ("from", "to", "country", "region")
#: Days ahead that the calendar tells of unless asked for others.
USUAL_AHEAD = 120


def calendar_ahead(store: Store, shelf_id: int, body: Any, today: date) -> Json:
    """Feasts and holidays for {"from"?, "to"?, "country"?, "region"?}, with what to plan and by when.

    Country and region are the shelf's unless they are given.
    """
    checked = Body(body, CALENDAR)
    first, last = (_day(checked, name) for name in ("from", "to"))
    place = [_text(checked, name) for name in ("country", "region")]
    record, shelf = store.shelf_record(shelf_id), store.read(shelf_id)
    country, region, problems = _place(place[0], place[1], record["region"])
    checked.checks.problems += problems
    checked.done()
    first = first or today
    last = last or first + timedelta(days=USUAL_AHEAD)
    lexicon = built_in.lexicon()
    themes = (*shelf.themes, *lexicon.themes)
    settings = settings_of(record["settings"], None)
    found = calendar.events(first, last, country, region, themes)
    return {
        "from": first.isoformat(),
        "to": last.isoformat(),
        "country": country,
        "region": region,
        "note": None if country else "Name the shelf's country and region to see its own holidays too.",
        "items": [_event(e, settings, today) for e in found],
    }


def _text(checked: Body, name: str) -> str | None:
    given = checked.raw.get(name)
    told = str(given) if isinstance(given, int) and not isinstance(given, bool) else given
    return checked.checks.text(name, told, longest=20, required=name in checked.raw)


def _day(checked: Body, name: str) -> date | None:
    told = checked.checks.day(name, checked.raw.get(name))
    return date.fromisoformat(told) if told else None


def _place(
    country: str | None, region: str | None, of_shelf: str | None
) -> tuple[str | None, str | None, list[Problem]]:
    """Country and region asked for; else the shelf's, as far as its region names a country."""
    if country is not None:
        return calendar.place_of(country if region is None else f"{country}-{region}")
    found, of_country, problems = calendar.place_of(of_shelf)
    if region is None or found is None:
        if region is not None:
            hint = "Name the country too, or the shelf's region, such as US-CA."
            return None, None, [Problem("region", region, "a region of a country that is named", hint)]
        return (None, None, []) if problems and found is None else (found, of_country, [])
    return calendar.place_of(f"{found}-{region}")


def _event(event: calendar.Event, settings: Settings, today: date) -> Json:
    """A day ahead; where a theme suits it, by when kits have to be ready, and the days before that."""
    days = None
    if event.theme is not None:
        ready = event.day - timedelta(days=settings.work.ready_days_before)
        days = days_told(selling_days(ready, settings, today=today))
    return {
        "date": event.day.isoformat(),
        "name": event.name,
        "theme": event.theme,
        "public": event.public,
        "doubt": event.doubt or None,
        "source": event.source,
        "days": days,
    }
