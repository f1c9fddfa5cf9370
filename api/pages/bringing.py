"""Bringing in a spreadsheet of her own: what its columns are taken for, what would be done, then doing it."""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from typing import Any

from flask import Blueprint, Response, request

from api.bringing import ENDINGS, Json, bring_file, opened, try_file
from api.pages.amiss import FormFields
from api.pages.base import show, told
from api.pages.forms import ONE, WORDS
from api.routes.sheets import file_reply
from api.service import service
from api.underway import Stopped
from catalog.bringing import Opened, Tell
from catalog.cells import COLUMNS
from catalog.own_columns import PRICE_OF_FULL, fields_of_sheet
from catalog.sheet_files import MOST_BYTES
from catalog.ways import Ways, read_ways
from themekit.errors import InvalidValue, Problem, ThemekitError

blp = Blueprint("bring_page", __name__, url_prefix="/shelf")

_FILE = FormFields("", ("sheet",), {"file": "sheet"})
_MOST_ROWS, _MOST_TOLD = 300, 200
_HOLDS = {**{what: what for what in ONE}, "themes": "own themes", "recipes": "dough and icing"}
_UNITS = {
    "_g": ("g", "kg", "oz", "lb", "tbsp", "tsp", "cup", "jar", "%"),
    "_mm": ("mm", "cm", "in"),
}
_UNIT_WORDS = {"jar": "jars", "%": "percent of a jar", "tbsp": "tablespoons", "tsp": "teaspoons", "cup": "cups"}
_HOW = {
    "our name": "by its name",
    "a usual word": "a usual word for it",
    "likeness": "it looks like it; please check",
    "chosen": "your choice",
    "as you chose last time": "as you chose last time",
    "left out": "no field is like it",
}


@blp.route("/bring", methods=["GET", "POST"])
def bring() -> Response:
    """Try a file out with the choices made so far; bring it in once it is right as shown."""
    if request.method == "GET":
        return show("bring.html", plan=None, endings=",".join(ENDINGS))
    at = service()
    try:
        ways = _ways()
        name, data = _sent()
        file = opened(name, data)
    except ThemekitError as error:
        values = {"plan": None, "endings": ",".join(ENDINGS), "before": _before()}
        return show("bring.html", 422, error=told(error, _FILE), **values)
    with at.underway.of(at.shelf_id, request.form.get("underway", "")[:60]) as tell:
        if request.form.get("step") != "bring":
            return _shown(file, data, ways, tell=tell)
        try:
            done = bring_file(at.store, at.shelf_id, file, ways, request.form.get("shown") or "none", tell)
        except Stopped:
            raise
        except ThemekitError as error:
            return _shown(file, data, ways, error, tell)
        return show("brought.html", done=done, holds=_HOLDS)


@blp.get("/export.zip")
def take() -> Response:
    """The whole shelf as CSVs."""
    return file_reply(".zip")


@blp.get("/export.xlsx")
def take_workbook() -> Response:
    """The whole shelf as a workbook."""
    return file_reply(".xlsx")


def _sent() -> tuple[str, bytes]:
    """The file that was chosen, or else the one of before, which the form carries."""
    given = request.files.get("sheet")
    if given is not None and given.filename:
        data = given.read()
        given.close()
        return given.filename, data
    kept = request.form.get("kept", "")
    if not kept:
        problem = Problem("file", None, "a .csv, .xlsx or .zip", "Choose a file.")
        raise InvalidValue("There is no file.", [problem])
    try:
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(base64.b64decode(kept, validate=True), MOST_BYTES + 1)
    except (binascii.Error, ValueError, zlib.error) as error:
        problem = Problem("file", "something else", "the file as it was sent", "Choose the file again.")
        raise InvalidValue("The file was lost on the way.", [problem]) from error
    return request.form.get("kept_name", ""), data


def _before() -> Json | None:
    """Choices that were made, for a form in which the file has to be chosen again."""
    text = request.form.get("ways", "")
    return {"ways": text} if text else None


def _ways() -> Ways:
    """The choices of before with those of this form over them; a column left as it was proposed is no choice."""
    form = request.form
    try:
        given: Any = json.loads(form.get("ways") or "{}")
    except (ValueError, RecursionError) as error:
        problem = Problem("ways", "something else", "the choices as they were sent", "Choose the file again.")
        raise InvalidValue("The choices were lost on the way.", [problem]) from error
    made = read_ways(given).record()
    for name in ("days", "decimal", "repeats", "blanks"):
        if name in form:
            made[name] = form[name] or None
    for n in range(min(form.get("sheets", 0, type=int), 50)):
        sheet, holds, was = form.get(f"sheet{n}", ""), form.get(f"what{n}", ""), form.get(f"was{n}", "")
        if holds != was:
            made["sheets"][sheet] = "" if holds == "none" else holds
            # Another thing has other fields; what its columns are is found out anew.
            made["columns"].pop(sheet, None)
            continue
        for c in range(min(form.get(f"columns{n}", 0, type=int), 200)):
            field, unit = form.get(f"field{n}.{c}", ""), form.get(f"unit{n}.{c}", "")
            if f"{field} {unit}".strip() != form.get(f"guess{n}.{c}", ""):
                suits = any(field.endswith(end) and unit in units for end, units in _UNITS.items())
                chosen = f"{field} {unit}" if unit and suits else field
                made["columns"].setdefault(sheet, {})[form.get(f"title{n}.{c}", "")] = chosen
    return read_ways(made)


def _shown(
    file: Opened, data: bytes, ways: Ways, error: ThemekitError | None = None, tell: Tell | None = None
) -> Response:
    at = service()
    plan = try_file(at.store, at.shelf_id, file, ways, tell)
    refused = None
    if error is not None and not plan["problems"]:
        # Problems of the file stand in the plan; only what else was refused is told above it.
        refused = told(error, _FILE)
    sheets = [_sheet(one) for one in plan["sheets"]]
    made = [c for c in plan["changes"] if c["becomes"] != "as it is"]
    return show(
        "bring.html",
        422 if plan["problems"] or error is not None else 200,
        plan=plan,
        endings=",".join(ENDINGS),
        sheets=sheets,
        holds=_HOLDS,
        made=made[:_MOST_ROWS],
        more=max(0, len(made) - _MOST_ROWS),
        told_problems=[{**one, "at": _column_of(one["field"], sheets)} for one in plan["problems"][:_MOST_TOLD]],
        more_problems=max(0, len(plan["problems"]) - _MOST_TOLD),
        word=word_of,
        kept=base64.b64encode(zlib.compress(data, 6)).decode(),
        ways=json.dumps(plan["ways"], ensure_ascii=False),
        several={"add": "one thing: add the amounts up", "apart": "several things: keep them apart"},
        **({"error": refused} if refused else {}),
    )


def _sheet(one: Json) -> Json:
    """A sheet with the choices that each of its columns has."""
    what = one["what"]
    columns = []
    for column in one["columns"]:
        field, unit = column["field"] or "", column["unit"] or ""
        units = next((u for end, u in _UNITS.items() if field.endswith(end)), ())
        unit = unit if unit in units else ""
        columns.append(
            {
                **column,
                "why": _HOW[column["how"]],
                "check": column["how"] == "likeness",
                "guess": f"{field} {unit}".strip(),
                "units": [(u, _UNIT_WORDS.get(u, u)) for u in units],
                "chosen_unit": unit,
                "per": column["unit"] if column["unit"] and not units and field else "",
            }
        )
    fields = [(name, word_of(name)) for name in fields_of_sheet(what)] if what in COLUMNS else []
    was = what or ("none" if one["how"] == "left out" else "")
    return {**one, "columns": columns, "fields": fields, "was": was}


def _column_of(field: str, sheets: list[Json]) -> str:
    """The id of the choice for the column that a problem such as "row 3, Colour" is about; "" for none."""
    for n, sheet in enumerate(sheets):
        if len(sheets) > 1 and not field.startswith(sheet["sheet"]):
            continue
        for c, column in enumerate(sheet["columns"]):
            if sheet["fields"] and column["title"] and field.endswith(f", {column['title']}"):
                return f"field{n}.{c}"
    return ""


def word_of(field: str) -> str:
    """What the page calls a field."""
    return "Price of a full one" if field == PRICE_OF_FULL else WORDS.get(field, (field, ""))[0]
