"""What a question may hold: every field checked, every problem told at once.

Kept apart from the web, so that the command line refuses the same things in the same words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, cast

from catalog.composition import additive, allergen
from catalog.fields import Checks
from catalog.lookup import LARGEST_ID
from themekit.colour.light import LIGHTS
from themekit.colour.space import parse_hex
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.suggest.asked import MOST_COOKIES, MOST_IDEAS, MOST_KITS
from themekit.suggest.idle import MOST_DAYS
from themekit.suggest.trios import Serve
from themekit.suggest.words import MAX_TEXT
from themekit.values import ALLERGENS, Needs

USUAL_COUNT, USUAL_DAYS, USUAL_IDLE = 5, 90, 20
MOST_AGE = 120
#: Longest lists of needs: words, jars and colours.
MOST_WORDS, MOST_IDS, MOST_COLOURS = 60, 1000, 20
SERVES = ("apart", "mixed")
LIGHT_NAMES = tuple(LIGHTS)
NEED_DIETS = ("vegan", "vegetarian")
NEEDS = (
    "avoid_allergens", "avoid_additives", "youngest_age", "diet", "use_jars", "skip_jars",
    "include_colours", "avoid_colours", "in_stock_only",
)  # fmt: skip
#: Lowest and highest of the whole numbers that questions take.
RANGES: dict[str, tuple[int, int]] = {
    "count": (1, MOST_IDEAS),
    "kits": (1, MOST_KITS),
    "cookies": (1, MOST_COOKIES),
    "days": (1, MOST_DAYS),
    "page": (1, LARGEST_ID),
    "page_size": (1, 200),
}


class Body:
    """The checks of one body: each method gives a clean value, or notes a problem.

    `raw` is the body as it came; `fields` are those it may have. `done` raises
    `InvalidValue` with every problem noted, and has to be called before values are used.
    """

    def __init__(self, raw: Any, fields: Sequence[str]) -> None:
        self.checks = Checks()
        self.raw: Mapping[str, Any] = raw if isinstance(raw, Mapping) else {}
        if not isinstance(raw, Mapping):
            self.checks.wrong("body", raw, "an object with " + ", ".join(fields), "Send an object.")
        self._known(self.raw, fields, "")

    def _known(self, given: Mapping[str, Any], fields: Sequence[str], within: str) -> None:
        for name in given:
            if name not in fields:
                near = get_close_matches(str(name)[:60], fields, n=1)
                hint = f"Did you mean {near[0]}?" if near else "Leave it out."
                path = within + str(name)[:60].encode("utf-8", "replace").decode()
                self.checks.wrong(path, given[name], "one of the fields " + ", ".join(fields), hint)

    def done(self) -> None:
        """Raise `InvalidValue` with everything that was found wrong, or return."""
        raise_all(self.checks.problems)

    def has(self, field: str) -> bool:
        """Whether the field is given; null counts as left out."""
        return self.raw.get(field) is not None

    def text(self, field: str) -> str:
        """A phrase or a pasted message: line ends and tabs are fine, other controls are not."""
        value = self.raw.get(field)
        given = value
        if isinstance(value, str):
            value = value.strip()
            # Only the check needs one line; the phrase keeps its own.
            given = " ".join(value.replace("\r", "\n").replace("\t", " ").split("\n"))
        checked = self.checks.text(field, given, longest=MAX_TEXT, required=True)
        return "" if checked is None else str(value)

    def whole(self, field: str, usual: int, most: int | None = None) -> int:
        """A whole number in its range, or the usual one where it is left out."""
        found = self.maybe_whole(field, most)
        return usual if found is None else found

    def maybe_whole(self, field: str, most: int | None = None) -> int | None:
        """A whole number in its range, or None where it is left out."""
        least, usual_most = RANGES[field]
        return self.checks.whole(field, self.raw.get(field), least=least, most=most or usual_most)

    def serve(self) -> Serve:
        """How the trio is served, apart unless said otherwise."""
        return cast(Serve, self.checks.choice("serve", self.raw.get("serve"), SERVES) or "apart")

    def light(self) -> str | None:
        """The light to look under, None for daylight alone."""
        return self.checks.choice("light", self.raw.get("light"), LIGHT_NAMES)

    def one_of(self, first: str, other: str) -> None:
        """Exactly one of two fields has to be given."""
        if self.has(first) == self.has(other):
            got = "both" if self.has(first) else None
            self.checks.wrong(first, got, f"either {first} or {other}", "Send one of the two.")

    def three_colours(self, field: str) -> list[str]:
        """Three colours as "#rrggbb"."""
        value = self.raw.get(field)
        if not isinstance(value, list | tuple) or len(value) != 3:
            self.checks.wrong(field, value, "a list of three colours in hex", "Send three, such as #2a9d8f.")
            return []
        return self._colours(field, value)

    def needs(self) -> Needs:
        """The needs as the core takes them, in its own words for allergens and additives."""
        given = self.raw.get("needs")
        if given is None:
            return Needs()
        if not isinstance(given, Mapping):
            self.checks.wrong("needs", given, "an object with " + ", ".join(NEEDS), "Send an object.")
            return Needs()
        self._known(given, NEEDS, "needs.")
        diet = self.checks.choice("needs.diet", given.get("diet"), NEED_DIETS)
        age = self.checks.whole("needs.youngest_age", given.get("youngest_age"), most=MOST_AGE)
        stock = self.checks.yes_no("needs.in_stock_only", given.get("in_stock_only"))
        words = self._list(given, "avoid_additives", MOST_WORDS)
        additives = self.checks.words("needs.avoid_additives", words) or []
        return Needs(
            avoid_allergens=self._allergens(self._list(given, "avoid_allergens", MOST_WORDS)),
            avoid_additives=tuple(dict.fromkeys(map(additive, additives))),
            youngest_age=age,
            diet=cast(Any, diet),
            use_jars=self._ids("use_jars", self._list(given, "use_jars", MOST_IDS)),
            skip_jars=self._ids("skip_jars", self._list(given, "skip_jars", MOST_IDS)),
            include_colours=self._need_colours(given, "include_colours"),
            avoid_colours=self._need_colours(given, "avoid_colours"),
            in_stock_only=bool(stock),
        )

    def _list(self, given: Mapping[str, Any], name: str, most: int) -> list[Any]:
        value = given.get(name)
        if value is None:
            return []
        if not isinstance(value, list | tuple) or len(value) > most:
            self.checks.wrong(f"needs.{name}", value, f"a list of at most {most}", "Send a list, [] for none.")
            return []
        return list(value)

    def _allergens(self, given: list[Any]) -> tuple[str, ...]:
        found: set[str] = set()
        for number, word in enumerate(given):
            known = allergen(word) if isinstance(word, str) else ()
            if not known:
                near = get_close_matches(str(word)[:60].casefold(), ALLERGENS, n=2)
                hint = f"Did you mean {' or '.join(near)}?" if near else "Choose the nearest of these."
                path = f"needs.avoid_allergens.{number}"
                self.checks.wrong(path, word, "any of " + ", ".join(ALLERGENS), hint)
            found.update(known)
        return tuple(word for word in ALLERGENS if word in found)

    def _ids(self, name: str, given: list[Any]) -> tuple[int, ...]:
        found = []
        for number, jar in enumerate(given):
            path, allowed = f"needs.{name}.{number}", "the id of a jar, a whole number from 1"
            if isinstance(jar, bool) or not isinstance(jar, int) or not 1 <= jar <= LARGEST_ID:
                self.checks.wrong(path, jar, allowed, "Look the id up in the list of jars.")
            else:
                found.append(jar)
        return tuple(dict.fromkeys(found))

    def _need_colours(self, given: Mapping[str, Any], name: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self._colours(f"needs.{name}", self._list(given, name, MOST_COLOURS))))

    def _colours(self, path: str, given: Sequence[Any]) -> list[str]:
        found = []
        for number, colour in enumerate(given):
            try:
                found.append(parse_hex(colour, f"{path}.{number}"))
            except InvalidValue as error:
                for problem in error.problems:
                    self.checks.wrong(problem.field, problem.got, problem.allowed, problem.hint)
        return found


def number_in(text: Any) -> Any:
    """A query's text as a whole number where it is one, else as it came."""
    short = isinstance(text, str) and len(text) <= 15
    return int(text) if short and text.isascii() and text.isdigit() else text


def nothing_left(what: str, hint: str) -> Problem:
    """The problem to tell when needs that can each be met cannot be met together."""
    return Problem("needs", what, "needs that can be met together", hint)
