"""The season and the calendar over HTTP: answers held to their schemas, a plan promised whole or not at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.schemas.season import CalendarOut, PromisedOut, SeasonOut, UseUpOut
from catalog.store import Store

Refused = Callable[..., list[dict[str, Any]]]
LINES = [
    {"theme": "owl party", "kits": 8, "date": "2026-12-12"},
    {"theme": "pirates", "kits": 6, "date": "2026-12-05", "needs": {"youngest_age": 3}},
    {"kits": 5, "date": "2027-01-16", "serve": "mixed"},
]


def _planned(client: FlaskClient, lines: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    response = client.post("/api/v1/season", json={"kits": lines, "further": False, **more})
    assert response.status_code == 200, response.get_data(as_text=True)
    answer: dict[str, Any] = response.get_json()
    assert SeasonOut().validate(answer) == {}
    return answer


@pytest.fixture
def answer(client: FlaskClient) -> dict[str, Any]:
    return _planned(client, LINES)


def _stock(store: Store) -> dict[int, tuple[float | None, float]]:
    rows = store.list(store.shelf_named().id, "jars", 1, 200)[0]
    return {row["id"]: (row["on_hand_g"], row.get("reserved_g", 0)) for row in rows}


def test_a_plan_has_an_idea_for_every_line_and_says_how_sure_it_is(answer: dict[str, Any]) -> None:
    assert [line["theme"] for line in answer["lines"]] == ["owl party", "pirates", None]
    assert answer["lines"][2]["chosen"]
    assert answer["optimal"]
    assert (answer["status"], answer["gap"]) == ("optimal", 0)
    assert "Optimal" in answer["message"]
    assert answer["totals"]["kits"] == 19
    assert answer["totals"]["points"] >= answer["one_by_one"]["points"]
    gained = answer["totals"]["points"] - answer["one_by_one"]["points"]
    assert answer["better_than_one_by_one"]["points"] == pytest.approx(gained, abs=1e-6)
    for line in answer["lines"]:
        assert line["reasons"]
        assert line["why_not"] is None
        assert line["idea"]["cautions"]
        assert len(line["takes"]) == 3


def test_no_jar_gives_more_than_it_holds_unless_bought(answer: dict[str, Any], store: Store) -> None:
    taken: Counter[int] = Counter()
    for line in answer["lines"]:
        taken.update({one["jar"]: one["grams"] for one in line["takes"]})
    stock = _stock(store)
    bought = {one["jar"]: one["grams"] for one in answer["totals"]["buy"]}
    for jar, grams in taken.items():
        assert grams <= (stock[jar][0] or 0) + bought.get(jar, 0) + 1e-6


def test_days_are_worked_back_from_the_day_of_each_line(answer: dict[str, Any]) -> None:
    """By the usual settings: shopping 6, baking 3, icing 2, packing 1, orders 35 to 7 days before."""
    days = answer["lines"][0]["days"]
    assert days["ready_by"] == "2026-12-12"
    assert [days[n] for n in ("open_orders", "last_orders", "shop", "bake", "icing", "pack")] == [
        "2026-11-07", "2026-12-05", "2026-12-06", "2026-12-09", "2026-12-10", "2026-12-11",
    ]  # fmt: skip
    assert sum(week["hours"] for week in answer["weeks"]) > 0
    assert not any(week["over"] for week in answer["weeks"])


def test_a_plan_is_promised_as_a_whole(client: FlaskClient, store: Store, answer: dict[str, Any]) -> None:
    """What it takes is held for its batches, to the mg."""
    body = {"batches": [line["batch"] for line in answer["lines"]]}
    response = client.post("/api/v1/season/promise", json=body)
    assert response.status_code == 201, response.get_data(as_text=True)
    made = response.get_json()
    assert PromisedOut().validate(made) == {}
    assert [batch["state"] for batch in made["items"]] == ["promised"] * 3
    for batch, line in zip(made["items"], answer["lines"], strict=True):
        held = {one["item"]: one["held"] for one in batch["stock"] if one["of"] == "jars"}
        assert held == pytest.approx({one["jar"]: one["grams"] for one in line["takes"]}, abs=2e-3)
    assert batch["needs"] == {}
    assert made["items"][1]["needs"] == {"youngest_age": 3}


def test_a_plan_that_lacks_anything_is_not_promised_at_all(
    client: FlaskClient, store: Store, answer: dict[str, Any], refused: Refused
) -> None:
    """Neither the batches that would do nor the others are made, and nothing is held."""
    before = _stock(store)
    good, greedy = answer["lines"][0]["batch"], answer["lines"][1]["batch"] | {"kits": 900}
    response = client.post("/api/v1/season/promise", json={"batches": [good, greedy]})
    assert response.status_code == 409
    error = response.get_json()["error"]
    assert error["code"] == "short_stock"
    assert {one["jar"] for one in error["short"]} <= {j["id"] for j in greedy["jars"]}
    assert client.get("/api/v1/batches").get_json()["total"] == 0
    assert _stock(store) == before
    wrong = client.post("/api/v1/season/promise", json={"batches": [good, {"kits": 0}, good | {"needs": 7}]})
    refused(wrong, 422, "invalid_value", "batches.2.needs")
    wrong = client.post(
        "/api/v1/season/promise", json={"batches": [good, good | {"kits": 0}, good | {"jars": [0]}]}
    )
    refused(wrong, 422, "invalid_value", "batches.1.kits", "batches.2.jars.0")
    assert client.get("/api/v1/batches").get_json()["total"] == 0


def test_repeating_a_promise_with_its_key_changes_nothing(client: FlaskClient, answer: dict[str, Any]) -> None:
    body = {"batches": [answer["lines"][0]["batch"]]}
    first = client.post("/api/v1/season/promise", json=body, headers={"Idempotency-Key": "winter"})
    again = client.post("/api/v1/season/promise", json=body, headers={"Idempotency-Key": "winter"})
    assert first.status_code == again.status_code == 201
    assert first.get_json() == again.get_json()
    assert client.get("/api/v1/batches").get_json()["total"] == 1


def test_every_problem_of_a_season_is_told_at_once(client: FlaskClient, refused: Refused) -> None:
    body = {
        "kits": [{"theme": "owls", "kits": 0}, {"date": "2020-01-01"}, {"kits": 1, "day": 1, "serve": "neat"}, 7],
        "time_limit_s": 0,
        "buy": "yes",
    }
    refused(
        client.post("/api/v1/season", json=body), 422, "invalid_value",
        "kits.0.kits", "kits.1.kits", "kits.1.date", "kits.2.day", "kits.2.serve", "kits.3.body", "kits.3.kits",
        "time_limit_s", "buy",
    )  # fmt: skip
    refused(client.post("/api/v1/season", json={"kits": []}), 422, "invalid_value", "kits")
    said = client.post("/api/v1/season", json={"kits": [{"theme": "qzx vrrk", "kits": 2}]})
    refused(said, 422, "theme_not_understood")


def test_without_buying_what_stock_does_not_allow_is_left_out(client: FlaskClient) -> None:
    answer = _planned(client, [LINES[0], {"theme": "pirates", "kits": 900}], buy=False)
    assert [line["idea"] is None for line in answer["lines"]] == [False, True]
    assert answer["lines"][1]["why_not"]
    assert answer["lines"][1]["batch"] is None
    assert answer["totals"]["left_out"] == 1
    assert answer["totals"]["buy_cost"] == "0.00"


def _calendar(client: FlaskClient, query: str) -> dict[str, Any]:
    response = client.get(f"/api/v1/calendar{query}")
    assert response.status_code == 200, response.get_data(as_text=True)
    answer: dict[str, Any] = response.get_json()
    assert CalendarOut().validate(answer) == {}
    return answer


def test_the_calendar_proposes_days_for_every_feast_with_a_theme(client: FlaskClient) -> None:
    """Valentine's 2027, three days before which kits are ready, 35 to 7 days before that orders."""
    answer = _calendar(client, "?from=2026-12-01&to=2027-03-01&country=GB-ENG")
    items = {one["name"]: one for one in answer["items"]}
    days = items["Valentine's Day"]["days"]
    assert (days["ready_by"], days["last_orders"], days["open_orders"]) == (
        "2027-02-11", "2027-02-04", "2027-01-07",
    )  # fmt: skip
    assert days["most_kits_a_week"] > 20
    assert items["Shrove Tuesday"]["date"] == "2027-02-09"
    assert (answer["country"], answer["region"]) == ("GB", "ENG")


def test_the_shelfs_place_is_taken_unless_another_is_named(client: FlaskClient, store: Store) -> None:
    assert _calendar(client, "")["country"] is None
    assert _calendar(client, "")["note"]
    store.change_shelf(store.shelf_named().id, {"region": "US-CA"})
    own = _calendar(client, "?from=2027-03-01&to=2027-04-15")
    assert (own["country"], own["region"]) == ("US", "CA")
    assert "Cesar Chavez Day" in {one["name"] for one in own["items"]}
    assert _calendar(client, "?region=NY")["region"] == "NY"
    assert _calendar(client, "?country=DE")["country"] == "DE"


def test_a_place_or_day_that_is_none_is_refused(client: FlaskClient, refused: Refused) -> None:
    refused(client.get("/api/v1/calendar?country=Atlantis&from=x"), 422, "invalid_value", "country", "from")
    refused(client.get("/api/v1/calendar?region=ENG"), 422, "invalid_value", "region")
    refused(client.get("/api/v1/calendar?from=2027-01-01&to=2026-01-01"), 422, "invalid_value", "to")


def test_jars_are_used_up_by_the_fewest_kits(client: FlaskClient, store: Store, refused: Refused) -> None:
    rows = store.list(store.shelf_named().id, "jars", 1, 200)[0]
    ids = [row["id"] for row in rows if row["name"] in ("dinosaur quins", "lilac sanding sugar")]
    response = client.post("/api/v1/jars/use-up", json={"jars": ids})
    assert response.status_code == 200, response.get_data(as_text=True)
    answer = response.get_json()
    assert UseUpOut().validate(answer) == {}
    assert [rest["cups"] for rest in answer["rests"]] == [0, 0]
    assert answer["kits"] == sum(one["kits"] for one in answer["suggestions"]) > 0
    refused(client.post("/api/v1/jars/use-up", json={"jars": [0, "x"]}), 422, "invalid_value", "jars.0", "jars.1")
    refused(client.post("/api/v1/jars/use-up", json={"jars": [99999]}), 422, "invalid_value", "jars.0")
    refused(client.post("/api/v1/jars/use-up", json={"jars": []}), 422, "invalid_value", "jars")


def test_needs_read_from_a_themes_words_are_kept_and_go_into_the_batch(client: FlaskClient) -> None:
    """As they would for an idea; what was not understood is told."""
    answer = _planned(
        client, [{"theme": "owl party, vegan, no soy, zqxv", "kits": 3, "needs": {"youngest_age": 5}}]
    )
    (line,) = answer["lines"]
    applied = {(one["need"], one["value"]) for one in line["needs"]["applied"]}
    assert {("diet", "vegan"), ("avoid_allergens", "soy"), ("youngest_age", 5)} <= applied
    assert line["batch"]["needs"]["diet"] == "vegan"
    assert line["batch"]["needs"]["avoid_allergens"] == ["soy"]
    assert "zqxv" in " ".join(line["reasons"])
    assert client.post("/api/v1/season/promise", json={"batches": [line["batch"]]}).status_code == 201


def test_one_kit_is_swapped_and_the_plan_is_told_anew(client: FlaskClient, answer: dict[str, Any]) -> None:
    other = answer["lines"][0]["others"][0]
    lines = [line | {"keep": now["keep"]} for line, now in zip(LINES, answer["lines"], strict=True)]
    lines[0]["keep"] = other["keep"]
    again = _planned(client, lines)
    assert [line["keep"] for line in again["lines"]] == [line["keep"] for line in lines]
    assert again["kept"] == 3
    assert [j["id"] for j in again["lines"][0]["batch"]["jars"]] == [j["jar"] for j in other["jars"]]
    assert (
        client.post("/api/v1/season/promise", json={"batches": [x["batch"] for x in again["lines"]]}).status_code
        == 201
    )


@pytest.mark.parametrize(
    ("keep", "field"),
    [
        ("x", "kits.0.keep.body"),
        ({"theme": "owl party", "tints": ["#000000"], "jars": [1, 2, 3]}, "kits.0.keep.tints"),
        ({"theme": "owl party", "tints": ["#000000"] * 3, "jars": [1, 2]}, "kits.0.keep.jars"),
        ({"theme": "owl party", "tints": ["#000000"] * 3, "jars": [1, 2, 3]}, "kits.0.keep"),
    ],
)
def test_a_kit_that_cannot_be_kept_is_refused(
    client: FlaskClient, refused: Refused, keep: Any, field: str
) -> None:
    answer = client.post("/api/v1/season", json={"kits": [{**LINES[0], "keep": keep}]})
    problems = refused(answer, 422, "invalid_value")
    assert field in [p["field"] for p in problems]
