"""A form that is answered with a page is led to an address of that page: back and reload send nothing twice."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from api.answered import LIFE, MOST_OF_SHELF, Answered, InFolder, InMemory, answered

BROWSER = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
ORDER = {"customer": "the lighthouse school", "due": "2027-02-01", "total": "eighty"}


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = time.time()

    def __call__(self) -> float:
        return self.now


@pytest.fixture(params=["memory", "folder"])
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Answered:
    """Each way of keeping pages."""
    return InMemory() if request.param == "memory" else InFolder(tmp_path)


def test_a_page_is_found_by_its_name_and_shelf_alone(kept: Answered) -> None:
    assert kept.put(1, "a", b"typed")
    assert (kept.get(1, "a"), kept.get(1, "b"), kept.get(2, "a")) == (b"typed", None, None)


def test_the_oldest_of_a_shelf_goes_first_and_other_shelves_keep_theirs(kept: Answered, tmp_path: Path) -> None:
    kept.put(2, "other", b"theirs")
    for n in range(MOST_OF_SHELF + 3):
        kept.put(1, str(n), b"typed")
        for path in tmp_path.iterdir():  # a file system may not tell moments so near apart
            told = path.stat()
            os.utime(path, (told.st_atime, told.st_mtime - 1))
    assert [kept.get(1, str(n)) for n in (0, 2, 3)] == [None, None, b"typed"]
    assert kept.get(2, "other") == b"theirs"


def test_no_more_bytes_are_kept_than_may_be(kept: Answered, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.answered.MOST_BYTES", 400_000)
    assert not kept.put(1, "too large", os.urandom(100_001))
    for n in range(5):
        assert kept.put(n, "page", os.urandom(90_000))
        time.sleep(0.02)  # told apart by the file system
    assert [kept.get(n, "page") is not None for n in range(5)] == [False, True, True, True, True]


def test_a_page_lives_an_hour(tmp_path: Path) -> None:
    clock = Clock()
    memory = InMemory(clock)
    memory.put(1, "a", b"typed")
    folder = InFolder(tmp_path, clock)
    folder.put(1, "a", b"typed")
    (file,) = tmp_path.iterdir()
    os.utime(file, (clock.now, clock.now))
    clock.now += LIFE
    assert (memory.get(1, "a"), folder.get(1, "a")) == (b"typed", b"typed")
    clock.now += 1
    assert (memory.get(1, "a"), folder.get(1, "a")) == (None, None)
    assert list(tmp_path.iterdir()) == []


def test_what_is_forgotten_is_gone_for_that_shelf_alone(kept: Answered) -> None:
    kept.put(1, "a", b"typed")
    kept.put(11, "a", b"theirs")
    kept.forget(1)
    assert (kept.get(1, "a"), kept.get(11, "a")) == (None, b"theirs")


def test_files_are_for_their_owner_alone_and_named_for_nothing(tmp_path: Path) -> None:
    answered(str(tmp_path)).put(1, "secret", b"typed")
    (file,) = tmp_path.iterdir()
    assert file.stat().st_mode & 0o077 == 0
    assert "secret" not in file.name


def test_a_refused_form_has_an_address_that_shows_it_again(client: FlaskClient) -> None:
    led = client.post("/orders", data=ORDER, headers=BROWSER)
    assert led.status_code == 303
    address = led.headers["Location"]
    assert re.fullmatch(r"/orders\?answer=[\w-]{20,}", address)
    for _ in range(2):
        shown = client.get(address, headers=BROWSER)
        assert shown.status_code == 200
        assert 'value="the lighthouse school"' in shown.text
        assert 'value="eighty"' in shown.text
        assert shown.headers["Content-Security-Policy"].startswith("default-src 'none'")
        assert shown.headers["Cache-Control"] == "no-store"
    # Its own switches lead back to it, so that changing the units loses nothing.
    assert f'name="back" value="{address}"' in shown.text


def test_a_program_is_answered_at_once(client: FlaskClient) -> None:
    assert client.post("/orders", data=ORDER).status_code == 422
    assert client.post("/orders", data=ORDER, headers={"Accept": "*/*"}).status_code == 422


@pytest.mark.parametrize(
    ("sent_to", "data", "stands_at"),
    [
        ("/shelf/jars/new", {"name": ""}, "/shelf/jars/new"),
        ("/shelf/jars/1/count", {"kind": "counted", "amount": "much"}, "/shelf/jars/1"),
        ("/shelf/moves/999/undo", {"back": "/shelf/jars/1"}, "/shelf/jars/1"),
        ("/shelf/jars/many", {"name": "x"}, "/shelf/jars/many"),
        ("/shelf/bring", {}, "/shelf/bring"),
        ("/season", {"theme": "owls", "date": "", "kits": "many", "own": "1"}, "/season"),
        ("/season/promise", {"batches": "none"}, "/season"),
        ("/reply", {"text": "owls"}, "/reply"),
        ("/shelf/place", {"name": "x", "currency": "much"}, "/shelf/place"),
        ("/taste", {"kit": "t=zz", "back": "/?theme=owl&answer=old"}, "/?theme=owl"),
    ],
)
def test_every_form_that_is_refused_is_shown_where_it_stands(
    client: FlaskClient, sent_to: str, data: dict[str, str], stands_at: str
) -> None:
    led = client.post(sent_to, data=data, headers=BROWSER)
    assert led.status_code == 303
    address, _, name = led.headers["Location"].rpartition("answer=")
    assert address[:-1] == stands_at
    assert "answer" not in address
    assert 'role="alert"' in client.get(led.headers["Location"]).text, name


def test_a_kit_that_is_refused_lies_at_its_own_address(client: FlaskClient) -> None:
    found = re.search(r'href="(/kit\?[^"]+)"', client.get("/?theme=owl").text)
    assert found is not None
    address = found[1].replace("&amp;", "&")
    fields = re.findall(r'name="(t|j|c|theme)" value="([^"]*)"', client.get(address).text)
    sent = {name: [v for n, v in fields if n == name] for name in ("t", "j", "c")}
    led = client.post("/batches", data={**sent, "theme": "owl", "kits": "many"}, headers=BROWSER)
    assert led.status_code == 303
    assert re.match(r"/kit\?.*&answer=", led.headers["Location"])
    assert client.get(led.headers["Location"]).status_code == 200


def test_one_that_is_gone_says_so_and_leads_to_the_form(client: FlaskClient) -> None:
    shown = client.get("/shelf?what=gels&answer=none", headers=BROWSER)
    assert shown.status_code == 410
    assert 'href="/shelf?what=gels"' in shown.text


def test_an_answer_is_for_its_own_place_alone(client: FlaskClient) -> None:
    led = client.post("/orders", data=ORDER, headers=BROWSER).headers["Location"]
    assert client.get(led.replace("/orders", "/season")).status_code == 410


def test_erasing_an_order_erases_the_answers_too(client: FlaskClient) -> None:
    kept = client.post("/orders", data={**ORDER, "total": "80"}, headers=BROWSER).headers["Location"]
    led = client.post("/orders", data=ORDER, headers=BROWSER).headers["Location"]
    version = re.search(r'name="version" value="(\d+)"', client.get(kept).text)
    assert version is not None
    assert client.post(f"{kept}/erase", data={"version": version[1]}, headers=BROWSER).status_code == 303
    assert client.get(led).status_code == 410
