"""A customer's sentence to kits, needs and the words that are left for the theme.

Rule-based: nothing is guessed. What looks like a need and is not understood is
listed, so that a person can ask.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from themekit.suggest.filler import courtesy, without_filler
from themekit.suggest.lookup import Lookup
from themekit.suggest.numbers import number_at
from themekit.suggest.people import names_in
from themekit.suggest.theme import EMPTY
from themekit.suggest.when import MONTHS, day_at
from themekit.suggest.words import Token, key_of, tokens
from themekit.values import Kind, Lab

#: What people call an allergen, and the allergens meant. Wheat is also gluten
#: (Regulation (EU) 1169/2011 Annex II, 1); "nuts" means both sorts to a parent.
ALLERGEN_WORDS: dict[str, tuple[str, ...]] = {
    "milk": ("milk",), "dairy": ("milk",), "lactose": ("milk",), "butter": ("milk",), "cream": ("milk",),
    "egg": ("egg",), "wheat": ("wheat",), "gluten": ("gluten", "wheat"), "coeliac": ("gluten", "wheat"),
    "celiac": ("gluten", "wheat"), "soy": ("soy",), "soya": ("soy",), "soybean": ("soy",),
    "peanut": ("peanut",), "nut": ("peanut", "tree nut"), "tree nut": ("tree nut",), "almond": ("tree nut",),
    "hazelnut": ("tree nut",), "walnut": ("tree nut",), "pistachio": ("tree nut",), "cashew": ("tree nut",),
    "sesame": ("sesame",), "fish": ("fish",), "shellfish": ("crustacean", "mollusc"),
    "crustacean": ("crustacean",), "mollusc": ("mollusc",), "celery": ("celery",), "mustard": ("mustard",),
    "sulphite": ("sulphite",), "sulfite": ("sulphite",), "lupin": ("lupin",),
}  # fmt: skip
#: US names of certified colours by their E numbers (21 CFR 74; Regulation (EU) 231/2012).
ADDITIVE_WORDS: dict[str, str] = {
    "red 40": "E129", "red 3": "E127", "yellow 5": "E102", "yellow 6": "E110", "blue 1": "E133",
    "blue 2": "E132", "green 3": "E143", "allura red": "E129", "tartrazine": "E102",
    "sunset yellow": "E110", "brilliant blue": "E133", "carmine": "E120", "cochineal": "E120",
    "titanium dioxide": "E171", "erythrosine": "E127", "indigotine": "E132", "carmoisine": "E122",
}  # fmt: skip
#: Synthetic colours, meant by "no artificial colours" (Regulation (EC) 1333/2008, part B).
SYNTHETIC = ("E102", "E104", "E110", "E122", "E124", "E127", "E129", "E131", "E132", "E133", "E142", "E143",
             "E151", "E155")  # fmt: skip
_NOT = frozenset(
    "no without not avoid avoiding except never minus skip hate hates dislike dislikes nothing zero".split()
)
_NOT_PHRASES = tuple(
    tuple(words.split())
    for words in (
        "allergic to", "intolerant to", "free of", "free from", "can't have", "cannot have", "can not have",
        "can't eat", "cannot eat", "doesn't like", "does not like", "don't like", "do not like", "don't want",
        "do not want", "stay away from",
    )
)  # fmt: skip
_YOUNGEST = ("youngest", "smallest", "littlest")
_OLDEST = ("oldest", "eldest", "biggest")
#: What may stand between "youngest" and the age.
_BETWEEN_AGE = frozenset(
    "one child kid guest girl boy of them all us our the group party is are being will be turns turning about "
    "only just - aged who who's".split()
)
#: Years without "old" are an age up to here.
OLDEST_CHILD = 17
#: Before a number at the end of what is said: "he will be three", "she's three" less its ’s.
_BECOMES = frozenset("is are be becomes turns who's he she who".split())
_BIRTHDAYS = (("birthday",), ("birth", "day"), ("bday",), ("b", "-", "day"), ("bithday",), ("birthdy",))
_ARTIFICIAL = ("artificial", "synthetic", "azo")
_DYES = ("colour", "color", "colouring", "coloring", "dye")


@dataclass(frozen=True, slots=True)
class Said:
    """One need or fact read from the sentence: the field it fills, its value, the words."""

    field: str
    value: Any
    words: str


@dataclass
class Request:
    """What was read; `rest` are the tokens left over for the theme, `people` are taken for names."""

    text: str
    rest: list[Token] = field(default_factory=list)
    said: list[Said] = field(default_factory=list)
    not_understood: list[str] = field(default_factory=list)
    people: list[str] = field(default_factory=list)

    def values(self, name: str) -> list[Any]:
        """Every value said for a field, in order, without repeats."""
        return list(dict.fromkeys(s.value for s in self.said if s.field == name))


class _Reader:
    """Walks the tokens once, taking what the rules know and leaving the rest."""

    def __init__(self, text: str, lookup: Lookup, kinds: Sequence[Kind]) -> None:
        self.words = tokens(text)
        self.names = names_in(text, lookup)
        self.lookup = lookup
        self.kinds = {key_of(n): k.name for k in kinds for n in (k.name, *k.aliases)}
        self.request = Request(text)
        self.at = 0

    def stems(self, start: int, length: int) -> tuple[str, ...]:
        return tuple(t.stem for t in self.words[start : start + length])

    def folds(self, start: int, length: int) -> tuple[str, ...]:
        return tuple(t.fold for t in self.words[start : start + length])

    def written(self, start: int, stop: int) -> str:
        return " ".join(t.text for t in self.words[start:stop])

    def say(self, name: str, values: Sequence[Any], start: int, stop: int) -> None:
        for value in values:
            self.request.said.append(Said(name, value, self.written(start, stop)))

    def read(self) -> Request:
        rules = (
            self._theme_with_number,
            self._date,
            self._age,
            self._counts,
            self._free,
            self._allergy,
            self._diet,
            self._negation,
        )
        self._birthdays()
        while self.at < len(self.words):
            for rule in rules:
                stop = rule(self.at)
                if stop > self.at:
                    self.at = stop
                    break
            else:
                word = self.words[self.at]
                if word.fold in self.names and not self._in_a_theme(self.at, self.at + 1):
                    self.names.remove(word.fold)
                    self.request.people.append(word.text)
                else:
                    self.request.rest.append(word)
                self.at += 1
        self.request.rest = without_filler(self.request.rest, self.lookup)
        return self.request

    # Each rule returns where it stopped reading, or its start when it does not apply.

    def _theme_with_number(self, start: int) -> int:
        """A theme's own name may hold a number or a month ("4th of july"): leave it whole."""
        for length in range(min(self.lookup.longest, len(self.words) - start), 1, -1):
            folds = self.folds(start, length)
            odd = any(f in MONTHS or f[0].isdigit() or f in _NOT for f in folds)
            if odd and self.stems(start, length) in self.lookup.themes:
                self.request.rest += self.words[start : start + length]
                return start + length
        return start

    def _date(self, start: int) -> int:
        found = day_at(self.words, start)
        if found is None:
            return start
        day, stop = found
        # A theme may be named after a weekday ("taco tuesday"); then the day is none of the order's.
        if day.month is None and day.ahead is None and self._in_a_theme(start, stop):
            return start
        self.say("date", [day], start, stop)
        return stop

    def _in_a_theme(self, start: int, stop: int) -> bool:
        """Whether a theme's name of several words reaches over these."""
        for first in range(max(0, start - self.lookup.longest + 1), start + 1):
            for length in range(max(2, stop - first), self.lookup.longest + 1):
                if self.stems(first, length) in self.lookup.themes:
                    return True
        return False

    def _age(self, start: int) -> int:
        word = self.words[start].fold
        if word in ("toddler", "toddlers"):
            self.say("youngest_age", [2], start, start + 1)
            return start + 1
        if word in ("aged", "age", "ages", "turning", "turns"):
            number = number_at(self.words, start + 1)
            if number and number[0] <= 120:
                self.say("youngest_age", [number[0]], start, number[1])
                follow = number[1]
                if self.folds(follow, 1) in (("to",), ("-",), ("and",)):
                    upper = number_at(self.words, follow + 1)
                    follow = upper[1] if upper else follow
                return follow
            return start
        if word in _YOUNGEST or word in _OLDEST:
            return self._age_of_one(start)
        number = number_at(self.words, start)
        if not number:
            return start
        value, stop = number
        after = stop + (self.folds(stop, 1) == ("-",))
        if self.stems(after, 1) in (("year",), ("yr",)):
            after += 1 + (self.folds(after + 1, 1) == ("-",))
            old = self.folds(after, 1) in (("old",), ("olds",))
            if not old and value > OLDEST_CHILD:
                # "Forty years a midwife" is nobody's age that matters here.
                return start
            after += old
            self.say("youngest_age", [value], start, after)
            return after
        before = self.words[start - 1].fold if start else ""
        ends = stop == len(self.words) or not self.words[stop].is_word
        if before in _BECOMES and value <= OLDEST_CHILD and ends:
            self.say("youngest_age", [value], start - 1, stop)
            return stop
        return start

    def _birthdays(self) -> None:
        """A child's birthday tells its age, "3rd birthday" or "third birthday"; the words stay for the theme."""
        for start in range(len(self.words)):
            number = number_at(self.words, start, ordinals=True)
            if number is None or number_at(self.words, start) or number[0] > OLDEST_CHILD:
                continue
            stop = number[1]
            after = next((n for n in _BIRTHDAYS if self.stems(stop, len(n)) == n), ())
            if after:
                self.say("youngest_age", [number[0]], start, stop + len(after))

    def _age_of_one(self, start: int) -> int:
        """ "The youngest guest is three", "the eldest is 9": only the youngest's age is a need."""
        at = start + 1
        while at < len(self.words) and self.words[at].fold in _BETWEEN_AGE:
            at += 1
        number = number_at(self.words, at)
        if not number or number[0] > 120:
            return start
        stop = number[1]
        if self.stems(stop, 1) in (("year",), ("yr",), ("month",)):
            months = self.stems(stop, 1) == ("month",)
            number = (number[0] // 12 if months else number[0], stop)
            stop += 1
            stop += self.folds(stop, 1) == ("old",)
        if self.words[start].fold in _YOUNGEST:
            self.say("youngest_age", [number[0]], start, stop)
        return stop

    def _counts(self, start: int) -> int:
        number = number_at(self.words, start)
        if not number:
            return start
        value, stop = number
        for gap in (1, 2, 3):
            # "20 dinosaur kits": what stands between belongs to the theme.
            between = self.words[stop : stop + gap]
            if self.stems(stop + gap, 1) == ("kit",) and all(w.is_word and w.stem != "kit" for w in between):
                if 1 <= value <= 1000 and not any(number_at(self.words, i) for i in range(stop, stop + gap)):
                    self.say("kits", [value], start, stop + gap + 1)
                    self.request.rest += between
                    return stop + gap + 1
                break
        unit = self.stems(stop, 1)
        if unit in (("kit",), ("box",), ("set",), ("pack",)) and 1 <= value <= 1000:
            self.say("kits", [value], start, stop + 1)
            return stop + 1
        if unit in (("cookie",), ("biscuit",)) and 1 <= value <= 100:
            each = stop + 1 + (self.folds(stop + 1, 1) == ("each",))
            self.say("cookies", [value], start, each)
            return each
        if (
            unit in (("child",), ("kid",), ("guest",), ("person",), ("pupil",), ("student",), ("pax",))
            and 2 <= value <= 1000
        ):
            self.say("kits", [value], start, stop + 1)
            return stop + 1
        return start

    def _allergen(self, at: int) -> tuple[tuple[str, ...], int]:
        for length in (2, 1):
            found = ALLERGEN_WORDS.get(" ".join(self.stems(at, length)))
            if found:
                return found, at + length
        return (), at

    def _free(self, start: int) -> int:
        """ "nut-free", "dairy free"."""
        found, stop = self._allergen(start)
        if found:
            stop += self.folds(stop, 1) == ("-",)
            if self.folds(stop, 1) == ("free",):
                self.say("avoid_allergens", found, start, stop + 1)
                return stop + 1
        return start

    def _allergy(self, start: int) -> int:
        """ "nut allergy", "lactose intolerant", "coeliac"."""
        found, stop = self._allergen(start)
        if found and self.stems(stop, 1) in (("allergy",), ("intolerant",), ("intolerance",)):
            self.say("avoid_allergens", found, start, stop + 1)
            return stop + 1
        if found and self.words[start].stem in ("coeliac", "celiac"):
            self.say("avoid_allergens", found, start, stop)
            return stop
        return start

    def _diet(self, start: int) -> int:
        word = self.words[start].stem
        if word in ("vegan", "vegetarian"):
            self.say("diet", [word], start, start + 1)
            return start + 1
        if self.folds(start, 2) == ("plant", "based") or self.folds(start, 3) == ("plant", "-", "based"):
            stop = start + (2 if self.folds(start, 2) == ("plant", "based") else 3)
            self.say("diet", ["vegan"], start, stop)
            return stop
        return start

    def _negation(self, start: int) -> int:
        """A "no …" with all that it covers: "no milk, egg or red"."""
        length = 1 if self.words[start].fold in _NOT else 0
        length = max([length, *(len(p) for p in _NOT_PHRASES if self.folds(start, len(p)) == p)])
        if not length or courtesy(self.words, start):  # "no problem" is no need
            return start
        at = start + length
        while at < len(self.words) and self.words[at].fold in (
            "any",
            "have",
            "the",
            "a",
            "an",
            "use",
            "much",
            "too",
            "to",
        ):
            at += 1
        sort, at = self._avoided(start, at)
        if sort is None:
            return self._not_understood(start, at)
        while True:
            follow = at
            while follow < len(self.words) and self.words[follow].fold in ("or", "nor", "and", ",", "/", "&"):
                follow += 1
            if follow == at or (follow < len(self.words) and self.words[follow].fold in _NOT):
                return at
            mark = len(self.request.said)
            again, stop = self._avoided(follow, follow)
            firm = any(self.words[i].fold in ("or", "nor", "/") for i in range(at, follow))
            if again is None or (again != sort and not firm):
                del self.request.said[mark:]
                return at
            at = stop

    def _avoided(self, start: int, at: int) -> tuple[str | None, int]:
        """Read one avoided thing at `at`; its field, or None when it is none that we know."""
        if self.stems(at, 1) and self.words[at].fold in _ARTIFICIAL:
            stop = at + 1 + (self.folds(at + 1, 1) == ("food",))
            if self.stems(stop, 1) and self.words[stop].stem in _DYES:
                self.say("avoid_additives", SYNTHETIC, start, stop + 1)
                return "avoid_additives", stop + 1
        if self.stems(at, 2) in (("food", "dye"), ("food", "colouring"), ("food", "coloring")) or self.stems(
            at, 1
        ) == ("dye",):
            stop = at + len(self.stems(at, 2)) - (self.stems(at, 1) == ("dye",))
            self.say("avoid_additives", SYNTHETIC, start, stop)
            return "avoid_additives", stop
        for length in (2, 1):
            words = " ".join(self.folds(at, length))
            code = ADDITIVE_WORDS.get(words) or (words.upper() if _is_e_number(words) else None)
            if code:
                self.say("avoid_additives", [code], start, at + length)
                return "avoid_additives", at + length
        found, stop = self._allergen(at)
        if found:
            self.say("avoid_allergens", found, start, stop)
            return "avoid_allergens", stop
        for length in range(min(4, len(self.words) - at), 0, -1):
            key = self.stems(at, length)
            colour: tuple[str, Lab] | None = self.lookup.colours.get(key)
            if key in self.kinds:
                self.say("avoid_kinds", [self.kinds[key]], start, at + length)
                if key in self.lookup.things:  # "coconut" is also what toppings of other kinds are made of
                    self.say("avoid_motifs", [self.lookup.things[key].name], start, at + length)
                return "avoid_kinds", at + length
            if colour is not None:
                self.say("avoid_colours", [colour], start, at + length)
                return "avoid_colours", at + length
            if key in self.lookup.things and key != ("sugar",):  # all icing and most toppings are sugar
                self.say("avoid_motifs", [self.lookup.things[key].name], start, at + length)
                return "avoid_motifs", at + length
        return None, at

    def _not_understood(self, start: int, at: int) -> int:
        stop = at
        while stop < len(self.words) and self.words[stop].is_word and stop - at < 3:
            stop += 1
            if self.words[stop - 1].fold not in EMPTY:
                break
        self.request.not_understood.append(self.written(start, stop))
        return stop


def _is_e_number(word: str) -> bool:
    return len(word) in (4, 5) and word[0] == "e" and word[1:4].isdigit()


def read_request(text: str, lookup: Lookup, kinds: Sequence[Kind] = ()) -> Request:
    """Read kits, ages, needs and dates from `text`; the rest is left for the theme."""
    return _Reader(text, lookup, kinds).read()
