"""A baker's file as it comes in over the web or from a disk: held to its limits, tried out, brought in."""

from __future__ import annotations

import tempfile
from pathlib import Path, PurePath
from typing import Any

from catalog.bringing import Opened, Plan, Tell, bring, open_file, plan_json, try_out
from catalog.sheet_files import MOST_BYTES
from catalog.sheets import tables_of
from catalog.store import Store
from catalog.ways import Ways
from themekit.errors import InvalidValue, Problem

Json = dict[str, Any]
#: A form with a file in it, or with one that is sent again as text, may have so many bytes.
MOST_FORM = MOST_BYTES * 4 // 3 + 300_000
ENDINGS = (".csv", ".zip", ".xlsx")
_SAFE = 120


def opened(name: str | None, data: bytes) -> Opened:
    """The sheets of a file that was sent. Raises `InvalidValue` for one that is none, or too large."""
    # Programs send paths of their own machine; only the last part names the file.
    called = PurePath((name or "").replace("\\", "/")).name[-_SAFE:]
    called = "".join(sign for sign in called if sign.isprintable()) or "file"
    ending = PurePath(called).suffix.lower()
    if ending not in ENDINGS:
        hint = "Save it from the spreadsheet as one of these."
        raise InvalidValue("The file cannot be used.", [Problem("file", called, "a .csv, .xlsx or .zip", hint)])
    if len(data) > MOST_BYTES:
        allowed = f"at most {MOST_BYTES:,} bytes"
        raise InvalidValue(
            "The file cannot be used.", [Problem("file", f"{len(data):,} bytes", allowed, "Split it.")]
        )
    with tempfile.TemporaryDirectory() as folder:
        # Problems name the file as it was sent.
        path = Path(folder) / _on_disk(called)
        path.write_bytes(data)
        return open_file(path, called)


def _on_disk(name: str) -> str:
    made = "".join(sign if sign.isalnum() or sign in " ._-()" else "_" for sign in name)
    while len(made.encode()) > 200:
        made = made[1:]
    return made.lstrip(".") or "file.csv"


def answer(plan: Plan, imported: bool) -> Json:
    """A plan with its problems, and whether it was carried out."""
    from api.errors import error_body

    told = error_body("", "", plan.problems)["error"]["problems"]
    return {"imported": imported, **plan_json(plan), "problems": told}


def try_file(store: Store, shelf_id: int, file: Opened, ways: Ways, tell: Tell | None = None) -> Json:
    """What bringing the file in would do now."""
    return answer(try_out(store, shelf_id, file, ways, tell=tell), False)


def bring_file(
    store: Store, shelf_id: int, file: Opened, ways: Ways, shown: str | None, tell: Tell | None = None
) -> Json:
    """Bring the file in, all or nothing. Raises `InvalidValue` or `NotAsShown`."""
    return answer(bring(store, shelf_id, file, ways, shown, tell=tell), True)


def shelf_file(store: Store, shelf_id: int, ending: str) -> bytes:
    """The whole shelf as one .xlsx, or as a .zip of CSVs."""
    from catalog.sheet_files import packed

    return packed(tables_of(store, shelf_id), ending)
