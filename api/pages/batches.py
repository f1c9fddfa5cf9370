"""Batches: the list, and one with its steps and everything that follows from it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date, timedelta
from typing import Any

from flask import Blueprint, Response, request
from markupsafe import Markup

from api.pages.amiss import NO_FORM, FormFields
from api.pages.base import local, show, told
from api.pages.kit import open_orders
from api.pages.kit_address import address_of_batch
from api.pages.making import not_kept, to, whole
from api.pages.pictures import picture_of
from api.pages.twice import both_shown, step_overtaken, version_in_form
from api.service import service
from api.works import PARTS, plain, work_of
from catalog.errors import StaleVersion
from catalog.rows import Record
from catalog.stock_tables import OUTCOMES
from themekit.errors import InvalidValue, Problem, ThemekitError, raise_all
from themekit.make.layout_picture import layout_svg

blp = Blueprint("batches_page", __name__, url_prefix="/batches")
#: Each step: its word, and the states in which it can be taken.
STEPS: dict[str, tuple[str, tuple[str, ...]]] = {
    "promise": ("Promise it: hold the stock", ("sketched",)),
    "pack": ("It is packed: take the stock", ("promised", "sketched")),
    "unpack": ("Undo the packing", ("packed",)),
    "drop": ("Drop it: let the stock go", ("sketched", "promised")),
}
#: What is said when a step was taken.
_DONE = {"promise": "promised", "pack": "packed", "unpack": "unpacked", "drop": "dropped"}
#: What is ticked where a promise may be a slip.
KNOWN = "I know that this kit does not keep what was asked: promise it all the same"
DAYLESS = "no day yet"
_TICKS = ("know", "dayless", "early", "sure")
#: So long before its day nothing is packed unasked.
_EARLY = timedelta(days=7)
_ENDED = ("packed", *OUTCOMES)
#: What can be typed of a batch, and what is told of it where a step came too late.
WORDS = {"name": "Name", "kits": "Kits", "due": "Pick-up day", "order": "For the order", "note": "Note"}
_CHANGE = FormFields("b-", (*WORDS, "know"))
_END = FormFields("e-", OUTCOMES, {"outcome": OUTCOMES[0]})
_SEEN = WORDS | {
    "state": "State",
    "icing": "Icing",
    "jars": "Jars",
    "cutters": "Cutters",
    "ends": "What became of them",
}


@blp.get("")
def batches() -> Response:
    """All batches by day, those to come first."""
    at = service()
    _, total = at.batches.list(at.shelf_id, 1, 1)
    page = max(1, request.args.get("page", 1, type=int))
    last = -(-total // 50)
    rows = at.batches.list(at.shelf_id, min(page, last), 50, today=at.today())[0] if total else []
    kept = [{**row, "to": address_of_batch(row)} for row in kept_kits()] if page == 1 else []
    return show("batches.html", rows=rows, page=page, pages=last, kept=kept)


def kept_kits(most: int = 12) -> list[Record]:
    """The last kits that were kept as sketches, newest first."""
    at = service()
    _, total = at.batches.list(at.shelf_id, 1, 1, state="sketched")
    last = -(-total // most)
    rows: list[Record] = []
    for page in range(max(1, last - 1), last + 1):
        rows += at.batches.list(at.shelf_id, page, most, state="sketched")[0]
    return rows[::-1][:most]


@blp.get("/<int:id>")
def batch(id: int) -> Response:
    """One batch."""
    return _shown(id)


@blp.post("/<int:id>/<any(promise, pack, unpack, drop):step>")
def take_step(id: int, step: str) -> Response:
    """Bring a batch a step further; one that was changed since is shown first."""
    at = service()
    lacking = [one for one in ticks_of(at.batches.get(at.shelf_id, id), step) if not request.form.get(one[0])]
    if lacking and not _overtaken_already(id):
        problems = [Problem(name, None, "", f"Tick “{words}”, then press it again.") for name, words in lacking]
        return _shown(id, InvalidValue("Is this meant?", problems), form=FormFields(f"{step}-", _TICKS))
    try:
        getattr(at.batches, step)(at.shelf_id, id, version=version_in_form())
    except StaleVersion:
        return _overtaken(id, step, *STEPS[step], [(name, "1") for name in _TICKS if request.form.get(name)])
    except ThemekitError as error:
        return _shown(id, error)
    return to(f"/batches/{id}", _DONE[step])


def ticks_of(row: Record, step: str, breaks: bool | None = None) -> list[tuple[str, str]]:
    """What has to be ticked before a step that may be a slip: the tick's name and words.

    `breaks` says whether its kit keeps not what was asked; None has it worked out.
    """
    at = service()
    due, found = row["due"] and date.fromisoformat(row["due"]), []
    if step == "promise" and row["state"] == "sketched":
        if breaks is None:
            with suppress(ThemekitError):  # what cannot be worked out is told by the step itself
                breaks = bool(work_of(at.store, at.shelf_id, row, at.today()).breaks)
        if breaks:
            found.append(("know", KNOWN))
        if not due:
            found.append(("dayless", DAYLESS))
    elif step == "pack" and row["state"] in STEPS["pack"][1] and due and due - at.today() > _EARLY:
        found.append(("early", f"its day is only on {local().day(due)}: it is packed all the same"))
    elif step == "drop" and row["state"] == "promised":
        found.append(("sure", "it is promised: drop it all the same"))
    return found


def _overtaken_already(id: int) -> bool:
    """Whether the form is of an older state, which is shown before anything is asked."""
    at = service()
    return at.batches.get(at.shelf_id, id)["version"] != version_in_form()


@blp.post("/<int:id>/swap")
def swap(id: int) -> Response:
    """Take another jar instead of one."""
    form, at = request.form, service()
    row = at.batches.get(at.shelf_id, id)
    old, new = whole(form.get("old", "")), whole(form.get("new", ""))
    jars = [{"id": new if j["id"] == old else j["id"], "share": j["share"]} for j in row["jars"]]
    try:
        at.batches.change(at.shelf_id, id, {"jars": jars}, version_in_form())
    except StaleVersion:
        typed = [(name, form.get(name, "")) for name in ("old", "new")]
        return _overtaken(id, "swap", "Take the other jar", ("sketched", "promised"), typed)
    except ThemekitError as error:
        return _shown(id, error)
    return to(f"/batches/{id}", "changed")


@blp.post("/<int:id>/change")
def change(id: int) -> Response:
    """Change name, count, day, order or note; where it was changed since, both are shown to choose from."""
    at = service()
    given = {name: request.form.get(name, "").strip() for name in WORDS}
    changes = {name: value or None for name, value in given.items()}
    changes |= {name: whole(given[name]) for name in ("kits", "order") if given[name]}
    if not given["name"]:
        changes["name"] = ""
    try:
        _joins(id, changes["order"])
        at.batches.change(at.shelf_id, id, changes, version_in_form())
    except StaleVersion:
        row = at.batches.get(at.shelf_id, id)
        address = f"/batches/{id}"
        heading = f"{row['name']}: yours and what is there"
        return both_shown(heading, f"{address}/change", row["version"], WORDS, given, typed_of(row), back=address)
    except ThemekitError as error:
        return _shown(id, error, given, _CHANGE)
    return to(f"/batches/{id}", "changed")


def _joins(id: int, order: Any) -> None:
    """Raise `InvalidValue` for a batch that joins an order and breaks what goes with it, unless that is meant."""
    at = service()
    row = at.batches.get(at.shelf_id, id)
    if order is None or order == row["order"] or row["version"] != version_in_form() or request.form.get("know"):
        return
    if not isinstance(order, int) or row["state"] not in ("sketched", "promised"):
        return
    breaks: Sequence[str] = ()
    with suppress(ThemekitError):  # what cannot be worked out is told by the page
        breaks = work_of(at.store, at.shelf_id, {**row, "order": order}, at.today()).breaks
    raise_all(not_kept(breaks), "It has not joined the order yet.")


@blp.post("/<int:id>/end")
def end(id: int) -> Response:
    """Say what became of the kits."""
    at = service()
    typed = [(word, request.form.get(word, "").strip()) for word in OUTCOMES]
    try:
        at.batches.end(at.shelf_id, id, {word: whole(n or "0") for word, n in typed}, version_in_form())
    except StaleVersion:
        return _overtaken(id, "end", "Keep these ends", _ENDED, typed)
    except ThemekitError as error:
        return _shown(id, error, dict(typed), _END)
    return to(f"/batches/{id}", "ended")


def typed_of(row: Record) -> dict[str, str]:
    """A batch as its form holds it."""
    return {name: "" if row[name] is None else str(row[name]) for name in WORDS}


def seen_of(row: Record) -> dict[str, str]:
    """What one sees of a batch, in a few words for each thing, to tell what changed."""
    return typed_of(row) | {
        "state": row["state"],
        "icing": ", ".join(t["hex"] for t in row["tints"]),
        "jars": ", ".join(j["name"] for j in row["jars"]),
        "cutters": ", ".join(f"{c['cookies']} {c['name']}" for c in row["cutters"]),
        "ends": ", ".join(f"{n} {word}" for word, n in row["outcome"].items() if n),
    }


def _overtaken(
    id: int, step: str, word: str, states: Sequence[str], typed: Sequence[tuple[str, str]] = ()
) -> Response:
    at = service()
    row = at.batches.get(at.shelf_id, id)
    heading = f"{row['name']}, as it is now"
    can = word if row["state"] in states else None
    return step_overtaken(heading, f"/batches/{id}/{step}", can, row["version"], _SEEN, seen_of(row), typed)


def _shown(
    id: int,
    error: ThemekitError | None = None,
    given: Mapping[str, str] | None = None,
    form: FormFields = NO_FORM,
) -> Response:
    """A batch with all that follows from it; `given` is what was typed into a form and refused."""
    at = service()
    row = at.batches.get(at.shelf_id, id)
    values: dict[str, Any] = {"batch": row, "work": None, "layout": None, "picture": None}
    values |= {
        "steps": [(step, word) for step, (word, states) in STEPS.items() if row["state"] in states],
        "ticked": [name for name in _TICKS if request.form.get(name)],
        "ended": row["state"] in _ENDED,
        "given": {**typed_of(row), **{w: str(n) for w, n in row["outcome"].items()}, **(given or {})},
        "typed": form is _CHANGE,
        "ask": form is _CHANGE and any(problem.field == "know" for problem in (error.problems if error else ())),
        "was": json.dumps(typed_of(row)),
        "seen": json.dumps(seen_of(row)),
        "orders": open_orders(),
        "laid": address_of_batch(row),
    }
    if error is not None:
        values["error"] = told(error, form)
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
    breaks = bool(values["work"] and values["work"]["breaks"])
    values["ticks"] = {step: ticks_of(row, step, breaks) for step in STEPS}
    return show("batch.html", 200 if error is None else 422, **values)
