"""Request ids, the log, the metrics, alive and ready."""

from __future__ import annotations

import io
import json
import logging
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from prometheus_client.parser import text_string_to_metric_families
from sqlalchemy import text

import catalog.lexicon
from api.access.listening import Listening
from api.app import create_app
from api.schemas.health import Alive, Health
from api.upkeep import log as logs
from catalog.store import Store
from themekit.errors import InvalidValue

Lines = Callable[[], list[dict[str, Any]]]
#: What no line of the log may hold: names, themes, messages, as they are sent below.
SECRETS = ("Zephyrine", "zephyrine", "wombat", "quince", "+49 30", "lemongrass")


@pytest.fixture
def logged() -> Iterator[Callable[[str], Lines]]:
    """Start a log of a level; what it gives reads the lines so far."""
    root, ours = logging.getLogger(), logging.getLogger("themekit")
    kept, levels = root.handlers[:], (root.level, ours.level)

    def start(level: str) -> Lines:
        stream = io.StringIO()
        logs.configure(level, stream)
        return lambda: [json.loads(line) for line in stream.getvalue().splitlines()]

    yield start
    root.handlers[:] = kept
    root.setLevel(levels[0])
    ours.setLevel(levels[1])


def send_personal(client: FlaskClient) -> None:
    """Requests of many sorts, all with something personal in them."""
    client.get("/?theme=wombat+party+for+Zephyrine")
    client.get("/shelf?search=zephyrine")
    client.get("/wombat/Zephyrine")
    client.post("/api/v1/ideas", json={"theme": "wombat party in teal"})
    client.post("/api/v1/ideas", json={"theme": "quince lemongrass"})
    client.post("/api/v1/requests", json={"text": "12 owl kits for Zephyrine, call +49 30 1234"})
    client.post("/api/v1/jars", json={"name": "Zephyrine's quince", "kind": "wombat"})
    client.post("/api/v1/jars", data="Zephyrine {", content_type="application/json")
    client.patch("/api/v1/shelf", json={"name": "Zephyrine's kitchen"})
    client.post("/api/v1/orders", json={"customer": "Zephyrine", "quince": 1})
    client.get("/api/v1/jars/99?lemongrass=1", headers={"X-Request-ID": "call Zephyrine +49 30"})
    client.open("/api/v1/jars", method="WOMBAT")


def test_each_request_is_one_line_with_its_facts(
    client: FlaskClient, store: Store, logged: Callable[[str], Lines]
) -> None:
    """Id, shelf, method, route pattern, status and time; the id is the caller's if it is well formed."""
    lines = logged("requests")
    given = client.get("/api/v1/jars/7", headers={"X-Request-ID": "kitchen-2026.11_25"})
    assert given.headers["X-Request-ID"] == "kitchen-2026.11_25"
    made = client.get("/api/v1/nothing", headers={"X-Request-ID": "no good; \u00e9"})
    assert re.fullmatch("[0-9a-f]{32}", made.headers["X-Request-ID"])
    one, two = lines()
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT[\d:.]+Z", one.pop("at"))
    assert 0 <= one.pop("ms") < 60_000
    assert one == {
        "event": "request", "level": "info", "request": "kitchen-2026.11_25", "shelf": store.shelf_named().id,
        "method": "GET", "route": "/api/v1/jars/<row:id>", "status": 200,
    }  # fmt: skip
    assert (two["shelf"], two["route"], two["status"]) == (None, None, 404)
    assert two["request"] == made.headers["X-Request-ID"]


@pytest.mark.parametrize("level", ["errors", "requests"])
def test_nothing_personal_is_logged_or_counted(
    client: FlaskClient, logged: Callable[[str], Lines], level: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not of questions, not of refusals, not of failures whose texts quote what was sent."""
    lines = logged(level)
    send_personal(client)
    assert len(lines()) == (12 if level == "requests" else 0)

    def fails(_: Any) -> None:
        raise KeyError("Zephyrine wombat")

    monkeypatch.setattr(Store, "list", lambda self, *_: fails("quince"))
    assert client.get("/api/v1/jars").status_code == 500
    logging.getLogger("library").warning("trouble with %s", "Zephyrine")
    try:
        fails(None)
    except KeyError:
        logging.getLogger("library").exception("more trouble with %s", "Zephyrine")
    found = lines()
    assert [line["event"] for line in found if line["level"] != "info"] == [
        "failed", "trouble with %s", "more trouble with %s"
    ]  # fmt: skip
    everything = json.dumps(found, ensure_ascii=False) + client.get("/api/v1/metrics").text
    for secret in SECRETS:
        assert secret not in everything


def test_a_personal_log_is_asked_for_and_says_so(store: Store, logged: Callable[[str], Lines]) -> None:
    """Then queries, bodies and the texts of errors are there."""
    lines = logged("personal")
    client = create_app(store, personal_log=True).test_client()
    send_personal(client)
    first, *rest = lines()
    assert "names included" in first["told"]
    assert rest[0]["query"] == "theme=wombat+party+for+Zephyrine"
    assert json.loads(rest[3]["body"]) == {"theme": "wombat party in teal"}
    assert rest[2]["path"] == "/wombat/Zephyrine"
    large = client.post("/api/v1/ideas", data=b"x" * 1_000_001, content_type="application/json")
    assert large.status_code == 413
    assert (lines()[-1]["status"], lines()[-1]["body"]) == (413, "")


def test_no_log_holds_a_secret(store: Store, logged: Callable[[str], Lines]) -> None:
    """Passphrases, links' secrets and tokens, even where all else is asked for."""
    lines = logged("personal")
    listening = Listening("0.0.0.0", None)
    client = create_app(store, listening=listening, personal_log=True).test_client()
    client.post("/sign-in", data={"passphrase": "hushhush"})
    client.get("/enter?key=hushhush")
    client.post("/enter", data={"key": "hushhush"})
    client.get("/api/v1/jars", headers={"Authorization": "Bearer hushhush"})
    found = lines()
    assert [line["route"] for line in found[1:]] == ["/sign-in", "/enter", "/enter", "/api/v1/jars"]
    assert "hushhush" not in json.dumps(found)


def test_there_are_three_sorts_of_log() -> None:
    """Another is refused by name."""
    with pytest.raises(InvalidValue) as refused:
        logs.configure("all")
    (problem,) = refused.value.problems
    assert (problem.field, problem.got, problem.allowed) == ("log", "all", "one of errors, requests, personal")


@pytest.mark.parametrize("path", ["/api/v1/jars", "/shelf"])
def test_an_error_shows_the_id_under_which_it_is_logged(
    client: FlaskClient, logged: Callable[[str], Lines], monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """In its header and its text; the log has kind and place, and the answer neither."""
    lines = logged("errors")

    def fails(*_: Any, **__: Any) -> None:
        try:
            raise ValueError("hidden")
        except ValueError as error:
            raise RuntimeError("hidden too") from error

    monkeypatch.setattr(Store, "list", fails)
    answer = client.get(path, headers={"X-Request-ID": "ask-me-later"})
    assert answer.status_code == 500
    assert answer.headers["X-Request-ID"] == "ask-me-later"
    if path.startswith("/api/"):
        assert answer.get_json()["error"]["request"] == "ask-me-later"
    else:
        assert "the number ask-me-later" in answer.text
        assert answer.headers["Content-Security-Policy"]
    assert "hidden too" not in answer.text
    (line,) = lines()
    assert (line["event"], line["level"], line["request"]) == ("failed", "error", "ask-me-later")
    assert line["error"] == ["RuntimeError", "ValueError"]
    assert re.fullmatch(r"tests/api/test_upkeep\.py:\d+ fails", line["from"][-1])
    assert ".." not in json.dumps(line["from"])


def test_metrics_count_by_pattern_and_nothing_finer(client: FlaskClient) -> None:
    """Read by the library's own parser; ids, odd methods and unknown addresses make no labels of their own."""
    for id in range(1, 40):
        client.get(f"/api/v1/jars/{id}")
        client.get(f"/nowhere/{id}")
        client.open("/api/v1/jars", method=f"ODD{id}")
    answer = client.get("/api/v1/metrics")
    assert answer.mimetype == "text/plain"
    families = {f.name: f for f in text_string_to_metric_families(answer.text)}
    counted = {
        (s.labels["method"], s.labels["route"], s.labels["status"]): s.value
        for s in families["themekit_requests"].samples
        if s.name.endswith("_total")
    }
    assert counted == {
        ("GET", "/api/v1/jars/<row:id>", "200"): 39,
        ("GET", "none", "404"): 39,
        ("other", "none", "405"): 39,
    }
    seconds = families["themekit_request_seconds"].samples
    assert {s.labels["route"]: s.value for s in seconds if s.name.endswith("_count")} == {
        "/api/v1/jars/<row:id>": 39, "none": 78
    }  # fmt: skip
    # The one that asks is under way itself.
    assert families["themekit_requests_running"].samples[0].value == 1
    assert families["process_resident_memory_bytes"].samples[0].value > 10_000_000


def test_applications_count_apart(store: Store, client: FlaskClient) -> None:
    """Two in one process have nothing to do with each other."""
    client.get("/api/v1/jars/1")
    other = create_app(store).test_client()
    assert "jars" in client.get("/api/v1/metrics").text
    assert "jars" not in other.get("/api/v1/metrics").text


def test_processes_count_together(demo_file: Path, tmp_path: Path) -> None:
    """As under gunicorn: each process answers with the counts of all."""
    shutil.copy(demo_file, tmp_path / "shelf.db")
    (tmp_path / "counts").mkdir()
    code = (
        "import sys\nfrom api.app import create_app\nfrom catalog.store import Store\n"
        "client = create_app(Store(sys.argv[1])).test_client()\n"
        "client.get('/api/v1/jars/1')\nprint(client.get('/api/v1/metrics').text)\n"
    )
    told = ""
    for _ in range(2):
        told = subprocess.run(
            [sys.executable, "-c", code, f"sqlite:///{tmp_path / 'shelf.db'}"],
            env={"PROMETHEUS_MULTIPROC_DIR": str(tmp_path / "counts"), "PYTHONPATH": ":".join(sys.path)},
            capture_output=True, text=True, check=True,
        ).stdout  # fmt: skip
    assert 'themekit_requests_total{method="GET",route="/api/v1/jars/<row:id>",status="200"} 2.0' in told


def test_alive_without_a_database_and_ready_only_with_it(
    app: Flask, client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """503 with why: not up to date, no database, knowledge gone; alive all the while."""
    ready = client.get("/api/v1/health")
    assert ready.status_code == 200
    assert Health().validate(ready.get_json()) == {}
    assert (ready.get_json()["ready"], ready.get_json()["why"]) == (True, [])

    def not_ready(why: str) -> None:
        answer = client.get("/api/v1/health")
        assert answer.status_code == 503
        body = answer.get_json()
        assert (body["alive"], body["ready"]) == (True, False)
        assert why in " ".join(body["why"])
        lives = client.get("/api/v1/health/alive")
        assert (lives.status_code, Alive().validate(lives.get_json())) == (200, {})

    with store._engine.begin() as connection:
        connection.execute(text("UPDATE themekit_version SET version_num = '0001'"))
    not_ready("at step 0001")
    with store._engine.begin() as connection:
        connection.execute(text("UPDATE themekit_version SET version_num = '9999'"))
    not_ready("newer themekit")
    store.close()
    Path(str(store.url.database)).write_bytes(b"nothing like a database, " * 100)
    not_ready("not a database")

    def gone() -> None:
        raise FileNotFoundError

    monkeypatch.setattr(catalog.lexicon, "lexicon", gone)
    not_ready("install themekit again")
