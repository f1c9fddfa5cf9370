"""What a customer asked for, as fields of a form to correct, and in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from api.pages.corrections import Corrections, body_of
from api.pages.kit_address import Read
from api.pages.needs import needs_in_words
from api.service import service
from api.works import ASKED, joined, needs_of, needs_of_order
from catalog import lexicon as built_in
from themekit.colour.space import lab_to_hex
from themekit.values import Needs

#: The fields of a form, each with what it is called.
WORDS = {
    "avoid": "To leave out",
    "age": "Youngest child, years",
    "diet": "Diet",
    "unwanted": "Colours not wanted",
    "additives": "Additives to leave out",
}
#: To which of these a problem of a need belongs.
ALSO = {
    "avoid_allergens": "avoid",
    "youngest_age": "age",
    "avoid_colours": "unwanted",
    "avoid_additives": "additives",
    WORDS["unwanted"]: "unwanted",
}


def as_typed(needs: Mapping[str, Any]) -> dict[str, str]:
    """Needs as the fields of a form; `needs_in` gives the same back."""
    age = needs.get("youngest_age")
    return {
        "avoid": ", ".join(needs.get("avoid_allergens") or ()),
        "age": "" if age is None else str(age),
        "diet": needs.get("diet") or "",
        "unwanted": ", ".join(_words_by_hex().get(hex_, hex_) for hex_ in needs.get("avoid_colours") or ()),
        "additives": ", ".join(needs.get("avoid_additives") or ()),
    }


def typed_in(form: Any) -> dict[str, str] | None:
    """The fields as they were sent; None where the form has none of them, and says nothing of needs."""
    if "age" not in form:
        return None
    single = {name: " ".join(form.get(name, "").split()) for name in WORDS}
    return single | {"avoid": ", ".join(word for word in form.getlist("avoid") if word.strip())}


def needs_in(typed: Mapping[str, str], old: Mapping[str, Any]) -> dict[str, Any]:
    """What was typed as needs, beside those of the old that have no field; raises `InvalidValue`."""
    avoid = tuple(word.strip() for word in typed["avoid"].split(",") if word.strip())
    given = replace(Corrections(), **{name: typed[name] for name in WORDS if name != "avoid"}, avoid=avoid)
    needs = {
        name: v for name, v in body_of(given, built_in.lexicon().colour_words)["needs"].items() if name in ASKED
    }
    needs_of({"needs": needs})
    return {name: value for name, value in old.items() if name not in ASKED} | needs


def in_words(needs: Mapping[str, Any]) -> list[str]:
    """Each need in a few plain words, such as "no milk" and "youngest 5"."""
    at = service()
    names = {str(jar.id): jar.name for jar in at.store.read(at.shelf_id).jars} if needs else {}
    return needs_in_words(needs, names)


def under_its_order(read: Read) -> Read:
    """What an address says, with the needs of the order that it is laid out for."""
    asked = of_order(dict(read.laid.carried).get("order", ""))
    return (
        read if asked == Needs() else replace(read, laid=replace(read.laid, needs=joined(read.laid.needs, asked)))
    )


def of_order(number: str) -> Needs:
    """The needs of the order of that number; none for a new one or none."""
    at = service()
    whole = int(number) if number.isascii() and number.isdigit() and len(number) < 12 else None
    return needs_of_order(at.store, at.shelf_id, whole)


@lru_cache(maxsize=1)
def _words_by_hex() -> dict[str, str]:
    found: dict[str, str] = {}
    for word, lab in sorted(built_in.lexicon().colour_words.items(), key=lambda one: (len(one[0]), one[0])):
        found.setdefault(lab_to_hex(lab), word)
    return found
