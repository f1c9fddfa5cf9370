"""One cell of a sheet to a field's value, and back.

Lists are separated by "|". A blank cell is unknown; "none" is an empty list that was
entered. Colours are "#rrggbb part|#rrggbb part"; a colour that no hex tells exactly is
written as its three CIELAB numbers, "52.1 40.2 -3 part". Parts may be ratios in whole
numbers ("3|1") or shares that add up to 1.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog.rows import FIELDS, TEXTURE, Record
from themekit.colour.space import hex_to_lab

#: The columns of each sheet, in their order.
COLUMNS: dict[str, tuple[str, ...]] = {
    resource: tuple(c for f in fields for c in (TEXTURE if f == "texture" else (f,)))
    for resource, fields in FIELDS.items()
}
NUMBERS = {
    "grain_mm", "density_g_per_ml", "on_hand_g", "full_g", "empty_jar_g", "price_per_kg", "width_mm",
    "height_mm", "length_mm",
    "thickness_mm", "dose_g_per_100g", "max_g_per_100g", "on_hand", "pack_size", "pack_price", "price",
}  # fmt: skip
YES_NO = {"hard_small_pieces", "melts_in_heat", "thin_parts", "natural", "window"}
ENTERED_LISTS = {"allergens", "may_contain", "additives"}
LISTS = {"motifs", "aliases"}
_PARTS = {"jars": "share", "themes": "weight"}
_YES = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}

# What a spreadsheet would run as a formula, the full-width signs included.
_FORMULA = re.compile(r"'*[=+\-@\t\r＝＋－＠]")
_POINT = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?\d+,\d+")
_BOTH = re.compile(r"[1-9]\d{0,2}(,\d{3})+\.\d+|[1-9]\d{0,2}(\.\d{3})+,\d+", re.ASCII)
# "1,234" and "1.234" may be meant as thousands.
_THOUSANDS_COMMA = re.compile(r"[1-9]\d{0,2},\d{3}")
_THOUSANDS_POINT = re.compile(r"[1-9]\d{0,2}\.\d{3}")


# Words that may be taken for several, or for more than the word itself, in a list without the sign |.
_SEVERAL = re.compile(r"[,;/&+.\n]|\band\b|^(?:contains|may|traces)\b", re.IGNORECASE)


class Unreadable(ValueError):
    """A cell that cannot be read; carries what is allowed and a hint."""

    def __init__(self, allowed: str, hint: str = "") -> None:
        self.allowed, self.hint = allowed, hint
        super().__init__(allowed)


@dataclass(frozen=True)
class Numbers:
    """How one file writes its numbers."""

    three_after_comma: bool
    three_after_point: bool
    #: The decimal sign, where it was chosen; the other one then parts thousands.
    decimal: str | None = None

    @classmethod
    def of(cls, cells: list[str], delimiter: str) -> Numbers:
        """Judge a file by all its number cells and by what parts its columns."""
        commas = [c for c in cells if _COMMA.fullmatch(c)]
        sure = any(not _THOUSANDS_COMMA.fullmatch(c) for c in commas)
        with_commas = sure or (delimiter != "," and bool(commas))
        return cls(three_after_comma=sure or delimiter != ",", three_after_point=not with_commas)

    def read(self, cell: str) -> float:
        """The number in a cell; raises `Unreadable` for units, and where it may mean two things."""
        cell = cell.replace("−", "-")
        if self.decimal is not None:
            cell = self._settled(cell)
        elif _BOTH.fullmatch(cell):
            # "1,234.5" and "1.234,5": the last sign is the decimal one.
            cell = cell.replace(min(",", ".", key=cell.rindex), "").replace(",", ".")
        if self.doubtful(cell):
            plain = cell.replace(",", "").replace(".", "")
            hint = f"Write {plain} for thousands, or add a decimal: {cell.replace(',', '.')}0."
            raise Unreadable("a number that can be read in one way only", hint)
        if _COMMA.fullmatch(cell):
            cell = cell.replace(",", ".")
        if not _POINT.fullmatch(cell):
            hint = "Leave out units, currency signs and thousands separators."
            raise Unreadable("a plain number such as 12.5", hint)
        return float(cell)

    def doubtful(self, cell: str) -> bool:
        """Whether a number in a cell may mean two things, such as "1,234"."""
        if self.decimal is not None:
            return False
        return bool(
            (_THOUSANDS_POINT.fullmatch(cell) and not self.three_after_point)
            or (_THOUSANDS_COMMA.fullmatch(cell) and not self.three_after_comma)
        )

    def _settled(self, cell: str) -> str:
        """A number by the sign that was chosen, without its thousands' signs."""
        other = "," if self.decimal == "." else "."
        if re.fullmatch(rf"\d{{1,3}}(?:\{other}\d{{3}})+(?:\{self.decimal}\d+)?", cell, re.ASCII):
            cell = cell.replace(other, "")
        return cell.replace(",", ".")


def read_cell(resource: str, column: str, cell: str, numbers: Numbers) -> Any:
    """The value in the API's form of one cell, as text; raises `Unreadable`."""
    cell = unguarded(cell).strip()
    if column in ENTERED_LISTS:
        if cell.casefold() in {"none", "unknown"}:
            return [] if cell.casefold() == "none" else None
        return _split(cell) or None
    if column in LISTS:
        return [] if cell.casefold() == "none" else _split(cell)
    if column in ("colours", "anchors"):
        return _read_colours(cell, _PARTS.get(resource), numbers)
    if not cell:
        return None
    if column in NUMBERS:
        return numbers.read(cell)
    if column in YES_NO:
        if cell.casefold() not in _YES:
            raise Unreadable("yes, no, or blank where it is not known")
        return _YES[cell.casefold()]
    if column == "months":
        if not all(re.fullmatch(r"\d{1,2}", part) for part in _split(cell)):
            raise Unreadable("months as numbers from 1 to 12, such as 11|12")
        return [int(part) for part in _split(cell)]
    if column == "swatch":
        return _read_colours(cell, None, numbers)[0]
    return cell


def _split(cell: str) -> list[str]:
    return [part.strip() for part in cell.split("|") if part.strip()]


def _read_colours(cell: str, part: str | None, numbers: Numbers) -> list[Record]:
    allowed = "#rrggbb" + (f" and its {part}" if part else "") + ", several separated by |"
    colours: list[Record] = []
    for one in _split(cell):
        words = one.split()
        if words[0].startswith("#") or len(words) < 3:
            colour: Record = {"hex": words[0]}
            rest = words[1:]
        else:
            colour = {"lab": [numbers.read(word) for word in words[:3]]}
            rest = words[3:]
        if len(rest) > (1 if part else 0):
            raise Unreadable(allowed, "Put the sign | between two colours.")
        if part and rest:
            colour[part] = numbers.read(rest[0])
        colours.append(colour)
    parts = [colour.get(part) for colour in colours] if part else []
    if part and parts and all(p is not None and p >= 1 and p == int(p) for p in parts):
        for colour in colours:
            colour[part] /= sum(p for p in parts if p)
    return colours


def number_cells(rows: list[Mapping[str, str]]) -> list[str]:
    """All cells and parts of cells that hold numbers, by which a file's way is judged."""
    found: list[str] = []
    for row in rows:
        for column, cell in row.items():
            if column in NUMBERS:
                found.append(cell.strip())
            elif column in ("colours", "anchors", "swatch"):
                found += [word for one in cell.split("|") for word in one.split() if "#" not in word]
    return found


def write_cell(resource: str, column: str, record: Mapping[str, Any]) -> str:
    """The cell of a clean record; `read_cell` gives the same value back."""
    value = record["texture"][column] if resource == "jars" and column in TEXTURE else record[column]
    return guarded(_written(column, value, _PARTS.get(resource)))


def _written(column: str, value: Any, part: str | None) -> str:
    if value is None:
        return ""
    if column in ("colours", "anchors"):
        return "|".join(_write_colour(colour, part if len(value) > 1 else None) for colour in value)
    if column == "swatch":
        return _write_colour(value, None)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        empty = "none" if column in ENTERED_LISTS else ""
        text = "|".join(map(str, value))
        # A sign at the end tells one such word from several.
        return (text + "|" if len(value) == 1 and _SEVERAL.search(text) else text) or empty
    return _plain(value) if isinstance(value, float) else str(value)


def _write_colour(colour: Mapping[str, Any], part: str | None) -> str:
    exact = [round(float(v), 2) + 0.0 for v in hex_to_lab(colour["hex"])] == colour["lab"]
    text = colour["hex"] if exact else " ".join(map(_plain, colour["lab"]))
    return f"{text} {_plain(colour[part])}" if part else text


def _plain(value: float) -> str:
    """A number without exponent or idle zeros, which reads back as the same number."""
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def guarded(cell: str) -> str:
    """A cell with an apostrophe before what a spreadsheet would run."""
    return "'" + cell if _FORMULA.match(cell) else cell


def unguarded(cell: str) -> str:
    """The cell as it was before `guarded`."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
