"""Forms of things on the shelf: fields as people see them, and back to records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from api.pages.amiss import FormFields
from catalog.cells import COLUMNS, Numbers, Unreadable, read_cell, unguarded, write_cell
from catalog.rows import FIELDS, TEXTURE, check
from themekit.errors import Problem, raise_all
from themekit.values import ALLERGENS, DIETS, FINISHES, FORMS, HARDNESSES, Kind

ONE = {
    "jars": "jar",
    "cutters": "cutter",
    "gels": "gel",
    "boxes": "box",
    "supplies": "supply",
    "themes": "theme of your own",
}
#: What each field is called, with a hint where one is needed.
WORDS: dict[str, tuple[str, str]] = {
    "name": ("Name", ""),
    "kind": ("Kind", "a trade word, such as nonpareils or jimmies"),
    "colours": ("Colours", "#c8253b, or several with their shares: #c8253b 0.6|#ffffff 0.4"),
    "swatch": ("Colour it gives", "the icing's colour at the dose below"),
    "anchors": ("Colours", "with their weights: #1d2a55 0.5|#f4b63f 0.5"),
    "form": ("Form", ""),
    "grain_mm": ("Grain, mm", "longest usual size"),
    "finish": ("Finish", ""),
    "hardness": ("Hardness", ""),
    "density_g_per_ml": ("Weight, g per mL", "a level US tablespoon is 14.8 mL"),
    "on_hand_g": ("On hand, g", "a change is written down as a count"),
    "full_g": ("A full one holds, g", "for counting by eye"),
    "empty_jar_g": ("Empty jar, g", "for counting on the scale"),
    "best_before": ("Best before", ""),
    "last_used": ("Last used", ""),
    "price_per_kg": ("Price of a kg", ""),
    "allergens": ("Allergens", "from the label; leave “not read yet” where you have not looked"),
    "may_contain": ("May contain", "from the label"),
    "additives": ("Additives", "E numbers or names, with | between them; none where there are none"),
    "diet": ("Suits", ""),
    "motifs": ("Shows", "plain nouns with | between them, such as owl|bird"),
    "aliases": ("Other names", "with | between them"),
    "months": ("Months", "numbers with | between them, such as 11|12"),
    "hard_small_pieces": ("Hard small pieces", "a choking risk for small children"),
    "melts_in_heat": ("Melts in a warm room", ""),
    "lot": ("Lot", "the maker's, for a recall"),
    "width_mm": ("Width, mm", ""),
    "height_mm": ("Height, mm", ""),
    "length_mm": ("Length, mm", "inside"),
    "thickness_mm": ("Thickness, mm", "of the dough it is used for"),
    "thin_parts": ("Thin parts that break", ""),
    "dose_g_per_100g": ("Dose, g in 100 g of icing", "that gives the colour above"),
    "max_g_per_100g": ("Maker's limit, g in 100 g", ""),
    "natural": ("Natural colours", ""),
    "window": ("Has a window", ""),
    "on_hand": ("On hand", ""),
    "price": ("Price of one", ""),
    "unit": ("Counted in", "g, ml, piece or m"),
    "pack_size": ("A pack holds", "in that unit"),
    "pack_price": ("Price of a pack", ""),
}
_CHOICES: dict[str, tuple[str, ...]] = {
    "form": FORMS,
    "finish": FINISHES,
    "hardness": HARDNESSES,
    "diet": DIETS,
    "unit": ("g", "ml", "piece", "m"),
}
#: What a jar's form asks first, and under which headings the rest is folded away.
_FIRST = ("name", "kind", "colours", "on_hand_g", "best_before", "allergens", "may_contain")
_FOLDED: dict[str, tuple[str, ...]] = {
    "What else the label says": ("additives", "diet", "lot"),
    "Shape and feel": ("form", "grain_mm", "finish", "hardness"),
    "What it shows; warnings": ("motifs", "hard_small_pieces", "melts_in_heat"),
    "Weight and price": ("density_g_per_ml", "full_g", "empty_jar_g", "price_per_kg", "last_used"),
}


def _places(resource: str) -> list[tuple[str, str]]:
    """The columns of a thing in the order of its form, each with the heading that it is folded under."""
    if resource != "jars":
        return [("", column) for column in COLUMNS[resource]]
    folded = [(under, column) for under, columns in _FOLDED.items() for column in columns]
    return [("", column) for column in _FIRST] + folded


#: The fields of a thing's form by what problems call them.
OF_FORM = {
    what: FormFields(
        "f-",
        tuple(column for _, column in _places(what)),
        {WORDS[column][0]: column for column in COLUMNS[what]} | {"share": "colours", "photo": "colours"},
    )
    for what in ONE
}
_YES_NO = ("hard_small_pieces", "melts_in_heat", "thin_parts", "natural", "window")
_LABELS = ("allergens", "may_contain")
_DAYS = ("best_before", "last_used")
_PLAIN = Numbers(three_after_comma=True, three_after_point=True)


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form: how it is entered, its words and what stands in it.

    `under` is the heading under which it is folded away, "" where it stands open.
    """

    name: str
    sort: str
    word: str
    hint: str
    value: str
    choices: tuple[str, ...] = ()
    chosen: tuple[str, ...] = ()
    under: str = ""


def fields_for(
    resource: str, record: Mapping[str, Any] | None, given: Mapping[str, Any] | None = None
) -> list[Field]:
    """The form of a record, or an empty one; `given` is what was typed and refused."""
    return [replace(_field(resource, column, record, given), under=under) for under, column in _places(resource)]


def _field(resource: str, column: str, record: Mapping[str, Any] | None, given: Mapping[str, Any] | None) -> Field:
    word, hint = WORDS[column]
    value = unguarded(write_cell(resource, column, record)) if record else ""
    if given is not None and column in given:
        value = str(given[column])
    if column in _LABELS:
        chosen = tuple(value.split("|")) if value not in ("", "none") else ()
        return Field(column, "label", word, hint, value, ALLERGENS, chosen)
    if column in _CHOICES:
        return Field(column, "choice", word, hint, value, _CHOICES[column])
    if column in _YES_NO:
        return Field(column, "choice", word, hint, value, ("yes", "no"))
    if column in _DAYS:
        return Field(column, "day", word, hint, value)
    return Field(column, "kind" if (resource, column) == ("jars", "kind") else "text", word, hint, value)


def cells_of(resource: str, form: Any) -> dict[str, str]:
    """What was typed, one cell for each column; allergens come as ticks and a word."""
    cells = {}
    for column in COLUMNS[resource]:
        if column in _LABELS:
            ticks = form.getlist(column)
            state = form.get(f"{column}_read", "")
            cells[column] = "|".join(ticks) or ("none" if state == "none" else "")
        elif column in form:
            cells[column] = form.get(column, "").strip()
    return cells


def record_of(resource: str, cells: Mapping[str, str], kinds: Sequence[Kind] = ()) -> dict[str, Any]:
    """The record that the cells mean; raises `InvalidValue` with everything that is wrong in them."""
    record: dict[str, Any] = {}
    problems: list[Problem] = []
    unread: set[str] = set()
    for column, cell in cells.items():
        try:
            value = read_cell(resource, column, cell, _PLAIN)
        except Unreadable as error:
            problems.append(Problem(WORDS[column][0], cell, error.allowed, error.hint))
            unread.add(column)
            continue
        if resource == "jars" and column in TEXTURE:
            record.setdefault("texture", {})[column] = value
        elif column in FIELDS[resource]:
            record[column] = value
    if problems:
        # What could be read may be wrong as well; all of it is told at once.
        problems += [p for p in check(resource, record, kinds)[1] if p.field.split(".")[0] not in unread]
    raise_all(problems, "Some fields cannot be read.")
    return record
