"""Customers' messages: what is read from them, on phrasings of our own.

Seen from Wednesday 25 November 2026. What a message leaves out is expected as None.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from catalog.lexicon import lexicon
from themekit.suggest.asked import Asked, ask
from themekit.suggest.when import Day, resolved
from themekit.values import Shelf

TODAY = date(2026, 11, 25)
NUTS = {"peanut", "tree nut"}
WHEAT = {"gluten", "wheat"}


def read(text: str) -> Asked:
    return ask(text, Shelf(1, "for tests"), lexicon())


def day_of(asked: Asked) -> date | None:
    found = [resolved(day, TODAY).day for day in asked.request.values("date")]
    return found[0] if found else None


#: message, kits, day, youngest age, allergens
PHRASINGS: list[tuple[str, int | None, date | None, int | None, set[str]]] = [
    ("owl party on 5 December, twelve kits, no milk, one child is three", 12, date(2026, 12, 5), 3, {"milk"}),
    ("Owl party, 12 kits, 5th December", 12, date(2026, 12, 5), None, set()),
    ("We need 20 dinosaur kits for December 12th please", 20, date(2026, 12, 12), None, set()),
    ("20 kits dinosaurs, dec 12", 20, date(2026, 12, 12), None, set()),
    ("a dozen unicorn kits, no nuts", 12, None, None, NUTS),
    ("two dozen pirate kits by 2026-12-18", 24, date(2026, 12, 18), None, set()),
    ("pirates for 2027-01-09, 8 boxes", 8, date(2027, 1, 9), None, set()),
    ("rocket birthday 9 January, nine kids", 9, date(2027, 1, 9), None, set()),
    ("rocket birthday on 9 Jan 2027 for 9 children", 9, date(2027, 1, 9), None, set()),
    ("mermaids on the 3rd of April, dairy free", None, date(2027, 4, 3), None, {"milk"}),
    ("mermaids, April 3, dairy-free please", None, date(2027, 4, 3), None, {"milk"}),
    ("farm animals for my toddler", None, None, 2, set()),
    ("farm animals, youngest is 2", None, None, 2, set()),
    ("farm animals; the youngest guest will be four", None, None, 4, set()),
    ("farm animals for a 5 year old", None, None, 5, set()),
    ("farm animals for a five-year-old", None, None, 5, set()),
    ("space party for kids aged 6 to 9", None, None, 6, set()),
    ("space party, ages 6-9", None, None, 6, set()),
    ("she is turning 7, loves cats", None, None, 7, set()),
    ("cats, egg free, wheat free", None, None, None, {"egg", "wheat"}),
    ("cats without eggs or milk", None, None, None, {"egg", "milk"}),
    ("cats, no eggs, no milk, no sesame", None, None, None, {"egg", "milk", "sesame"}),
    ("cats. one girl is allergic to peanuts", None, None, None, {"peanut"}),
    ("cats. He has a nut allergy", None, None, None, NUTS),
    ("cats, my son is lactose intolerant", None, None, None, {"milk"}),
    ("cats for a coeliac friend", None, None, None, WHEAT),
    ("cats, gluten-free", None, None, None, WHEAT),
    ("cats, soy allergy and no almonds", None, None, None, {"soy", "tree nut"}),
    ("cats, free from egg", None, None, None, {"egg"}),
    ("cats, she can't have dairy", None, None, None, {"milk"}),
    ("30 christmas kits for Friday 18 December", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits, Friday, December 18", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits for 18.12.", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits for 18.12.2026", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits for 18/12", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits for 12/18", 30, date(2026, 12, 18), None, set()),
    ("30 christmas kits for 12/18/26", 30, date(2026, 12, 18), None, set()),
    ("snowman kits for tomorrow, 6 boxes", 6, date(2026, 11, 26), None, set()),
    ("snowman kits for Saturday", None, date(2026, 11, 28), None, set()),
    ("snowman kits this Friday", None, date(2026, 11, 27), None, set()),
    ("snowman kits for next Saturday", None, date(2026, 11, 28), None, set()),
    ("can you do hearts for Valentine, 14 Feb, 10 kits?", 10, date(2027, 2, 14), None, set()),
    ("10 heart kits 14th of February 2027", 10, date(2027, 2, 14), None, set()),
    ("baby shower in sage green, 15 guests", 15, None, None, set()),
    ("baby shower, fifteen guests, sage green", 15, None, None, set()),
    ("class of 28 pupils, apples and books", 28, None, None, set()),
    ("28 kids in class, apples and books, no nuts or sesame", 28, None, None, NUTS | {"sesame"}),
    ("forty mini kits with 4 cookies each, stars", 40, None, None, set()),
    ("one kit, stars", 1, None, None, set()),
    ("1 box with 6 cookies, stars", 1, None, None, set()),
    ("graduation on June 12, twenty five kits", 25, date(2027, 6, 12), None, set()),
    ("graduation June 12th 2027, 25 sets", 25, date(2027, 6, 12), None, set()),
    ("wedding favours in ivory and gold, 100 kits, 2027-08-21", 100, date(2027, 8, 21), None, set()),
    ("Hi! We'd like bees please, 7 kits, thank you so much", 7, None, None, set()),
    ("bees, no problem with nuts", None, None, None, set()),
    ("bees, the eldest is 9 and the youngest 4", None, None, 4, set()),
    ("bees, youngest 18 months", None, None, 1, set()),
    ("ladybirds, nut free, dairy free and egg free", None, None, None, NUTS | {"milk", "egg"}),
    ("foxes for the 31st of December, eleven kits", 11, date(2026, 12, 31), None, set()),
    ("foxes for 29 February, 5 kits", 5, date(2028, 2, 29), None, set()),
    ("tractor party, 16 kits, vegan", 16, None, None, set()),
    ("a midwife for forty years, 3 kits, babies", 3, None, None, set()),
    ("tractor party by Sunday 6 December, 16 kits", 16, date(2026, 12, 6), None, set()),
]


@pytest.mark.parametrize(
    ("text", "kits", "day", "age", "allergens"), PHRASINGS, ids=[p[0][:40] for p in PHRASINGS]
)
def test_a_message_is_read(
    text: str, kits: int | None, day: date | None, age: int | None, allergens: set[str]
) -> None:
    asked = read(text)
    assert next(iter(asked.request.values("kits")), None) == kits
    assert day_of(asked) == day
    assert asked.needs.youngest_age == age
    assert set(asked.needs.avoid_allergens) == allergens
    assert asked.reading.anchors, "the theme is read all the same"


def test_there_are_at_least_sixty_phrasings() -> None:
    assert len({p[0] for p in PHRASINGS}) >= 60


@pytest.mark.parametrize(
    ("text", "words"), [("owls, no glimmer please", "glimmer"), ("owls, without zorbing", "zorbing")]
)
def test_a_need_that_is_not_understood_is_listed(text: str, words: str) -> None:
    assert any(words in unknown for unknown in read(text).reading.unknown)


@pytest.mark.parametrize(
    ("text", "part"),
    [("owls 5/12", "12 May"), ("owls next Saturday", "5 December"), ("owls on Monday 5 December", "Saturday")],
)
def test_a_doubtful_day_is_said_to_be(text: str, part: str) -> None:
    (day,) = read(text).request.values("date")
    assert part in resolved(day, TODAY).doubt


@pytest.mark.parametrize("text", ["owls on 31 February", "owls 2026-13-40", "owls at 99/99"])
def test_a_day_that_there_is_not_is_not_read(text: str) -> None:
    assert day_of(read(text)) is None


def test_a_theme_named_after_a_weekday_is_no_date() -> None:
    asked = read("taco tuesday")
    assert not asked.request.values("date")


@pytest.mark.parametrize("ahead", range(0, 400, 7))
def test_a_day_without_a_year_is_the_next_one(ahead: int) -> None:
    wanted = TODAY + timedelta(days=ahead % 365)
    found = resolved(Day(wanted.month, wanted.day), TODAY).day
    assert found is not None
    assert TODAY <= found < TODAY + timedelta(days=366)
    assert (found.month, found.day) == (wanted.month, wanted.day)
