"""The ways in for what people send: each takes bytes and either reads them or refuses them in plain words.

Whatever else is raised is a fault of ours. Used by the tests of this folder and by `fuzz.py`.
"""

from __future__ import annotations

import io
import json
import os
import tempfile
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from themekit.errors import ThemekitError

_FOLDER = Path(tempfile.gettempdir()) / f"themekit-fuzz-{os.getpid()}"


def _file(name: str, data: bytes) -> Path:
    _FOLDER.mkdir(exist_ok=True)
    file = _FOLDER / name
    file.write_bytes(data)
    return file


def clear() -> None:
    """Take away what was written for reading."""
    import shutil

    shutil.rmtree(_FOLDER, ignore_errors=True)


@cache
def _lookup() -> Any:
    from catalog.lexicon import lexicon
    from themekit.suggest.lookup import lookup_for

    return lookup_for(lexicon())


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def request(data: bytes) -> None:
    """A customer's message."""
    from catalog.lexicon import kinds
    from themekit.suggest.request import read_request

    read_request(_text(data)[:2_000], _lookup(), kinds())


def hex_colour(data: bytes) -> None:
    """A colour as hex digits; what is read is read alike again."""
    from themekit.colour.space import parse_hex

    found = parse_hex(_text(data))
    assert parse_hex(found) == found
    assert len(found) == 7


def json_body(data: bytes) -> None:
    """A request's body."""
    from api.reading import read_json

    read_json(data)


def settings(data: bytes) -> None:
    """Settings of the work, as JSON."""
    from themekit.make.settings import checked

    checked(_json(data))


def _json(data: bytes) -> Any:
    from api.reading import read_json

    try:
        return read_json(data)
    except ThemekitError:
        return _text(data)


def _sheet(name: str, data: bytes) -> None:
    """As a strict sheet, and tried out as a baker's own file."""
    from catalog.bringing import open_file, plan_json, planned
    from catalog.lexicon import kinds
    from catalog.sheets import read_sheets
    from catalog.ways import read_ways

    file = _file(name, data)
    try:
        read_sheets(file, None if name.endswith(".zip") else "jars", kinds())
    except ThemekitError as error:
        error.problems[0].sentence()
    json.dumps(plan_json(planned(open_file(file), read_ways(None), kinds(), {})), default=str)


def csv_sheet(data: bytes) -> None:
    """A sheet as CSV."""
    _sheet("jars.csv", data)


def workbook(data: bytes) -> None:
    """A sheet as XLSX."""
    _sheet("jars.xlsx", data)


def workbook_inside(data: bytes) -> None:
    """A workbook whose one sheet is these bytes: what fuzzing of the packed file seldom reaches."""
    workbook(_workbook(data))


def archive(data: bytes) -> None:
    """Sheets in a .zip."""
    _sheet("shelf.zip", data)


def season_csv(data: bytes) -> None:
    """A season's plan as CSV."""
    from api.commands.season import read_plan

    read_plan(str(_file("season.csv", data)))


def season_json(data: bytes) -> None:
    """A season's plan as JSON."""
    from api.commands.season import read_plan

    read_plan(str(_file("season.json", data)))


def bulk(data: bytes) -> None:
    """Many requests as JSON lines, and as CSV."""
    from api.bulk.asked import read_requests

    for name in ("asked.jsonl", "asked.csv"):
        try:
            read_requests(_file(name, data), "home")
        except ThemekitError as error:
            error.problems[0].sentence()


def photo(data: bytes) -> None:
    """A photo of a jar."""
    from api.photos import colours_of

    found = colours_of(data)
    assert all(colour["hex"].startswith("#") for colour in found["colours"])


ENTRIES: dict[str, Callable[[bytes], None]] = {
    one.__name__: one
    for one in (
        request, hex_colour, json_body, settings, csv_sheet, workbook, workbook_inside, archive,
        season_csv, season_json, bulk, photo,
    )
}  # fmt: skip


def enter(name: str, data: bytes) -> bool:
    """Send bytes in; whether they were taken. Raises what is no plain refusal, and a refusal without words."""
    told: ThemekitError | None = None
    try:
        ENTRIES[name](data)
    except ThemekitError as error:
        told = error
    assert told is None or (told.message and "Traceback" not in str(told))
    return told is None


_SHEET = """<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">
<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c>
<c r="B1" t="inlineStr"><is><t>kind</t></is></c><c r="C1" t="inlineStr"><is><t>colours</t></is></c></row>
<row r="2"><c r="A2" t="inlineStr"><is><t>blue</t></is></c>
<c r="B2" t="inlineStr"><is><t>nonpareils</t></is></c><c r="C2"><v>223355</v></c></row></sheetData></worksheet>"""


def _workbook(sheet: bytes) -> bytes:
    import openpyxl

    plain = io.BytesIO()
    openpyxl.Workbook().save(plain)
    out = io.BytesIO()
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(out, "w") as new:
        for one in old.infolist():
            new.writestr(one.filename, sheet if one.filename.endswith("sheet1.xml") else old.read(one))
    return out.getvalue()


def _photos() -> list[bytes]:
    import pillow_heif
    from PIL import Image

    pillow_heif.register_heif_opener(thumbnails=False)
    image = Image.new("RGB", (40, 30), "white")
    image.paste((40, 140, 140), (8, 6, 32, 24))
    found = []
    exif = Image.Exif()
    exif[0x0112] = 6
    for format_, options in (
        ("JPEG", {"exif": exif}), ("JPEG", {"progressive": True}), ("PNG", {"exif": exif}), ("WEBP", {}),
        ("HEIF", {}),
    ):  # fmt: skip
        out = io.BytesIO()
        image.save(out, format=format_, **options)
        found.append(out.getvalue())
    for mode in ("P", "LA", "I;16", "1"):
        out = io.BytesIO()
        Image.new(mode, (40, 30)).save(out, format="PNG")
        found.append(out.getvalue())
    return found


def seeds(name: str) -> list[bytes]:
    """Good inputs to begin from."""
    from catalog.demo import __file__ as demo

    folder = Path(demo).parent
    if name == "photo":
        return _photos()
    if name in ("csv_sheet", "archive", "workbook"):
        jars = (folder / "jars.csv").read_bytes()
        short = b"".join(jars.splitlines(keepends=True)[:6])
        if name == "csv_sheet":
            own = b"Name;Sort;Farbe;Menge g;haltbar bis\nblau;nonpareils;#223355;1.234,5;03.04.2027\n"
            return [short, own]
        if name == "workbook":
            return [_workbook(_SHEET.encode())]
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as made:
            made.writestr("jars.csv", short)
            made.writestr("cutters.csv", b"".join((folder / "cutters.csv").read_bytes().splitlines(True)[:4]))
        return [out.getvalue()]
    return {
        "request": [
            b"Hi! 12 kits for an owl party on 5 December in teal and gold, no nuts, kids are 4. Thanks, M.",
            b"pirate ship birthday, at most 8 cookies each, vegan, without red 40 please",
        ],
        "hex_colour": [b"#2a9d8f", b"fff", b" #ABC "],
        "json_body": [b'{"text": "owl", "kits": 3, "needs": {"diet": "vegan"}}'],
        "settings": [
            b'{"dough": {"waste": 0.1}, "icing": {"cups": 3}, "label": {"place": "EU"}}',
            json.dumps({"packing": {"gap_mm": 3}, "cost": {"hour": "18.00"}}).encode(),
        ],
        "workbook_inside": [_SHEET.encode()],
        "season_csv": [b"theme,kits\nowl party,12\nsnow,8\n"],
        "season_json": [b'{"lines": [{"theme": "owl party", "kits": 12, "date": "2026-12-05"}]}'],
        "bulk": [b'{"shelf": "home", "theme": "owl party", "kits": 3}\n', b"shelf,theme,kits\nhome,owl party,3\n"],
    }[name]
