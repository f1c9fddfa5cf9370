"""The season's page: nothing typed is lost, a plan can be watched, stopped and reloaded."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from html import unescape
from threading import Event
from typing import Any

import pytest
from flask.testing import FlaskClient

from api import seasons
from themekit.season.values import Progress, Stop

ROWS = (("owl party", "2026-12-12", "3", "1"), ("", "", "2", "1"))


def typed(*rows: tuple[str, str, str, str]) -> dict[str, list[str]]:
    return {name: [row[at] for row in rows] for at, name in enumerate(("theme", "date", "kits", "own"))}


def values(page: str, name: str) -> list[str]:
    """What stands in the fields of a name."""
    found = [re.search(r'value="([^"]*)"', tag) for tag in re.findall(rf'<input[^>]*name="{name}"[^>]*>', page)]
    return [unescape(one[1]) for one in found if one]


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """Plans that wait for a signal, or to be stopped."""
    go, real = Event(), seasons.season_work

    def slow(*given: Any) -> Callable[[Progress, Stop], Any]:
        work = real(*given)

        def waits(progress: Progress, stop: Stop) -> Any:
            progress("candidates", 0.4)
            while not (go.is_set() or stop()):
                time.sleep(0.005)
            return work(progress, stop)

        return waits

    monkeypatch.setattr(seasons, "season_work", slow)
    yield go
    go.set()


def shown(client: FlaskClient, address: str) -> str:
    """The page of a plan once it has ended."""
    for _ in range(2400):
        page = client.get(address).get_data(as_text=True)
        if "data-job" not in page:
            return page
        time.sleep(0.05)
    raise AssertionError("the plan never ends")


def test_all_that_was_typed_survives_an_error(client: FlaskClient) -> None:
    """Also kits typed beside a day of the calendar; each line is named, not numbered."""
    page = client.get("/season").get_data(as_text=True)
    day = values(page, "date")[0]
    theme = values(page, "theme")[0]
    wrong = (theme, day, "4", "0"), ("a bee's <party>", "2026-13-01", "many", "1"), ("", "2027-02-02", "", "1")
    answer = client.post("/season", data=typed(*wrong))
    assert answer.status_code == 422
    again = answer.get_data(as_text=True)
    assert "a bee&#39;s &lt;party&gt;, kits" in again
    assert "a bee&#39;s &lt;party&gt;, date" in again
    assert "free choice, kits" in again
    assert [k for k in values(again, "kits") if k] == ["4", "many"]
    assert "a bee's <party>" in values(again, "theme")
    assert {"2026-13-01", "2027-02-02"} <= set(values(again, "date"))


def test_nothing_typed_is_told(client: FlaskClient) -> None:
    answer = client.post("/season", data=typed(("owl party", "2026-12-12", "", "0")))
    assert answer.status_code == 422
    assert "Write a number of kits" in answer.get_data(as_text=True)


def test_a_plan_is_watched_and_then_stays_at_its_address(client: FlaskClient, held: Event) -> None:
    started = client.post("/season", data=typed(*ROWS))
    assert started.status_code == 303
    address = started.headers["Location"]
    page = client.get(address).get_data(as_text=True)
    assert '<noscript><meta http-equiv="refresh"' in page
    assert "Looking for the best kits" in page
    assert re.search(r'<progress max="1" value="0\.18"', page)
    held.set()
    plan = shown(client, address)
    assert plan.count('<article class="idea"') == 2
    assert client.get(address).get_data(as_text=True) == plan, "reloading changes nothing, not even the key"
    back = re.findall(r'href="(/season\?[^"]*)"', plan)[0]
    form = client.get(unescape(back)).get_data(as_text=True)
    assert [k for k in values(form, "kits") if k] == ["3", "2"]


def test_a_plan_that_is_stopped_says_so(client: FlaskClient, held: Event) -> None:
    address = client.post("/season", data=typed(*ROWS)).headers["Location"]
    path = address.partition("?")[0]
    stopped = client.post(f"{path}/stop", data=typed(*ROWS))
    assert stopped.status_code == 303
    assert stopped.headers["Location"] == address
    page = shown(client, address)
    assert "You stopped it" in page
    assert "Promise all of it" not in page


def test_a_plan_that_is_gone_leaves_its_lines(client: FlaskClient) -> None:
    address = client.post("/season", data=typed(*ROWS)).headers["Location"]
    shown(client, address)
    query = address.partition("?")[2]
    for answer in (
        client.get(f"/season/plan/gone?{query}"),
        client.post("/season/plan/gone/stop", data=typed(*ROWS)),
    ):
        assert answer.status_code == 404
        page = answer.get_data(as_text=True)
        assert "no longer kept" in page
        assert "owl party" in values(page, "theme")
        assert [k for k in values(page, "kits") if k] == ["3", "2"]


def test_a_theme_without_meaning_comes_back_with_the_lines(client: FlaskClient) -> None:
    address = client.post("/season", data=typed(("qzx vrrk", "", "5", "1"))).headers["Location"]
    page = shown(client, address)
    assert "qzx vrrk" in values(page, "theme")
    assert "5" in values(page, "kits")
    assert 'role="alert"' in page


def test_what_is_planned_already_stands_beside_its_day(client: FlaskClient) -> None:
    page = client.get("/season").get_data(as_text=True)
    theme, ready = values(page, "theme")[0], values(page, "date")[0]
    kit = {"tints": ["#1d8a8a", "#d9a93b", "#7b4a2b"], "jars": [1, 2, 4], "cutters": [{"id": 1, "cookies": 8}]}
    body = {**kit, "theme": theme, "kits": 3, "due": ready}
    id = client.post("/api/v1/batches", json=body).get_json()["id"]
    # Of the same theme a year later, and of another theme on that day: neither is for it.
    client.post("/api/v1/batches", json={**body, "due": f"2028{ready[4:]}"})
    client.post("/api/v1/batches", json={**body, "theme": "owl party"})
    client.post(f"/api/v1/batches/{id}/promise")
    page = client.get("/season").get_data(as_text=True)
    told = re.findall(r'href="/batches/(\d+)">([^<]+)</a>', page)
    assert told == [(str(id), "3 kits promised")]


def test_a_line_without_a_day_is_asked_about(client: FlaskClient) -> None:
    made = client.post("/season", data=typed(("owl party", "", "2", "1")))
    page = shown(client, made.headers["Location"])
    assert "For which day are the 2 kits of owl party?" in page


def test_one_kit_of_a_plan_is_swapped_and_the_rest_kept(client: FlaskClient) -> None:
    plan = shown(client, client.post("/season", data=typed(*ROWS)).headers["Location"])
    form = plan[plan.index('<form id="swap"') :].partition("</form>")[0]
    carried = {name: values(form, name) for name in ("theme", "date", "kits", "own", "keep")}
    assert len(carried["keep"]) == 2
    other = unescape(re.findall(r'name="other" value="(1:[^"]+)"', plan)[0])
    address = client.post("/season/swap", data={**carried, "other": other}).headers["Location"]
    again = shown(client, address)
    assert "those that you kept and swapped" in again
    now = values(again[again.index('<form id="swap"') :].partition("</form>")[0], "keep")
    assert now == [other.partition(":")[2], carried["keep"][1]]
    assert client.get("/batches").get_data(as_text=True).count("promised") == 0
    held = client.post("/season/promise", data={**carried, "batches": values(again, "batches"), "key": "k"})
    assert held.headers["Location"] == "/week"


@pytest.mark.parametrize("other", ["", "9:{}", "x", "1:{", '1:{"theme": "zz"}'])
def test_a_swap_that_is_none_loses_no_line(client: FlaskClient, other: str) -> None:
    answer = client.post("/season/swap", data={**typed(*ROWS), "keep": ["", ""], "other": other})
    page = (
        shown(client, answer.headers["Location"]) if answer.status_code == 303 else answer.get_data(as_text=True)
    )
    assert "owl party" in values(page, "theme")
