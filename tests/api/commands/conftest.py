"""The command line in the tests' own process, on the demo shelf or on an empty database."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from api.commands.main import run
from catalog.store import Store


class Done(NamedTuple):
    """What a command line left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Done]


def _runner(url: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("THEMEKIT_DATABASE", url)
    monkeypatch.setenv("COLUMNS", "80")
    for variable in ("THEMEKIT_SHELF", "THEMEKIT_PASSPHRASE"):
        monkeypatch.delenv(variable, raising=False)

    def themekit(*arguments: object) -> Done:
        code = run([str(a) for a in arguments])
        return Done(code, *capsys.readouterr())

    return themekit


@pytest.fixture
def themekit(store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command line on the database of `store`, which holds the demo shelf."""
    return _runner(store.url.render_as_string(), capsys, monkeypatch)


@pytest.fixture
def anew(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command line on a database that is not there yet."""
    return _runner(f"sqlite:///{tmp_path / 'new' / 'shelf.db'}", capsys, monkeypatch)
