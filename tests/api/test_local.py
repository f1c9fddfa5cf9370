"""Days, numbers and money against the Unicode CLDR, as Babel holds it."""

from __future__ import annotations

from datetime import date

import pytest
from babel import Locale
from babel.dates import format_date, get_date_format
from babel.numbers import format_currency, format_decimal
from flask.testing import FlaskClient

from api.local import Local

_DAY = date(2026, 12, 5)
_PLACES = (
    "en-US",
    "en-GB",
    "en-CA",
    "en-AU",
    "de-DE",
    "de-CH",
    "fr-FR",
    "nl-NL",
    "sv-SE",
    "pl-PL",
    "es-ES",
    "ja-JP",
)


@pytest.mark.parametrize("place", _PLACES)
@pytest.mark.parametrize("currency", ["USD", "EUR", "GBP", "JPY", "CHF"])
def test_money_is_written_as_the_cldr_says(place: str, currency: str) -> None:
    assert Local(place).money("1234.50", currency) == format_currency(
        1234.5, currency, locale=place.replace("-", "_")
    )


@pytest.mark.parametrize("place", _PLACES)
def test_numbers_have_the_cldrs_decimal_sign(place: str) -> None:
    theirs = format_decimal(0.75, "0.00", locale=place.replace("-", "_"))
    assert Local(place).number(0.75) == Local(place).number(0.754, 2) == theirs


@pytest.mark.parametrize("place", ["en-US", "en-GB", "en-CA", "en-AU"])
def test_an_english_speaking_place_writes_the_cldrs_full_date(place: str) -> None:
    assert Local(place).day(_DAY, long=True) == format_date(_DAY, "full", locale=place.replace("-", "_"))


@pytest.mark.parametrize("place", ["de-DE", "fr-FR", "nl-NL", "sv-SE", "hu-HU"])
def test_another_place_keeps_its_order_and_english_words(place: str) -> None:
    pattern = get_date_format("full", Locale.parse(place.replace("-", "_"))).pattern
    theirs = pattern.replace("EEEE", "Sat").replace("MMMM", "December").replace("y", "2026", 1)
    assert Local(place).day(_DAY) == theirs.replace(" d", " 5", 1).replace("'", "")


@pytest.mark.parametrize("place", [None, "es-ES", "ja-JP", "th-TH", "xx-nowhere"])
def test_where_a_date_would_need_other_words_it_is_plain_english(place: str | None) -> None:
    assert Local(place).day(_DAY) == "Sat 5 December 2026"


def test_without_a_place_money_has_two_decimals_and_its_code() -> None:
    assert Local().money("1234.5", "EUR") == "1234.50 EUR"
    assert Local().money(None, "EUR") == Local("de-DE").money(None, "EUR") == "–"
    assert Local("de-DE").money("not a sum", "EUR") == "not a sum"


@pytest.mark.parametrize(
    ("place", "typed", "read"),
    [("de-DE", "80,50", "80.50"), ("de-DE", "1.234,50", "1234.50"), ("de-DE", "80.5", "80.5"),
     ("en-US", "1,234.50", "1234.50"), ("en-US", "12,34", "12,34"), (None, "80,50", "80,50"), ("sv-SE", "", ""),
     (None, "£140", "140"), ("en-US", "$60", "60"), ("de-DE", "80,50 €", "80.50"), (None, "£", "£"),
     (None, "£a", "£a")],
)  # fmt: skip
def test_money_is_read_as_the_place_writes_it_and_left_alone_otherwise(
    place: str | None, typed: str, read: str
) -> None:
    assert Local(place).read_money(typed) == read


def test_the_page_writes_days_and_money_so_and_words_stay_english(client: FlaskClient) -> None:
    row = client.get("/api/v1/shelf").get_json()
    form = {"version": row["version"], "name": row["name"], "currency": "EUR", "locale": "de-DE", "region": "DE"}
    assert client.post("/shelf/place", data=form).status_code == 303
    assert "Sat, 5. December 2026; 1.234,50\xa0€" in client.get("/shelf/place").get_data(as_text=True)
    made = client.post("/orders", data={"customer": "the mill", "due": "2026-12-05", "total": "1.080,50"})
    text = client.get(made.headers["Location"]).get_data(as_text=True)
    assert "For Sat, 5. December 2026" in text
    assert "Still to pay: 1.080,50\xa0€" in text
    reply = client.post("/api/v1/requests", json={"text": "pirate kits for 5 December, please, 3 kits"}).get_json()
    assert "for Saturday, 5. December 2026" in reply["reply"]


def test_a_place_that_the_cldr_has_not_is_refused_and_what_was_typed_stays(client: FlaskClient) -> None:
    row = client.get("/api/v1/shelf").get_json()
    form = {"version": row["version"], "name": "my own name", "currency": "euro", "locale": "zz-ZZ", "region": ""}
    made = client.post("/shelf/place", data=form)
    text = made.get_data(as_text=True)
    assert made.status_code == 422
    assert "my own name" in text
    assert "such as en-US or de-DE" in text
    assert "such as EUR" in text
    assert client.get("/api/v1/shelf").get_json() == row
