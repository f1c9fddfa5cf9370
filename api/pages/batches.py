"""Batches: the list, and one with its steps and everything that follows from it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, redirect, request
from markupsafe import Markup

from api.pages.base import show, told
from api.pages.pictures import picture_of
from api.service import service
from api.works import PARTS, plain, work_of
from themekit.errors import ThemekitError
from themekit.make.layout_picture import layout_svg

blp = Blueprint("batches_page", __name__, url_prefix="/batches")
STEPS = ("promise", "pack", "unpack", "drop")


@blp.get("")
def batches() -> Response:
    """All batches, the newest first."""
    at = service()
    _, total = at.batches.list(at.shelf_id, 1, 1)
    page = max(1, request.args.get("page", 1, type=int))
    last = -(-total // 50)
    rows = at.batches.list(at.shelf_id, max(1, last - page + 1), 50)[0][::-1] if total else []
    return show("batches.html", rows=rows, page=page, pages=last)


@blp.get("/<int:id>")
def batch(id: int) -> Response:
    """One batch."""
    return _shown(id)


@blp.post("/<int:id>/<any(promise, pack, unpack, drop):step>")
def take_step(id: int, step: str) -> Response:
    """Bring a batch a step further."""
    at = service()
    try:
        getattr(at.batches, step)(at.shelf_id, id)
    except ThemekitError as error:
        return _shown(id, error)
    return _to(f"/batches/{id}")


@blp.post("/<int:id>/swap")
def swap(id: int) -> Response:
    """Take another jar instead of one."""
    at = service()
    row = at.batches.get(at.shelf_id, id)
    old, new = _whole(request.form.get("old", "")), _whole(request.form.get("new", ""))
    jars = [{"id": new if j["id"] == old else j["id"], "share": j["share"]} for j in row["jars"]]
    try:
        at.batches.change(at.shelf_id, id, {"jars": jars}, request.form.get("version", type=int))
    except ThemekitError as error:
        return _shown(id, error)
    return _to(f"/batches/{id}")


@blp.post("/<int:id>/change")
def change(id: int) -> Response:
    """Change name, count, day or note; a stale form is refused, never silently kept."""
    form, at = request.form, service()
    changes = {
        "name": form.get("name", ""),
        "kits": _whole(form.get("kits", "")),
        "due": form.get("due") or None,
        "note": form.get("note") or None,
    }
    try:
        at.batches.change(at.shelf_id, id, changes, form.get("version", type=int))
    except ThemekitError as error:
        return _shown(id, error)
    return _to(f"/batches/{id}")


@blp.post("/<int:id>/end")
def end(id: int) -> Response:
    """Say what became of the kits."""
    at = service()
    counts = {
        word: _whole(request.form.get(word, "") or "0") for word in ("sold", "left over", "marked down", "spoiled")
    }
    try:
        at.batches.end(at.shelf_id, id, counts)
    except ThemekitError as error:
        return _shown(id, error)
    return _to(f"/batches/{id}")


def _shown(id: int, error: ThemekitError | None = None) -> Response:
    at = service()
    row = at.batches.get(at.shelf_id, id)
    values: dict[str, Any] = {"batch": row, "work": None, "layout": None, "picture": None}
    if error is not None:
        values["error"] = told(error)
    try:
        done = work_of(at.store, at.shelf_id, row, at.today())
        values["picture"] = picture_of(done.order.kit, "kit", f"{row['name']} from above")
        values["work"] = {
            "breaks": list(done.breaks),
            "problems": [plain(p) for p in done.problems],
            "missing": list(done.missing),
            **{part: plain(getattr(done, part)) for part in PARTS},
        }
        box = done.packing.in_stock or done.packing.best
        if box is not None and box.laid and box.inner_mm:
            values["layout"] = Markup(layout_svg(box.laid, box.inner_mm, f"How it lies in the {box.box.name}"))
    except ThemekitError as wrong:
        values["error"] = values.get("error") or told(wrong)
    return show("batch.html", 200 if error is None else 422, **values)


def _whole(text: str) -> Any:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else text


def _back() -> str:
    back = request.form.get("back", "/")
    return back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/"


def _to(address: str) -> Response:
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]
