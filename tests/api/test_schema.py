"""Everything that is served against its own OpenAPI document, by schemathesis.

Fixed seed and few examples for each operation, in the long lane many; more of the few by hand
with `THEMEKIT_EXAMPLES=200 pytest tests/api/test_schema.py`.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any, cast

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case
from schemathesis.config import SchemathesisConfig

from api.app import create_app
from api.schemas.errors import ErrorBody
from catalog.stock import Stock
from catalog.store import Store

# Cases for each operation; the long lane is at least ten thousand in all.
_FEW, _MANY, _LEAST = int(os.environ.get("THEMEKIT_EXAMPLES", "40")), 160, 10_000
_CONFIG = {
    "seed": 20261125,
    "generation": {"deterministic": True},
    "checks": {
        # No schema can say which phrase has a meaning, which name is taken, which colour is
        # in gamut, which version is the present one or how much is left on the shelf.
        "positive_data_acceptance": {"expected-statuses": ["2xx", "404", "409", "412", "422"]},
        # A path or If-Match that fits no row is refused as one that is not there.
        "negative_data_rejection": {"expected-statuses": ["400", "404", "405", "412", "415", "422"]},
    },
}
_SETTINGS = {
    "deadline": None,
    "derandomize": True,
    "database": None,
    "suppress_health_check": list(HealthCheck),
}
_SLOWEST = 5.0

# The document is needed while tests are collected, the store only when they run.
APP = create_app(cast(Store, None), today=lambda: date(2026, 11, 25))


def _schema(examples: int) -> Any:
    config = {**_CONFIG, "generation": {"deterministic": True, "max-examples": examples}}
    return schemathesis.openapi.from_wsgi("/api/v1/openapi.json", APP, config=SchemathesisConfig.from_dict(config))


few, many = _schema(_FEW), _schema(_MANY)


class Watch:
    """Another connection to the database that is served, which sees whether anything was committed."""

    def __init__(self, path: Path, demo: Path) -> None:
        self._path, self._demo = path, demo
        self._connection = sqlite3.connect(path)
        self.calls = 0

    def afresh(self) -> None:
        """Put the demo shelf back as it was."""
        with closing(sqlite3.connect(self._demo)) as demo, closing(sqlite3.connect(self._path)) as served:
            demo.backup(served)
        # A store keeps shelves that it read.
        APP.extensions["themekit"].store.close()
        APP.extensions["themekit"].store = Store(f"sqlite:///{self._path}")

    def version(self) -> int:
        """A number that changes whenever any other connection changes the database."""
        return int(self._connection.execute("PRAGMA data_version").fetchone()[0])

    def call(self, case: Case) -> None:
        """One call that keeps to the document, is quick, and changes nothing when it is refused or only reads."""
        self.calls += 1
        before, begun = self.version(), time.process_time()
        response = case.call_and_validate()
        assert time.process_time() - begun < _SLOWEST
        if response.status_code >= 400 or case.method in ("GET", "HEAD", "OPTIONS"):
            assert self.version() == before, "a refused call changed the database"

    def close(self) -> None:
        self._connection.close()


@pytest.fixture(scope="module", autouse=True)
def watch(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Watch]:
    """The service gets a demo shelf of its own."""
    path = tmp_path_factory.mktemp("schema") / "shelf.db"
    shutil.copy(demo_file, path)
    store = Store(f"sqlite:///{path}")
    APP.extensions["themekit"].store = store
    watching = Watch(path, demo_file)
    yield watching
    watching.close()
    APP.extensions["themekit"].store.close()


@few.parametrize()
@settings(max_examples=_FEW, **_SETTINGS)
def test_what_is_served_is_what_is_documented(case: Case, watch: Watch) -> None:
    """No answer breaks the document, no server error is given, and no refused call changes anything."""
    watch.call(case)


@pytest.mark.long
@many.parametrize()
@settings(max_examples=_MANY, **_SETTINGS)
def test_ten_thousand_cases(case: Case, watch: Watch) -> None:
    """The same with many more cases."""
    watch.call(case)


@pytest.mark.long
def test_they_were_ten_thousand(watch: Watch) -> None:
    """Runs after them, in the same module."""
    print(f"{watch.calls:,} calls")
    assert watch.calls >= _LEAST


@pytest.mark.parametrize(("runs", "steps"), [(8, 8), pytest.param(120, 15, marks=pytest.mark.long)])
def test_calls_that_follow_from_one_another(watch: Watch, runs: int, steps: int) -> None:
    """What a call answers is used by the next, by the links that follow from the document."""

    class Machine(few.as_state_machine()):  # type: ignore[misc]
        def setup(self) -> None:
            # From the same shelf each time, so that what failed can be done again.
            watch.afresh()

        def before_call(self, case: Case) -> None:
            watch.calls += 1
            self.before = watch.version()

        def after_call(self, response: Any, case: Case) -> None:
            if response.status_code >= 400 or case.method in ("GET", "HEAD", "OPTIONS"):
                assert watch.version() == self.before, "a refused call changed the database"

    before = watch.calls
    Machine.run(settings=settings(max_examples=runs, stateful_step_count=steps, **_SETTINGS))
    assert watch.calls > before + runs
    assert Stock(APP.extensions["themekit"].store).balances(1) == []


def test_what_is_short_is_told_as_it_is_documented(watch: Watch) -> None:
    """Of a batch that is there, and of one that was to be made."""
    client = APP.test_client()
    kit = {
        "kits": 150,
        "tints": ["#2a9d8f", "#e9c46a", "#6b4a2f"],
        "jars": [1, 2, 3],
        "cutters": [{"id": 1, "cookies": 8}],
    }
    made = client.post("/api/v1/batches", json=kit).get_json()["id"]
    for step in ("promise", "pack"):
        answer = client.post(f"/api/v1/batches/{made}/{step}")
        assert answer.status_code == 409
        assert ErrorBody().validate(answer.get_json()) == {}
        assert answer.get_json()["error"]["short"][0]["batch"] == made
