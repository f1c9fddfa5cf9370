"""One shelf never sees another's rows: every route is walked with the token of one and the ids of another.

Routes are found in the application itself. One with an id in its address is walked by itself; one
without needs an entry below, or the first test fails.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select
from werkzeug.test import TestResponse

from api.pages.forms import ONE
from catalog.store import Store
from catalog.tables import Base

TINTS = ["#7b4a2b", "#d9a93b", "#1d8a8a"]
#: What nobody but its owner ever says; her theme is understood on no other shelf.
UNSAID = (*(f"alfa {what}" for what in ("jar", "gel", "box", "flour", "batch", "note", "spilled", "till")),
          "shelf of alfa", '"name":"alfa', '"from":"alfa')  # fmt: skip
#: Tables of no shelf: tries at signing in.
NOBODYS = {"tries"}
#: Of the routes with an id: the kinds of rows that the part of the address before it names.
KINDS = {"batches": ("batches",), "orders": ("orders",), "moves": ("moves",), "<what>": tuple(ONE)}
KINDS |= {name: (name,) for name in ONE}


def key(what: str) -> dict[str, str]:
    """A key that both shelves use, for the same sort of question."""
    return {"Idempotency-Key": f"the-same-{what}"}


def sheet() -> tuple[io.BytesIO, str]:
    """A small file to bring in."""
    return io.BytesIO(b"name,width_mm\nnew cutter,61\n"), "cutters.csv"


def entries(ids: dict[str, list[int]], job: str) -> dict[str, list[dict[str, Any]]]:
    """For each route without an id, what is sent to it; every id is another shelf's."""
    jars, cutter, gel = ids["jars"], ids["cutters"][0], ids["gels"][0]
    order, batch, move = ids["orders"][0], ids["batches"][0], ids["moves"][0]
    sketch = {"theme": "owl party", "kits": 2, "tints": TINTS, "jars": jars[:3],
              "cutters": [{"id": cutter, "cookies": 8}]}  # fmt: skip
    needs = {"use_jars": jars[:1], "skip_jars": jars[1:2]}
    ask = {"theme": "owl party", "needs": needs}
    kit = "theme=owl&kits=2&t=7b4a2b&t=d9a93b&t=1d8a8a" + "".join(f"&j={j}" for j in jars[:3]) + f"&c={cutter}:8"
    form = {"theme": "owls", "kits": "2", "t": ["7b4a2b", "d9a93b", "1d8a8a"], "j": [str(j) for j in jars[:3]],
            "c": [f"{cutter}:8"], "order": str(order)}  # fmt: skip
    item: dict[str, Any] = {"jar": jars[0], "kind": "used", "grams": 1}
    listing: list[dict[str, Any]] = [{}, {"query": {"page_size": 200}}]
    found: dict[str, list[dict[str, Any]]] = {
        "GET /": [{}, {"query": {"theme": "owl party", "use": jars[0]}}, {"query": {"theme": "alfa evening"}}],
        "GET /api/v1/batches": [*listing, {"query": {"order": order}}],
        "POST /api/v1/batches": [{"json": sketch}, {"json": {**sketch, "order": order}}, 
                                 {"json": sketch, "headers": key("batches")}],
        "GET /api/v1/batches/weeks": [{}],
        "GET /api/v1/batches/weeks.pdf": [{}],
        "GET /api/v1/calendar": [{}],
        "GET /api/v1/docs": [{}],
        "GET /api/v1/health": [{}],
        "GET /api/v1/health/alive": [{}],
        "POST /api/v1/ideas": [{"json": ask}, {"json": {"theme": "alfa evening owl"}}, 
                              {"json": {"theme": "owl party"}}],
        "GET /api/v1/jars/idle": [{"query": {"days": 1}}],
        "POST /api/v1/jars/photo": [{"data": {}}],
        "POST /api/v1/jars/use-up": [{"json": {"jars": jars[:2]}}, {"json": {}}],
        "GET /api/v1/metrics": [{}],
        "GET /api/v1/moves": [*listing, {"query": {"jar": jars[0]}}, {"query": {"gel": gel}}, 
                              {"query": {"batch": batch}},
                              {"query": {"lot": "alfa-0"}}],
        "POST /api/v1/moves": [{"json": item}, {"json": {"undo": move}}, {"json": item, "headers": key("moves")}],
        "GET /api/v1/openapi.json": [{}],
        "GET /api/v1/orders": [*listing, {"query": {"customer": "alfa school"}}],
        "POST /api/v1/orders": [{"json": {"customer": "new"}, "headers": key("orders")}],
        "POST /api/v1/palettes": [{"json": ask}, {"json": {"theme": "alfa evening"}}, 
                              {"json": {"theme": "owl party"}}],
        "POST /api/v1/palettes/score": [{"json": {"colours": TINTS, "theme": "alfa evening"}}, 
                              {"json": {"colours": TINTS}}],
        "GET /api/v1/recall": [{"query": {"lot": "alfa-0"}}],
        "POST /api/v1/requests": [{"json": {"text": "Owls for the alfa school on 5 December, 2 kits"}}],
        "POST /api/v1/season": [{"json": {"kits": [{"theme": "owl party", "kits": 1, "needs": needs}]}},
                                {"json": {"kits": [{"theme": "owl party", "kits": 1}], "time_limit_s": 2}}],
        "POST /api/v1/season/promise": [{"json": {"batches": [sketch]}},
                                        {"json": {"batches": [sketch]}, "headers": key("season")}],
        "GET /api/v1/shelf": [{}],
        "PATCH /api/v1/shelf": [{"json": {"region": "US"}}],
        "GET /api/v1/shelf/settings": [{}],
        "DELETE /api/v1/taste": [{}],
        "GET /api/v1/taste": [{}],
        "POST /api/v1/taste": [{"json": {"what": "kept", "idea": {"trio": {"jars": [{"id": jars[0]}],
                                                                           "parts": {"fit": 1}}}}}],
        "POST /api/v1/themes/read": [{"json": {"text": "alfa evening, alfa owl 0"}}],
        "POST /api/v1/trios": [{"json": ask}, {"json": {"theme": "owl party"}}, 
                              {"json": {"palette": TINTS, "needs": needs}}],
        "GET /batches": [{}, {"query": {"page": 2}}],
        "POST /batches": [{"data": form}, {"data": {**form, "promise": "1", "key": "the-same-orders"}}],
        "GET /compare": [{"query": {"a": kit, "b": kit}}, {"query": {"a": kit}}],
        "GET /enter": [{"query": {"key": "none"}}],
        "POST /enter": [{"data": {"key": "none"}}],
        "POST /eyes": [{"data": {"eyes": "", "back": "/"}}],
        "GET /idle": [{"query": {"days": 1}}],
        "GET /kit": [{"path": f"/kit?{kit}"}, {"path": f"/kit?{kit}&hold=j0&fresh=1"}],
        "GET /orders": [{}],
        "POST /orders": [{"data": {"customer": "new", "key": "the-same-orders"}}],
        "GET /phone": [{}],
        "POST /phone": [{"data": {}}],
        "GET /reply": [{}, {"query": {"text": "Owls for the alfa school, two kits"}}],
        "GET /season": [{}],
        "POST /season": [{"data": {"line": "0", "theme0": "owl party", "kits0": "1", "date0": "2026-12-20"}}],
        "POST /season/promise": [{"data": {"batches": "[]", "key": "the-same-orders"}}],
        "POST /season/swap": [{"data": {"theme": "", "date": "", "kits": "1", "own": "1", "keep": ""}}],
        "GET /shelf": [{"query": {"what": name}} for name in ONE] + [{"query": {"q": "alfa"}}],
        "GET /shelf/<what>/new": [{"path": f"/shelf/{name}/new"} for name in ONE],
        "POST /shelf/<what>/new": [{"path": f"/shelf/{name}/new", "data": {"name": "new"}} for name in ONE],
        "GET /shelf/export.zip": [{}],
        "GET /shelf/export.xlsx": [{}],
        "GET /api/v1/export.xlsx": [{}],
        "GET /api/v1/export.zip": [{}],
        "POST /api/v1/import": [{"data": {"file": sheet()}}, {"data": {"file": sheet(), "dry_run": "false"}}],
        "GET /shelf/bring": [{}],
        "POST /shelf/bring": [{"data": {"sheet": sheet()}}, {"data": {"sheet": sheet(), "step": "bring"}}],
        "GET /api/v1/season/jobs/<job>": [{"path": f"/api/v1/season/jobs/{job}", "status": 404}],
        "DELETE /api/v1/season/jobs/<job>": [{"path": f"/api/v1/season/jobs/{job}", "status": 404}],
        "GET /season/plan/<job>": [{"path": f"/season/plan/{job}", "status": 404}],
        "POST /season/plan/<job>/stop": [{"path": f"/season/plan/{job}/stop", "data": {}, "status": 404}],
        "POST /reply": [{"data": {"text": "owls", "chosen": kit, "kits": "2", "key": "the-same-orders"}}],
        "GET /taste": [{}],
        "POST /taste": [{"data": {"kit": kit, "what": "kept", "back": "/"}}],
        "POST /taste/reset": [{"data": {}}],
        "GET /shelf/jars/many": [{}],
        "POST /shelf/jars/many": [{"data": {"name": "new", "kind": "nonpareils", "tap": "#d7263d"}}],
        "GET /shelf/jars/lacking": [{}],
        "GET /shelf/place": [{}],
        "POST /shelf/place": [{"data": {"name": "shelf of bravo", "currency": "EUR"}}],
        "GET /sign-in": [{}],
        "POST /sign-in": [{"data": {"passphrase": "none"}}],
        "POST /sign-out": [{"data": {}}],
        "GET /underway/<name>": [{"path": "/underway/alfa"}],
        "POST /underway/<name>/stop": [{"path": "/underway/alfa/stop", "data": {}}],
        "POST /units": [{"data": {"units": "us", "back": "/"}}],
        "GET /week": [{}],
    }  # fmt: skip
    for name in ONE:
        found[f"GET /api/v1/{name}"] = listing
        found[f"POST /api/v1/{name}"] = [{"json": {"name": f"new {name}", "kind": "nonpareils"}}]
    return found


def routes(app: Flask) -> list[tuple[str, str]]:
    """Every method and address pattern, but those of fixed files."""
    files = ("/static/", "/api/v1/docs/files/")
    return sorted(
        (method, str(rule))
        for rule in app.url_map.iter_rules()
        if not str(rule).startswith(files)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    )


def addresses(pattern: str, ids: dict[str, list[int]]) -> list[str]:
    """A pattern with an id, filled with each id there is of the kinds that it may mean, in each of its words."""
    before = pattern.partition("/<int:id>")[0].partition("/<row:id>")[0].rpartition("/")[2]
    assert before in KINDS, f"{pattern}: of what kind is its id?"
    found = []
    for kind in KINDS[before]:
        for id in ids[kind]:
            one = re.sub(r"<(?:row|int):id>", str(id), pattern.replace("<what>", kind))
            words = re.search(r"<any\(([^)]*)\):\w+>", one)
            found += [one] if not words else [one.replace(words[0], w.strip(" '\"")) for w in words[1].split(",")]
    return found


def text_of(answer: TestResponse) -> str:
    """All that an answer says, packed parts unpacked."""
    data = answer.get_data()
    if data.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            data = b"\n".join(packed.read(name) for name in packed.namelist())
    if data.startswith(b"%PDF"):
        from pypdf import PdfReader

        data = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).encode()
    if answer.headers.get("Content-Encoding") == "gzip":
        data = zlib.decompress(data, 31)
    return data.decode("utf-8", "replace") + str(answer.headers)


def everything(store: Store, shelf_id: int) -> dict[str, list[Any]]:
    """Every row of every table that is this shelf's; when its token was last used left aside."""
    kept = {}
    with store.reading() as session:
        for name, table in Base.metadata.tables.items():
            if name in NOBODYS:
                continue
            own = table.c.id if name == "shelves" else table.c.shelf_id
            columns = [c for c in table.c if c.name != "used_at"]
            rows = session.execute(select(*columns).where(own == shelf_id).order_by(table.c.id))
            kept[name] = [tuple(row) for row in rows]
    return kept


def call(
    client: FlaskClient, method: str, address: str, sent: dict[str, Any], headers: dict[str, str]
) -> TestResponse:
    return client.open(
        sent.get("path", address),
        method=method,
        json=sent.get("json"),
        data=sent.get("data"),
        query_string=sent.get("query"),
        headers=headers | sent.get("headers", {}),
    )


def test_every_route_is_walked(shelves) -> None:
    """A new route without an id needs an entry above."""
    app, _, alfa, _ = shelves
    listed = set(entries(alfa.ids, alfa.job))
    without_id = {f"{method} {pattern}" for method, pattern in routes(app) if ":id>" not in pattern}
    assert listed == without_id


def test_every_table_belongs_to_a_shelf() -> None:
    """So that nothing can be read or kept that is nobody's, but for what is counted before anyone is known."""
    for name, table in Base.metadata.tables.items():
        if name in NOBODYS:
            assert set(table.c.keys()) == {"id", "who", "at"}
        else:
            assert name == "shelves" or not table.c.shelf_id.nullable, name


def test_ids_of_another_shelf_are_as_if_they_were_not(shelves) -> None:
    """404 to her neighbour for each of them, in every address that takes one; what her own token opens."""
    app, store, alfa, bravo = shelves
    client = app.test_client()
    before = everything(store, alfa.id)
    walked = 0
    for method, pattern in routes(app):
        if ":id>" not in pattern:
            continue
        for address in addresses(pattern, alfa.ids):
            if method == "GET":
                own = call(client, method, address, {}, alfa.headers)
                assert own.status_code == 200, f"{method} {address} by its owner: {own.status_code}"
                assert "alfa" in text_of(own) or own.mimetype == "image/svg+xml" or "/api/v1/batches" in address
            body = {"json": {"sold": 1} if address.endswith("/end") else {}} if address.startswith("/api/") else {}
            form = {} if address.startswith("/api/") or method == "GET" else {"data": {"name": "x", "amount": "1"}}
            answer = call(client, method, address, body if method != "GET" else form, bravo.headers)
            told = text_of(answer)
            # A move is undone by a form that names it, and refused as one.
            gone = 422 if address.endswith("/undo") else 404
            assert answer.status_code == gone, f"{method} {address}: {answer.status_code} {told[:300]}"
            assert "alfa" not in told, f"{method} {address}"
            walked += 1
    assert walked > 150
    assert everything(store, alfa.id) == before


def test_nothing_of_another_shelf_is_told_or_changed(shelves) -> None:
    """Lists, searches, plans, prints and exports, with another shelf's ids and names in what is sent."""
    app, store, alfa, bravo = shelves
    client = app.test_client()
    # The same key was used by its owner before, for the same question.
    for what, body in (
        ("orders", {"customer": "new"}),
        ("moves", {"jar": alfa.ids["jars"][0], "kind": "used", "grams": 1}),
    ):
        assert call(client, "POST", f"/api/v1/{what}", {"json": body}, alfa.headers | key(what)).status_code == 201
    assert client.get(f"/api/v1/season/jobs/{alfa.job}", headers=alfa.headers).status_code == 200
    before = everything(store, alfa.id)
    for route, several in entries(alfa.ids, alfa.job).items():
        method, _, pattern = route.partition(" ")
        for sent in several:
            answer = call(client, method, pattern, dict(sent), bravo.headers)
            told = text_of(answer)
            assert answer.status_code == sent.get("status", answer.status_code), f"{route} {sent}: {told[:300]}"
            assert answer.status_code < 500, f"{route} {sent}: {told[:300]}"
            # Her own words may be said back to her.
            for word in UNSAID if "alfa" in str(sent) else ("alfa",):
                assert word not in told, f"{route} {sent}: {told[max(0, told.find(word) - 200) :][:400]}"
    assert everything(store, alfa.id) == before
    # Of what was kept for her neighbour nothing refers to her things.
    own = {id for ids in bravo.ids.values() for id in ids}
    assert own
    for batch in client.get("/api/v1/batches?page_size=200", headers=bravo.headers).get_json()["items"]:
        assert not {jar["id"] for jar in batch["jars"]} & set(alfa.ids["jars"])
        assert batch["order"] not in alfa.ids["orders"]


@pytest.mark.parametrize("what", ["orders", "moves"])
def test_a_key_is_of_one_shelf(shelves, what: str) -> None:
    """The same key makes something new on another shelf, and tells nothing of the first."""
    app, _, alfa, bravo = shelves
    client = app.test_client()
    made = {}
    for one in (alfa, bravo):
        spent = {"jar": one.ids["jars"][1], "kind": "used", "grams": 1}
        body = {"customer": "twin"} if what == "orders" else spent
        answer = call(client, "POST", f"/api/v1/{what}", {"json": body}, one.headers | key(f"twin-{what}"))
        assert answer.status_code == 201
        made[one.id] = answer.get_json()["id"]
    assert made[alfa.id] != made[bravo.id]


def test_a_browser_sees_the_shelf_that_it_signed_in_to(shelves, words) -> None:
    """Where a service is for several shelves, sign-in asks which."""
    from api.access.listening import Listening
    from api.app import create_app

    _, store, alfa, bravo = shelves
    app = create_app(store, None, listening=Listening("0.0.0.0", 8017))
    for name, other in (("alfa", "bravo"), ("bravo", "alfa")):
        client = app.test_client()
        assert 'name="shelf"' in client.get("/sign-in").get_data(as_text=True)
        form = {"shelf": f"shelf of {name}", "passphrase": words[other]}
        assert client.post("/sign-in", data=form).status_code == 403
        form["passphrase"] = words[name]
        assert client.post("/sign-in", data=form).status_code == 303
        page = client.get("/shelf").get_data(as_text=True)
        assert f"{name} jar 0" in page
        assert other not in page
        theirs = alfa if other == "alfa" else bravo
        assert client.get(f"/shelf/jars/{theirs.ids['jars'][0]}").status_code == 404
