"""What was read from a customer's message as fields to correct, and back; nothing counts that is not shown."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from api.bodies import number_in
from catalog.composition import additive
from themekit.colour.space import lab_to_hex, parse_hex
from themekit.errors import Problem, ThemekitError, raise_all
from themekit.suggest.shades import sorts
from themekit.values import Lab

_COMMA = re.compile(r"[,;\n]+|\band\b", re.IGNORECASE)
#: The fields that hold one text each, in their order on the page.
SINGLE = ("theme", "kits", "cookies", "date", "age", "diet", "wanted", "unwanted", "unseen", "additives")
#: What some fields are called where it cannot be read.
CORRECTED = {"wanted": "Colours wanted", "unwanted": "Colours not wanted"}


@dataclass(frozen=True, slots=True)
class Corrections:
    """The fields as they stand in the form, all text as typed; ids of jars as text too."""

    theme: str = ""
    kits: str = ""
    cookies: str = ""
    date: str = ""
    age: str = ""
    diet: str = ""
    wanted: str = ""
    unwanted: str = ""
    unseen: str = ""
    additives: str = ""
    avoid: tuple[str, ...] = ()
    use: tuple[str, ...] = ()
    skip: tuple[str, ...] = ()
    stock: bool = False


def from_reading(told: Mapping[str, Any]) -> Corrections:
    """The fields as a message was read: {"read", "needs"} as `api.requests` tells them."""
    read = told["read"]
    applied: dict[str, list[str]] = {}
    for one in told["needs"]["applied"]:
        applied.setdefault(one["need"], []).append(str(one["value"]))

    def first(name: str) -> str:
        return applied.get(name, [""])[0]

    return Corrections(
        theme=read["theme"],
        kits="" if read["kits"] is None else str(read["kits"]),
        cookies=str(read["cookies"]),
        date=read["date"] or "",
        age=first("youngest_age"),
        diet=first("diet"),
        wanted=", ".join(applied.get("include_colours", [])),
        unwanted=", ".join(read["colours_unwanted"]),
        unseen=", ".join(applied.get("avoid_motifs", [])),
        additives=", ".join(applied.get("avoid_additives", [])),
        avoid=tuple(applied.get("avoid_allergens", [])),
        use=tuple(applied.get("use_jars", [])),
        skip=tuple(applied.get("skip_jars", [])),
        stock="in_stock_only" in applied,
    )


def with_needs(given: Corrections, needs: Mapping[str, Any]) -> Corrections:
    """The fields with what an order asks for beside them."""
    ages = [age for age in (given.age, str(needs.get("youngest_age") or "")) if age.isdigit()]
    diets = [diet for diet in ("vegan", "vegetarian") if diet in (given.diet, needs.get("diet"))]
    unwanted = [given.unwanted, *needs.get("avoid_colours", ())]
    return replace(
        given,
        age=min(ages, key=int, default=""),
        diet=diets[0] if diets else "",
        unwanted=", ".join(filter(None, unwanted)),
        additives=", ".join(filter(None, [given.additives, *needs.get("avoid_additives", ())])),
        avoid=tuple(dict.fromkeys((*given.avoid, *needs.get("avoid_allergens", ())))),
    )


def from_form(form: Any) -> Corrections:
    """The fields as they were sent."""
    single = {name: " ".join(form.get(name, "").split()) for name in SINGLE}
    several = {name: tuple(dict.fromkeys(form.getlist(name))) for name in ("avoid", "use", "skip")}
    return replace(Corrections(), **single, **several, stock=bool(form.get("stock")))


def body_of(given: Corrections, colour_words: Mapping[str, Lab]) -> dict[str, Any]:
    """The fields as the service takes a message's theme, facts and needs.

    Raises `InvalidValue` for colours that cannot be read; the rest is checked by the service.
    """
    problems: list[Problem] = []
    needs: dict[str, Any] = {
        "avoid_allergens": list(given.avoid),
        "avoid_additives": [additive(word) for word in _parts(given.additives)],
        "youngest_age": number_in(given.age) if given.age else None,
        "diet": given.diet or None,
        "use_jars": [number_in(id) for id in given.use],
        "skip_jars": [number_in(id) for id in given.skip],
        "include_colours": _colours("wanted", given.wanted, colour_words, problems),
        "avoid_colours": _unwanted(given.unwanted, colour_words, problems),
        "in_stock_only": given.stock or None,
    }
    raise_all(problems, "Some colours cannot be read.")
    body: dict[str, Any] = {name: number_in(getattr(given, name)) or None for name in ("kits", "cookies")}
    body |= {"date": given.date or None, "needs": {name: v for name, v in needs.items() if v not in (None, [])}}
    return {name: value for name, value in body.items() if value is not None} | {"theme": theme_of(given)}


def theme_of(given: Corrections) -> str:
    """The theme with what is not to be shown, as a phrase that is read the same way again."""
    theme = given.theme or given.wanted
    return ", ".join([theme, *(f"no {word}" for word in _parts(given.unseen))])


def as_read(given: Corrections, read: Corrections) -> bool:
    """Whether theme and what is not to be shown stand as they were read, so that the message itself says them."""
    return theme_of(given).casefold() == theme_of(read).casefold()


def fields_of(given: Corrections) -> list[tuple[str, str]]:
    """The fields of an address or a form from which `from_form` gives the same back."""
    found = [("read", "1")] + [(name, getattr(given, name)) for name in SINGLE]
    found += [(name, one) for name in ("avoid", "use", "skip") for one in getattr(given, name)]
    return found + ([("stock", "1")] if given.stock else [])


def digest_of(given: Corrections) -> str:
    """What tells whether any of the fields was changed."""
    single = [" ".join(getattr(given, name).split()) for name in SINGLE]
    several = [sorted(one) for one in (given.avoid, given.use, given.skip)]
    return hashlib.sha256(repr((single, several, given.stock)).encode()).hexdigest()


def _parts(text: str) -> list[str]:
    return [word for part in _COMMA.split(text) if (word := " ".join(part.split()))]


def _unwanted(text: str, words: Mapping[str, Lab], problems: list[Problem]) -> list[str]:
    """Every sort of each colour, as a message that leaves it out is read: no pink is no hot pink."""
    found: list[str] = []
    for word in _parts(text):
        known = words.get(word.casefold())
        found += [lab_to_hex(lab) for lab in sorts(word.casefold(), known, words)] if known else []
        found += [] if known else _colours("unwanted", word, words, problems)
    return list(dict.fromkeys(found))


def _colours(name: str, text: str, words: Mapping[str, Lab], problems: list[Problem]) -> list[str]:
    found = []
    for word in _parts(text):
        known = words.get(word.casefold())
        try:
            found.append(lab_to_hex(known) if known else parse_hex(word))
        except ThemekitError:
            allowed = "colour words such as teal, or codes such as #2a9d8f, with commas between"
            problems.append(Problem(CORRECTED[name], word[:60], allowed, "Write another word for it."))
    return list(dict.fromkeys(found))
