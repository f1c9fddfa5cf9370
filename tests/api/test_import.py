"""Spreadsheets over HTTP: tried out by default, brought in as shown, refused with every reason."""

from __future__ import annotations

import io
import json
import zipfile
from typing import Any

import openpyxl
import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from catalog.store import Store

HERS = "Sprinkle,Type,Colour,Amt left (oz),Best by\nevening sky,nonpareils,#223355,8,03/04/2027\n"


def sent(client: FlaskClient, data: bytes | str, name: str = "list.csv", **form: Any) -> TestResponse:
    body = {"file": (io.BytesIO(data.encode() if isinstance(data, str) else data), name), **form}
    return client.post("/api/v1/import", data=body, content_type="multipart/form-data")


def test_a_list_is_tried_out_then_brought_in_as_shown(client: FlaskClient, store: Store, unchanged: Any) -> None:
    with unchanged(store):
        tried = sent(client, HERS).get_json()
        assert (tried["imported"], tried["shown"]) == (False, None)
        assert [q["about"] for q in tried["questions"]] == ["days"]
        assert [p["field"] for p in tried["problems"]] == ["list.csv, row 2, Best by"]
        columns = {c["title"]: (c["field"], c["unit"], c["how"]) for c in tried["sheets"][0]["columns"]}
        assert columns["Amt left (oz)"] == ("on_hand_g", "oz", "likeness")
        ways = json.dumps({"days": "day first"})
        settled = sent(client, HERS, ways=ways).get_json()
        assert settled["problems"] == []
        assert settled["rows"]["jars"] == {"created": 1, "changed": 0, "kept": 0}
    done = sent(client, HERS, ways=ways, dry_run="false", shown=settled["shown"])
    assert (done.status_code, done.get_json()["imported"]) == (200, True)
    (row,) = [
        r for r in client.get("/api/v1/jars?page_size=200").get_json()["items"] if r["name"] == "evening sky"
    ]
    assert (row["on_hand_g"], row["best_before"]) == (226.796, "2027-04-03")


def test_what_is_not_as_shown_is_refused(client: FlaskClient, store: Store, refused: Any, unchanged: Any) -> None:
    ways = json.dumps({"days": "day first"})
    shown = sent(client, HERS, ways=ways).get_json()["shown"]
    other = json.dumps({"days": "month first"})
    with unchanged(store):
        refused(sent(client, HERS, ways=ways, dry_run="false"), 409, "not_as_shown", "shown")
        refused(sent(client, HERS, ways=other, dry_run="false", shown=shown), 409, "not_as_shown", "ways")
        changed = HERS.replace(",8,", ",9,")
        refused(sent(client, changed, ways=ways, dry_run="false", shown=shown), 409, "not_as_shown", "file")
        refused(sent(client, HERS, dry_run="false", shown=shown), 409, "not_as_shown", "ways")
    client.post(
        "/api/v1/jars", json={"name": "Evening sky", "kind": "nonpareils", "colours": [{"hex": "#000000"}]}
    )
    answer = sent(client, HERS, ways=ways, dry_run="false", shown=shown)
    refused(answer, 409, "not_as_shown", "shelf")


@pytest.mark.parametrize(
    ("form", "fields"),
    [
        ({"dry_run": "maybe"}, ["dry_run"]),
        ({"ways": "{"}, ["ways"]),
        ({"ways": '{"days": "first", "decimal": 3, "other": 1}'}, ["ways.days", "ways.decimal", "ways.other"]),
        (
            {"ways": '{"sheets": {"a": "spoons"}, "columns": {"a": {"b": 4}}}'},
            ["ways.sheets.a", "ways.columns.a.b"],
        ),
        ({"ways": '{"columns": []}'}, ["ways.columns"]),
        ({"colour": "red"}, ["colour"]),
    ],
)
def test_bad_fields_are_all_told(
    client: FlaskClient, refused: Any, form: dict[str, str], fields: list[str]
) -> None:
    refused(sent(client, HERS, **form), 422, "invalid_value", *fields)


@pytest.mark.parametrize(
    ("data", "name", "field"),
    [(b"PK\x03\x04", "list.xlsx", "list.xlsx"), (b"PK\x03\x04", "a.zip", "a.zip"),
     (HERS.encode(), "list.docx", "file"), (HERS.encode(), "", "file")],
)  # fmt: skip
def test_other_files_are_refused(client: FlaskClient, refused: Any, data: bytes, name: str, field: str) -> None:
    refused(sent(client, data, name), 422, "invalid_value", field)


@pytest.mark.parametrize("data", [b"%PDF-1.7", b"", b"\xff\xfe\0", b"name,kind\n", b"a,b\n1,2\n"])
def test_what_is_no_list_is_told_and_cannot_be_brought_in(
    client: FlaskClient, store: Store, refused: Any, unchanged: Any, data: bytes
) -> None:
    tried = sent(client, data).get_json()
    assert tried["problems"]
    assert tried["shown"] is None
    with unchanged(store):
        refused(sent(client, data, dry_run="false"), 422, "invalid_value")


def test_a_body_that_is_no_form_or_too_large_is_refused(client: FlaskClient, refused: Any) -> None:
    refused(client.post("/api/v1/import", json={}), 415, "not_multipart", "Content-Type")
    refused(
        client.post("/api/v1/import", data={}, content_type="multipart/form-data"), 422, "invalid_value", "file"
    )
    large = client.post("/api/v1/import", data=b"a" * 8_000_000, content_type="multipart/form-data; boundary=b")
    assert large.status_code == 413
    head = b'--b\r\nContent-Disposition: form-data; name="file"; filename="list.csv"\r\n\r\n'
    whole = head + b"a" * 5_000_001 + b"\r\n--b--\r\n"
    answer = client.post("/api/v1/import", data=whole, content_type="multipart/form-data; boundary=b")
    refused(answer, 422, "invalid_value", "file")


def test_names_that_lead_elsewhere_are_only_names(client: FlaskClient) -> None:
    answer = sent(client, HERS, "../../etc/list.csv").get_json()
    assert answer["file"] == "list.csv"


@pytest.mark.parametrize("ending", ["xlsx", "zip"])
def test_the_shelf_goes_out_and_comes_in_unchanged(client: FlaskClient, ending: str) -> None:
    got = client.get(f"/api/v1/export.{ending}")
    assert got.status_code == 200
    assert got.headers["Content-Disposition"].endswith(f'shelf.{ending}"')
    if ending == "xlsx":
        book = openpyxl.load_workbook(io.BytesIO(got.data))
        assert "jars" in book.sheetnames
        assert all(cell.data_type != "f" for sheet in book for row in sheet for cell in row)
    else:
        assert "jars.csv" in zipfile.ZipFile(io.BytesIO(got.data)).namelist()
    back = sent(client, got.data, f"shelf.{ending}").get_json()
    assert back["problems"] == []
    assert all((c["created"], c["changed"]) == (0, 0) for c in back["rows"].values())
    assert sent(client, got.data, f"shelf.{ending}", dry_run="false").get_json()["imported"]


def test_columns_chosen_are_proposed_for_the_next_list(client: FlaskClient) -> None:
    text = "Sprinkle,Type,Colour,Zz\nevening sky,nonpareils,#223355,8\n"
    ways = json.dumps({"columns": {"*": {"Zz": "on_hand_g oz"}}})
    shown = sent(client, text, ways=ways).get_json()["shown"]
    assert sent(client, text, ways=ways, dry_run="false", shown=shown).status_code == 200
    columns = {c["title"]: c for c in sent(client, text).get_json()["sheets"][0]["columns"]}
    zz = columns["Zz"]
    assert (zz["field"], zz["unit"], zz["how"]) == ("on_hand_g", "oz", "as you chose last time")
