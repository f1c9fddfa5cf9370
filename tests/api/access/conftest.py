"""A service in the network with two shelves, each with things of its own, and what opens them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api.access.listening import Listening
from api.access.passphrase import hashed
from api.app import create_app
from catalog.access import Access
from catalog.store import Store

TODAY = date(2026, 11, 25)
WORDS = {"alfa": "teal owls at breakfast", "bravo": "six ships in a drawer"}
_COLOURS = ("#7b4a2b", "#d9a93b", "#1d8a8a", "#ffffff", "#d7263d", "#2f5fb3")
Filled = Callable[[Store, str], "Filling"]


@dataclass
class Filling:
    """A shelf with a thing of every kind: its id, a token, and the ids on it by kind."""

    id: int
    token: str
    ids: dict[str, list[int]]
    job: str = ""

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}


def fill(app: Flask, store: Store, name: str) -> Filling:
    """Make a shelf on which every text holds `name`, by the API alone."""
    row = store.create_shelf(f"shelf of {name}", currency="EUR")
    access = Access(store)
    access.set_passphrase(row.id, hashed(WORDS[name]))
    made = Filling(row.id, access.new_token(row.id, f"{name} till"), {})
    client = app.test_client()

    def post(what: str, body: dict[str, Any], under: str = "") -> dict[str, Any]:
        answer = client.post(f"/api/v1/{what}", json=body, headers=made.headers)
        assert answer.status_code in (200, 201), answer.get_data(as_text=True)
        found: dict[str, Any] = answer.get_json()
        if "id" in found:
            made.ids.setdefault(under or what, []).append(found["id"])
        return found

    for n, colour in enumerate(_COLOURS):
        kind = "nonpareils" if n % 2 else "jimmies"
        jar = {"name": f"{name} jar {n}", "kind": kind, "colours": [{"hex": colour}], "on_hand_g": 200,
               "lot": f"{name}-{n}", "density_g_per_ml": 0.8}  # fmt: skip
        post("jars", jar)
    for n in range(3):
        post("cutters", {"name": f"{name} owl {n}", "motifs": ["owl"], "width_mm": 70, "height_mm": 80})
        gel = {"name": f"{name} gel {n}", "swatch": {"hex": _COLOURS[n]}, "dose_g_per_100g": 1, "on_hand_g": 50}
        post("gels", gel)
    post("boxes", {"name": f"{name} box", "length_mm": 250, "width_mm": 200, "height_mm": 60, "on_hand": 40})
    post("supplies", {"name": f"{name} flour", "kind": "flour", "unit": "g", "on_hand": 5000})
    post("themes", {"name": f"{name} evening", "anchors": [{"hex": c} for c in _COLOURS[:3]], "motifs": ["owl"]})
    post("orders", {"customer": f"{name} school", "due": "2026-12-05", "note": f"{name} note"})
    post(
        "batches",
        {
            "name": f"{name} batch",
            "theme": "owl party",
            "kits": 2,
            "tints": list(_COLOURS[:3]),
            "jars": made.ids["jars"][:3],
            "cutters": [{"id": made.ids["cutters"][0], "cookies": 8}],
            "due": "2026-12-05",
            "order": made.ids["orders"][0],
        },
    )
    post("moves", {"jar": made.ids["jars"][0], "kind": "used", "grams": 20, "note": f"{name} spilled"})
    post("taste", {"what": "kept", "theme": f"{name} evening", "idea": {"palette": {"parts": {"fit": 0.8}}}})
    plan = {"kits": [{"theme": "owl party", "kits": 1}], "time_limit_s": 1}
    begun = client.post("/api/v1/season", json=plan, headers=made.headers | {"Prefer": "respond-async"})
    assert begun.status_code == 202
    made.job = begun.get_json()["id"]
    return made


@pytest.fixture(scope="module")
def shelves(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Flask, Store, Filling, Filling]]:
    """The service, its store, and two shelves, alfa and bravo."""
    store = Store(f"sqlite:///{tmp_path_factory.mktemp('two') / 'two.db'}")
    app = create_app(store, "shelf of alfa", today=lambda: TODAY, listening=Listening("0.0.0.0", 8017))
    app.config["TESTING"] = True
    yield app, store, fill(app, store, "alfa"), fill(app, store, "bravo")
    store.close()


@pytest.fixture
def network(store: Store) -> Flask:
    """The demo shelf served in the network."""
    Access(store).set_passphrase(store.shelf_named().id, hashed(WORDS["alfa"]))
    return create_app(store, "demo", today=lambda: TODAY, listening=Listening("0.0.0.0", 8017))


@pytest.fixture
def browser(network: Flask) -> FlaskClient:
    """A browser that is signed in to it."""
    client = network.test_client()
    assert client.post("/sign-in", data={"passphrase": WORDS["alfa"]}).status_code == 303
    return client


def csrf_of(client: FlaskClient) -> str:
    """The token of a browser's forms."""
    return re.findall(r'name="csrf" value="(\w+)"', client.get("/week").get_data(as_text=True))[0]


@pytest.fixture
def csrf() -> Callable[[FlaskClient], str]:
    """Reads the token of a browser's forms off a page."""
    return csrf_of


@pytest.fixture
def words() -> dict[str, str]:
    """Passphrases by shelf."""
    return WORDS


@pytest.fixture
def page_templates() -> list[Path]:
    """Every template of the page."""
    import api.pages

    return sorted((Path(api.pages.__file__).parent / "templates").glob("*.html"))
