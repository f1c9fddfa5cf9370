"""Bad input of every sort: one shape of error, the field named, nothing changed."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api.app import create_app
from api.errors import MOST_BYTES
from catalog.errors import StoreUnusable
from catalog.store import Store

Refused = Callable[..., list[dict[str, Any]]]

JAR = {"name": "j", "kind": "nonpareils", "colours": [{"hex": "#1d8a8a"}]}
QUESTIONS = ("themes/read", "palettes", "palettes/score", "trios", "ideas")
CREATED = ("jars", "cutters", "gels", "boxes", "supplies", "themes")
WITH_BODY = (
    *(("POST", f"/api/v1/{path}") for path in (*QUESTIONS, *CREATED)),
    *(("PATCH", f"/api/v1/{path}/1") for path in ("jars", "cutters", "gels", "boxes")),
    ("PATCH", "/api/v1/shelf"),
)


@pytest.mark.parametrize(
    ("data", "got"),
    [
        (b"", "nothing"),
        (b"{", "something else at line 1, column 2"),
        (b"name=x", "something else at line 1, column 1"),
        (b'{"name": NaN}', "NaN"),
        (b'{"name": -Infinity}', "-Infinity"),
        (b'{"name": "a", "name": "b"}', "the field name twice"),
        (b'{"n": {"x": 1, "x": 1}}', "the field x twice"),
        (b'{"name": "\xff"}', "bytes that are not UTF-8, from byte 11"),
        (b"[" * 100_000, "lists or objects nested too deeply"),
        (b'{"name": ' + b"9" * 9_000 + b"}", "a number of thousands of digits"),
        (b'{"name": "a"} {}', "something else at line 1, column 15"),
    ],
    ids=["empty", "cut", "form", "nan", "infinity", "twice", "twice-inside", "bytes", "deep", "digits", "two"],
)
def test_what_is_no_json_is_unreadable(
    client: FlaskClient, store: Store, refused: Refused, unchanged: Any, data: bytes, got: str
) -> None:
    """400, with what was found instead, wherever a body is taken."""
    with unchanged(store):
        for method, path in WITH_BODY:
            response = client.open(path, method=method, data=data, content_type="application/json")
            (problem,) = refused(response, 400, "unreadable", "body")
            assert problem["got"] == got


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", None])
def test_another_media_type_is_refused(client: FlaskClient, refused: Refused, kind: str | None) -> None:
    """415, wherever a body is taken."""
    for method, path in WITH_BODY:
        response = client.open(path, method=method, data=b'{"text": "owl"}', content_type=kind)
        (problem,) = refused(response, 415, "not_json", "Content-Type")
        assert problem["got"] == kind


@pytest.mark.parametrize("body", [[], "owl", 3, None, True])
def test_a_body_has_to_be_an_object(
    client: FlaskClient, store: Store, refused: Refused, unchanged: Any, body: Any
) -> None:
    """422, whatever else it is."""
    with unchanged(store):
        for method, path in WITH_BODY:
            response = client.open(path, method=method, data=json.dumps(body), content_type="application/json")
            assert refused(response, 422, "invalid_value")


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (b'{"name": "j", "kind": "nonpareils", "colours": [{"hex": "#fff"}], "on_hand_g": 1e999}', "on_hand_g"),
        (b'{"name": "j", "kind": "nonpareils", "colours": [{"lab": [1e999, 0, 0]}]}', "colours.0.lab"),
        (b'{"name": "j", "kind": "nonpareils", "colours": [{"hex": "#fff"}], "price_per_kg": -1e999}',
         "price_per_kg"),
    ],
)  # fmt: skip
def test_a_number_beyond_all_bounds_is_named(
    client: FlaskClient, store: Store, refused: Refused, unchanged: Any, data: bytes, field: str
) -> None:
    """JSON may write numbers that no computer holds; the field is told, not only the body."""
    with unchanged(store):
        response = client.post("/api/v1/jars", data=data, content_type="application/json")
        refused(response, 422, "invalid_value", field)


def test_a_body_that_is_too_large_is_refused(client: FlaskClient, refused: Refused) -> None:
    """413, told with the limit."""
    data = b'{"text": "' + b"x" * MOST_BYTES + b'"}'
    response = client.post("/api/v1/themes/read", data=data, content_type="application/json")
    (problem,) = refused(response, 413, "too_large", "body")
    assert f"{MOST_BYTES:,}" in problem["allowed"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": None}, "name"),
        ({"name": "  "}, "name"),
        ({"name": 7}, "name"),
        ({"name": "n" * 121}, "name"),
        ({"name": "a\x00b"}, "name"),
        ({"name": "a\u202eb"}, "name"),
        ({"name": "\ud800"}, "name"),
        ({"kind": "gravel"}, "kind"),
        ({"colours": []}, "colours"),
        ({"colours": "red"}, "colours"),
        ({"colours": [{"hex": "#12345"}]}, "colours.0.hex"),
        ({"colours": [{"hex": "reddish"}]}, "colours.0.hex"),
        ({"colours": [{"hex": 255}]}, "colours.0.hex"),
        ({"colours": [{"lab": [101, 0, 0]}]}, "colours.0.lab"),
        ({"colours": [{"lab": [50, 200, 0]}]}, "colours.0.lab"),
        ({"colours": [{"lab": [50, 0]}]}, "colours.0.lab"),
        ({"colours": [{"hex": "#ffffff", "lab": [10, 0, 0]}]}, "colours.0.hex"),
        ({"colours": [{"hex": "#fff", "share": 0.5}, {"hex": "#000", "share": 0.2}]}, "colours"),
        ({"colours": [{"hex": "#fff", "share": -1}]}, "colours.0.share"),
        ({"colours": [{"hex": "#fff", "shade": 1}]}, "colours.0.shade"),
        ({"on_hand_g": -1}, "on_hand_g"),
        ({"on_hand_g": "much"}, "on_hand_g"),
        ({"on_hand_g": True}, "on_hand_g"),
        ({"on_hand_g": 10**400}, "on_hand_g"),
        ({"on_hand_g": 1e300}, "on_hand_g"),
        ({"density_g_per_ml": 0}, "density_g_per_ml"),
        ({"price_per_kg": -0.01}, "price_per_kg"),
        ({"price_per_kg": "€4"}, "price_per_kg"),
        ({"best_before": "31/12/2027"}, "best_before"),
        ({"best_before": "2027-02-30"}, "best_before"),
        ({"allergens": "milk"}, "allergens"),
        ({"allergens": ["mlik"]}, "allergens"),
        ({"diet": "paleo"}, "diet"),
        ({"texture": {"form": "blob"}}, "texture.form"),
        ({"texture": {"grain": 2}}, "texture.grain"),
        ({"texture": 4}, "texture"),
        ({"melts_in_heat": "yes"}, "melts_in_heat"),
        ({"motifs": ["a"] * 61}, "motifs"),
        ({"lot": ["x"]}, "lot"),
    ],
)
def test_a_jar_that_cannot_be_kept(
    client: FlaskClient, store: Store, refused: Refused, unchanged: Any, change: dict[str, Any], field: str
) -> None:
    """Neither created nor changed, and the field is named."""
    with unchanged(store):
        for response in (
            client.post("/api/v1/jars", json={**JAR, **change}),
            client.patch("/api/v1/jars/1", json=change),
        ):
            refused(response, 422, "invalid_value", field)


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        ("gels", {"name": "g", "swatch": {"hex": "#1d8a8a"}}, "dose_g_per_100g"),
        ("gels", {"name": "g", "swatch": "#1d8a8a", "dose_g_per_100g": 1}, "swatch"),
        ("gels", {"name": "g", "swatch": {"hex": "#zzz"}, "dose_g_per_100g": 1}, "swatch.hex"),
        ("cutters", {"name": "c", "width_mm": -3}, "width_mm"),
        ("boxes", {"name": "b", "on_hand": 2.5}, "on_hand"),
        ("supplies", {"name": "s", "unit": "furlong"}, "unit"),
        ("themes", {"name": "t", "anchors": []}, "anchors"),
        ("themes", {"name": "t", "anchors": [{"hex": "#fff", "weight": 0.4}]}, "anchors"),
        ("themes", {"name": "t", "anchors": [{"hex": "#fff"}], "months": [13]}, "months.0"),
        ("themes", {"name": "t", "anchors": [{"hex": "#fff"}], "months": [1, None]}, "months.1"),
    ],
)
def test_other_things_that_cannot_be_kept(
    client: FlaskClient,
    store: Store,
    refused: Refused,
    unchanged: Any,
    path: str,
    body: dict[str, Any],
    field: str,
) -> None:
    """The field is named, and nothing is kept."""
    with unchanged(store):
        refused(client.post(f"/api/v1/{path}", json=body), 422, "invalid_value", field)


def test_every_problem_is_told_at_once(client: FlaskClient, refused: Refused) -> None:
    """Of a thing and of a question alike."""
    jar = {"kind": "gravel", "colours": [{"hex": "x"}], "on_hand_g": -1, "colour": 1}
    refused(
        client.post("/api/v1/jars", json=jar),
        422,
        "invalid_value",
        "colour",
        "name",
        "kind",
        "colours.0.hex",
        "on_hand_g",
    )
    question = {
        "theme": "x" * 2001,
        "count": 21,
        "kits": 0,
        "cookies": "8",
        "serve": "thrown",
        "needs": {
            "avoid_allergens": ["milk", "mlik"],
            "avoid_colours": ["red"],
            "use_jars": [1, -2],
            "youngest_age": 121,
            "diet": "neither",
            "in_stock_only": "yes",
            "allergy": "milk",
        },
        "coutn": 2,
    }
    problems = refused(
        client.post("/api/v1/ideas", json=question),
        422,
        "invalid_value",
        "theme",
        "count",
        "kits",
        "cookies",
        "serve",
        "needs.avoid_allergens.1",
        "needs.avoid_colours.0",
        "needs.use_jars.1",
        "needs.youngest_age",
        "needs.diet",
        "needs.in_stock_only",
        "needs.allergy",
        "coutn",
    )
    hints = {p["field"]: p["hint"] for p in problems}
    assert hints["coutn"] == "Did you mean count?"
    assert hints["needs.avoid_allergens.1"] == "Did you mean milk?"


@pytest.mark.parametrize("text", ["", "   ", None, 5, ["owl"], "a\x00b", "bell\x07", "x\u202ey", "\ud83e"])
def test_a_phrase_that_cannot_be_read(client: FlaskClient, refused: Refused, text: Any) -> None:
    """Blank, of another type, or with control characters; line ends and tabs are fine."""
    refused(client.post("/api/v1/themes/read", json={"text": text}), 422, "invalid_value", "text")
    refused(client.post("/api/v1/ideas", json={"theme": text}), 422, "invalid_value", "theme")
    assert client.post("/api/v1/themes/read", json={"text": "owl\r\n\tteal"}).status_code == 200
    assert client.post("/api/v1/themes/read", json={"text": "é" * 2000}).status_code == 200


@pytest.mark.parametrize("path", ["palettes", "trios", "ideas"])
def test_a_theme_that_means_nothing_asks_for_colours(client: FlaskClient, refused: Refused, path: str) -> None:
    """422 with what to do next; a palette is not judged for it either."""
    (problem,) = refused(client.post(f"/api/v1/{path}", json={"theme": "qzx vrrk"}), 422, "theme_not_understood")
    assert problem["field"] == "theme"
    assert "colours" in problem["hint"]
    body = {"theme": "qzx vrrk", "colours": ["#fff", "#000", "#f00"]}
    refused(client.post("/api/v1/palettes/score", json=body), 422, "theme_not_understood", "theme")


@pytest.mark.parametrize(
    "colours", [[], ["#fff"] * 2, ["#fff"] * 4, "#fff", None, [1, 2, 3], ["#fff", "#000", "#"]]
)
def test_three_colours_are_three_colours(client: FlaskClient, refused: Refused, colours: Any) -> None:
    """Neither more nor fewer, and each in hex."""
    refused(client.post("/api/v1/palettes/score", json={"colours": colours}), 422, "invalid_value")
    refused(client.post("/api/v1/trios", json={"palette": colours}), 422, "invalid_value")


def test_trios_are_asked_by_theme_or_by_palette(client: FlaskClient, refused: Refused) -> None:
    """By one of the two."""
    both = {"theme": "owl", "palette": ["#fff", "#000", "#f00"]}
    refused(client.post("/api/v1/trios", json=both), 422, "invalid_value", "theme")
    refused(client.post("/api/v1/trios", json={}), 422, "invalid_value", "theme")


def test_needs_that_contradict_each_other(client: FlaskClient, refused: Refused) -> None:
    """Use against skip, include against avoid; and a jar that is not on the shelf."""
    needs: dict[str, Any] = {"use_jars": [1], "skip_jars": [1]}
    refused(client.post("/api/v1/trios", json={"theme": "owl", "needs": needs}), 422, "need_conflict")
    needs = {"include_colours": ["#d7263d"], "avoid_colours": ["#d7263e"]}
    refused(client.post("/api/v1/palettes", json={"theme": "owl", "needs": needs}), 422, "need_conflict")
    needs = {"use_jars": [99_999]}
    for path in ("palettes", "trios", "ideas"):
        response = client.post(f"/api/v1/{path}", json={"theme": "owl", "needs": needs})
        refused(response, 422, "invalid_value", "needs.use_jars")


def test_too_few_jars_are_left(client: FlaskClient, refused: Refused) -> None:
    """Told with what each need ruled out, so that she knows what to relax."""
    needs = {"avoid_additives": ["no such thing"], "diet": "vegan", "in_stock_only": True}
    body = {"theme": "owl", "kits": 1000, "needs": needs}
    (problem,) = refused(client.post("/api/v1/trios", json=body), 422, "too_few_candidates", "jars")
    assert "in stock only" in problem["hint"]


@pytest.mark.parametrize("path", ["palettes", "trios", "ideas"])
def test_an_empty_shelf_says_what_is_missing(
    empty: tuple[Store, FlaskClient], refused: Refused, path: str
) -> None:
    """No crash and no idea out of nothing; without gels the kitchen's staples still tint."""
    _, client = empty
    response = client.post(f"/api/v1/{path}", json={"theme": "owl party"})
    if path == "palettes" and response.status_code == 200:
        recipes = [t["recipe"] for p in response.get_json()["palettes"] for t in p["tints"]]
        assert all(dose["gel_id"] is None for recipe in recipes for dose in recipe)
    else:
        refused(response, 422, "too_few_candidates")
    assert client.get("/api/v1/jars/idle").get_json()["items"] == []


@pytest.mark.parametrize(
    ("query", "field"),
    [("days=0", "days"), ("days=x", "days"), ("count=0", "count"), ("count=201", "count"), ("dyas=9", "dyas")],
)
def test_idle_takes_whole_numbers_in_range(client: FlaskClient, refused: Refused, query: str, field: str) -> None:
    """And nothing else."""
    refused(client.get(f"/api/v1/jars/idle?{query}"), 422, "invalid_value", field)


def test_an_unknown_address_and_an_unknown_method(client: FlaskClient, refused: Refused) -> None:
    """404, and 405 with the methods that there are."""
    refused(client.get("/api/v1/sprinkles"), 404, "not_found", "path")
    response = client.put("/api/v1/jars/1", json={})
    refused(response, 405, "method_not_allowed", "method")
    assert set(response.headers["Allow"].split(", ")) == {"DELETE", "GET", "HEAD", "OPTIONS", "PATCH"}


def test_what_nobody_foresaw_is_not_told(app: Flask, refused: Refused, monkeypatch: pytest.MonkeyPatch) -> None:
    """500 in the one shape, without a word of the exception."""

    def broken(*_: Any) -> None:
        raise RuntimeError("the secret is 4711")

    monkeypatch.setattr(app.extensions["themekit"].store, "list", broken)
    response = app.test_client().get("/api/v1/jars")
    assert refused(response, 500, "internal_error") == []
    assert "4711" not in response.get_data(as_text=True)


def test_a_database_that_fails_is_said_to(app: Flask, refused: Refused, monkeypatch: pytest.MonkeyPatch) -> None:
    """503, so that a caller may try again."""

    def broken(*_: Any) -> None:
        raise StoreUnusable("The database does not answer.")

    monkeypatch.setattr(app.extensions["themekit"].store, "list", broken)
    refused(app.test_client().get("/api/v1/jars"), 503, "store_unusable")


def test_without_a_shelf_or_with_several(tmp_path: Any, refused: Refused) -> None:
    """None is 404; several and none named is 422, naming them."""
    store = Store(f"sqlite:///{tmp_path / 'none.db'}")
    client = create_app(store).test_client()
    refused(client.get("/api/v1/jars"), 404, "not_found", "shelf")
    store.create_shelf("north")
    store.create_shelf("south")
    (problem,) = refused(client.get("/api/v1/jars"), 422, "shelf_unclear", "shelf")
    assert problem["allowed"] == "one of north, south"
    refused(create_app(store, "east").test_client().get("/api/v1/jars"), 404, "not_found", "shelf")
    store.close()
