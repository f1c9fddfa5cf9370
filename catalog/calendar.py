"""The calendar ahead: feasts and seasons of a country and region, each with its built-in theme.

Public holidays come from the `holidays` package, Easter from `dateutil.easter` (method 3
Western, 2 Orthodox). Which theme a day stands for, and days that no law names, are in
`FEASTS` below: rules by common usage.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

import holidays
from dateutil.easter import EASTER_ORTHODOX, EASTER_WESTERN, easter

from catalog.fields import name_key
from themekit.errors import Problem, raise_all
from themekit.values import Theme

#: Years that all lists used below cover; India's, which gives Diwali, ends first.
FIRST_YEAR, LAST_YEAR = 2001, 2035
MOST_DAYS = 800
#: Days that count as the coming weeks.
COMING_DAYS = 70
SIGHTING = "±1–2 days by the sighting of the moon"
_ENGLISH = "en_US"
_NORTH = ("US", "CA")
_ISLES = ("GB", "IE")
_DOWN_UNDER = ("AU", "NZ")
_ORTHODOX = ("GR", "CY", "RO", "BG", "RS", "UA", "GE", "MD", "MK", "ME", "BY", "RU")

_DAYS_OF_A_FEAST = 3
_SMALL = ("of", "the", "de", "to", "al")

When = Callable[[int], date | None]


@dataclass(frozen=True, slots=True)
class Event:
    """A day ahead. `theme` is the name of a built-in or own theme, None where none suits.

    public  whether it is a public holiday of that country and region.
    doubt   how sure the date is, "" where it is certain.
    source  what the date follows from.
    """

    day: date
    name: str
    theme: str | None
    public: bool
    doubt: str
    source: str


@dataclass(frozen=True, slots=True)
class Feast:
    """A rule for one day of each year; `where` are countries or regions, none means everywhere."""

    theme: str
    when: When
    source: str
    where: tuple[str, ...] = ()
    name: str = ""
    doubt: str = ""


def on(month: int, day: int) -> When:
    """The same day every year."""
    return lambda year: date(year, month, day)


def nth(number: int, weekday: int, month: int) -> When:
    """The so-manieth weekday (0 Monday) of a month; −1 is the last."""

    def find(year: int) -> date:
        if number < 0:
            last = date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)
            return last - timedelta(days=(last.weekday() - weekday) % 7)
        first = date(year, month, 1)
        return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (number - 1))

    return find


def monday_before(month: int, day: int) -> When:
    """The last Monday before a day."""

    def find(year: int) -> date:
        before = date(year, month, day) - timedelta(days=1)
        return before - timedelta(days=before.weekday())

    return find


def from_easter(days: int, orthodox: bool = False) -> When:
    """So many days after Easter Sunday; below 0 before it."""
    return lambda year: easter_of(year, orthodox) + timedelta(days=days)


def easter_of(year: int, orthodox: bool = False) -> date:
    """Easter Sunday of the Western or the Orthodox churches, as a day of our calendar."""
    found: date = easter(year, EASTER_ORTHODOX if orthodox else EASTER_WESTERN)
    return found


def listed(country: str, *names: str) -> When:
    """The first day of that name in a country's list; None where the list does not know it yet."""

    def find(year: int) -> date | None:
        found = [
            day
            for day, told in _country(country, None, year)
            for one in told.split(";")
            if _plain(one) in names and "observed" not in one
        ]
        return min(found, default=None)

    return find


def hanukkah(year: int) -> date | None:
    """The first day of Hanukkah that begins in that year; lists name all eight of them."""
    days = sorted(d for d, told in _country("IL", None, year) if "Hanukkah" in told)
    starts = [d for d in days if d - timedelta(days=1) not in days and d.month > 10]
    return starts[0] if starts else None


_FIXED, _EASTER, _RULE = "fixed day", "dateutil.easter", "rule of common usage"


def _of(country: str) -> str:
    return f"holidays, {country}"


#: Sunday is 6. Lists of `holidays`: HK for Lunar New Year, IN for Diwali and Holi, IL for Jewish
#: feasts, SG for Eid (its dates are announced or worked out by calculation), IR for Nowruz.
FEASTS: tuple[Feast, ...] = (
    Feast("twelfth night", on(1, 6), _FIXED),
    Feast("burns night", on(1, 25), _FIXED, ("GB-SCT",)),
    Feast("australia day", on(1, 26), _FIXED, ("AU",)),
    Feast("groundhog day", on(2, 2), _FIXED, _NORTH),
    Feast("waitangi day", on(2, 6), _FIXED, ("NZ",)),
    Feast("lunar new year", listed("HK", "Chinese New Year"), _of("HK")),
    Feast("valentine's day", on(2, 14), _FIXED),
    Feast("mardi gras", from_easter(-47), _EASTER, ("US",)),
    Feast("shrove tuesday", from_easter(-47), _EASTER, (*_ISLES, *_DOWN_UNDER, "CA")),
    Feast("saint david's day", on(3, 1), _FIXED, ("GB-WLS",)),
    Feast("women's day", on(3, 8), _FIXED),
    Feast("saint patrick's day", on(3, 17), _FIXED, (*_NORTH, *_ISLES, *_DOWN_UNDER)),
    Feast("holi", listed("IN", "Holi"), _of("IN")),
    Feast("nowruz", listed("IR", "Nowruz"), _of("IR")),
    Feast("purim", listed("IL", "Purim"), _of("IL")),
    Feast("eid al-fitr", listed("SG", "Eid al-Fitr"), _of("SG"), doubt=SIGHTING),
    Feast("mother's day", from_easter(-21), _EASTER, _ISLES, "Mothering Sunday"),
    Feast("passover", listed("IL", "Pesach"), _of("IL"), doubt="begins the evening before"),
    Feast("good friday", from_easter(-2), _EASTER),
    Feast("easter", from_easter(0), _EASTER),
    Feast("easter", from_easter(0, True), _EASTER, _ORTHODOX, "Orthodox Easter"),
    Feast("saint george's day", on(4, 23), _FIXED, ("GB-ENG",)),
    Feast("earth day", on(4, 22), _FIXED),
    Feast("anzac day", on(4, 25), _FIXED, _DOWN_UNDER),
    Feast("cinco de mayo", on(5, 5), _FIXED, ("US", "MX")),
    Feast("mother's day", nth(2, 6, 5), _RULE, (*_NORTH, *_DOWN_UNDER, "DE", "AT", "CH", "IT", "NL", "BE", "DK")),
    Feast("whitsun", from_easter(49), _EASTER, ("GB", "DE", "AT", "CH", "NL", "BE", "DK", "NO")),
    Feast("eid al-adha", listed("SG", "Eid al-Adha"), _of("SG"), doubt=SIGHTING),
    Feast("graduation", on(6, 1), _RULE, _NORTH, doubt="a usual time; schools differ"),
    Feast("juneteenth", on(6, 19), _FIXED, ("US",)),
    Feast("father's day", nth(3, 6, 6), _RULE, (*_NORTH, *_ISLES, "FR", "NL")),
    Feast("father's day", from_easter(39), _EASTER, ("DE",)),
    Feast("father's day", nth(1, 6, 9), _RULE, _DOWN_UNDER),
    Feast("canada day", on(7, 1), _FIXED, ("CA",)),
    Feast("4th of july", on(7, 4), _FIXED, ("US",)),
    Feast("bastille day", on(7, 14), _FIXED, ("FR",)),
    Feast("back to school", on(8, 20), _RULE, ("US",), doubt="a usual time; schools differ"),
    Feast("back to school", on(9, 1), _RULE, ("CA", *_ISLES, "DE", "FR"), doubt="a usual time; schools differ"),
    Feast("rosh hashanah", listed("IL", "Rosh Hashanah"), _of("IL"), doubt="begins the evening before"),
    Feast("mid-autumn festival", listed("CN", "Mid-Autumn Festival"), _of("CN")),
    Feast("canadian thanksgiving", nth(2, 0, 10), _RULE, ("CA",)),
    Feast("diwali", listed("IN", "Diwali"), _of("IN"), doubt="a day earlier in some countries"),
    Feast("halloween", on(10, 31), _FIXED),
    Feast("day of the dead", on(11, 2), _FIXED, ("MX", "US")),
    Feast("bonfire night", on(11, 5), _FIXED, ("GB",)),
    Feast("remembrance day", on(11, 11), _FIXED, ("GB", "CA", *_DOWN_UNDER)),
    Feast("martinmas", on(11, 11), _FIXED, ("DE", "AT", "CH", "NL")),
    Feast("thanksgiving", nth(4, 3, 11), _RULE, ("US",)),
    Feast("saint andrew's day", on(11, 30), _FIXED, ("GB-SCT",)),
    Feast("saint nicholas day", on(12, 6), _FIXED, ("DE", "AT", "CH", "NL", "BE", "CZ", "PL", "HU")),
    Feast("saint lucia day", on(12, 13), _FIXED, ("SE", "NO", "DK", "FI")),
    Feast("hanukkah", hanukkah, _of("IL"), doubt="begins the evening before"),
    Feast("christmas", on(12, 25), _FIXED),
    Feast("boxing day", on(12, 26), _FIXED, (*_ISLES, *_DOWN_UNDER, "CA")),
    Feast("kwanzaa", on(12, 26), _FIXED, ("US",)),
    Feast("new year's eve", on(12, 31), _FIXED),
)  # fmt: skip


def place_of(text: str | None) -> tuple[str | None, str | None, list[Problem]]:
    """Country and region of "US-CA", "GB-ENG" or "DE" (ISO 3166), and what is wrong with them."""
    if text is None or not text.strip():
        return None, None, []
    country, _, region = text.strip().upper().partition("-")
    known = holidays.list_supported_countries(include_aliases=False)
    if country not in known:
        hint = "Use two letters, and the region after a hyphen where days differ by it."
        return None, None, [Problem("country", text, "a country of ISO 3166, such as US, CA, GB or DE", hint)]
    regions = [one.upper() for one in known[country]]
    if region and region not in regions:
        allowed = "one of " + ", ".join(known[country]) if regions else "no region: its days are the same all over"
        return country, None, [Problem("region", region, allowed, "Correct it, or leave it out.")]
    return country, known[country][regions.index(region)] if region else None, []


def events(
    first: date, last: date, country: str | None, region: str | None = None, themes: Sequence[Theme] = ()
) -> tuple[Event, ...]:
    """Feasts and public holidays from one day to another, both included, by day.

    Parameters
    ----------
    country  of ISO 3166, such as "GB"; None leaves public holidays and local feasts out.
    region   of that country as `holidays` names it, such as "ENG"; None: days of all of it.
    themes   the themes to find a public holiday's theme among, by name and alias.

    Raises `InvalidValue` for days out of order, too far apart or out of the years covered.
    """
    _check(first, last)
    here = {country, f"{country}-{region}"} if country else set()
    years = range(first.year, last.year + 1)
    found: dict[tuple[date, str], Event] = {}
    for year in years:
        for feast in FEASTS:
            day = feast.when(year) if not feast.where or here & set(feast.where) else None
            if day is not None:
                name = feast.name or _titled(feast.theme)
                key = (day, feast.theme)
                found[key] = Event(day, name, feast.theme, False, feast.doubt, feast.source)
        for day, told in _country(country, region, year) if country else ():
            for one in told.split(";"):
                _add_public(found, day, one.strip(), themes, str(country))
    kept = [e for e in found.values() if first <= e.day <= last]
    return tuple(sorted(kept, key=lambda e: (e.day, e.name)))


def coming(
    place: str | None, today: date, themes: Sequence[Theme] = (), days: int = COMING_DAYS
) -> tuple[Event, ...]:
    """The feasts with a theme of the coming weeks at a shelf's place; one that is unclear counts as none."""
    country, region, _ = place_of(place)
    last = min(today + timedelta(days=days), date(LAST_YEAR, 12, 31))
    if today.year < FIRST_YEAR or last < today:
        return ()
    return tuple(e for e in events(today, last, country, region, themes) if e.theme)


def _add_public(
    found: dict[tuple[date, str], Event], day: date, told: str, themes: Sequence[Theme], country: str
) -> None:
    name = _plain(told)
    theme = _theme_named(name, themes)
    doubt = "worked out by calculation" if "estimated" in told else ""
    for (that, of), event in list(found.items()):
        same = of == theme or name_key(event.name) == name_key(name)
        if that == day and (same or name_key(name).startswith(name_key(event.name))):
            found[that, of] = replace(event, public=True)
            return
        if same and abs((that - day).days) <= _DAYS_OF_A_FEAST:
            return  # a further day of the same feast
    if "observed" not in told:
        found.setdefault((day, name), Event(day, name, theme, True, doubt, _of(country)))


def _theme_named(name: str, themes: Iterable[Theme]) -> str | None:
    wanted = {name_key(name), name_key(name.removesuffix(" Sunday"))}
    for theme in themes:
        if wanted & {name_key(one) for one in (theme.name, *theme.aliases)}:
            return theme.name
    return None


def _check(first: date, last: date) -> None:
    problems = []
    for field, day in (("from", first), ("to", last)):
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            allowed = f"a day of the years {FIRST_YEAR} to {LAST_YEAR}"
            problems.append(Problem(field, day.isoformat(), allowed, "Correct the day."))
    if last < first:
        problems.append(Problem("to", last.isoformat(), f"{first.isoformat()} or later", "Swap the two days."))
    elif (last - first).days > MOST_DAYS:
        problems.append(
            Problem("to", last.isoformat(), f"at most {MOST_DAYS} days after from", "Ask for less at once.")
        )
    raise_all(problems, "These days cannot be looked up.")


@lru_cache(maxsize=256)
def _country(country: str, region: str | None, year: int) -> tuple[tuple[date, str], ...]:
    """One year's days of a country and region in English, of every category but school's and banks'."""
    cls = holidays.country_holidays(country)
    # Israel's list has the middle days of feasts among those of schools.
    left_out = {"bank", "workday", *(("school",) if country != "IL" else ())}
    wanted = tuple(c for c in cls.supported_categories if c not in left_out)
    language = _ENGLISH if _ENGLISH in cls.supported_languages else None
    with warnings.catch_warnings():
        # A list may say that it is incomplete for a year; what it knows is still told.
        warnings.simplefilter("ignore", UserWarning)
        days = holidays.country_holidays(country, subdiv=region, years=year, categories=wanted, language=language)
    return tuple(sorted(days.items()))


def _plain(name: str) -> str:
    """A holiday's name without what is said about it in brackets."""
    return name.split(" (")[0].strip()


def _titled(name: str) -> str:
    """A theme's name as a title: "Mid-Autumn Festival", "Eid al-Fitr"."""
    words = [
        "-".join(part if part in _SMALL else part[:1].upper() + part[1:] for part in word.split("-"))
        for word in name.split()
    ]
    return " ".join(words)
