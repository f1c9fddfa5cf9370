"""One row of her own cells into ours: grams and mm, days as YYYY-MM-DD, colour words as hex, lists with |."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from catalog.cells import ENTERED_LISTS, LISTS, NUMBERS, YES_NO, Numbers, Unreadable, unguarded
from catalog.fields import shown
from catalog.own_allergens import Part, of_either, parts
from catalog.own_columns import DAYS, PRICE_OF_FULL, Column
from catalog.own_days import Order, day_of
from catalog.rows import Record, find_kind
from themekit.colour.space import lab_to_hex
from themekit.errors import InvalidValue, Problem
from themekit.make.amounts import Jarful, Price, density, grams, measured, millimetres, per_kg, pieces, price
from themekit.values import Kind

_MONTHS = {m: n for n, m in enumerate("jan feb mar apr may jun jul aug sep oct nov dec".split(), start=1)}
_UNKNOWN = frozenset({"-", "–", "—", "?", "??", "n/a", "na", "tbc", "tbd", "unknown", "don't know", "not sure"})
_LABEL: tuple[Part, ...] = ("allergens", "may_contain")
_TEXTS = ("name", "kind", "lot", "motifs", "aliases")
_YES = {"✓": "yes", "✔": "yes", "☑": "yes", "ja": "yes", "oui": "yes", "✗": "no", "✘": "no", "☐": "no"}
#: Short for a kind in a column of kinds (common practice, no source); in a name they may mean anything.
_SHORT = {"sugar": "sanding sugar", "sugars": "sanding sugar", "sanding": "sanding sugar"}
_SHORT |= dict.fromkeys("shape shapes star stars heart hearts flower flowers snowflakes".split(), "shaped quins")
#: Fields that others of the row are read by; they come first.
_FIRST = ("kind", "unit", "density_g_per_ml", "full_g")
_BARE = re.compile(r"[+\-−]?\d[\d.,]*(?:[eE][+-]?\d+)?")
_MADE_A_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_HEX = re.compile(r"#[0-9a-fA-F]{3}|#?[0-9a-fA-F]{6}")
# As our own sheets write colours: hex or CIELAB, and a share.
_NUMBER = r"-?\d+(?:\.\d+)?"
_OURS = re.compile(rf"(?:#[0-9a-fA-F]+|{_NUMBER}\s+{_NUMBER}\s+{_NUMBER})(?:\s+{_NUMBER})?")
_PART = re.compile(r"(?P<name>.*?)\s*[(:]?\s*(?P<share>\d+(?:[.,]\d+)?)\s*(?P<percent>%)?\s*\)?")
_COLOUR = "#rrggbb or a colour word such as teal, several separated by commas, with shares such as 60%"


@dataclass(frozen=True, slots=True)
class Reading:
    """How the cells of a sheet are read.

    columns   her titles, each with what it stands for
    numbers   how the sheet writes its numbers
    order     what comes first in days, None where it is not known
    currency  that of the shelf, None where none is stated
    """

    what: str
    columns: Sequence[Column]
    numbers: Numbers
    order: Order | None
    currency: str | None
    kinds: Sequence[Kind]

    def figure(self, text: str) -> float:
        """One figure by the sheet's way of writing numbers; raises `InvalidValue`."""
        try:
            return self.numbers.read(text)
        except Unreadable as error:
            raise InvalidValue("Unclear.", [Problem("figure", text, error.allowed, error.hint)]) from error


def figures_of(columns: Sequence[Column], rows: Iterable[Sequence[str]]) -> list[str]:
    """All figures in columns of numbers, by which a sheet's way of writing them is judged."""
    places = [n for n, c in enumerate(columns) if c.field in NUMBERS or c.field == PRICE_OF_FULL]
    return [one for row in rows for n in places if n < len(row) for one in re.findall(r"\d+(?:[.,]\d+)*", row[n])]


def translated(cells: Sequence[str], reading: Reading, old: Record | None) -> tuple[dict[str, str], list[Problem]]:
    """One row as our cells by field, and what could not be read, under her titles.

    `old` is what stands on the shelf under that name, by which parts of a jar are read
    where the row tells nothing. A cell that could not be read is left out.
    """
    given: dict[str, tuple[Column, str]] = {
        str(column.field): (column, unguarded(cells[n] if n < len(cells) else "").strip())
        for n, column in enumerate(reading.columns)
        if column.field
    }
    made: dict[str, str] = {}
    problems: list[Problem] = []
    row = _Row(reading, made, old or {})
    for field in sorted(given, key=lambda f: _FIRST.index(f) if f in _FIRST else len(_FIRST)):
        column, cell = given[field]
        try:
            if field in _LABEL:
                _put_label(made, field, cell, of_either(column.title))
                continue
            made_of = row.cell(field, cell, column)
        except InvalidValue as error:
            problem = error.problems[0]
            full = f"“{given['full_g'][0].title}”" if "full_g" in given else "a column such as “Jar size”"
            hint = problem.hint.replace("(full_g)", f"({full})")
            problems.append(Problem(column.title, shown(cell), problem.allowed, hint))
            continue
        if field == PRICE_OF_FULL:
            if made_of or "price_per_kg" not in made:
                made["price_per_kg"] = made_of
        elif field != "price_per_kg" or not made.get(field):
            made[field] = made_of
    return made, problems


def _put_label(made: dict[str, str], own: Part, cell: str, both: bool) -> None:
    """Put what a cell says of a label into the parts it belongs to, beside what another column said of them."""
    said = {} if cell.casefold() in _UNKNOWN else parts(cell, own, both)
    for part, words in said.items():
        there = made.get(part, "")
        if there and (there == "none") != (not words):
            hint = "Another column of the row says otherwise of what it contains or may contain."
            raise InvalidValue("", [Problem(part, cell, "the same in both columns", hint)])
        made[part] = "|".join(dict.fromkeys([*(there.split("|") if there else ()), *words])) if words else "none"
    made.setdefault(own, "")


def kind_within(text: str, kinds: Sequence[Kind]) -> Kind | None:
    """The trade kind that a text is or names, the longest name first; None where there is none."""
    exact = find_kind(text, kinds)
    if exact is not None:
        return exact
    words = f" {_spaced(text)} "
    for name, kind in _kind_names(tuple(kinds)):
        if f" {name} " in words:
            return kind
    return None


def _kind_in_short(cell: str, kinds: Sequence[Kind]) -> Kind | None:
    words = _spaced(cell)
    return find_kind(_SHORT.get("shapes" if words.endswith(" shapes") else words, ""), kinds)


def colour_within(text: str) -> str | None:
    """The colour words in a name such as "teal and gold nonpareils" as our cell; None where there are none."""
    words = _spaced(text).split()
    found: list[str] = []
    at = 0
    while at < len(words):
        for length in (3, 2, 1):
            hexed = _colour_words().get(" ".join(words[at : at + length]))
            if hexed and at + length <= len(words):
                found.append(hexed)
                at += length - 1
                break
        at += 1
    return "|".join(dict.fromkeys(found)) or None


def _spaced(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


@lru_cache(maxsize=8)
def _kind_names(kinds: tuple[Kind, ...]) -> list[tuple[str, Kind]]:
    names = {_spaced(name): kind for kind in reversed(kinds) for name in (*kind.aliases, kind.name)}
    return sorted(names.items(), key=lambda pair: (-len(pair[0]), pair[0]))


@lru_cache(maxsize=1)
def _colour_words() -> dict[str, str]:
    from catalog import lexicon

    return {_spaced(name): lab_to_hex(lab) for name, lab in lexicon.lexicon().colour_words.items()}


@dataclass(frozen=True, slots=True)
class _Row:
    """The cells of one row; those that were read already help to read the others."""

    reading: Reading
    made: Mapping[str, str]
    old: Mapping[str, Any]

    def cell(self, field: str, cell: str, column: Column) -> str:
        # In our own sheets an additive may be called "-".
        a_kind = field == "kind" and self.reading.what == "jars"
        told = (field in _TEXTS and not a_kind) or (field == "additives" and column.how == "our name")
        if cell.casefold() in _UNKNOWN and not told:
            return ""
        if field in ENTERED_LISTS or field in LISTS:
            return self._list(field, cell)
        if not cell:
            return ""
        if field in DAYS:
            return day_of(cell, self.reading.order, month_end=field == "best_before")
        if field in ("colours", "anchors", "swatch"):
            return self._colours(cell)
        if field in NUMBERS or field == PRICE_OF_FULL:
            return self._number(field, cell, column)
        if field in YES_NO:
            return _YES.get(cell.casefold(), cell)
        if a_kind:
            kind = kind_within(cell, self.reading.kinds) or _kind_in_short(cell, self.reading.kinds)
            return kind.name if kind else cell
        if field == "months":
            parts = re.split(r"[|,;/&\s]+", cell)
            return "|".join(str(_MONTHS.get(p.casefold()[:3], p)) for p in parts if p)
        return cell

    def _list(self, field: str, cell: str) -> str:
        if "|" in cell:
            return cell
        bare = re.sub(r"^(?:contains|may contain|traces of)\s*:?\s+", "", cell, flags=re.IGNORECASE)
        if field in ("aliases", "motifs") and not re.search(r"[,;\n]", bare):
            return bare
        return "|".join(part.strip(" .") for part in re.split(r"[,;/\n&+]|\band\b", bare) if part.strip(" ."))

    def _colours(self, cell: str) -> str:
        if all(_OURS.fullmatch(part.strip()) for part in cell.split("|") if part.strip()):
            return cell
        parts = [p for p in re.split(r"[|,;/&+\n]|\band\b", cell) if p.strip()]
        made = []
        for part in parts:
            found = _PART.fullmatch(part.strip())
            name, share = (
                (found["name"], found["share"]) if found and not _HEX.fullmatch(part.strip()) else (part, "")
            )
            made.append(f"{_colour(name.strip(), cell)} {share.replace(',', '.')}".strip())
        return "|".join(made)

    def _number(self, field: str, cell: str, column: Column) -> str:
        reading, unit = self.reading, column.unit
        read: Callable[[str], float] = reading.figure
        if "price" in field:
            return self._price(field, cell, column)
        if _BARE.fullmatch(cell) and unit in (None, "g" if field.endswith("_g") else "mm"):
            # A bare figure in the field's own unit; its range is checked later, so that it is told as it stands.
            return _written(reading.figure(cell))
        if field == "density_g_per_ml":
            return _written(density(cell, unit or "g/ml", read))
        if field.endswith("_per_100g"):
            bare = re.sub(r"\s*(?:g|grams?)?\s*(?:/|per|in)\s*100\s*g(?:rams?)?\b.*$", "", cell)
            return _written(grams(bare.replace("%", " g"), None, "g", read))
        if field.endswith("_mm"):
            return _written(millimetres(cell, unit or "mm", read))
        if _MADE_A_DAY.fullmatch(cell):
            hint = "A spreadsheet makes a day of 1/2 and the like; write the amount as text, such as 1/2 jar."
            raise InvalidValue("", [Problem(field, cell, "an amount such as 250 g, 8 oz or half a jar", hint)])
        if field == "full_g":
            cell = re.sub(r"(?<=[a-z.])\s+(?:jar|tub|bottle|pot|container)$", "", cell, flags=re.IGNORECASE)
        if field.endswith("_g"):
            return _written(grams(cell, self.jarful(), unit or "g", read))
        if reading.what == "boxes":
            return _written(pieces(cell, read))
        own = self.made.get("unit", self.old.get("unit")) or "piece"
        if own not in ("g", "ml", "piece", "m"):
            return _written(reading.figure(cell))
        return _written(measured(f"{cell} {unit}" if unit and _BARE.fullmatch(cell) else cell, own, read))

    def _price(self, field: str, cell: str, column: Column) -> str:
        paid = price(cell, self.reading.figure)
        currency, own = paid.currency or column.currency, self.reading.currency
        if currency and own and currency != own:
            hint = f"Write it in {own}, the shelf's currency."
            raise InvalidValue("", [Problem(field, cell, f"an amount in {own}", hint)])
        if field in ("price_per_kg", PRICE_OF_FULL):
            if paid.buys is None or paid.buys[1] == "piece":
                share, _, unit = (column.unit or "").partition(" ")
                usual = (1.0, "kg" if field == "price_per_kg" else "jar")
                paid = Price(paid.amount, currency, (float(share), unit) if unit else usual)
            jar = self.jarful()
            if paid.buys and paid.buys[1] == "jar" and jar.full_g is None:
                hint = f"“{column.title}” is read as the price of a full one, and what that holds is not known. "
                hint += "Write what the price buys, such as $4.99 for 4 oz"
                hint += ", or fill in what a full jar holds (full_g)." if self.reading.what == "jars" else "."
                raise InvalidValue("", [Problem(field, cell, "a price and the amount that it buys", hint)])
            return _written(per_kg(paid, jar))
        if paid.buys is None:
            return _written(paid.amount)
        count, of = paid.buys
        if of not in ("piece", "dozen") or (field == "pack_price" and paid.buys != (1.0, "piece")):
            hint = "Write the price of one." if field == "price" else "Write the price of a pack."
            raise InvalidValue("", [Problem(field, cell, "an amount of money such as 12.50", hint)])
        return _written(paid.amount / count / (12 if of == "dozen" else 1))

    def jarful(self) -> Jarful:
        """What the row, or else the shelf, tells of a jar: its density, or that of its kind, and what it holds."""
        weight = _value(self.made.get("density_g_per_ml")) or self.old.get("density_g_per_ml")
        if weight is None and self.reading.what == "jars":
            kind = find_kind(self.made.get("kind") or str(self.old.get("kind") or ""), self.reading.kinds)
            weight = kind.density_g_per_ml if kind else None
        return Jarful(weight, _value(self.made.get("full_g")) or self.old.get("full_g"))


def _colour(name: str, cell: str) -> str:
    if _HEX.fullmatch(name):
        return name if name.startswith("#") else f"#{name}"
    words = _colour_words()
    found = words.get(_spaced(name))
    if found is None:
        near = get_close_matches(_spaced(name)[:60], words, n=3)
        hint = f"Nearest words: {', '.join(near)}." if near else "Name its colours one by one."
        raise InvalidValue("", [Problem("colours", cell, _COLOUR, hint)])
    return found


def _value(cell: str | None) -> float | None:
    return float(cell) if cell and 0 < float(cell) < 1e9 else None


def _written(value: float) -> str:
    """A number that our own cells read back, to a millionth."""
    text = f"{value:.6f}"
    return text.rstrip("0").rstrip(".")
