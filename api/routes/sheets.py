"""Spreadsheets in and out: tried out first, then brought in as shown or not at all."""

from __future__ import annotations

from typing import Any

from flask import Response, request
from flask.views import MethodView
from flask_smorest import Blueprint
from werkzeug.exceptions import RequestEntityTooLarge

from api.bringing import MOST_FORM, bring_file, opened, shelf_file, try_file
from api.reading import NotMultipart, Unreadable, read_json
from api.routes.documented import operation
from api.routes.replies import reply
from api.schemas.sheets import ImportRead
from api.service import service
from catalog.fields import shown as shown_value
from catalog.ways import read_ways
from themekit.errors import InvalidValue, Problem, raise_all

blp = Blueprint("sheets", __name__, url_prefix="/api/v1", description="Spreadsheets in and out")

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ZIP = "application/zip"
_SWITCH = {"true": True, "false": False}
_WAYS = (
    "choices as JSON, each of which may be left out: sheets (name to what it holds, or empty), columns (a "
    'sheet or * to titles, each to a field with perhaps a unit, "on_hand_g oz", or empty), days ("day first" or '
    '"month first"), decimal ("point" or "comma"), repeats ("add" or "apart"), blanks ("keep" or "unknown")'
)
_BODY = {
    "required": True,
    "content": {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "required": ["file"],
                "additionalProperties": False,
                "properties": {
                    "file": {
                        "type": "string",
                        "format": "binary",
                        "description": ".csv, .xlsx, or a .zip of CSVs, named so",
                    },
                    "dry_run": {
                        "type": "string",
                        "enum": list(_SWITCH),
                        "default": "true",
                        "description": "whether only to tell what would be done",
                    },
                    "ways": {"type": "string", "description": _WAYS},
                    "shown": {
                        "type": "string",
                        "description": "what the dry run gave as shown; needed unless every title is a field's "
                        "name or was chosen",
                    },
                },
            }
        }
    },
}


@blp.route("/import")
class Import(MethodView):
    """A spreadsheet onto the shelf."""

    @operation(200, ImportRead, "what would be done, or was", errors=(409, 413, 415))
    @blp.doc(requestBody=_BODY)
    def post(self) -> Response:
        """Try a spreadsheet out, or bring it in: all of it, or nothing."""
        request.max_content_length = request.max_form_memory_size = MOST_FORM
        if (request.content_length or 0) > request.max_content_length:
            raise RequestEntityTooLarge
        if request.mimetype != "multipart/form-data":
            raise NotMultipart.of(request.mimetype)
        given = request.files.get("file")
        # Read at once, so that no file of the web server's own is left open by what is refused below.
        data = given.read() if given else b""
        for one in request.files.values():
            one.close()
        problems = [
            Problem(shown_value(name), "a field", "file, dry_run, ways and shown", "Leave it out.")
            for name in (*request.form, *request.files)
            if name not in ("file", "dry_run", "ways", "shown")
        ]
        if given is None:
            problems.append(Problem("file", None, "a file in multipart/form-data", "Send it as the field file."))
        dry = request.form.get("dry_run", "true")
        if dry not in _SWITCH:
            problems.append(Problem("dry_run", shown_value(dry), "true or false", "Correct it, or leave it out."))
        raise_all(problems, "This cannot be brought in.")
        assert given is not None, "told above"
        ways = read_ways(_ways(request.form.get("ways")))
        at, file = service(), opened(given.filename, data)
        if _SWITCH[dry]:
            return reply(try_file(at.store, at.shelf_id, file, ways))
        return reply(bring_file(at.store, at.shelf_id, file, ways, request.form.get("shown") or None))


@blp.route("/export.xlsx")
class Workbook(MethodView):
    """The whole shelf as a workbook."""

    @operation(200, None, "a sheet for each kind of thing; every cell is text", media=XLSX)
    def get(self) -> Response:
        """Take the shelf as a workbook."""
        return file_reply(".xlsx")


@blp.route("/export.zip")
class Archive(MethodView):
    """The whole shelf as CSVs."""

    @operation(200, None, "a CSV for each kind of thing, in UTF-8 with a byte order mark", media=ZIP)
    def get(self) -> Response:
        """Take the shelf as CSVs in one archive."""
        return file_reply(".zip")


def file_reply(ending: str) -> Response:
    """The whole shelf as a file to save."""
    at = service()
    made = Response(shelf_file(at.store, at.shelf_id, ending), mimetype=XLSX if ending == ".xlsx" else ZIP)
    made.headers["Content-Disposition"] = f'attachment; filename="shelf{ending}"'
    made.headers["Cache-Control"] = "no-store"
    return made


def _ways(text: str | None) -> Any:
    if text is None or not text.strip():
        return None
    if len(text) > 100_000:
        problem = Problem("ways", f"{len(text):,} characters", "at most 100,000 characters", "Send fewer choices.")
        raise InvalidValue("These choices cannot be used.", [problem])
    try:
        return read_json(text.encode("utf-8", "replace"))
    except Unreadable as error:
        told = [Problem("ways", p.got, p.allowed, p.hint) for p in error.problems]
        raise InvalidValue("These choices cannot be used.", told) from error
