"""Needs in an address and in a form, so that none is lost from one place of the page to the next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from api.bodies import Body, number_in
from catalog import lexicon as built_in
from themekit.colour.names import names_of
from themekit.colour.space import hex_to_lab
from themekit.values import Needs

#: Each field of an address, the need it tells, and whether it may stand several times.
_FIELDS = (
    ("avoid", "avoid_allergens", True),
    ("additive", "avoid_additives", True),
    ("age", "youngest_age", False),
    ("diet", "diet", False),
    ("use", "use_jars", True),
    ("skip", "skip_jars", True),
    ("colour", "include_colours", True),
    ("nocolour", "avoid_colours", True),
    ("stock", "in_stock_only", False),
)


#: The names of these fields.
NAMES = tuple(field for field, _, _ in _FIELDS)


def needs_given(args: Any) -> dict[str, Any]:
    """What an address or a form tells, as the service takes needs; unchecked."""
    found: dict[str, Any] = {}
    for field, need, several in _FIELDS:
        values = [value.strip() for value in args.getlist(field) if value.strip()]
        if not values:
            continue
        if need == "in_stock_only":
            found[need] = True
        elif several:
            found[need] = [number_in(v) for v in values] if need in ("use_jars", "skip_jars") else values
        else:
            found[need] = number_in(values[0]) if need == "youngest_age" else values[0]
    return found


def needs_read(args: Any) -> Needs:
    """The same, checked; raises `InvalidValue` with every problem."""
    body = Body({"needs": needs_given(args)}, ("needs",))
    needs = body.needs()
    body.done()
    return needs


def in_address(needs: Needs) -> list[tuple[str, str]]:
    """Needs as the fields of an address; `needs_read` gives the same ones back."""
    found: list[tuple[str, str]] = []
    for field, need, several in _FIELDS:
        value = getattr(needs, need)
        if need == "in_stock_only":
            found += [(field, "1")] if value else []
        elif several:
            found += [(field, str(one)) for one in value]
        elif value is not None:
            found.append((field, str(value)))
    return found


def needs_in_words(needs: Mapping[str, Any], names: Mapping[str, str]) -> list[str]:
    """Each of some needs in a few plain words, such as "no milk" and "youngest 5", none of them twice."""
    told = (
        need_in_words({"need": name, "value": one, "source": "given"}, names)
        for name, value in needs.items()
        for one in (value if isinstance(value, list | tuple) else [value])
    )
    return list(dict.fromkeys(told))


#: How each need is said, the others by their names; {} is the value.
_SAID = {
    "avoid_allergens": "no {}",
    "avoid_additives": "without the additive {}",
    "avoid_colours": "no {}",
    "avoid_motifs": "no {}",
    "include_colours": "with {}",
    "youngest_age": "youngest {}",
    "use_jars": "use up {}",
    "skip_jars": "without {}",
    "in_stock_only": "only what suffices",
}


def need_in_words(applied: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """A need as it was applied ({"need", "value", "source"}), in words; `names` are those of jars by id as text.

    A colour is called by the word it was read from, else by its nearest name.
    """
    need, value = applied["need"], applied["value"]
    word = str(value)
    if need in ("use_jars", "skip_jars"):
        word = names.get(word, f"jar {word}")
    elif need in ("avoid_colours", "include_colours"):
        said = applied["source"].removeprefix("no ")
        word = names_of(built_in.lexicon().colour_basics).nearest(hex_to_lab(word))[0] if said == "given" else said
    return _SAID.get(need, "{}").format(word)
