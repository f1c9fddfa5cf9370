"""One question to the tool: a phrase read once into theme, kits and needs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from themekit.colour.space import hex_to_lab, lab_to_hex, parse_hex
from themekit.errors import Problem, ThemeNotUnderstood, raise_all
from themekit.suggest.lookup import Lookup, lookup_for
from themekit.suggest.request import Request, read_request
from themekit.suggest.shades import sorts
from themekit.suggest.theme import BY_CAPITAL, Reading, Understood, read_theme, without_colours
from themekit.suggest.weights import AVOIDED_WITHIN
from themekit.suggest.when import Day
from themekit.suggest.words import MAX_TEXT, fold, tokens
from themekit.values import Anchor, Lab, Lexicon, Needs, Shelf

T = TypeVar("T")

MOST_KITS, MOST_COOKIES, MOST_IDEAS = 1000, 100, 20
USUAL_COOKIES = 8


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked, as the tool understands it; `needs` are those applied."""

    reading: Reading
    needs: Needs
    kits: int
    cookies: int
    avoid_motifs: tuple[str, ...]
    request: Request
    lookup: Lookup


def ask(
    text: str,
    shelf: Shelf,
    lexicon: Lexicon,
    needs: Needs | None = None,
    kits: int | None = None,
    cookies: int | None = None,
    given_alone: bool = False,
) -> Asked:
    """Read `text` and join what it says with the needs that were given.

    Lists unite, the lowest age and the strictest diet win; numbers given outright win
    over numbers in the text. With `given_alone` the text says the theme and what is not to be
    shown, and of numbers, days and needs only what was given counts. Raises `InvalidValue`
    for text that is too long and for numbers out of range, every problem at once. Not understanding
    anything is no error here: the reading then has no anchors.
    """
    _check(text, kits, cookies)
    lookup = lookup_for(lexicon, shelf.themes)
    request = _as_written(read_request(text, lookup, lexicon.kinds))
    if given_alone:
        request = replace(request, said=[one for one in request.said if one.field == "avoid_motifs"])
    joined = _joined(needs or Needs(), request, shelf, lookup)
    reading = read_theme(text, request.rest, lookup)
    reading = without_colours(reading, [_lab(c) for c in joined.avoid_colours], AVOIDED_WITHIN)
    if not reading.anchors and joined.include_colours:
        reading = _from_included(reading, joined.include_colours)
    said = tuple(
        Understood(
            s.words,
            "need" if s.field not in ("kits", "cookies", "date") else s.field,
            _told(s.value),
            s.field,
            1.0,
        )
        for s in request.said
    )
    said += tuple(Understood(name, "name", "a name", BY_CAPITAL, 1.0) for name in dict.fromkeys(request.people))
    unknown = (*reading.unknown, *request.not_understood)
    return Asked(
        reading=replace(reading, understood=(*reading.understood, *said), unknown=unknown),
        needs=joined,
        kits=kits or next(iter(request.values("kits")), 1),
        cookies=cookies or next(iter(request.values("cookies")), USUAL_COOKIES),
        avoid_motifs=tuple(request.values("avoid_motifs")),
        request=request,
        lookup=lookup,
    )


def _as_written(request: Request) -> Request:
    """The request with its words as they stand in the text: “3-year-old”, not “3 - year - old”."""
    text = fold(request.text)

    def written(words: str) -> str:
        found = re.search(r"\s*".join(map(re.escape, words.split())), text)
        return " ".join(found.group().split()) if found else words

    said = [replace(one, words=written(one.words)) for one in request.said]
    return replace(request, said=said, not_understood=[written(words) for words in request.not_understood])


def require_theme(asked: Asked) -> None:
    """Raise `ThemeNotUnderstood`, asking for colours, when nothing was understood."""
    if asked.reading.anchors:
        return
    raise ThemeNotUnderstood(
        "Nothing in this phrase was understood as a theme.",
        [
            Problem(
                "theme",
                asked.reading.text,
                "a theme, a thing to see or colours, such as “owls in teal and gold”",
                _hint(asked),
            )
        ],
    )


def _hint(asked: Asked) -> str:
    near = _alike(asked)
    return (f"Did you mean {near}? " if near else "") + "Name two or three colours, or pick one of the themes."


def _alike(asked: Asked) -> str:
    """Theme names that look like the phrase, by character n-grams; only on the way to an error."""
    from sklearn.feature_extraction.text import TfidfVectorizer

    words = " ".join(t.fold for t in tokens(asked.reading.text) if t.is_word)
    names = sorted({theme.name for theme in asked.lookup.themes.values()})
    if len(words) < 3 or not names:
        return ""
    grams = TfidfVectorizer(analyzer="char_wb", ngram_range=(2, 4))
    likeness = (grams.fit_transform(names) @ grams.transform([words]).T).toarray().ravel()
    order = sorted(range(len(names)), key=lambda i: (-likeness[i], names[i]))[:2]
    return " or ".join(f"“{names[i]}”" for i in order if likeness[i] > 0.35)


def _check(text: str, kits: int | None, cookies: int | None) -> None:
    problems = []
    if len(text) > MAX_TEXT:
        problems.append(
            Problem("theme", f"{len(text)} characters", f"at most {MAX_TEXT} characters", "Shorten the text.")
        )
    if kits is not None and not 1 <= kits <= MOST_KITS:
        problems.append(Problem("kits", kits, f"a whole number from 1 to {MOST_KITS}", "Split a larger batch."))
    if cookies is not None and not 1 <= cookies <= MOST_COOKIES:
        problems.append(
            Problem("cookies", cookies, f"a whole number from 1 to {MOST_COOKIES}", "Change the number.")
        )
    raise_all(problems)


def _joined(given: Needs, request: Request, shelf: Shelf, lookup: Lookup) -> Needs:
    avoided = unwanted(request, lookup)
    colours = [colour for colour, _ in avoided]
    kinds = set(request.values("avoid_kinds"))
    of_kind = [j.id for j in shelf.jars if j.kind in kinds]
    ages = [a for a in (given.youngest_age, *request.values("youngest_age")) if a is not None]
    diets = {given.diet, *request.values("diet")} - {None}
    sources = {f"{name}: {_told(v)}": "given" for name, v in _items(given)}
    for colour, words in avoided:
        sources.setdefault(f"avoid_colours: {colour}", words)
    for said in request.said:
        if said.field not in ("kits", "cookies", "date", "avoid_colours"):
            sources.setdefault(f"{said.field}: {_told(said.value)}", said.words)
    return replace(
        given,
        avoid_allergens=_united(given.avoid_allergens, request.values("avoid_allergens")),
        avoid_additives=_united(given.avoid_additives, request.values("avoid_additives")),
        avoid_colours=_united([parse_hex(c) for c in given.avoid_colours], colours),
        include_colours=_united([parse_hex(c) for c in given.include_colours], []),
        skip_jars=_united(given.skip_jars, of_kind),
        youngest_age=min(ages, default=None),
        diet="vegan" if "vegan" in diets else "vegetarian" if diets else None,
        sources=sources,
    )


def unwanted(request: Request, lookup: Lookup) -> list[tuple[str, str]]:
    """The colours that a request leaves out, every sort of each, with the words that say so."""
    known = dict(lookup.colours.values())
    return [
        (lab_to_hex(lab), said.words)
        for said in request.said
        if said.field == "avoid_colours"
        for lab in sorts(said.value[0], said.value[1], known)
    ]


def _items(needs: Needs) -> list[tuple[str, object]]:
    out: list[tuple[str, object]] = []
    for name in needs.__dataclass_fields__:
        value = getattr(needs, name)
        if name == "sources" or value in (None, False, ()):
            continue
        out += [(name, v) for v in value] if isinstance(value, tuple) else [(name, value)]
    return out


def _told(value: object) -> str:
    if isinstance(value, Day):
        return value.told()
    return str(value[0]) if isinstance(value, tuple) and len(value) == 2 else str(value)


def _united(one: Sequence[T], other: Sequence[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys((*one, *other)))


def _lab(colour: str) -> Lab:
    lab = hex_to_lab(colour)
    return (float(lab[0]), float(lab[1]), float(lab[2]))


def _from_included(reading: Reading, colours: Sequence[str]) -> Reading:
    """Colours that must be there are theme enough when nothing else was said."""
    weight = 1 / len(colours)
    return replace(
        reading, anchors=tuple(Anchor(_lab(c), weight, c) for c in colours), sureness=1.0, fallback=False
    )
