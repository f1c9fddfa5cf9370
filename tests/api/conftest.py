"""The service over a fresh store, with the demo shelf or an empty one, and a small lexicon."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

import catalog.lexicon
import catalog.own_cells
from api.app import create_app
from catalog.demo import create_demo
from catalog.store import Store
from themekit.colour.space import hex_to_lab
from themekit.values import Anchor, Lab, Lexicon, Theme, Thing

TODAY = date(2026, 11, 25)
_COLOURS = {
    "white": "#ffffff", "black": "#1a1a1a", "red": "#d7263d", "teal": "#1d8a8a", "gold": "#d9a93b",
    "brown": "#7b4a2b", "green": "#3f8f4f", "blue": "#2f5fb3", "yellow": "#f5d33f", "pink": "#f29ab5",
    "orange": "#ee7f2d", "purple": "#7a4f9e", "grey": "#8c8c8c",
}  # fmt: skip

Refused = Callable[..., list[dict[str, Any]]]
Unchanged = Callable[[Store], AbstractContextManager[None]]


def _lab(colour: str) -> Lab:
    L, a, b = hex_to_lab(colour).tolist()
    return (L, a, b)


def _theme(name: str, colours: list[str], motifs: tuple[str, ...]) -> Theme:
    weight = 1 / len(colours)
    return Theme(name, (), tuple(Anchor(_lab(_COLOURS[c]), weight, name) for c in colours), motifs)


@pytest.fixture(scope="module", autouse=True)
def small_lexicon() -> Iterator[Lexicon]:
    """Three themes, thirteen colour words and two things, so that answers can be foretold.

    Put back after each file: what runs later in the same process has the whole one.
    """
    words = {name: _lab(colour) for name, colour in _COLOURS.items()}
    small = Lexicon(
        themes=(
            _theme("owl party", ["brown", "gold", "teal"], ("owl", "leaf", "tree")),
            _theme("pirates", ["black", "red", "gold", "teal"], ("ship", "anchor", "fish")),
            _theme("rainbow", ["red", "orange", "yellow", "green", "blue", "purple"], ("rainbow", "star")),
        ),
        colour_words=words,
        colour_basics=words,
        things=(Thing("owl", ("owls",), ((words["brown"], 1.0),)), Thing("leaf", (), ((words["green"], 1.0),))),
        kinds=catalog.lexicon.kinds(),
        staples=catalog.lexicon.staples(),
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalog.lexicon, "lexicon", lambda: small)
        catalog.own_cells._colour_words.cache_clear()
        yield small
    catalog.own_cells._colour_words.cache_clear()


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with the demo shelf, made once and copied for each test."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    opened = Store(f"sqlite:///{path}")
    create_demo(opened, TODAY)
    opened.close()
    return path


@pytest.fixture
def store(demo_file: Path, tmp_path: Path) -> Iterator[Store]:
    """A store with the demo shelf."""
    shutil.copy(demo_file, tmp_path / "shelf.db")
    opened = Store(f"sqlite:///{tmp_path / 'shelf.db'}")
    yield opened
    opened.close()


@pytest.fixture
def app(store: Store) -> Flask:
    """The service over the demo shelf."""
    return create_app(store, today=lambda: TODAY)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A client of the service over the demo shelf."""
    return app.test_client()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[tuple[Store, FlaskClient]]:
    """A store with one empty shelf, and a client of the service over it."""
    opened = Store(f"sqlite:///{tmp_path / 'empty.db'}")
    opened.create_shelf("bare")
    yield opened, create_app(opened, today=lambda: TODAY).test_client()
    opened.close()


@pytest.fixture
def refused() -> Refused:
    """Hold an answer to the one shape of errors, and return its problems.

    `fields` have to be named by the problems, each of them and no others.
    """

    def check(response: TestResponse, status: int, code: str, *fields: str) -> list[dict[str, Any]]:
        assert response.status_code == status, response.get_data(as_text=True)
        assert response.mimetype == "application/json"
        body = json.loads(response.get_data(as_text=True))
        assert list(body) == ["error"]
        error = body["error"]
        # From 500 on it also names the request, under which the log tells more.
        assert list(error) == ["code", "message", "problems", *(["request"] if status >= 500 else [])]
        assert error["code"] == code
        assert error["message"].endswith((".", "?"))
        for problem in error["problems"]:
            assert list(problem) == ["field", "got", "allowed", "hint"]
            assert problem["allowed"] or problem["hint"]
        if fields:
            assert sorted(p["field"] for p in error["problems"]) == sorted(fields)
        assert "Traceback" not in response.get_data(as_text=True)
        problems: list[dict[str, Any]] = error["problems"]
        return problems

    return check


@pytest.fixture
def unchanged() -> Unchanged:
    """A block in which nothing on any shelf of a store may change."""

    def everything(store: Store) -> list[Any]:
        return [(row, store.records(row.id)) for row in store.shelves()]

    @contextmanager
    def check(store: Store) -> Iterator[None]:
        before = everything(store)
        yield
        assert everything(store) == before

    return check
