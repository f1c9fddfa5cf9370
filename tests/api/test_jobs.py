"""Work in the background: the table of jobs, and a season's plan through it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from threading import Event
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api import seasons
from api.jobs import Job, Jobs, TooBusy
from api.schemas.season import SeasonJobOut
from catalog.errors import NotFound
from themekit.errors import InvalidValue
from themekit.season.values import Progress, Stop

Refused = Callable[..., list[dict[str, Any]]]
ASYNC = {"Prefer": "respond-async"}
LINES = [{"theme": "owl party", "kits": 3, "date": "2026-12-12"}, {"theme": "pirates", "kits": 2}]
BODY = {"kits": LINES, "further": False}


def ended(job: Job) -> Job:
    assert job.ended.wait(30)
    return job


def quick(answer: int) -> Callable[[Progress, Stop], dict[str, Any]]:
    return lambda progress, stop: {"status": "optimal", "n": answer}


def until_stopped(progress: Progress, stop: Stop) -> dict[str, Any]:
    """Work without end that asks whether to stop."""
    progress("candidates", 0.5)
    while not stop():
        time.sleep(0.005)
    return {"status": "stopped"}


def test_a_job_tells_how_far_it_is_and_can_be_stopped() -> None:
    jobs = Jobs()
    job = jobs.start(1, until_stopped)
    while job.stage[1] < 0.5:
        time.sleep(0.005)
    assert (job.state, job.stage, job.answer) == ("running", ("candidates", 0.5), None)
    jobs.stop(1, job.id)
    assert (ended(job).state, job.answer) == ("stopped", {"status": "stopped"})
    assert jobs.get(1, job.id) is job


def test_only_so_many_run_and_are_kept() -> None:
    jobs = Jobs(most_running=2, most_kept=3)
    running = [jobs.start(1, until_stopped) for _ in range(2)]
    with pytest.raises(TooBusy) as refused:
        jobs.start(1, quick(0))
    assert refused.value.problems[0].hint
    for job in running:
        jobs.stop(1, job.id)
        ended(job)
    made = [ended(jobs.start(1, quick(n))) for n in range(3)]
    for old in running:
        with pytest.raises(NotFound):
            jobs.get(1, old.id)
    assert [jobs.get(1, job.id).answer for job in made] == [{"status": "optimal", "n": n} for n in range(3)]


def test_another_shelfs_job_is_not_there_and_a_forgotten_one_is_gone() -> None:
    jobs = Jobs()
    job = ended(jobs.start(1, quick(1)))
    with pytest.raises(NotFound):
        jobs.get(2, job.id)
    jobs.forget(1, job.id)
    with pytest.raises(NotFound):
        jobs.get(1, job.id)


def test_what_goes_wrong_is_kept_with_the_job() -> None:
    def fails(progress: Progress, stop: Stop) -> dict[str, Any]:
        raise InvalidValue("No.")

    def breaks(progress: Progress, stop: Stop) -> dict[str, Any]:
        raise ZeroDivisionError

    jobs = Jobs()
    told, fault = ended(jobs.start(1, fails)), ended(jobs.start(1, breaks))
    assert (told.state, told.error and told.error.message) == ("failed", "No.")
    assert (fault.state, fault.error, fault.answer) == ("failed", None, None)


def _watched(client: FlaskClient, address: str) -> dict[str, Any]:
    """The job at its end; it never goes backwards."""
    done = 0.0
    while True:
        answer: dict[str, Any] = client.get(address).get_json()
        assert SeasonJobOut().validate(answer) == {}
        assert answer["done"] >= done
        done = answer["done"]
        if answer["state"] != "running":
            return answer
        time.sleep(0.1)


def test_a_season_in_the_background_is_the_same_plan(client: FlaskClient) -> None:
    """By RFC 7240: 202, Preference-Applied, and the address of the job in Location."""
    started = client.post("/api/v1/season", json=BODY, headers={"Prefer": "wait=5, Respond-Async"})
    assert started.status_code == 202
    assert started.headers["Preference-Applied"] == "respond-async"
    found = _watched(client, started.headers["Location"])
    assert (found["state"], found["done"], found["error"]) == ("done", 1, None)
    assert found["answer"] == client.post("/api/v1/season", json=BODY).get_json()
    assert client.delete(started.headers["Location"]).status_code == 204
    assert client.get(started.headers["Location"]).status_code == 404


def test_a_body_with_mistakes_begins_nothing(client: FlaskClient, refused: Refused) -> None:
    response = client.post("/api/v1/season", json={"kits": [{"kits": 0}]}, headers=ASYNC)
    refused(response, 422, "invalid_value", "kits.0.kits")


def test_a_theme_without_meaning_is_told_by_the_job(client: FlaskClient) -> None:
    body = {"kits": [{"theme": "qzx vrrk", "kits": 2}]}
    address = client.post("/api/v1/season", json=body, headers=ASYNC).headers["Location"]
    found = _watched(client, address)
    usual = client.post("/api/v1/season", json=body).get_json()["error"]
    assert (found["state"], found["answer"], found["error"]) == ("failed", None, usual)


def test_one_of_several_processes_answers_at_once(app: Flask, client: FlaskClient) -> None:
    """A preference may be left aside; what one process keeps, another could not tell of."""
    app.extensions["themekit"].alone = False
    response = client.post("/api/v1/season", json=BODY, headers=ASYNC)
    assert response.status_code == 200
    assert "Preference-Applied" not in response.headers
    page = client.post("/season", data={"theme": "owl party", "date": "", "kits": "2", "own": "1"})
    assert page.status_code == 200
    assert "Promise all of it" in page.get_data(as_text=True)


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """Plans that wait for a signal, or to be stopped, before they do anything."""
    go = Event()
    real = seasons.season_work

    def slow(*given: Any) -> Callable[[Progress, Stop], Any]:
        work = real(*given)

        def waits(progress: Progress, stop: Stop) -> Any:
            progress("candidates", 0.25)
            while not (go.is_set() or stop()):
                time.sleep(0.005)
            return work(progress, stop)

        return waits

    monkeypatch.setattr(seasons, "season_work", slow)
    yield go
    go.set()


def test_a_third_plan_at_once_is_refused_clearly(client: FlaskClient, held: Event) -> None:
    first, second = (client.post("/api/v1/season", json=BODY, headers=ASYNC).headers["Location"] for _ in "12")
    third = client.post("/api/v1/season", json=BODY, headers=ASYNC)
    assert third.status_code == 503
    assert third.get_json()["error"]["code"] == "too_busy"
    assert third.get_json()["error"]["problems"][0]["hint"]
    assert client.delete(first).status_code == 204
    held.set()
    assert _watched(client, second)["state"] == "done"
