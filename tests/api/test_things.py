"""List, create, read, change and remove, of every kind of thing on the shelf."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.schemas.things import RESOURCES, Resource, ShelfOut
from catalog.store import Store

every_kind = pytest.mark.parametrize("resource", RESOURCES, ids=lambda r: r.name)
Refused = Callable[..., list[dict[str, Any]]]


def _path(resource: Resource, id: int | str = "") -> str:
    return f"/api/v1/{resource.name}" + (f"/{id}" if id != "" else "")


@every_kind
def test_a_thing_is_created_read_changed_and_removed(client: FlaskClient, resource: Resource) -> None:
    """With 201 and Location, an ETag that grows, and 204; the answer fits its schema."""
    made = client.post(_path(resource), json=resource.example)
    assert made.status_code == 201
    row = made.get_json()
    assert resource.given().validate(row) == {}
    assert made.headers["Location"] == _path(resource, row["id"])
    assert made.headers["ETag"] == '"1"'
    read = client.get(made.headers["Location"])
    assert read.status_code == 200
    assert read.get_json() == row
    assert row["name"] == resource.example["name"]
    changed = client.patch(made.headers["Location"], json={"name": "another name"})
    assert changed.status_code == 200
    assert changed.get_json() == {**row, "name": "another name", "version": 2}
    assert changed.headers["ETag"] == '"2"'
    removed = client.delete(made.headers["Location"])
    assert (removed.status_code, removed.data) == (204, b"")
    assert client.get(made.headers["Location"]).status_code == 404


@every_kind
def test_a_list_comes_in_pages_by_id(
    empty: tuple[Store, FlaskClient], resource: Resource, refused: Refused
) -> None:
    """Fifty to a page unless asked otherwise; past the end the page is empty."""
    store, client = empty
    shelf = store.shelf_named().id
    rows = [{**resource.example, "name": f"thing {i}"} for i in range(53)]
    store.load(shelf, {resource.name: rows})
    first = client.get(_path(resource)).get_json()
    assert resource.page().validate(first) == {}
    assert list(first) == ["items", "page", "page_size", "total"]
    assert (first["page"], first["page_size"], first["total"]) == (1, 50, 53)
    assert len(first["items"]) == 50
    ids = [row["id"] for row in first["items"]]
    assert ids == sorted(ids)
    second = client.get(_path(resource) + "?page=2").get_json()
    assert [row["name"] for row in second["items"]] == ["thing 50", "thing 51", "thing 52"]
    past = client.get(_path(resource) + "?page=9&page_size=20").get_json()
    assert past == {"items": [], "page": 9, "page_size": 20, "total": 53}
    for query, field in (
        ("page=0", "page"),
        ("page_size=201", "page_size"),
        ("page=-1", "page"),
        ("page=1.5", "page"),
        ("page=1&page=2", "page"),
        ("page_size=" + "9" * 400, "page_size"),
        ("pagesize=3", "pagesize"),
    ):
        refused(client.get(f"{_path(resource)}?{query}"), 422, "invalid_value", field)


@every_kind
def test_a_stale_change_or_removal_is_refused(
    client: FlaskClient, store: Store, resource: Resource, refused: Refused, unchanged: Any
) -> None:
    """If-Match of an earlier version, or of no version at all, gives 412 and changes nothing."""
    path = client.post(_path(resource), json=resource.example).headers["Location"]
    assert client.patch(path, json={"name": "second"}, headers={"If-Match": '"1"'}).status_code == 200
    with unchanged(store):
        for stale in ('"1"', "1", '"3"', 'W/"2"', '"x"', '""', '"2", "9"', '"' + "9" * 5000 + '"'):
            headers = {"If-Match": stale}
            refused(client.patch(path, json={"name": "third"}, headers=headers), 412, "stale_version")
            refused(client.delete(path, headers=headers), 412, "stale_version", "version")
    assert client.patch(path, json={"name": "third"}, headers={"If-Match": "*"}).status_code == 200
    assert client.delete(path, headers={"If-Match": '"3"'}).status_code == 204


@every_kind
def test_a_name_is_taken_once_whatever_its_case(
    client: FlaskClient, store: Store, resource: Resource, refused: Refused, unchanged: Any
) -> None:
    """Names are unique per shelf in NFC and without case; a removed one is free again."""
    path = client.post(_path(resource), json={**resource.example, "name": "Crème"}).headers["Location"]
    other = client.post(_path(resource), json={**resource.example, "name": "other"}).headers["Location"]
    with unchanged(store):
        again = {**resource.example, "name": "CRE\u0300ME"}
        refused(client.post(_path(resource), json=again), 422, "name_taken", "name")
        refused(client.patch(other, json={"name": "crème"}), 422, "name_taken", "name")
    client.delete(path)
    assert client.post(_path(resource), json=again).status_code == 201


@every_kind
def test_another_shelfs_things_are_not_there(store: Store, resource: Resource, refused: Refused) -> None:
    """Neither listed, nor read, nor changed, nor removed, and their names are free."""
    store.create_shelf("a")
    store.create_shelf("b")
    a, b = (create_app(store, shelf).test_client() for shelf in ("a", "b"))
    made = a.post(_path(resource), json=resource.example)
    path, row = made.headers["Location"], made.get_json()
    assert b.get(_path(resource)).get_json()["total"] == 0
    assert a.get(_path(resource)).get_json()["items"] == [row]
    refused(b.get(path), 404, "not_found", "id")
    refused(b.patch(path, json={"name": "mine now"}), 404, "not_found", "id")
    refused(b.delete(path), 404, "not_found", "id")
    assert a.get(path).get_json() == row
    assert b.post(_path(resource), json=resource.example).status_code == 201


@every_kind
@pytest.mark.parametrize("id", ["0", "-1", "2147483648", "9" * 5000, "x", "1.0", "%00"])
def test_an_id_that_nothing_has_is_not_found(
    client: FlaskClient, resource: Resource, id: str, refused: Refused
) -> None:
    """However it is written."""
    refused(client.get(_path(resource, id)), 404, "not_found")


@every_kind
def test_every_unknown_field_is_named(
    client: FlaskClient, store: Store, resource: Resource, refused: Refused, unchanged: Any
) -> None:
    """With the field that was probably meant."""
    with unchanged(store):
        body = {**resource.example, "nmae": "x", "id": 7, "🦉": 1}
        problems = refused(client.post(_path(resource), json=body), 422, "invalid_value", "nmae", "id", "🦉")
        hints = {p["field"]: p["hint"] for p in problems}
        assert hints["nmae"] == "Did you mean name?"
        assert hints["id"].startswith("It is set by the store")


def test_texture_changes_part_by_part_and_null_is_unknown(client: FlaskClient) -> None:
    """Of a texture only the parts named change; a field set to null falls back on the kind."""
    path = client.post(
        "/api/v1/jars",
        json={
            "name": "big pearls",
            "kind": "nonpareils",
            "colours": [{"hex": "#fff"}],
            "texture": {"grain_mm": 4, "finish": "pearl"},
            "on_hand_g": 50,
        },
    ).headers["Location"]
    row = client.patch(path, json={"texture": {"grain_mm": None}, "on_hand_g": None}).get_json()
    assert row["texture"]["finish"] == "pearl"
    assert "texture.grain_mm" in row["defaults"]
    assert row["on_hand_g"] is None
    assert row["allergens"] is None


def test_the_shelf_is_read_and_changed(
    client: FlaskClient, store: Store, refused: Refused, unchanged: Any
) -> None:
    """Name, money and place, and of the standing recipes the fields that are named."""
    before = client.get("/api/v1/shelf")
    row = before.get_json()
    assert ShelfOut().validate(row) == {}
    assert before.headers["ETag"] == f'"{row["version"]}"'
    changes = {"name": "Corner bakery", "currency": "GBP", "region": "Leeds", "icing": {"diet": "neither"}}
    changed = client.patch("/api/v1/shelf", json=changes, headers={"If-Match": before.headers["ETag"]})
    assert changed.status_code == 200
    new = changed.get_json()
    assert new["version"] == row["version"] + 1
    assert (new["name"], new["currency"], new["region"]) == ("Corner bakery", "GBP", "Leeds")
    assert new["dough"] == row["dough"]
    assert new["icing"] == {**row["icing"], "diet": "neither"}
    assert client.get("/api/v1/shelf").get_json() == new
    assert store.shelf_named().name == "Corner bakery"
    store.create_shelf("other bakery")
    served = create_app(store, "Corner bakery").test_client()
    with unchanged(store):
        stale = {"If-Match": before.headers["ETag"]}
        refused(served.patch("/api/v1/shelf", json={"region": "York"}, headers=stale), 412, "stale_version")
        refused(served.patch("/api/v1/shelf", json={"name": "OTHER bakery"}), 422, "name_taken", "name")
        wrong = {
            "name": " ",
            "currency": "pounds",
            "regoin": "York",
            "dough": {"allergens": ["mlik"]},
            "icing": 3,
        }
        refused(
            served.patch("/api/v1/shelf", json=wrong),
            422,
            "invalid_value",
            "name",
            "currency",
            "regoin",
            "dough.allergens",
            "icing",
        )
        refused(served.patch("/api/v1/shelf", json=[]), 422, "invalid_value", "shelf")
    again = served.get("/api/v1/shelf").headers["ETag"]
    assert served.patch("/api/v1/shelf", json={}).headers["ETag"] == again


def test_a_shelf_may_be_renamed_while_it_is_served_by_name(store: Store) -> None:
    """The service that was told the old name goes on serving it."""
    store.create_shelf("old name")
    served = create_app(store, "old name").test_client()
    assert served.patch("/api/v1/shelf", json={"name": "new name"}).status_code == 200
    assert served.get("/api/v1/shelf").get_json()["name"] == "new name"


def test_an_own_theme_is_understood_at_once(client: FlaskClient) -> None:
    """Her own theme goes before any built-in one."""
    body = {"name": "owl party", "anchors": [{"hex": "#f29ab5"}], "motifs": ["owl"]}
    client.post("/api/v1/themes", json=body)
    answer = client.post("/api/v1/themes/read", json={"text": "owl party"}).get_json()
    assert answer["anchors"][0]["hex"] == "#f29ab5"
