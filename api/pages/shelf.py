"""The shelf: its jars, cutters, gels, boxes, supplies and own themes, to see, add, edit and count."""

from __future__ import annotations

import json
from typing import Any

from flask import Blueprint, Response, abort, redirect, request, url_for

from api.pages import eyes
from api.pages.amiss import FormFields
from api.pages.answering import form_stands_at
from api.pages.base import show, told
from api.pages.colours import Photo, cell_of, photo_given, read_photo, rows_of, signature, unchanged
from api.pages.done import say
from api.pages.forms import OF_FORM, ONE, WORDS, Field, cells_of, fields_for, record_of
from api.pages.twice import both_shown, version_in_form
from api.service import service
from api.together import all_batches
from catalog.convert import jar_value
from catalog.errors import StaleVersion
from catalog.rows import Record
from themekit.draw.cookies import cookie_picture
from themekit.draw.cups import cup_picture
from themekit.errors import InvalidValue, Problem, ThemekitError
from themekit.values import Cutter, Tint

blp = Blueprint("shelf_page", __name__, url_prefix="/shelf")
_PER_PAGE = 60
_DOUGH = Tint((88.0, 3.0, 22.0), "#eeddb4", "plain", ())
#: What is typed of a count, by what problems call it.
_COUNTED = FormFields(
    "n-",
    ("kind", "way", "full_g", "amount", "note"),
    {"level": "way", "grams": "amount", "gross_g": "amount", "pieces": "amount"},
)
#: What a blank field of a thing means.
_UNREAD = {"allergens": "not read yet", "may_contain": "not read yet", "additives": "not read yet"}


@blp.get("")
def shelf() -> Response:
    """One kind of thing as a wall of pictures, with search."""
    what = request.args.get("what", "jars")
    if what not in ONE:
        abort(404)
    at = service()
    sought = request.args.get("q", "").strip()
    rows = everything(what)
    if sought:
        rows = [row for row in rows if sought.casefold() in _words(row).casefold()]
    page = max(1, request.args.get("page", 1, type=int))
    start = (page - 1) * _PER_PAGE
    return show(
        "shelf.html",
        what=what,
        kinds=ONE,
        rows=rows[start : start + _PER_PAGE],
        total=len(rows),
        page=page,
        pages=-(-len(rows) // _PER_PAGE) or 1,
        sought=sought,
        nothing=not any(at.store.list(at.shelf_id, name, 1, 1)[1] for name in ONE),
    )


@blp.route("/<what>/new", methods=["GET", "POST"])
def new(what: str) -> Response:
    """Add one: three fields are enough for a jar, the rest can follow."""
    if what not in ONE:
        abort(404)
    at = service()
    if request.method == "GET":
        return _form(what, None)
    cells = cells_of(what, request.form)
    try:
        photo = _colours(what, cells)
        if photo is not None:
            return _form(what, None, cells, photo=photo)
        row = at.store.create(at.shelf_id, what, record_of(what, cells, at.store.kinds))
    except ThemekitError as error:
        return _form(what, None, cells, error)
    if request.form.get("again"):
        return _to(url_for("shelf_page.new", what=what, added=row["name"]))
    return _to(url_for("shelf_page.one", what=what, id=row["id"]))


@blp.route("/<what>/<int:id>", methods=["GET", "POST"])
def one(what: str, id: int) -> Response:
    """One thing: its picture, its fields, its stock."""
    if what not in ONE:
        abort(404)
    at = service()
    row = at.store.get(at.shelf_id, what, id)
    if request.method == "GET":
        return _form(what, row)
    cells = cells_of(what, request.form)
    try:
        photo = _colours(what, cells)
        if photo is not None:
            return _form(what, row, cells, photo=photo)
        at.store.change(at.shelf_id, what, id, record_of(what, cells, at.store.kinds), version_in_form())
    except StaleVersion:
        now = at.store.get(at.shelf_id, what, id)
        heading = f"{now['name']}: yours and what is there"
        theirs = _cells(what, now)
        words = {column: WORDS[column][0] for column in theirs}
        address = url_for("shelf_page.one", what=what, id=id)
        return both_shown(heading, address, now["version"], words, cells, theirs, _UNREAD)
    except ThemekitError as error:
        return _form(what, row, cells, error)
    return _to(url_for("shelf_page.one", what=what, id=id, kept=1))


@blp.post("/<what>/<int:id>/count")
def count(what: str, id: int) -> Response:
    """Write a count, a purchase or a use of one thing into the ledger."""
    if what not in ONE:
        abort(404)
    at = service()
    row = at.store.get(at.shelf_id, what, id)
    word = ONE[what]
    body: dict[str, Any] = {word: id, "kind": request.form.get("kind") or "counted"}
    way = request.form.get("way", "")
    amount = request.form.get("amount", "").strip().replace(",", ".")
    if way.startswith("eye:"):
        body["level"] = way.removeprefix("eye:")
    elif amount:
        field = (
            "gross_g"
            if way == "gross"
            else {"jars": "grams", "gels": "grams", "boxes": "pieces"}.get(what, "amount")
        )
        body[field] = _number(amount)
    full = request.form.get("full_g", "").strip().replace(",", ".")
    if full:
        body["full_g"] = _number(full)
    if request.form.get("note"):
        body["note"] = request.form["note"]
    try:
        if "level" in body and not full and row.get("full_g") is None:
            hint = "It stands on its label, such as 200."
            problem = Problem("full_g", None, "how much is in a full one, in grams", hint)
            raise InvalidValue("Nothing was written down yet.", [problem])
        at.stock.record(at.shelf_id, body, request.form.get("key") or None)
    except ThemekitError as error:
        return _form(what, row, None, error, form=_COUNTED)
    return say(_to(url_for("shelf_page.one", what=what, id=id) + "#stock"), "counted")


@blp.post("/moves/<int:id>/undo")
def undo(id: int) -> Response:
    """Undo a line of the ledger."""
    at = service()
    back = request.form.get("back", "/shelf")
    form_stands_at(_own(back))
    try:
        at.stock.record(at.shelf_id, {"undo": id})
    except ThemekitError as error:
        return show("plain.html", 422, heading="That cannot be undone", error=told(error), back=_own(back))
    return _to(_own(back))


@blp.post("/<what>/<int:id>/remove")
def remove(what: str, id: int) -> Response:
    """Take one off the shelf."""
    if what not in ONE:
        abort(404)
    at = service()
    try:
        at.store.remove(at.shelf_id, what, id, version_in_form())
    except ThemekitError as error:
        return _form(what, at.store.get(at.shelf_id, what, id), None, error)
    return _to(url_for("shelf_page.shelf", what=what))


@blp.get("/jars/<int:id>/cup.svg")
def cup(id: int) -> Response:
    """A jar's cup from above."""
    at = service()
    return _picture(cup_picture(jar_value(at.store.get(at.shelf_id, "jars", id)), f"j{id}"))


@blp.get("/cutters/<int:id>/cookie.svg")
def cookie(id: int) -> Response:
    """A cutter's plain cookie."""
    at = service()
    cutters: dict[int, Cutter] = {c.id: c for c in at.store.read(at.shelf_id).cutters}
    if id not in cutters:
        abort(404)
    return _picture(cookie_picture(cutters[id], _DOUGH, (), f"c{id}"))


def _form(
    what: str,
    row: Record | None,
    cells: dict[str, str] | None = None,
    error: ThemekitError | None = None,
    photo: Photo | None = None,
    form: FormFields | None = None,
) -> Response:
    """A thing with its form; what was refused is of this form or of the one that counts, `form`."""
    at = service()
    moves: list[Record] = []
    entered = None
    if row is not None:
        entered = row if what != "jars" else _entered(row)
        if what in ("jars", "gels", "boxes", "supplies"):
            moves = _history(what, row["id"])
    filled = fields_for(what, entered, cells)
    colours = next((f.value for f in filled if f.name == "colours"), "") if what == "jars" else ""
    rows = list(photo.rows) if photo else rows_of(colours, jar=_name(filled)) if what == "jars" else []
    return show(
        "thing.html",
        200 if error is None else 422,
        rows=rows,
        photo=photo.told if photo else (),
        were="" if photo else signature(rows),
        colours="" if photo else colours,
        what=what,
        one=ONE[what],
        row=row,
        fields=filled,
        kinds=[kind.name for kind in at.store.kinds] if what == "jars" else [],
        moves=moves,
        was=json.dumps(_cells(what, row)) if row is not None else "",
        added=request.args.get("added"),
        kept=request.args.get("kept"),
        counted=request.form if form else {},
        short=_short(row["id"]) if row is not None and what == "jars" else [],
        **({"error": told(error, form or OF_FORM[what])} if error else {}),
    )


def _short(jar: int) -> list[Record]:
    """The promised batches for which a later count left too little of a jar."""
    at = service()
    rows = all_batches(at.store, at.shelf_id, "promised")
    return [row for row in rows if any((x["of"], x["item"]) == ("jars", jar) for x in row["short"])]


def _name(filled: list[Field]) -> str:
    return next((f.value for f in filled if f.name == "name"), "")


def _cells(what: str, row: Record) -> dict[str, str]:
    """A thing as its form holds it."""
    return {f.name: f.value for f in fields_for(what, row if what != "jars" else _entered(row))}


def _colours(what: str, cells: dict[str, str]) -> Photo | None:
    """Put a jar's swatches into its cells; what a photo shows where its colours are to be read."""
    if what != "jars":
        return None
    data = photo_given()
    if "c" in request.form and not unchanged(request.form):
        cells["colours"] = cell_of(request.form)
    if not request.form.get("read"):
        return None
    if data is None:
        raise InvalidValue(
            "There is no photo.", [Problem("photo", None, "a picture of the sprinkles", "Take or choose one.")]
        )
    return read_photo(data, cells.get("name", ""))


def _entered(row: Record) -> Record:
    """A jar's record with what its kind's default filled left blank again."""
    texture = {
        part: None if f"texture.{part}" in row["defaults"] else value for part, value in row["texture"].items()
    }
    return {**{f: None if f in row["defaults"] else v for f, v in row.items()}, "texture": texture}


def _history(what: str, id: int) -> list[Record]:
    """The last moves of one thing, newest first, with the balance after each."""
    at = service()
    _, total = at.stock.moves(at.shelf_id, (what, id), page_size=1)
    rows: list[Record] = []
    for page in range(1, -(-total // 200) + 1):
        rows += at.stock.moves(at.shelf_id, (what, id), page=page, page_size=200)[0]
    undone = {row["undoes"] for row in rows}
    balance = 0.0
    for row in rows:
        balance += row["amount"]
        row["balance"] = balance
        row["can_undo"] = row["batch"] is None and row["kind"] != "undone" and row["id"] not in undone
    return rows[::-1][:60]


def everything(what: str) -> list[Record]:
    """Every thing of one sort on the shelf, by id."""
    at = service()
    rows: list[Record] = []
    page = 1
    while True:
        found, total = at.store.list(at.shelf_id, what, page, 200)
        rows += found
        if len(rows) >= total or not found:
            return rows
        page += 1


def _words(row: Record) -> str:
    return " ".join(str(v) for name, v in row.items() if name in ("name", "kind", "motifs", "lot"))


def _number(text: str) -> Any:
    try:
        number = float(text)
    except ValueError:
        return text
    return int(number) if number == int(number) else number


def _own(back: str) -> str:
    """An address of this page; what would lead elsewhere leads to the shelf."""
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/shelf"


def _to(address: str) -> Response:
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]


def _picture(svg: str) -> Response:
    made = Response(eyes.seen(svg), mimetype="image/svg+xml")
    # An address that names the version may be kept for long.
    made.headers["Cache-Control"] = f"private, max-age={86_400 if request.args.get('v') else 60}"
    made.headers["Vary"] = "Cookie"
    made.headers["Content-Security-Policy"] = "default-src 'none'; style-src 'none'"
    return made
