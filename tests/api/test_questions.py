"""The questions over HTTP on the demo shelf: answers whole, held to their schemas, and honest."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from marshmallow import Schema

import catalog.lexicon
from api import questions
from api.answers import to_json
from api.schemas import answers as given
from api.schemas.idle import IdleJars
from api.schemas.understood import ThemeRead
from catalog.store import Store

TODAY = date(2026, 11, 25)
Refused = Callable[..., list[dict[str, Any]]]
OWN = ["#1d8a8a", "#d9a93b", "#ffffff"]


def _asked(client: FlaskClient, path: str, body: dict[str, Any], schema: type[Schema]) -> dict[str, Any]:
    response = client.post(f"/api/v1/{path}", json=body)
    assert response.status_code == 200, response.get_data(as_text=True)
    answer: dict[str, Any] = response.get_json()
    assert schema().validate(answer) == {}
    return answer


def test_a_phrase_is_read_with_its_needs_and_facts(client: FlaskClient) -> None:
    """Colours, motifs, needs and the number of kits are each told with the words they came from."""
    text = "Owls in teal for 6 kits,\nno milk please"
    answer = _asked(client, "themes/read", {"text": text}, ThemeRead)
    assert answer["text"] == text
    assert {a["from"] for a in answer["anchors"]} >= {"teal", "owl"}
    assert sum(a["weight"] for a in answer["anchors"]) == pytest.approx(1, abs=1e-9)
    assert answer["motifs"][0] == {"word": "owl", "weight": 1.0, "kind": "theme", "of": ""}
    assert answer["needs"] == {"applied": [{"need": "avoid_allergens", "value": "milk", "source": "no milk"}]}
    assert answer["order"] == {"kits": 6, "cookies": None, "date": None}
    assert answer["sureness"] == 1
    assert answer["hint"] is None


def test_a_phrase_without_meaning_asks_for_colours(client: FlaskClient) -> None:
    """Reading it is no error: there are no anchors, no sureness, and a hint."""
    answer = _asked(client, "themes/read", {"text": "qzx vrrk"}, ThemeRead)
    assert answer["anchors"] == []
    assert answer["sureness"] == 0
    assert answer["unknown"] == ["qzx", "vrrk"]
    assert "colours" in answer["hint"]


def test_palettes_come_with_recipes_and_reasons(client: FlaskClient) -> None:
    """Each has three tints, each tint its recipe, and the best comes first."""
    answer = _asked(client, "palettes", {"theme": "owl party", "count": 3}, given.Palettes)
    scores = [p["score"] for p in answer["palettes"]]
    assert len(scores) == 3
    assert scores == sorted(scores, reverse=True)
    for palette in answer["palettes"]:
        assert palette["parts"]
        assert palette["reasons"]
        assert any(tint["recipe"] for tint in palette["tints"])


def test_a_palette_of_her_own_is_scored_with_and_without_a_theme(client: FlaskClient) -> None:
    """A theme adds fit and coverage; nothing is said about gels, for none were chosen."""
    plain = _asked(client, "palettes/score", {"colours": OWN}, given.PaletteScore)
    assert plain["theme"] is None
    assert set(plain["parts"]) == {"harmony", "contrast", "distinctness"}
    themed = _asked(client, "palettes/score", {"colours": OWN, "theme": "owl party"}, given.PaletteScore)
    assert {"fit", "coverage"} <= set(themed["parts"])
    assert [c["hex"] for c in themed["colours"]] == OWN
    assert not any("gel" in reason for reason in themed["reasons"])
    # Three colours far from the theme must do worse than three of its own.
    other = {"colours": ["#f29ab5", "#7a4f9e", "#1a1a1a"], "theme": "owl party"}
    far = _asked(client, "palettes/score", other, given.PaletteScore)
    assert far["score"] < themed["score"]


@pytest.mark.parametrize("question", [{"theme": "owl party"}, {"palette": OWN}])
def test_trios_share_at_most_one_jar(client: FlaskClient, question: dict[str, Any]) -> None:
    """For a theme or for a palette; five trios differ visibly."""
    answer = _asked(client, "trios", {**question, "kits": 2}, given.Trios)
    trios = [{jar["id"] for jar in trio["jars"]} for trio in answer["trios"]]
    assert len(trios) == 5
    for i, one in enumerate(trios):
        assert len(one) == 3
        assert all(len(one & other) <= 1 for other in trios[:i])
    assert answer["kits"] == 2
    assert (answer["palette"] is None) == ("theme" in question)
    assert (answer["theme"] is None) == ("palette" in question)


def test_a_mixed_trio_tells_shares_and_blend(client: FlaskClient) -> None:
    """The shares by volume add up to 1, and the blend's mean colour is shown."""
    answer = _asked(client, "trios", {"theme": "owl party", "serve": "mixed", "count": 1}, given.Trios)
    (trio,) = answer["trios"]
    assert trio["serve"] == "mixed"
    assert sum(jar["share"] for jar in trio["jars"]) == pytest.approx(1)
    assert trio["blend"]["hex"].startswith("#")
    assert len({jar["share"] for jar in trio["jars"]}) > 1


def test_an_idea_is_a_whole_kit(client: FlaskClient) -> None:
    """Palette, trio, cutters over all cookies, what it makes and costs, reasons and cautions."""
    client.patch("/api/v1/shelf", json={"currency": "EUR"})
    body = {"theme": "owl party in teal and gold", "count": 3, "kits": 2, "cookies": 10}
    answer = _asked(client, "ideas", body, given.Ideas)
    assert len(answer["ideas"]) == 3
    assert (answer["kits"], answer["cookies"]) == (2, 10)
    for idea in answer["ideas"]:
        assert sum(c["cookies"] for c in idea["cutters"]) == 10
        assert 2 <= len(idea["cutters"]) <= 4
        assert set(idea["parts"]) == {"palette", "trio", "cutters"}
        assert idea["cost"]["currency"] == "EUR"
        assert idea["reasons"]
        assert idea["cautions"]
        assert idea["trio"]["price_per_kit"] == idea["cost"]["toppings_per_kit"]
    assert "owl" in {c["motif"] for c in answer["ideas"][0]["cutters"]}
    prices = [i["cost"]["toppings_per_kit"] for i in answer["ideas"] if i["cost"]["toppings_per_kit"]]
    assert prices
    assert all(Decimal(price) > 0 for price in prices)


def test_what_the_dough_breaks_leads_the_answer(client: FlaskClient) -> None:
    """“No milk” with a butter dough is answered with that fact first, and told as a need."""
    for path, schema in (("palettes", given.Palettes), ("trios", given.Trios), ("ideas", given.Ideas)):
        body = {"theme": "owl party", "count": 1, "needs": {"avoid_allergens": ["dairy"]}}
        answer = _asked(client, path, body, schema)
        assert next(iter(answer)) == "unmet"
        assert answer["unmet"][0] == {"need": "no milk", "of": "dough", "why": "contains milk"}
        first = answer[path][0]["cautions"][0]
        assert first.startswith("The dough contains milk")
        assert answer["ruled_out"]["no milk"] > 0
        assert answer["needs"]["applied"] == [{"need": "avoid_allergens", "value": "milk", "source": "given"}]


def test_needs_are_hard_limits(client: FlaskClient, store: Store) -> None:
    """Jars to skip never appear, and one of those to use always does."""
    jars, _ = store.list(store.shelf_named().id, "jars", page_size=200)
    plain = _asked(client, "ideas", {"theme": "owl party"}, given.Ideas)
    skip = [jar["id"] for jar in plain["ideas"][0]["trio"]["jars"]]
    use = next(j["id"] for j in jars if j["id"] not in skip and j["best_before"] is None)
    needs = {"skip_jars": skip, "use_jars": [use], "avoid_colours": ["#D7263D"], "youngest_age": 3}
    answer = _asked(client, "ideas", {"theme": "owl party", "needs": needs}, given.Ideas)
    for idea in answer["ideas"]:
        ids = {jar["id"] for jar in idea["trio"]["jars"]}
        assert use in ids
        assert not ids & set(skip)
    assert answer["ruled_out"]["skip jars"] == 3
    assert {"need": "avoid_colours", "value": "#d7263d", "source": "given"} in answer["needs"]["applied"]
    assert {"need": "youngest_age", "value": 3, "source": "given"} in answer["needs"]["applied"]


def test_needs_of_body_and_text_unite(client: FlaskClient) -> None:
    """Lists unite, and each need keeps its own source."""
    body = {"theme": "owl party, no nuts", "count": 1, "needs": {"avoid_allergens": ["egg"]}}
    applied = _asked(client, "trios", body, given.Trios)["needs"]["applied"]
    assert {a["value"]: a["source"] for a in applied} == {
        "egg": "given",
        "peanut": "no nuts",
        "tree nut": "no nuts",
    }


def test_numbers_of_the_text_count_where_none_are_given(client: FlaskClient) -> None:
    """“12 kits” counts, and a number given outright wins."""
    text = "owl party, 12 kits with 6 cookies each"
    read = _asked(client, "ideas", {"theme": text, "count": 1}, given.Ideas)
    assert (read["kits"], read["cookies"]) == (12, 6)
    won = _asked(client, "ideas", {"theme": text, "count": 1, "kits": 3}, given.Ideas)
    assert (won["kits"], won["cookies"]) == (3, 6)


def test_an_included_colour_is_met_by_a_tint(client: FlaskClient) -> None:
    """Some tint of each palette lies near a colour that has to be there."""
    from themekit.colour.difference import delta_e_2000
    from themekit.colour.space import hex_to_lab

    needs = {"include_colours": ["#f29ab5"]}
    answer = _asked(client, "palettes", {"theme": "owl party", "needs": needs}, given.Palettes)
    for palette in answer["palettes"]:
        near = [delta_e_2000(hex_to_lab(t["hex"]), hex_to_lab("#f29ab5")) for t in palette["tints"]]
        assert min(near) <= 10.1


def test_idle_jars_have_a_reason_and_a_use(client: FlaskClient) -> None:
    """The most idle first; what is past its date has no use, what is not has a trio with the jar."""
    response = client.get("/api/v1/jars/idle?days=120&count=6")
    assert response.status_code == 200
    answer = response.get_json()
    assert IdleJars().validate(answer) == {}
    assert answer["days"] == 120
    assert 1 <= len(answer["items"]) <= 6
    idle = [jar["idle"] for jar in answer["items"]]
    assert idle == sorted(idle, reverse=True)
    for jar in answer["items"]:
        assert jar["why"]
        for use in jar["uses"]:
            assert jar["id"] in {j["id"] for j in use["trio"]["jars"]}
    assert any(jar["uses"] for jar in answer["items"])


def test_the_service_answers_what_the_questions_give(client: FlaskClient, store: Store) -> None:
    """To the byte, so that the command line's --json and the service cannot differ."""
    shelf = store.shelf_named().id
    body = {"theme": "owl party in teal", "count": 2}
    for path, asked in (
        ("ideas", questions.ideas(store, shelf, body, TODAY)),
        ("palettes", questions.palettes(store, shelf, body, TODAY)),
        ("trios", questions.trios(store, shelf, body, TODAY)),
        ("themes/read", questions.read_theme(store, shelf, {"text": "owl"})),
        ("palettes/score", questions.score_palette(store, shelf, {"colours": OWN})),
    ):
        sent = {"ideas": body, "palettes": body, "trios": body, "themes/read": {"text": "owl"}}
        response = client.post(f"/api/v1/{path}", json=sent.get(path, {"colours": OWN}))
        assert response.get_data(as_text=True) == to_json(asked)


def test_json_keeps_its_order_and_every_script() -> None:
    """Compact, in UTF-8, and with a lone surrogate made harmless."""
    assert to_json({"b": "é 🦉", "a": "\ud800"}) == '{"b":"é 🦉","a":"?"}'
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json(float("nan"))
    assert json.loads(to_json({"owl": 1})) == {"owl": 1}


def test_a_customers_message_in_another_script_is_read_or_said_not_to_be(client: FlaskClient) -> None:
    """Emoji and other scripts beside a theme do no harm."""
    answer = _asked(client, "themes/read", {"text": "🦉 owl 梟 сова بومة"}, ThemeRead)
    assert answer["motifs"][0]["word"] == "owl"
    assert set(answer["unknown"]) >= {"梟", "сова"}


def test_an_additive_by_any_name_is_kept_out_in_any_case(client: FlaskClient, store: Store) -> None:
    """“Red 40” is E129, and a name that no table knows is met however it was typed."""
    shelf = store.shelf_named().id
    jar = store.list(shelf, "jars")[0][0]
    store.change(shelf, "jars", jar["id"], {"additives": ["Potassium Sorbate", "E129"]})
    for word in ("potassium sorbate", "FD&C Red No. 40"):
        needs = {"avoid_additives": [word], "use_jars": [jar["id"]]}
        response = client.post("/api/v1/trios", json={"theme": "owl party", "needs": needs})
        assert response.status_code == 422
        assert response.get_json()["error"]["code"] in ("too_few_candidates", "need_conflict")
    kept = client.post("/api/v1/trios", json={"theme": "owl party", "needs": {"use_jars": [jar["id"]]}})
    assert kept.status_code == 200


_SEVERAL = """
import sys
from datetime import date
from api import questions
from api.answers import to_json
from catalog.lexicon import kinds
from catalog.store import Store
store = Store(sys.argv[1], kinds())
shelf, today = store.shelf_named().id, date(2026, 11, 25)
for text in ("owl party", "rainbow birthday, no milk or nuts", "glacial geology in teal", "without flurbs"):
    print(to_json(questions.read_theme(store, shelf, {"text": text})))
for text in ("pirates, 12 kits", "koi pond, the youngest is three"):
    print(to_json(questions.ideas(store, shelf, {"theme": text, "count": 3}, today)))
print(to_json(questions.trios(store, shelf, {"theme": "autumn leaves", "serve": "mixed", "kits": 4}, today)))
print(to_json(questions.palettes(store, shelf, {"theme": "tea party"}, today)))
print(to_json(questions.idle(store, shelf, {"days": 120}, today)))
"""


def test_other_processes_give_the_same_answers_to_the_byte(demo_file: Path) -> None:
    """Under two seeds of Python's string hashes, so that no order of a set shows through."""
    told = []
    for seed in ("1", "4242"):
        done = subprocess.run(
            [sys.executable, "-c", _SEVERAL, f"sqlite:///{demo_file}"],
            cwd=Path(__file__).parents[2],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        told.append(done.stdout)
    assert len(told[0].splitlines()) == 9
    assert all(json.loads(line) for line in told[0].splitlines())
    assert told[0] == told[1]


def test_an_empty_shelf_gets_a_clear_answer_to_every_question(
    empty: tuple[Store, FlaskClient], refused: Refused
) -> None:
    """Ideas and trios need jars and say so; the kitchen's staples still make natural tints."""
    _, client = empty
    for path in ("ideas", "trios"):
        response = client.post(f"/api/v1/{path}", json={"theme": "owl party"})
        problems = refused(response, 422, "too_few_candidates", "jars")
        assert problems[0]["got"] == 0
        assert problems[0]["hint"] == "Add jars to the shelf."
    answer = _asked(client, "palettes", {"theme": "owl party"}, given.Palettes)
    assert answer["palettes"]
    assert _asked(client, "themes/read", {"text": "owl party"}, ThemeRead)["sureness"] == 1
    idle = client.get("/api/v1/jars/idle")
    assert (idle.status_code, idle.get_json()["items"]) == (200, [])


@pytest.mark.parametrize("missing", ["gels", "cutters", "jars"])
def test_what_a_shelf_lacks_is_said(client: FlaskClient, store: Store, refused: Refused, missing: str) -> None:
    """Without gels the tints are natural and what they miss is told; without cutters it is said."""
    shelf = store.shelf_named().id
    for row in store.list(shelf, missing, page_size=200)[0]:
        store.remove(shelf, missing, row["id"])
    body = {"theme": "owl party in teal", "count": 1}
    if missing == "jars":
        problems = refused(client.post("/api/v1/ideas", json=body), 422, "too_few_candidates", "jars")
        assert problems[0]["got"] == 0
        return
    (idea,) = _asked(client, "ideas", body, given.Ideas)["ideas"]
    if missing == "cutters":
        assert idea["cutters"] == []
        assert "There are no cutters on the shelf: enter some, or cut plain rounds." in idea["reasons"]
        assert idea["parts"]["cutters"] == 0
    else:
        staples = {s.name for s in catalog.lexicon.staples()}
        assert {dose["gel"] for t in idea["palette"]["tints"] for dose in t["recipe"]} <= staples
        assert any("cannot make the theme's" in reason for reason in idea["reasons"])


def test_idle_jars_tell_the_days_ahead_the_rate_and_what_is_at_risk(client: FlaskClient, store: Store) -> None:
    """Of a young ledger no rate is known; totals are those of the jars told."""
    store.change_shelf(store.shelf_named().id, {"region": "US-CA"})
    answer = client.get("/api/v1/jars/idle").get_json()
    assert IdleJars().validate(answer) == {}
    named = [(one["date"], one["theme"]) for one in answer["ahead"]]
    assert ("2026-11-26", "thanksgiving") in named
    assert ("2026-12-25", "christmas") in named
    assert named == sorted(named, key=lambda one: one[0])
    assert all(jar["used_g_per_day"] is None and jar["left_g"] is None for jar in answer["items"])
    known = [jar["grams_at_risk"] for jar in answer["items"] if jar["grams_at_risk"] is not None]
    assert answer["at_risk"]["grams"] == pytest.approx(sum(known), abs=1e-3)
    money = [Decimal(jar["money_at_risk"]) for jar in answer["items"] if jar["money_at_risk"] is not None]
    assert Decimal(answer["at_risk"]["money"]) == sum(money)
    assert answer["at_risk"]["at_least"] == (len(money) < len(answer["items"]))
