"""A jar is counted by eye in one step, also where nobody has said yet what a full one holds."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask.testing import FlaskClient

JAR = {"name": "dusk sugar", "kind": "sanding sugar", "colours": [{"hex": "#7a4f9e", "share": 1}]}


@pytest.fixture
def jar(client: FlaskClient) -> int:
    """A jar of which no weight is known."""
    return int(client.post("/api/v1/jars", json=JAR).get_json()["id"])


def of(client: FlaskClient, jar: int) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/v1/jars/{jar}").get_json()
    return found


def test_the_page_asks_beside_the_choice_and_keeps_it(client: FlaskClient, jar: int) -> None:
    asked = client.post(f"/shelf/jars/{jar}/count", data={"kind": "counted", "way": "eye:half", "note": "by lamp"})
    html = asked.get_data(as_text=True)
    assert asked.status_code == 422
    assert "wanted: how much is in a full one, in grams." in html
    assert re.search(r'id="n-full_g" aria-invalid="true"', html)
    assert '<option value="eye:half" selected>' in html
    assert 'value="by lamp"' in html
    assert "full_g is known" not in html
    assert of(client, jar)["on_hand_g"] is None
    done = client.post(f"/shelf/jars/{jar}/count", data={"kind": "counted", "way": "eye:half", "full_g": "180,5"})
    assert done.status_code == 303
    assert (of(client, jar)["full_g"], of(client, jar)["on_hand_g"]) == (180.5, 90.25)


def test_a_program_sends_the_full_weight_beside_the_level(client: FlaskClient, jar: int) -> None:
    body = {"jar": jar, "kind": "counted", "level": "three quarters"}
    refused = client.post("/api/v1/moves", json=body)
    (problem,) = refused.get_json()["error"]["problems"]
    assert (refused.status_code, problem["field"]) == (422, "full_g")
    assert "Send full_g beside level" in problem["hint"]
    assert client.post("/api/v1/moves", json=body | {"full_g": 200}).status_code == 201
    assert (of(client, jar)["full_g"], of(client, jar)["on_hand_g"]) == (200, 150)
    # It is of a counted jar alone, and a refused count leaves it as it was.
    used = client.post("/api/v1/moves", json={"jar": jar, "kind": "used", "grams": 5, "full_g": 90})
    assert (used.status_code, used.get_json()["error"]["problems"][0]["field"]) == (422, "full_g")
    assert of(client, jar)["full_g"] == 200


@pytest.mark.parametrize("what", ["jars", "gels", "boxes"])
def test_a_refused_entry_keeps_what_was_typed(client: FlaskClient, what: str) -> None:
    typed = {"kind": "used", "amount": "a lot", "note": "spilt"}
    html = client.post(f"/shelf/{what}/1/count", data=typed).get_data(as_text=True)
    assert "<option selected>used</option>" in html
    assert 'name="amount" inputmode="decimal" size="7" value="a lot"' in html
    assert 'value="spilt"' in html


def test_a_kind_that_is_none_is_answered_with_the_nearest_and_the_list_folded(client: FlaskClient) -> None:
    html = client.post("/shelf/jars/new", data={"name": "dots", "kind": "nonparels"}).get_data(as_text=True)
    assert "<strong>nonparels</strong> – Nearest: nonpareils" in html
    assert html.index("Nearest: nonpareils") < html.index("<summary>All that it can be</summary>a trade kind:")
    assert html.count("a trade kind:") == 1
