"""Learning through the service: told, applied, forgotten; byte for byte the default without choices."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.commands.main import run
from catalog.store import Store

Json = dict[str, Any]
TASTE, IDEAS = "/api/v1/taste", "/api/v1/ideas"
THEMES = ("owl party", "pirates", "rainbow", "teal and gold", "red and white", "green and brown", "pink", "blue")
QUESTIONS: tuple[tuple[str, Json], ...] = (
    (IDEAS, {"theme": "pirates", "count": 3}),
    ("/api/v1/palettes", {"theme": "owl party", "count": 2}),
    ("/api/v1/palettes/score", {"colours": ["#2a9d8f", "#e9c46a", "#6b4a2f"], "theme": "owl party"}),
    ("/api/v1/trios", {"theme": "pirates", "count": 2}),
    ("/api/v1/requests", {"text": "pirates, six kits", "count": 2}),
    ("/api/v1/season", {"kits": [{"theme": "pirates", "kits": 3}, {"kits": 2}], "further": False}),
)


def answers(client: FlaskClient) -> list[bytes]:
    found = [client.post(path, json=body) for path, body in QUESTIONS]
    found.append(client.get("/api/v1/jars/idle?count=3"))
    jars = client.get("/api/v1/jars?page_size=200").json["items"]
    idle = [jar["id"] for jar in jars if jar["name"] in ("dinosaur quins", "lilac sanding sugar")]
    found.append(client.post("/api/v1/jars/use-up", json={"jars": idle}))
    assert {one.status_code for one in found} == {200}
    return [one.data for one in found]


def teach(client: FlaskClient) -> Json:
    """Keep the lighter half of each theme's ideas by contrast of icing, pass over the others."""
    taste: Json = {}
    for theme in THEMES:
        ideas = client.post(IDEAS, json={"theme": theme, "count": 6}).json["ideas"]
        ideas.sort(key=lambda one: one["palette"]["parts"]["contrast"])
        for at, idea in enumerate(ideas):
            what = "kept" if at >= len(ideas) / 2 else "passed over"
            answer = client.post(TASTE, json={"what": what, "idea": idea, "theme": theme})
            assert answer.status_code == 200, answer.data
            taste = answer.json
    return taste


def test_nothing_is_learned_without_choices(client: FlaskClient) -> None:
    taste = client.get(TASTE).json
    assert taste["choices"] == 0
    assert taste["told"] == ["Nothing was said of any idea yet, so every weight is the default."]
    assert all(one["now"] == one["default"] and one["factor"] == 1 for one in taste["weights"])
    for scope in ("palette", "trio", "idea"):
        assert sum(one["now"] for one in taste["weights"] if one["scope"] == scope) == pytest.approx(1)


def test_choices_change_the_answers_and_forgetting_brings_back_every_byte(client: FlaskClient) -> None:
    before = answers(client)
    taste = teach(client)
    assert taste["choices"] == sum(taste["counts"].values()) >= 30
    factors = {(one["scope"], one["part"]): one["factor"] for one in taste["weights"]}
    assert factors["palette", "contrast"] > 1.3
    assert all(0.5 <= factor <= 2 for factor in factors.values())
    assert any("light and dark icing" in line for line in taste["told"])
    assert client.get(TASTE).json == taste
    assert [one["what"] for one in taste["latest"]][:2] == ["kept", "kept"]
    after = answers(client)
    assert sum(one != other for one, other in zip(before, after, strict=True)) >= 3
    assert (before[-2] == after[-2], before[-1] == after[-1]) == (False, False), "idle jars, and jars to use up"
    assert after == answers(client)
    assert client.delete(TASTE).status_code == 204
    assert client.get(TASTE).json["choices"] == 0
    assert answers(client) == before


def test_needs_hold_whatever_was_learned(client: FlaskClient, store: Store) -> None:
    teach(client)
    needs = {"avoid_allergens": ["milk"], "youngest_age": 2, "include_colours": ["#2f5fb3"]}
    answer = client.post(IDEAS, json={"theme": "pirates", "count": 5, "needs": needs}).json
    jars = {jar["id"]: jar for jar in client.get("/api/v1/jars?page_size=200").json["items"]}
    used = {jar["id"] for idea in answer["ideas"] for jar in idea["trio"]["jars"]}
    assert used
    for id in used:
        assert jars[id]["allergens"] is not None
        assert "milk" not in jars[id]["allergens"]
        assert "milk" not in (jars[id]["may_contain"] or [])
        assert jars[id]["hard_small_pieces"] is not True


def test_a_change_of_mind_counts_once(client: FlaskClient) -> None:
    idea = client.post(IDEAS, json={"theme": "pirates", "count": 1}).json["ideas"][0]
    for what in ("kept", "passed over", "kept", "passed over"):
        taste = client.post(TASTE, json={"what": what, "idea": idea, "theme": "Pirates for Mia Example"}).json
    assert taste["counts"] == {"kept": 0, "passed over": 1, "sold out": 0, "left over": 0}
    assert taste["latest"][0]["theme"] == "pirates", "the theme, not the customer's words"
    assert taste["themes"] == [{"theme": "pirates", "liking": -0.2}]


def test_a_batch_that_sold_out_is_learned_from(client: FlaskClient) -> None:
    idea = client.post(IDEAS, json={"theme": "pirates", "count": 1}).json["ideas"][0]
    made = client.post("/api/v1/batches", json={"theme": "pirates", "kits": 2, "idea": idea})
    assert made.status_code == 201, made.data
    at = f"/api/v1/batches/{made.json['id']}"
    assert client.post(f"{at}/pack").status_code == 200
    assert client.post(f"{at}/end", json={"sold": 2}).status_code == 200
    taste = client.get(TASTE).json
    assert taste["counts"]["sold out"] == 1
    assert taste["latest"][0]["batch"] == made.json["id"]
    assert taste["latest"][0]["theme"] == "pirates"


def test_a_bad_choice_is_refused_with_every_problem(client: FlaskClient, refused: Callable[..., Any]) -> None:
    body = {"what": "liked", "idea": {"palette": {"parts": {"fit": 2}}}, "more": 1}
    refused(client.post(TASTE, json=body), 422, "invalid_value", "what", "idea.palette.parts.fit", "more")
    refused(client.post(TASTE, data="[", content_type="application/json"), 400, "unreadable")
    assert client.get(TASTE).json["choices"] == 0


def test_another_shelf_learns_nothing(store: Store, client: FlaskClient) -> None:
    teach(client)
    other = create_app(store, shelf=store.create_shelf("other").name).test_client()
    assert other.get(TASTE).json["choices"] == 0
    assert create_app(store, shelf="demo").test_client().get(TASTE).json["choices"] > 0


def test_the_command_tells_and_forgets(
    store: Store, client: FlaskClient, capsys: pytest.CaptureFixture[str]
) -> None:
    teach(client)
    place = ["--database", store.url.render_as_string(hide_password=False)]
    assert run(["taste", *place, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == client.get(TASTE).json
    assert run(["taste", *place]) == 0
    assert "palette: light and dark icing" in capsys.readouterr().out
    assert run(["taste", "--reset", *place]) == 0
    assert "Forgot " in capsys.readouterr().out
    assert client.get(TASTE).json["choices"] == 0
