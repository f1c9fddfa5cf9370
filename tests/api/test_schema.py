"""Everything that is served against its own OpenAPI document, by schemathesis.

Fixed seed and few examples for each operation; more of them by hand with
`THEMEKIT_EXAMPLES=200 pytest tests/api/test_schema.py`.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import cast

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case
from schemathesis.config import SchemathesisConfig

from api.app import create_app
from catalog.store import Store

_EXAMPLES = int(os.environ.get("THEMEKIT_EXAMPLES", "40"))
_CONFIG = {
    "seed": 20261125,
    "generation": {"max-examples": _EXAMPLES, "deterministic": True},
    "checks": {
        # No schema can say which phrase has a meaning, which name is taken, which colour is
        # in gamut, which version is the present one or how much is left on the shelf.
        "positive_data_acceptance": {"expected-statuses": ["2xx", "404", "409", "412", "422"]},
        # A path or If-Match that fits no row is refused as one that is not there.
        "negative_data_rejection": {"expected-statuses": ["400", "404", "405", "412", "415", "422"]},
    },
}


# The document is needed while tests are collected, the store only when they run.
APP = create_app(cast(Store, None), today=lambda: date(2026, 11, 25))
schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", APP, config=SchemathesisConfig.from_dict(_CONFIG))


@pytest.fixture(scope="module", autouse=True)
def served(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The service gets a demo shelf of its own."""
    path = tmp_path_factory.mktemp("schema") / "shelf.db"
    shutil.copy(demo_file, path)
    store = Store(f"sqlite:///{path}")
    APP.extensions["themekit"].store = store
    yield
    store.close()


@schema.parametrize()
@settings(
    max_examples=_EXAMPLES, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)
def test_what_is_served_is_what_is_documented(case: Case) -> None:
    """No answer breaks the document, and no server error is given, whatever is sent."""
    case.call_and_validate()
