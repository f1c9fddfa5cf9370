"""A jar's colours in a form: swatches with shares to correct, taps on a palette, or what a photo shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import request

from api.photos import MOST_BYTES, colours_of
from catalog import lexicon as built_in
from catalog.cells import Numbers, Unreadable, read_cell
from catalog.colours import MILLION, MOST_COLOURS, millionths
from themekit.colour.names import BASIC, called, names_of
from themekit.colour.space import hex_to_lab, lab_to_hex, labs_to_hex
from themekit.errors import InvalidValue, Problem, ThemekitError, raise_all

#: Addresses whose forms may carry a photo; all others stay small.
PHOTO_PLACES = ("shelf_page.new", "shelf_page.one", "many_page.many")
_PLAIN = Numbers(three_after_comma=True, three_after_point=True)
_BLANK = "#c8253b"


@dataclass(frozen=True, slots=True)
class Row:
    """One swatch of the form: hex, its share in percent as text, whether it counts, its name.

    `exact` is the cell's own text where the hex is only its nearest.
    """

    hex: str
    share: str = ""
    used: bool = True
    name: str = ""
    exact: str = ""


@dataclass(frozen=True, slots=True)
class Photo:
    """What a photo gave: swatches, and sentences on how sure they are."""

    rows: tuple[Row, ...]
    told: tuple[str, ...]


def room_for_photos() -> None:
    """Let the forms that may carry a photo be larger than others."""
    if request.endpoint in PHOTO_PLACES:
        request.max_content_length = MOST_BYTES + 100_000


def palette() -> list[tuple[str, str]]:
    """The colours that have a name, each a hex and its name, in the order of the spectrum as they are kept."""
    basics = built_in.lexicon().colour_basics
    return list(zip(labs_to_hex(list(basics.values())), basics, strict=True))


def rows_of(cell: str, spare: int = 1, jar: str = "") -> list[Row]:
    """The swatches of a cell such as "#c8253b 0.6|#ffffff 0.4", and spare ones; none where it cannot be read.

    `jar` is the jar's name, with which the names of its colours are to agree.
    """
    try:
        colours = read_cell("jars", "colours", cell, _PLAIN) if cell else []
    except (Unreadable, ThemekitError):
        return []
    rows = []
    for colour in colours or []:
        try:
            exact = " ".join(f"{v:g}" for v in colour["lab"]) if "lab" in colour else ""
            hex_ = lab_to_hex(colour["lab"]) if exact else _hex(colour["hex"])
        except (ThemekitError, TypeError, ValueError):
            return []
        share = colour.get("share")
        rows.append(Row(hex_, "" if share is None else f"{100 * share:.4g}", True, _named(hex_, jar), exact))
    return rows + [Row(_BLANK, used=False)] * spare


def cell_of(form: Any) -> str:
    """What the swatches and taps of a form mean, as a cell; shares left blank share what is left evenly.

    Raises `InvalidValue` for shares that are none.
    """
    hexes, shares, exacts = (form.getlist(name)[:MOST_COLOURS] for name in ("c", "s", "o"))
    used = {int(i) for i in form.getlist("use") if i.isascii() and i.isdigit() and len(i) < 3}
    chosen: list[tuple[str, str]] = [(tap, "") for tap in form.getlist("tap")[:MOST_COLOURS]]
    for i, hex_ in enumerate(hexes):
        if i in used:
            exact = exacts[i] if i < len(exacts) else ""
            chosen.append(
                (exact if exact and _same(exact, hex_) else hex_, shares[i].strip() if i < len(shares) else "")
            )
    if len(chosen) < 2:
        return "|".join(text for text, _ in chosen)
    parts = _parts([share for _, share in chosen])
    return "|".join(f"{text} {part / MILLION:g}" for (text, _), part in zip(chosen, parts, strict=True))


def signature(rows: Sequence[Row]) -> str:
    """The swatches that count, as a form sends them back where nothing was changed."""
    return "|".join(f"{row.hex} {row.share}" for row in rows if row.used)


def unchanged(form: Any) -> bool:
    """Whether the swatches stand as they were shown, so that the cell behind them is still exact."""
    sent = [
        Row(c, s, str(i) in form.getlist("use"))
        for i, (c, s) in enumerate(zip(form.getlist("c"), form.getlist("s"), strict=False))
    ]
    return bool("were" in form and signature(sent) == form["were"])


def _parts(shares: Sequence[str]) -> list[int]:
    """Percentages as millionths that add up to one million."""
    found: list[float | None] = []
    problems = []
    for text in shares:
        try:
            value = float(text.replace(",", ".").rstrip("% ")) if text else None
        except ValueError:
            value = -1.0
        if value is not None and not 0 < value <= 100:
            problems.append(
                Problem("share", text, "a percentage above 0, at most 100", "Leave it blank for an even share.")
            )
        found.append(value)
    raise_all(problems, "A colour's share cannot be read.")
    left, blanks = 100 - sum(v for v in found if v is not None), sum(v is None for v in found)
    even = max(left / blanks, 1.0) if blanks else 0.0
    return millionths([even if v is None else v for v in found])


def photo_given() -> bytes | None:
    """The photo that came with a form; None where there is none."""
    given = request.files.get("photo")
    if given is None or not given.filename:
        return None
    data = given.read()
    given.close()
    return data


def read_photo(data: bytes, jar: str = "") -> Photo:
    """The colours of a photo of this jar as swatches. Nothing of it is kept.

    Raises `InvalidValue` where it cannot be read.
    """
    found = colours_of(data)
    rows = tuple(
        Row(c["hex"], f"{100 * c['share']:.3g}", True, _named(c["hex"], jar), " ".join(f"{v:g}" for v in c["lab"]))
        for c in found["colours"]
    )
    if not rows:
        problem = Problem(
            "photo", None, "sprinkles that fill the picture", "Go nearer, or tap the colour instead."
        )
        raise InvalidValue("No colour was found in the photo.", [problem])
    by = {"white paper": "white paper in the picture", "grey card": "a grey card in the picture"}
    white = by.get(found["balanced_by"] or "", "")
    sure = f"{_sure(found['sureness'])} ({round(100 * found['sureness'])} of 100)"
    told = [f"{sure}. Correct what looks wrong, then keep it."]
    told += [f"Its light was balanced by {white}."] if white else []
    return Photo(rows, (*told, *found["warnings"], "Nothing of the picture is kept."))


def _sure(sureness: float) -> str:
    return "Quite sure" if sureness >= 0.75 else "Fairly sure" if sureness >= 0.5 else "Not sure"


def _hex(text: str) -> str:
    return lab_to_hex(hex_to_lab(text))


def _named(hex_: str, jar: str) -> str:
    lexicon = built_in.lexicon()
    basic = names_of({word: lab for word, lab in lexicon.colour_words.items() if word in BASIC})
    return called(hex_to_lab(hex_), jar, names_of(lexicon.colour_basics), basic)


def _same(exact: str, hex_: str) -> bool:
    """Whether a cell's own Lab is still what its swatch shows."""
    try:
        return lab_to_hex([float(v) for v in exact.split()]) == hex_.casefold()
    except (ValueError, IndexError):
        return False


#: Facts that a jar may lack, those that matter most for people first, and their words.
_FACTS = (
    ("allergens", "allergens"),
    ("may_contain", "may contain"),
    ("additives", "additives"),
    ("on_hand_g", "how much there is"),
    ("best_before", "best before"),
    ("price_per_kg", "price"),
    ("density_g_per_ml", "weight of a spoonful"),
    ("diet", "diet"),
)


def lacking(row: Mapping[str, Any]) -> list[str]:
    """What a jar's record does not say yet."""
    missing = [word for field, word in _FACTS if row[field] is None]
    return missing + [word for word in ("kind", "colours") if not row[word]]
