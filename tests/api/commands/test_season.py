"""`themekit season` and `themekit calendar`: the service's answers as JSON, plain text for people."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from catalog.store import Store

SOON = (date.today() + timedelta(days=30)).isoformat()


@pytest.fixture
def today_client(store: Store) -> FlaskClient:
    """The service over the same shelf, with the same day as the command line: today."""
    return create_app(store).test_client()


def test_a_csv_and_json_give_the_services_answer(themekit: Any, today_client: FlaskClient, tmp_path: Path) -> None:
    """The same lines from either file; an empty theme is a free choice."""
    kits = [{"theme": "owl party", "kits": 4, "date": SOON}, {"kits": 3}]
    answer = today_client.post("/api/v1/season", json={"kits": kits}).get_data(as_text=True)
    sheet = tmp_path / "plan.csv"
    sheet.write_text(f"Theme,Kits,Date\nowl party,4,{SOON}\n,3,\n,,\n", "utf-8")
    plan = tmp_path / "plan.json"
    plan.write_text(json.dumps({"kits": kits}), "utf-8")
    for file in (sheet, plan):
        done = themekit("season", file, "--json")
        assert (done.code, done.err) == (0, "")
        assert done.out == answer + "\n"


def test_people_read_what_it_gains_and_each_line(themekit: Any, tmp_path: Path) -> None:
    sheet = tmp_path / "plan.csv"
    sheet.write_text(f"theme;kits;date\nowl party;4;{SOON}\npirates;900;\n", "utf-8")
    done = themekit("season", sheet, "--no-buying")
    assert done.code == 0
    text = " ".join(done.out.split())
    assert "Proven best of" in text
    assert f"1. owl party: 4 kits, for {SOON}" in text
    assert "Left out:" in text
    assert "Orders from" in text


@pytest.mark.parametrize(
    ("name", "content", "field"),
    [
        ("plan.csv", "theme,count\nowls,3\n", "columns"),
        ("plan.csv", "theme,kits\nowls,many\n", "kits.0.kits"),
        ("plan.csv", "theme,kits,date\nowls,3,soon\n", "kits.0.date"),
        ("plan.json", "{", "body"),
        ("plan.json", "[]", "body"),
        ("none.csv", None, "none.csv"),
        ("none.json", None, "path"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused(
    themekit: Any, tmp_path: Path, name: str, content: str | None, field: str
) -> None:
    if content is not None:
        (tmp_path / name).write_text(content, "utf-8")
    done = themekit("season", tmp_path / name)
    assert done.code == 2
    assert done.out == ""
    assert field in done.err


def test_the_calendar_is_the_services(themekit: Any, today_client: FlaskClient) -> None:
    answer = today_client.get("/api/v1/calendar?from=2027-01-01&to=2027-03-01&country=US-CA")
    asked = ("calendar", "--from", "2027-01-01", "--to", "2027-03-01", "--country", "US-CA")
    assert themekit(*asked, "--json").out == answer.get_data(as_text=True) + "\n"
    text = themekit(*asked).out
    assert "2027-02-14 Valentine's Day" in text
    assert "Orders from 2027-01-07 to 2027-02-04" in " ".join(text.split())
    refused = themekit("calendar", "--country", "Atlantis")
    assert refused.code == 2
    assert "country" in refused.err
