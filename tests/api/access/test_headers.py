"""Headers of every answer: strict policies, nothing guessed, framed or kept; uploads within their limits."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image
from werkzeug.datastructures import FileStorage
from werkzeug.test import encode_multipart

from api.access.gate import LARGER
from api.bringing import MOST_FORM
from api.photos import MOST_BYTES, MOST_PIXELS

PAGES = ("/", "/?theme=owl+party", "/shelf", "/shelf/jars/1", "/shelf/jars/new", "/shelf/jars/many",
         "/shelf/jars/lacking", "/shelf/place", "/idle", "/reply",
         "/batches", "/orders", "/week", "/season", "/phone", "/taste", "/nowhere", "/kit",
         "/compare")  # fmt: skip
DOOR = ("/sign-in", "/enter", "/enter?key=none")
OTHERS = ("/api/v1/jars", "/api/v1/openapi.json", "/api/v1/nowhere", "/shelf/jars/1/cup.svg", "/shelf/export.zip",
          "/api/v1/batches/weeks.pdf", "/api/v1/health/alive")  # fmt: skip


def check(answer) -> dict[str, str]:
    """What every answer has; returns its policy by directive."""
    headers = answer.headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] in ("same-origin", "strict-origin")
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    if answer.request.host in ("localhost", "localhost:80"):
        assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "geolocation=()" in headers["Permissions-Policy"]
    assert "Access-Control-Allow-Origin" not in headers
    policy = dict(part.strip().partition(" ")[::2] for part in headers["Content-Security-Policy"].split(";"))
    assert policy["frame-ancestors"] == "'none'"
    return policy


def test_every_page_has_a_strict_policy_and_is_not_kept(client: FlaskClient, network: Flask) -> None:
    for place in PAGES + DOOR:
        asked = network.test_client() if place in DOOR else client
        answer = asked.get(place)
        policy = check(answer)
        assert answer.mimetype == "text/html", place
        assert answer.headers["Cache-Control"] == "no-store", place
        assert policy["default-src"] == "'none'"
        assert (policy["script-src"], policy["style-src"]) == ("'self'", "'self'"), place
        assert (policy["base-uri"], policy["form-action"]) == ("'none'", "'self'")
        assert not any("unsafe" in value or "http" in value for value in policy.values())
        camera = "camera=(self)" if place.startswith("/shelf") else "camera=()"
        assert camera in answer.headers["Permissions-Policy"]


def test_what_is_no_page_is_careful_too(client: FlaskClient) -> None:
    for place in OTHERS:
        policy = check(client.get(place))
        if not place.endswith(".pdf"):
            assert policy["default-src"] == "'none'", place
    assert client.get("/api/v1/jars").headers["Cache-Control"] == "no-store"
    assert "script-src" in check(client.get("/api/v1/docs"))
    with client.get("/static/page.css") as answer:
        check(answer)
        assert "max-age" in answer.headers["Cache-Control"]


def test_those_turned_away_are_told_with_the_same_care(client: FlaskClient, network: Flask) -> None:
    for answer in (
        client.get("/", headers={"Host": "rebound.example"}),
        client.post("/units", headers={"Origin": "https://example.org"}),
        network.test_client().get("/api/v1/jars"),
        network.test_client().post("/units"),
    ):
        assert answer.status_code in (401, 403, 421)
        check(answer)
        assert answer.headers["Cache-Control"] == "no-store"


def picture(width: int, height: int) -> bytes:
    made = io.BytesIO()
    Image.new("1", (width, height)).save(made, "PNG")
    return made.getvalue()


def sent(client: FlaskClient, place: str, **fields: object):
    """A form sent as one piece, since the test client would leave its own files open."""
    boundary, body = encode_multipart(fields)
    return client.post(place, data=body, content_type=f"multipart/form-data; boundary={boundary}")


def file(data: bytes, name: str) -> FileStorage:
    return FileStorage(io.BytesIO(data), name)


def test_uploads_are_limited_in_size_pixels_and_number(client: FlaskClient, refused) -> None:
    """A photo by bytes and by pixels, which a small file may have many of; a form by its bytes and parts."""
    photo = "/api/v1/jars/photo"
    refused(sent(client, photo, photo=file(b"x" * (MOST_BYTES + 20_000), "a.jpg")), 413, "too_large")
    side = int(MOST_PIXELS**0.5) + 100
    data = picture(side, side)
    assert len(data) < 1_000_000
    (problem,) = refused(sent(client, photo, photo=file(data, "a.png")), 422, "invalid_value", "photo")
    assert "million pixels" in problem["allowed"]
    assert sent(client, "/shelf/bring", sheet=file(b"x" * (MOST_FORM + 1), "jars.csv")).status_code == 413
    assert client.post("/api/v1/jars", data=b" " * 1_000_001, content_type="application/json").status_code == 413
    assert sent(client, "/orders", **{f"f{n}": "x" for n in range(1_100)}).status_code == 413
    assert client.post("/orders", data={"note": "x" * 1_100_000}).status_code == 413


def test_a_signed_in_browser_sends_a_photo_by_a_plain_form(browser: FlaskClient, csrf: Callable) -> None:
    """Its token is read out of a body that is larger than other forms may be."""
    noise = io.BytesIO()
    Image.effect_noise((1400, 1400), 90).convert("RGB").save(noise, "PNG")
    data = noise.getvalue()
    assert 1_000_000 < len(data) < LARGER["photo.Photo"]
    token = csrf(browser)
    place, photo = "/api/v1/jars/photo", file(data, "a.png")
    assert sent(browser, place, photo=photo, csrf=token).status_code == 200
    assert sent(browser, place, photo=file(data, "a.png")).status_code == 403
    for page in ("/shelf/jars/many", "/shelf/jars/new"):
        kind = {"name": "speckled", "kind": "nonpareils", "read": "1"}
        answer = sent(browser, page, photo=file(data, "a.png"), csrf=token, **kind)
        assert answer.status_code in (200, 422), page
        assert 'value="speckled"' in answer.get_data(as_text=True), "shown again with the photo's colours"


@pytest.mark.parametrize("name", sorted(LARGER))
def test_what_may_be_larger_is_there(network: Flask, name: str) -> None:
    assert name in network.view_functions
