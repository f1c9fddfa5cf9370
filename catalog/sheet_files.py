"""Files of a baker's sheets: one CSV, a folder or .zip of them, or a workbook; read as text cells.

UTF-8 with or without byte order mark; commas, semicolons or tabs; any line ends.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from catalog.fields import shown
from catalog.workbooks import ENDING, Tab, workbook_bytes, workbook_tabs
from themekit.errors import InvalidValue, Problem

MOST_BYTES = 5_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 200
MOST_FILES = 50
_CSV = "a CSV file in UTF-8"
# What other programs' files begin with.
_SIGNATURES = (
    (b"%PDF", "This is a PDF."),
    (b"PK\x03\x04", "This is a spreadsheet or an archive."),
    (b"\xd0\xcf\x11\xe0", "This is an old spreadsheet."),
    (b"\xff\xfe", "This is UTF-16 text."),
    (b"\xfe\xff", "This is UTF-16 text."),
)
# So that the same shelf gives the same archive, byte for byte.
_ZIP_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Sheet:
    """A file's cells as text; rows are numbered as a spreadsheet numbers them.

    file        its name, or that of a workbook's sheet
    lines       the rows that are not blank, the first being the header unless another is chosen
    notes       what is told of it though it changes nothing
    problems    what cannot be read in it
    """

    file: str
    delimiter: str
    lines: tuple[tuple[int, tuple[str, ...]], ...]
    header_at: int = 0
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def header_row(self) -> int:
        """The number of the header's row."""
        return self.lines[self.header_at][0]

    @property
    def titles(self) -> tuple[str, ...]:
        """The columns' titles as they stand."""
        titles = [cell.strip() for cell in self.lines[self.header_at][1]]
        while titles and not titles[-1]:
            titles.pop()
        return tuple(titles)

    @property
    def header(self) -> tuple[str, ...]:
        """The columns' titles as our names are written."""
        return tuple(cell.lower().replace(" ", "_").replace("-", "_") for cell in self.titles)

    @property
    def rows(self) -> tuple[tuple[int, tuple[str, ...]], ...]:
        """The rows below the header."""
        return self.lines[self.header_at + 1 :]


def open_sheets(path: str | Path) -> tuple[list[Sheet], list[Problem]]:
    """Every CSV of a file, folder or .zip, and what is wrong with those that are none.

    Raises `InvalidValue` when there is nothing to read at all.
    """
    path = Path(path)
    sheets: list[Sheet] = []
    problems: list[Problem] = []
    found = False
    for file, data in _files(path):
        found = True
        try:
            sheets.append(_sheet(file, data))
        except InvalidValue as error:
            problems += error.problems
    if not found:
        raise _unusable(path.name, "no CSV file in it", "a folder or .zip of CSV files")
    return sheets, problems


def _unusable(file: str, got: Any, allowed: str, hint: str = "") -> InvalidValue:
    return InvalidValue("The file cannot be used.", [Problem(file, shown(got), allowed, hint)])


def _files(path: Path) -> Iterator[tuple[str, bytes | str | Tab]]:
    """Names and contents; in place of the content of a file that is too large, a sentence."""
    try:
        if path.is_dir():
            chosen = sorted(p for p in path.iterdir() if p.is_file() and _wanted(p.name))
            _few(path.name, chosen)
            for one in chosen:
                large = one.stat().st_size > MOST_BYTES
                yield one.name, _too_large(one.stat().st_size) if large else one.read_bytes()
        elif path.suffix.lower() == ".zip":
            yield from _zipped(path)
        elif path.suffix.lower() == ENDING and path.is_file():
            yield from ((tab.title, tab) for tab in workbook_tabs(path))
        else:
            large = path.stat().st_size > MOST_BYTES
            yield path.name, _too_large(path.stat().st_size) if large else path.read_bytes()
    except (OSError, ValueError) as error:
        if isinstance(error, InvalidValue):
            raise
        hint = "Check the path and its name."
        raise _unusable(str(path), "nothing that can be read", "a CSV file, folder or .zip", hint) from error


def _zipped(path: Path) -> Iterator[tuple[str, bytes | str | Tab]]:
    try:
        with zipfile.ZipFile(path) as archive:
            chosen = sorted(
                (i for i in archive.infolist() if _wanted(i.filename) and not i.is_dir()),
                key=lambda i: i.filename,
            )
            _few(path.name, chosen)
            for one in chosen:
                with archive.open(one) as file:
                    # The size that an archive states may be untrue, so no more than allowed is unpacked.
                    data = file.read(MOST_BYTES + 1)
                name = PurePosixPath(one.filename).name
                yield name, _too_large(one.file_size) if len(data) > MOST_BYTES else data
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError) as error:
        raise _unusable(path.name, "an archive that cannot be unpacked", "a plain .zip file") from error


def _wanted(name: str) -> bool:
    parts = PurePosixPath(name).parts
    if not parts:
        return False
    hidden = parts[-1].startswith((".", "~")) or parts[0] == "__MACOSX"
    return not hidden and name.lower().endswith(".csv")


def _few(name: str, files: Sequence[Any]) -> None:
    if len(files) > MOST_FILES:
        raise _unusable(name, f"{len(files)} files", f"at most {MOST_FILES} files")


def _too_large(size: int) -> str:
    return f"{size:,} bytes"


def _sheet(file: str, data: bytes | str | Tab) -> Sheet:
    if isinstance(data, Tab):
        return Sheet(file, ",", _numbered(data.rows), notes=data.notes, problems=data.problems)
    if isinstance(data, str):
        raise _unusable(file, data, f"at most {MOST_BYTES:,} bytes", "Split the file.")
    text = _text(file, data)
    lines = [line for line in re.split(r"[\r\n]+", text) if line.strip()]
    if not lines:
        raise _unusable(file, "an empty file", _CSV, "Export a shelf to see the columns.")
    delimiter = _delimiter(lines)
    width = max(line.count(delimiter) for line in lines) + 1
    if width > MOST_COLUMNS:
        raise _unusable(file, f"{width} columns", f"{_CSV} with at most {MOST_COLUMNS} columns")
    table = _parsed(file, text, delimiter, width)
    if len(table) - 1 > MOST_ROWS:
        raise _unusable(file, f"{len(table) - 1:,} rows", f"at most {MOST_ROWS:,} rows", "Split the file.")
    return Sheet(file, delimiter, _numbered(table))


def _numbered(table: Iterable[Sequence[str]]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    rows = enumerate(table, start=1)
    return tuple((n, tuple(row)) for n, row in rows if any(cell.strip() for cell in row))


def _delimiter(lines: Sequence[str]) -> str:
    """What parts the columns: the sign that most of the first lines have equally often."""

    def evenness(sign: str) -> tuple[int, int]:
        counts = [line.count(sign) for line in lines[:30]]
        full = [n for n in counts if n]
        usual = max(set(full), key=full.count, default=0)
        return full.count(usual), counts[0]

    return max(",;\t", key=evenness)


def _text(file: str, data: bytes) -> str:
    for signature, what in _SIGNATURES:
        if data.startswith(signature):
            raise _unusable(file, what, _CSV, "Save it from the spreadsheet as CSV UTF-8.")
    if b"\0" in data:
        raise _unusable(file, "binary data", _CSV, "Save it from the spreadsheet as CSV UTF-8.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _unusable(f"{file}, line {line}", "text that is not UTF-8", _CSV, "Save it as CSV UTF-8.") from error


def _parsed(file: str, text: str, delimiter: str, width: int) -> list[list[str]]:
    import pandas as pd

    try:
        frame = pd.read_csv(
            io.StringIO(text, newline=""),
            sep=delimiter,
            header=None,
            # One name for each cell of the longest line, so that no line is too long to read.
            names=list(range(width)),
            index_col=False,
            dtype=str,
            keep_default_na=False,
            na_filter=False,
            skip_blank_lines=False,
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        hint = "Look for a quotation mark that is opened and never closed."
        raise _unusable(file, "text that does not parse as CSV", _CSV, hint) from error
    rows: list[list[str]] = frame.fillna("").to_numpy().tolist()
    return rows


def packed(texts: Mapping[str, Sequence[Sequence[str]]], ending: str) -> bytes:
    """Tables, header first, as the bytes of one .xlsx, .zip of CSVs, or .csv (the first table).

    The same tables give the same bytes of .zip and .csv.
    """
    if ending == ENDING:
        return workbook_bytes(texts)
    files = {f"{name}.csv": _csv(table) for name, table in texts.items()}
    if ending == ".csv":
        return next(iter(files.values()))
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            archive.writestr(zipfile.ZipInfo(name, _ZIP_TIME), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def save_sheets(path: str | Path, texts: Mapping[str, Sequence[Sequence[str]]]) -> None:
    """Write tables, header first, as one .csv, .zip or .xlsx, or into a folder that is made.

    Each file appears whole or not at all.
    """
    path = Path(path)
    try:
        if path.suffix.lower() in (".zip", ENDING, ".csv"):
            _replace(path, packed(texts, path.suffix.lower()))
        else:
            path.mkdir(parents=True, exist_ok=True)
            for name, table in texts.items():
                _replace(path / f"{name}.csv", _csv(table))
    except OSError as error:
        raise _unusable(str(path), "a place that cannot be written to", "a writable path") from error


def _csv(table: Sequence[Sequence[str]]) -> bytes:
    import pandas as pd

    frame = pd.DataFrame(list(table[1:]), columns=list(table[0]), dtype=str)
    # The byte order mark tells spreadsheets that it is UTF-8; line ends as in RFC 4180.
    return frame.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def _replace(path: Path, data: bytes) -> None:
    part = path.with_name(path.name + ".part")
    part.write_bytes(data)
    part.replace(path)
