"""Feasts and holidays against published rules and dates, and the words that go with them.

Dates of the table below: Western Easter and what follows from it as in the documentation of
dateutil.easter (method 3) and the public list of Easter dates 2024–2030 of the repository
fengineering-ch/x13tbx; Thanksgiving, Mother's and Father's Day by their rules (5 U.S.C.
6103 for Thanksgiving and Columbus Day, the fourth Thursday of November and the second
Monday of October); Canadian Thanksgiving and Victoria Day by the Holidays Act, R.S.C. 1985,
c. H-5; 25 Kislev, 15 Nisan and 1 Shawwal by the arithmetic of convertdate 2.5.1.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from catalog.calendar import FEASTS, Event, easter_of, events, monday_before, nth, place_of
from catalog.lexicon import lexicon
from themekit.errors import InvalidValue

PUBLISHED = """
US easter 2026-04-05 2027-03-28 2028-04-16
US mardi gras 2026-02-17 2027-02-09 2028-02-29
GB shrove tuesday 2026-02-17 2027-02-09 2028-02-29
GB mother's day 2026-03-15 2027-03-07 2028-03-26
US mother's day 2026-05-10 2027-05-09 2028-05-14
CA mother's day 2026-05-10 2027-05-09 2028-05-14
US father's day 2026-06-21 2027-06-20 2028-06-18
GB father's day 2026-06-21 2027-06-20 2028-06-18
CA canadian thanksgiving 2026-10-12 2027-10-11 2028-10-09
US thanksgiving 2026-11-26 2027-11-25 2028-11-23
US lunar new year 2026-02-17 2027-02-06 2028-01-26
US diwali 2026-11-08 2027-10-29 2028-10-17
US hanukkah 2026-12-05 2027-12-25 2028-12-13
US passover 2026-04-02 2027-04-22 2028-04-11
US valentine's day 2026-02-14 2027-02-14 2028-02-14
US halloween 2026-10-31 2027-10-31 2028-10-31
GB bonfire night 2026-11-05 2027-11-05 2028-11-05
CA canada day 2026-07-01 2027-07-01 2028-07-01
""".strip().splitlines()
EID = {2026: date(2026, 3, 20), 2027: date(2027, 3, 10), 2028: date(2028, 2, 27)}


def _year(year: int, country: str | None, region: str | None = None) -> tuple[Event, ...]:
    return events(date(year, 1, 1), date(year, 12, 31), country, region, lexicon().themes)


def _days(year: int, country: str | None, theme: str, region: str | None = None) -> list[date]:
    return [e.day for e in _year(year, country, region) if e.theme == theme]


@pytest.mark.parametrize("line", PUBLISHED)
def test_dates_as_published(line: str) -> None:
    country, rest = line.split(" ", 1)
    theme, *days = rest.rsplit(" ", 3)
    for year, day in zip((2026, 2027, 2028), days, strict=True):
        assert _days(year, country, theme) == [date.fromisoformat(day)]


@pytest.mark.parametrize("year", sorted(EID))
def test_eid_is_near_the_arithmetic_calendar_and_says_that_it_may_move(year: int) -> None:
    """Within the day or two by which the moon is seen."""
    (eid,) = [e for e in _year(year, "GB", "ENG") if e.theme == "eid al-fitr"]
    assert abs((eid.day - EID[year]).days) <= 1
    assert "1–2 days" in eid.doubt
    assert "sighting" in eid.doubt


def _western(year: int) -> date:
    """Easter by Meeus, Astronomical Algorithms (2nd ed. 1998), chapter 8, written from memory."""
    a, b, c = year % 19, year // 100, year % 100
    d, e = divmod(b, 4)
    f = (b + 8) // 25
    g = (b - f + 1) // 3
    h = (19 * a + b - d - g + 15) % 30
    i, k = divmod(c, 4)
    m = (32 + 2 * e + 2 * i - h - k) % 7
    n = (a + 11 * h + 22 * m) // 451
    month, day = divmod(h + m - 7 * n + 114, 31)
    return date(year, month, day + 1)


def _julian(year: int) -> date:
    """Easter of the Julian calendar by the same chapter, as a Gregorian day of 1900–2099 (13 days later)."""
    a, b, c = year % 4, year % 7, year % 19
    d = (19 * c + 15) % 30
    e = (2 * a + 4 * b - d + 34) % 7
    month, day = divmod(d + e + 114, 31)
    return date(year, month, day + 1) + timedelta(days=13)


def test_easter_by_another_method() -> None:
    """Every year that is covered, Western and Orthodox."""
    for year in range(2000, 2100):
        assert easter_of(year) == _western(year)
        assert easter_of(year, orthodox=True) == _julian(year)
    assert _days(2026, "GR", "easter") == [_western(2026), _julian(2026)]


def test_rules_for_weekdays() -> None:
    """The first, the last and the one before a day, also where a month begins or ends with it."""
    assert nth(1, 6, 11)(2026) == date(2026, 11, 1)
    assert nth(-1, 0, 8)(2026) == date(2026, 8, 31)
    assert nth(-1, 6, 12)(2026) == date(2026, 12, 27)
    assert [monday_before(5, 25)(y) for y in (2026, 2027, 2028)] == [
        date(2026, 5, 18), date(2027, 5, 24), date(2028, 5, 22),
    ]  # fmt: skip


def test_victoria_day_of_the_list_is_the_monday_before_25_may() -> None:
    for year in (2026, 2027, 2028):
        (day,) = [e.day for e in _year(year, "CA") if e.name == "Victoria Day"]
        assert day == monday_before(5, 25)(year)


def test_a_region_has_its_own_days() -> None:
    """Easter Monday is a holiday in England, not in Scotland; Burns Night is Scotland's."""
    assert "Easter Monday" in {e.name for e in _year(2026, "GB", "ENG")}
    assert "Easter Monday" not in {e.name for e in _year(2026, "GB", "SCT")}
    assert _days(2026, "GB", "burns night", "SCT") == [date(2026, 1, 25)]
    assert _days(2026, "GB", "burns night", "ENG") == []


def test_without_a_country_only_what_is_kept_everywhere_is_told() -> None:
    themes = {e.theme for e in _year(2026, None)}
    assert {"christmas", "easter", "diwali", "lunar new year", "halloween"} <= themes
    assert not {"thanksgiving", "canada day", "mother's day"} & themes
    assert not any(e.public for e in _year(2026, None))


def test_every_feast_has_a_built_in_theme_and_comes_once() -> None:
    names = {theme.name for theme in lexicon().themes}
    assert {feast.theme for feast in FEASTS} <= names
    for country in ("US", "GB", "CA", "DE", "AU"):
        found = _year(2027, country)
        keys = [(e.day, e.theme or e.name) for e in found]
        assert len(keys) == len(set(keys))
        assert [e.day for e in found] == sorted(e.day for e in found)
    named = {e.name for e in _year(2027, "US")}
    assert {"Eid al-Fitr", "Mid-Autumn Festival", "4th of July", "Day of the Dead"} <= named


def test_public_holidays_are_marked_and_told_once() -> None:
    found = {e.name: e for e in _year(2026, "US", "CA")}
    assert found["Christmas"].public
    assert found["Thanksgiving"].public
    assert not found["Hanukkah"].public
    assert "Juneteenth National Independence Day" not in found
    assert found["Juneteenth"].public
    assert found["Memorial Day"].theme is None
    assert not any("observed" in name for name in found)


def test_places_are_read_and_refused_plainly() -> None:
    assert place_of("US-CA") == ("US", "CA", [])
    assert place_of(" gb-eng ") == ("GB", "ENG", [])
    assert place_of("DE") == ("DE", None, [])
    assert place_of(None) == (None, None, [])
    assert [p.field for p in place_of("Atlantis")[2]] == ["country"]
    country, region, (problem,) = place_of("GB-XX")
    assert (country, region, problem.field) == ("GB", None, "region")
    assert "ENG" in problem.allowed


def test_days_out_of_order_or_range_are_refused() -> None:
    """Every problem at once."""
    with pytest.raises(InvalidValue) as error:
        events(date(1999, 1, 1), date(1998, 1, 1), None)
    assert sorted(p.field for p in error.value.problems) == ["from", "to", "to"]
    with pytest.raises(InvalidValue):
        events(date(2026, 1, 1), date(2028, 12, 31), None)
    assert events(date(2026, 12, 25), date(2026, 12, 25), None)[0].theme == "christmas"
