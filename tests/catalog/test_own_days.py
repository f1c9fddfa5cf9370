"""Days as people note them: read where there is one reading, and both told where there are two."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.own_days import day_of, readings
from catalog.places import decimal_of, order_of
from themekit.errors import InvalidValue


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2027-03-31", "2027-03-31"), ("2027/3/1", "2027-03-01"), ("31.12.2027", "2027-12-31"),
        ("31/12/2027", "2027-12-31"), ("12/31/2027", "2027-12-31"), ("05/05/2027", "2027-05-05"),
        ("3.4.2027", "2027-04-03"), ("31 March 2027", "2027-03-31"), ("March 3, 2027", "2027-03-03"),
        ("3rd of Mar. 2027", "2027-03-03"), ("Sept 2027", "2027-09-30"), ("end of Feb 2028", "2028-02-29"),
        ("06/2027", "2027-06-30"), ("2027-06", "2027-06-30"), ("31-Dec-27", "2027-12-31"),
        ("2027-03-31 00:00:00", "2027-03-31"), ("Wednesday 31 March 2027", "2027-03-31"),
    ],
)  # fmt: skip
def test_days_with_one_reading(cell: str, day: str) -> None:
    assert day_of(cell) == day


def test_a_day_with_two_readings_is_never_guessed() -> None:
    with pytest.raises(InvalidValue) as caught:
        day_of("03/04/2027")
    hint = caught.value.problems[0].hint
    assert "2027-04-03 (day first)" in hint
    assert "2027-03-04 (month first)" in hint
    assert day_of("03/04/2027", "day first") == "2027-04-03"
    assert day_of("03/04/27", "month first") == "2027-03-04"


@pytest.mark.parametrize("cell", ["12/31/2027", "13-14-2027"])
def test_what_was_chosen_is_not_left_for_one_cell(cell: str) -> None:
    with pytest.raises(InvalidValue):
        day_of(cell, "day first")


@pytest.mark.parametrize(
    "cell", ["", "soon", "46112", "30 February 2027", "03/27", "2027", "next May", "0/0/0000", "31 Mar"]
)
def test_what_is_no_day_is_told(cell: str) -> None:
    with pytest.raises(InvalidValue) as caught:
        day_of(cell)
    assert caught.value.problems[0].hint


def test_a_month_is_no_day_of_use() -> None:
    with pytest.raises(InvalidValue):
        day_of("June 2027", month_end=False)


_SCRAPS = st.lists(
    st.sampled_from("0 1 9 12 13 31 03 04 27 2027 / - . , : T March mar may 1st of end".split()), max_size=8
)


@given(st.one_of(st.text(max_size=30), _SCRAPS.map("".join), _SCRAPS.map(" ".join)))
def test_no_cell_raises_anything_else(cell: str) -> None:
    for order in (None, "day first", "month first"):
        with suppress(InvalidValue):
            assert date.fromisoformat(day_of(cell, order)).isoformat() == day_of(cell, order)


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_both_ways_of_writing_a_day_lead_back_to_it(day: date) -> None:
    assert day_of(f"{day.day}/{day.month}/{day.year}", "day first") == day.isoformat()
    assert day_of(f"{day.month}/{day.day}/{day.year}", "month first") == day.isoformat()
    both = readings(f"{day.day}/{day.month}/{day.year}")
    assert not both or both["day first"] == day.isoformat()


@pytest.mark.parametrize(
    ("place", "order", "decimal"),
    [
        # Unicode CLDR, the short date and the decimal sign of each, as Babel carries them.
        ("en-US", "month first", "point"), ("US", "month first", "point"), ("US-CA", "month first", "point"),
        ("de-DE", "day first", "comma"), ("GB-ENG", "day first", "point"), ("FR", "day first", "comma"),
        ("CA", None, "point"), ("en", None, None), ("xx-nowhere", None, None), ("", None, None),
    ],
)  # fmt: skip
def test_what_is_usual_where_the_shelf_is(place: str, order: str | None, decimal: str | None) -> None:
    assert (order_of(place), decimal_of(place)) == (order, decimal)
