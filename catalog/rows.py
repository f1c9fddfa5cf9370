"""One record of each resource, in the API's form: checked, cleaned, or refused with every reason.

A clean record holds every field of its resource that a person can enter, with None
where it is not known, and nothing else. It is plain JSON: days as YYYY-MM-DD, money
as a number, CIELAB to two decimals. Checking a clean record again changes nothing.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from catalog.colours import check_colour, check_colours
from catalog.composition import COMPOSITION, check_composition
from catalog.fields import MOST_GRAMS, MOST_MM, MOST_PIECES, Checks
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.values import FINISHES, FORMS, HARDNESSES, Kind

Record = dict[str, Any]

RESOURCES = ("jars", "cutters", "gels", "boxes", "supplies", "themes")
RECIPES = ("dough", "icing")
UNITS = ("g", "ml", "piece", "m")
TEXTURE = ("form", "grain_mm", "finish", "hardness")
#: What a person can enter, by resource, in the order of the sheets' columns.
FIELDS: dict[str, tuple[str, ...]] = {
    "jars": (
        "name", "kind", "colours", "texture", "density_g_per_ml", "on_hand_g", "full_g", "empty_jar_g",
        "best_before", "last_used", "price_per_kg", *COMPOSITION, "motifs", "hard_small_pieces",
        "melts_in_heat", "lot",
    ),
    "cutters": ("name", "motifs", "colours", "width_mm", "height_mm", "thickness_mm", "thin_parts"),
    "gels": (
        "name", "swatch", "dose_g_per_100g", "max_g_per_100g", *COMPOSITION, "natural", "on_hand_g",
        "price_per_kg",
    ),
    "boxes": ("name", "length_mm", "width_mm", "height_mm", "window", "on_hand", "price"),
    "supplies": (
        "name", "kind", "unit", "on_hand", "pack_size", "pack_price", "allergens", "may_contain",
    ),
    "themes": ("name", "aliases", "anchors", "motifs", "months"),
    "recipes": ("name", *COMPOSITION),
}  # fmt: skip
#: Set by the store; a record that carries them is refused with this as the reason.
_SET_BY_STORE = ("id", "version", "defaults", "reserved_g", "reserved", "uncertain_g", "uncertain")
_SMALLEST = 0.001
#: Bakers' words that are said of several kinds, all of them round.
_ROUND = (["ball"], ["bead"], ["sphere"])


def clean(resource: str, record: Any, kinds: Sequence[Kind] = ()) -> Record:
    """Return the clean form of one record of `resource`.

    Raises `InvalidValue` with every problem, each with the field's dotted path.
    `kinds` are the trade kinds that a jar's kind may name.
    """
    checked, problems = check(resource, record, kinds)
    raise_all(problems, f"This cannot be kept among the {resource}.")
    return checked


def check(resource: str, record: Any, kinds: Sequence[Kind] = ()) -> tuple[Record, list[Problem]]:
    """As `clean`, but return what could be read together with the problems."""
    fields = fields_of(resource)
    checks = Checks()
    if not isinstance(record, Mapping):
        checks.wrong("record", record, "an object with named fields", "Send an object.")
        return {}, checks.problems
    _unknown_fields(checks, record, fields)
    made = {"name": checks.text("name", record.get("name"), required=True)}
    made.update(_CHECKERS[resource](checks, record, kinds))
    return {field: made[field] for field in fields}, checks.problems


def fields_of(resource: str) -> tuple[str, ...]:
    """The fields of `resource`; raises `InvalidValue` for a resource there is not."""
    if resource not in FIELDS:
        problem = Problem("resource", resource, "one of " + ", ".join(FIELDS))
        raise InvalidValue("There is no such resource.", [problem])
    return FIELDS[resource]


def merged(resource: str, old: Mapping[str, Any], changes: Any) -> Record:
    """`old` with `changes` put over it; of a texture only the parts that are named change.

    A field set to None becomes unknown. Raises `InvalidValue` when `changes` is no object.
    """
    if not isinstance(changes, Mapping):
        problem = Problem(resource, type(changes).__name__, "an object with the fields to change")
        raise InvalidValue("The change could not be read.", [problem])
    new = {field: old[field] for field in fields_of(resource)} | dict(changes)
    texture = changes.get("texture")
    if resource == "jars" and isinstance(texture, Mapping):
        new["texture"] = dict(old["texture"]) | dict(texture)
    return new


def find_kind(word: str, kinds: Sequence[Kind]) -> Kind | None:
    """The trade kind of that name or alias, whatever its case, accents, hyphens or plural."""
    return _kind_index(tuple(kinds)).get(_kind_key(word))


@lru_cache(maxsize=8)
def _kind_index(kinds: tuple[Kind, ...]) -> dict[str, Kind]:
    # From the last to the first, so that the first kind of a doubtful name has it.
    return {_kind_key(name): kind for kind in reversed(kinds) for name in (*kind.aliases, kind.name)}


def _kind_key(word: str) -> str:
    plain = unicodedata.normalize("NFKD", word.casefold())
    letters = "".join(c if c.isalnum() else " " for c in plain if not unicodedata.combining(c))
    return " ".join(w[:-1] if len(w) > 3 and w.endswith("s") else w for w in letters.split())


def kinds_allowed(kinds: Sequence[Kind]) -> str:
    """What a jar's kind may be, for problems."""
    return "a trade kind: " + ", ".join(k.name for k in kinds)


def with_defaults(jar: Mapping[str, Any], kinds: Sequence[Kind]) -> Record:
    """A clean jar with its blanks filled by its kind, and `defaults` naming what was filled.

    Texture parts are named "texture.form" and so on. Allergens, additives and diet are
    never filled.
    """
    filled: Record = {**jar, "texture": dict(jar["texture"]), "defaults": []}
    kind = find_kind(jar["kind"], kinds)
    if kind is None:
        return filled
    for part in TEXTURE:
        usual = getattr(kind.texture, part)
        if filled["texture"][part] is None and usual is not None:
            filled["texture"][part] = usual
            filled["defaults"].append(f"texture.{part}")
    for field in ("density_g_per_ml", "hard_small_pieces", "melts_in_heat"):
        usual = getattr(kind, field)
        if filled[field] is None and usual is not None:
            filled[field] = usual
            filled["defaults"].append(field)
    return filled


def _unknown_fields(checks: Checks, record: Mapping[str, Any], fields: Sequence[str], within: str = "") -> None:
    for name in record:
        if name in fields:
            continue
        near = get_close_matches(str(name)[:60], fields, n=1)
        hint = f"Did you mean {near[0]}?" if near else "Leave it out."
        if name in _SET_BY_STORE:
            hint = "It is set by the store; leave it out."
        path = within + str(name)[:60].encode("utf-8", "replace").decode()
        checks.wrong(path, record[name], "one of the fields " + ", ".join(fields), hint)


def _mm(checks: Checks, record: Mapping[str, Any], *fields: str) -> Record:
    return {f: checks.number(f, record.get(f), least=_SMALLEST, most=MOST_MM, unit="mm") for f in fields}


def _grams(checks: Checks, record: Mapping[str, Any]) -> float | None:
    return checks.number("on_hand_g", record.get("on_hand_g"), most=MOST_GRAMS, unit="g")


def _jar(checks: Checks, record: Mapping[str, Any], kinds: Sequence[Kind]) -> Record:
    return {
        "kind": _kind(checks, record.get("kind"), kinds),
        "colours": check_colours(checks, "colours", record.get("colours"), "share", required=True),
        "texture": _texture(checks, record.get("texture")),
        "density_g_per_ml": checks.number(
            "density_g_per_ml", record.get("density_g_per_ml"), least=0.01, most=5, unit="g/mL", decimals=6
        ),
        "on_hand_g": _grams(checks, record),
        "full_g": checks.number("full_g", record.get("full_g"), least=_SMALLEST, most=MOST_GRAMS, unit="g"),
        "empty_jar_g": checks.number("empty_jar_g", record.get("empty_jar_g"), most=MOST_GRAMS, unit="g"),
        "best_before": checks.day("best_before", record.get("best_before")),
        "last_used": checks.day("last_used", record.get("last_used")),
        "price_per_kg": checks.money("price_per_kg", record.get("price_per_kg")),
        **check_composition(checks, record),
        "motifs": checks.words("motifs", record.get("motifs"), lower=True) or [],
        "hard_small_pieces": checks.yes_no("hard_small_pieces", record.get("hard_small_pieces")),
        "melts_in_heat": checks.yes_no("melts_in_heat", record.get("melts_in_heat")),
        "lot": checks.text("lot", record.get("lot")),
    }


def _kind(checks: Checks, value: Any, kinds: Sequence[Kind]) -> str | None:
    word = checks.text("kind", value, required=True)
    if word is None:
        return None
    known = find_kind(word, kinds)
    if known:
        return known.name
    names = {name.casefold(): kind.name for kind in kinds for name in (kind.name, *kind.aliases)}
    near = dict.fromkeys(names[n] for n in get_close_matches(word.casefold(), names, n=3, cutoff=0.5))
    hint = f"Nearest: {', '.join(near)}." if near else "Choose the nearest."
    if _kind_key(word).split()[-1:] in _ROUND:
        round_ones = [k.name for k in kinds if k.texture.form == "sphere"]
        hint = f"That may be {', '.join(round_ones[:-1])} or {round_ones[-1]}." if len(round_ones) > 1 else hint
    checks.wrong("kind", value, kinds_allowed(kinds), hint)
    return None


def _texture(checks: Checks, value: Any) -> Record:
    if value is None:
        value = {}
    if not isinstance(value, Mapping):
        checks.wrong("texture", value, "an object with " + ", ".join(TEXTURE), "Send an object.")
        value = {}
    _unknown_fields(checks, value, TEXTURE, "texture.")
    return {
        "form": checks.choice("texture.form", value.get("form"), FORMS),
        "grain_mm": checks.number(
            "texture.grain_mm", value.get("grain_mm"), least=_SMALLEST, most=MOST_MM, unit="mm"
        ),
        "finish": checks.choice("texture.finish", value.get("finish"), FINISHES),
        "hardness": checks.choice("texture.hardness", value.get("hardness"), HARDNESSES),
    }


def _cutter(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    return {
        "motifs": checks.words("motifs", record.get("motifs"), lower=True) or [],
        "colours": check_colours(checks, "colours", record.get("colours"), None),
        **_mm(checks, record, "width_mm", "height_mm", "thickness_mm"),
        "thin_parts": checks.yes_no("thin_parts", record.get("thin_parts")),
    }


def _gel(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    dose, highest = (
        checks.number(field, record.get(field), least=0.0001, most=50, unit=unit, decimals=6, required=need)
        for field, unit, need in (
            ("dose_g_per_100g", "g of gel in 100 g of icing", True),
            ("max_g_per_100g", "g of gel in 100 g of icing", False),
        )
    )
    return {
        "swatch": check_colour(checks, "swatch", record.get("swatch")),
        "dose_g_per_100g": dose,
        "max_g_per_100g": highest,
        **check_composition(checks, record),
        "natural": checks.yes_no("natural", record.get("natural")),
        "on_hand_g": _grams(checks, record),
        "price_per_kg": checks.money("price_per_kg", record.get("price_per_kg")),
    }


def _box(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    return {
        **_mm(checks, record, "length_mm", "width_mm", "height_mm"),
        "window": checks.yes_no("window", record.get("window")),
        "on_hand": checks.whole("on_hand", record.get("on_hand"), most=MOST_PIECES),
        "price": checks.money("price", record.get("price")),
    }


def _supply(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    kind = checks.text("kind", record.get("kind"), longest=60)
    return {
        "kind": kind.lower() if kind else None,
        "unit": checks.choice("unit", record.get("unit"), UNITS),
        "on_hand": checks.number("on_hand", record.get("on_hand"), most=MOST_GRAMS, unit="of its unit"),
        "pack_size": checks.number(
            "pack_size", record.get("pack_size"), least=_SMALLEST, most=MOST_GRAMS, unit="of its unit"
        ),
        "pack_price": checks.money("pack_price", record.get("pack_price")),
        **check_composition(checks, record, only=("allergens", "may_contain")),
    }


def _theme(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    months = record.get("months")
    if months is None:
        months = []
    if not isinstance(months, list | tuple) or len(months) > 12:
        checks.wrong("months", months, "a list of at most 12 months, 1 to 12")
        months = []
    for i, month in enumerate(months):
        if month is None:
            checks.wrong(f"months.{i}", month, "a whole number from 1 to 12", "Leave it out.")
    whole = [checks.whole(f"months.{i}", month, least=1, most=12) for i, month in enumerate(months)]
    return {
        "aliases": checks.words("aliases", record.get("aliases")) or [],
        "anchors": check_colours(checks, "anchors", record.get("anchors"), "weight", required=True),
        "motifs": checks.words("motifs", record.get("motifs"), lower=True) or [],
        "months": sorted({month for month in whole if month is not None}),
    }


def _recipe(checks: Checks, record: Mapping[str, Any], _: Sequence[Kind]) -> Record:
    name = record.get("name")
    if isinstance(name, str) and name.strip():
        name = checks.choice("name", name, RECIPES)
    return {"name": name, **check_composition(checks, record)}


_CHECKERS: dict[str, Callable[[Checks, Mapping[str, Any], Sequence[Kind]], Record]] = {
    "jars": _jar,
    "cutters": _cutter,
    "gels": _gel,
    "boxes": _box,
    "supplies": _supply,
    "themes": _theme,
    "recipes": _recipe,
}
