"""How far the work is behind a request under way: told to its own shelf, stopped without any change."""

from __future__ import annotations

from io import BytesIO

import pytest
from flask.testing import FlaskClient

from api.service import EXTENSION
from api.underway import MOST, Stopped, Underway
from catalog.store import Store

ROWS = "Sprinkle,Type,Colour\n" + "".join(f"jar {n},nonpareils,teal\n" for n in range(100))


def test_it_is_told_to_its_own_shelf_while_it_is_under_way() -> None:
    underway = Underway()
    with underway.of(1, "a") as tell:
        assert underway.done(1, "a") == (0, 0)
        tell(3, 7)
        assert (underway.done(1, "a"), underway.done(2, "a"), underway.done(1, "b")) == ((3, 7), None, None)
    assert underway.done(1, "a") is None


def test_what_is_stopped_ends_at_its_next_word_and_only_that() -> None:
    underway = Underway()
    with underway.of(1, "a") as tell, underway.of(1, "b") as other:
        underway.stop(2, "a")
        tell(1, 2)
        underway.stop(1, "a")
        with pytest.raises(Stopped):
            tell(2, 2)
        other(1, 2)
        assert underway.done(1, "b") == (1, 2)


def test_a_name_that_is_taken_blank_or_one_too_many_is_told_to_nobody() -> None:
    underway = Underway()
    with underway.of(1, "a"), underway.of(1, "a") as second, underway.of(1, "") as blank:
        second(5, 9)
        blank(5, 9)
        assert (underway.done(1, "a"), underway.done(1, "")) == ((0, 0), None)
    several = [underway.of(1, str(n)) for n in range(MOST + 1)]
    for one in several:
        one.__enter__()
    assert underway.done(1, str(MOST)) is None
    for one in several:
        one.__exit__(None, None, None)
    assert underway.done(1, "0") is None


def test_a_list_tells_every_row_and_a_stop_brings_nothing_in(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    service = client.application.extensions[EXTENSION]
    told: list[tuple[int, int]] = []

    class Watched(Underway):
        """Remembers what was told, and stops once `stop_at` rows are done."""

        stop_at = 1_000

        def done_(self, done: int, of: int) -> None:
            told.append((done, of))
            if done >= self.stop_at:
                raise Stopped("Stopped.")

    watched = Watched()
    of = watched.of

    def watching(shelf_id: int, name: str):  # type: ignore[no-untyped-def]
        with of(shelf_id, name):
            yield watched.done_

    from contextlib import contextmanager

    monkeypatch.setattr(watched, "of", contextmanager(watching))
    monkeypatch.setattr(service, "underway", watched)
    sent = {"underway": "x", "step": "try"}
    page = client.post("/shelf/bring", data={**sent, "sheet": (BytesIO(ROWS.encode()), "mine.csv")})
    assert page.status_code == 200
    assert told == sorted(told)
    assert (told[0], told[-1][1]) == ((0, 100), 100)
    assert told[-1][0] >= 80
    told.clear()
    watched.stop_at = 50
    before = client.get("/api/v1/jars").get_json()["total"]
    page = client.post("/shelf/bring", data={"underway": "x", "sheet": (BytesIO(ROWS.encode()), "mine.csv")})
    assert page.status_code == 422
    assert "Stopped." in page.get_data(as_text=True)
    assert client.get("/api/v1/jars").get_json()["total"] == before


def test_who_asks_for_nothing_is_told_so(client: FlaskClient) -> None:
    assert client.get("/underway/none").get_json() == {"done": 0, "of": 0}
    assert client.post("/underway/none/stop").status_code == 204
