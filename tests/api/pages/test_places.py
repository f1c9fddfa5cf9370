"""The page's places: each answers, forms work without any script, mistakes are all told, names are escaped."""

from __future__ import annotations

import re
from html import unescape

import pytest
from flask.testing import FlaskClient

KIT = "theme=owl+party&kits=6&serve=apart&t=1d8a8a&t=d9a93b&t=7b4a2b&j=1&j=2&j=4&c=1:4&c=2:4"
PLACES = (
    "/", "/?theme=owl+party&avoid=milk&age=3&kits=4", "/?theme=qzx+vrrk", "/shelf", "/shelf?what=cutters",
    "/shelf?what=gels", "/shelf?what=boxes", "/shelf?what=supplies", "/shelf?what=themes", "/shelf?q=owl",
    "/shelf/jars/new", "/shelf/jars/1", "/shelf/cutters/1", "/shelf/gels/1", "/shelf/boxes/1", "/shelf/supplies/1",
    "/shelf/themes/1", "/idle", f"/kit?{KIT}", "/reply", "/batches",
    "/orders", "/week", "/season",
    "/reply?text=owl+party,+six+kits+on+5+December",
)  # fmt: skip
NASTY = '<script>alert("x")</script>'


def version(client: FlaskClient, where: str) -> dict[str, str]:
    """The version that the forms of a page carry."""
    page = client.get(where).get_data(as_text=True)
    return {"version": re.findall(r'name="version" value="(\d+)"', page)[0]}


@pytest.mark.parametrize("address", PLACES)
def test_a_place_answers_as_a_whole_page_that_keeps_to_itself(client: FlaskClient, address: str) -> None:
    answer = client.get(address)
    html = answer.get_data(as_text=True)
    assert answer.status_code in (200, 422), address
    assert html.startswith("<!doctype html>")
    assert html.count("<h1>") == 1
    assert 'lang="en"' in html
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy
    assert not re.search(r"<script(?![^>]*\bsrc=)", html), "no script inside the page"
    assert not re.search(r"\sstyle=", html), "no style inside the page"
    assert not re.search(r'(?:src|href|action)="(?:https?:)?//', html), "nothing from elsewhere"
    for label in re.findall(r'<label[^>]*for="([^"]+)"', html):
        assert f'id="{label}"' in html


def test_ideas_are_shown_as_pictures_within_the_page_weight(client: FlaskClient) -> None:
    answer = client.get("/?theme=owl+party")
    html = answer.get_data(as_text=True)
    assert html.count('class="kitpicture"') == 3
    assert len(answer.get_data()) <= 250_000
    assert html.count('href="/kit?') == 3


def test_an_idea_can_be_laid_out_held_changed_and_made(client: FlaskClient) -> None:
    html = client.get("/?theme=owl+party").get_data(as_text=True)
    link = unescape(re.findall(r'href="(/kit\?[^"]+)"', html)[0])
    page = client.get(link).get_data(as_text=True)
    assert "laid out" in page
    swap = next(unescape(x) for x in re.findall(r'href="(/kit\?[^"]+)"', page) if unescape(x) != link)
    assert client.get(swap).status_code == 200
    anew = client.get(link + "&hold=t0&hold=j0&fresh=1")
    assert anew.status_code == 303
    old = dict(re.findall(r"([tj])=([^&]+)", link)[:1]), re.findall(r"[?&]t=([^&]+)", link)
    new = anew.headers["Location"]
    assert re.findall(r"[?&]t=([^&]+)", new)[0] == old[1][0], "the held colour stays in its place"
    assert re.findall(r"[?&]j=([^&]+)", new)[0] == re.findall(r"[?&]j=([^&]+)", link)[0]
    assert new != link
    form = {name: re.findall(rf"[?&]{name}=([^&]+)", link) for name in ("t", "j", "c")}
    form["c"] = [c.replace("%3A", ":") for c in form["c"]]
    made = client.post("/batches", data={**form, "theme": "owl party", "kits": "2"})
    assert made.status_code == 303
    assert client.get(made.headers["Location"]).status_code == 200


def test_a_batch_goes_its_way_by_forms_alone(client: FlaskClient) -> None:
    form = {
        "t": ["1d8a8a", "d9a93b", "7b4a2b"],
        "j": ["1", "2", "4"],
        "c": ["1:4", "2:4"],
        "theme": "owls",
        "kits": "2",
    }
    where = client.post("/batches", data=form).headers["Location"]
    for step, state in (("promise", "promised"), ("pack", "packed"), ("unpack", "promised"), ("drop", "dropped")):
        assert (
            client.post(
                f"{where}/{step}", data={**version(client, where), "dayless": "1", "sure": "1"}
            ).status_code
            == 303
        )
        assert f'<span class="chip">{state}</span>' in client.get(where).get_data(as_text=True)


def test_too_little_offers_jars_to_swap_with_one_tap(client: FlaskClient) -> None:
    form = {"t": ["1d8a8a", "d9a93b", "7b4a2b"], "j": ["1", "2", "4"], "c": ["1:4"], "theme": "owls", "kits": "25"}
    where = client.post("/batches", data=form).headers["Location"]
    answer = client.post(f"{where}/promise", data={**version(client, where), "dayless": "1"})
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "not enough on the shelf" in page
    assert "instead</button>" in page


def test_a_jar_needs_three_things_and_every_mistake_is_told(client: FlaskClient) -> None:
    good = {"name": "evening blue", "kind": "nonpareils", "colours": "#223355"}
    assert client.post("/shelf/jars/new", data=good).status_code == 303
    bad = {"name": "", "kind": "moon dust", "colours": "bluish", "on_hand_g": "much"}
    answer = client.post("/shelf/jars/new", data=bad)
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "bluish" in page
    assert "much" in page
    assert page.count("wanted:") >= 4, "name, kind, colours and grams"


def test_counts_are_written_down_and_undone(client: FlaskClient) -> None:
    before = client.get("/api/v1/jars/1").get_json()["on_hand_g"]
    assert client.post("/shelf/jars/1/count", data={"kind": "used", "amount": "20,5"}).status_code == 303
    assert client.get("/api/v1/jars/1").get_json()["on_hand_g"] == pytest.approx(before - 20.5)
    move = client.get("/api/v1/moves?jar=1").get_json()["items"][-1]
    undone = client.post(f"/shelf/moves/{move['id']}/undo", data={"back": "//elsewhere.example/x"})
    assert undone.headers["Location"] == "/shelf"
    assert client.get("/api/v1/jars/1").get_json()["on_hand_g"] == pytest.approx(before)


def test_hostile_names_are_shown_as_they_are(client: FlaskClient) -> None:
    client.patch("/api/v1/jars/1", json={"name": NASTY})
    client.patch("/api/v1/cutters/1", json={"name": NASTY + "c"})
    for address in ("/shelf", "/shelf/jars/1", "/shelf?what=cutters", f"/kit?{KIT}", f"/?theme={NASTY}"):
        assert NASTY not in client.get(address).get_data(as_text=True), address
    for address in ("/shelf/jars/1/cup.svg", "/shelf/cutters/1/cookie.svg"):
        assert NASTY not in client.get(address).get_data(as_text=True)


def test_units_are_one_switch_and_lead_nowhere_else(client: FlaskClient) -> None:
    assert " g</span>" in client.get("/shelf").get_data(as_text=True) or " g" in client.get("/shelf").get_data(
        as_text=True
    )
    answer = client.post("/units", data={"units": "us", "back": "https://elsewhere.example"})
    assert answer.headers["Location"] == "/"
    assert " oz" in client.get("/shelf").get_data(as_text=True)


def test_a_change_from_another_page_is_refused(client: FlaskClient) -> None:
    answer = client.post("/units", data={"units": "us"}, headers={"Origin": "https://elsewhere.example"})
    assert answer.status_code == 403


def test_a_jars_form_asks_for_little_first_and_folds_the_rest(client: FlaskClient) -> None:
    page = client.get("/shelf/jars/1").get_data(as_text=True)
    form = page[page.index('class="card thingform"') :].partition("</form>")[0]
    asked = list(dict.fromkeys(re.findall(r'id="f-([a-z_]+)"|name="(allergens|may_contain|c)"', form)))
    names = [one or other for one, other in asked]
    opened, folded = form[: form.index('class="fold"')], form[form.index('class="fold"') :]
    for name in ("f-name", "f-kind", 'name="c"', "f-on_hand_g", "f-best_before", 'name="allergens"'):
        assert name in opened
    assert {"additives", "diet", "grain_mm", "density_g_per_ml", "lot", "motifs"} <= set(names)
    for name in ("additives", "form", "density_g_per_ml", "motifs", "lot", "price_per_kg"):
        assert f'id="f-{name}"' in folded
    headings = re.findall(r'class="fold"[^>]*><summary>([^<]+)<', form)
    assert len(headings) == len(set(headings)) == 4
    assert form.count("<details") == form.count("</details>")
    wrong = client.post("/shelf/jars/1", data={"version": "1", "name": "x", "grain_mm": "huge"}).get_data(
        as_text=True
    )
    refused = wrong[wrong.index('class="card thingform"') :].partition("</form>")[0]
    assert refused.count('class="fold" open') == 4, "what was refused is not folded away"
