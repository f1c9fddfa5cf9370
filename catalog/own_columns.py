"""Her own column titles to our fields: by our name, a usual word or likeness; and the units in titles."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from catalog.cells import COLUMNS
from catalog.fields import shown
from themekit.errors import Problem
from themekit.make.amounts import unit_of
from themekit.make.units import UNITS

How = Literal["our name", "a usual word", "likeness", "chosen", "as you chose last time", "left out"]
#: A price that buys a full jar or bottle; it becomes the price of a kg.
PRICE_OF_FULL = "price_of_full"
#: Cosine of letter groups from which on a title is taken for a field; below it nothing was alike in trials.
_ALIKE = 0.55
#: Usual words for fields, from how stock lists are commonly headed (common practice, no source).
_WORDS: dict[str, tuple[str, ...]] = {
    "name": ("item", "item name", "product", "product name", "description", "title", "what", "what it is"),
    "kind": ("type", "category", "sort", "style", "group"),
    "on_hand_g": ("on hand", "in stock", "stock", "amount", "amount left", "quantity", "qty", "left", "remaining",
                  "have", "weight", "how much", "how much left", "current stock", "level", "what is left",
                  "how full"),
    "on_hand": ("in stock", "stock", "amount", "quantity", "qty", "count", "left", "how many", "have", "number",
                "how much", "remaining"),
    "best_before": ("best by", "best before date", "bb", "bbd", "bbe", "expiry", "expiry date", "expires",
                    "use by", "expiration", "expiration date", "exp", "exp date", "sell by", "good until",
                    "best before end"),
    "last_used": ("last use", "used last", "last used on", "last time used", "when used"),
    "price_per_kg": ("price kg", "cost per kg", "price per kilo", "price kilo"),
    "allergens": ("allergen", "contains", "allergy", "allergies", "allergen info"),
    "may_contain": ("traces", "may contain traces", "traces of", "cross contact", "may contain traces of"),
    "additives": ("e numbers", "colourings", "colorings", "dyes"),
    "diet": ("suitable for", "dietary"),
    "motifs": ("motif", "shows", "tags", "shape of"),
    "aliases": ("other names", "also called"),
    "width_mm": ("wide", "w"), "height_mm": ("high", "tall", "h"), "length_mm": ("long", "l"),
    "thickness_mm": ("thick",),
}  # fmt: skip
_COLOUR = ("colour", "color", "colors", "hex", "hex code", "shade", "shades", "hex colour", "hex color")
_OF: dict[str, dict[str, tuple[str, ...]]] = {
    "jars": {
        "name": ("sprinkle", "sprinkles", "sprinkle name", "topping", "jar", "jar name"),
        "kind": ("sprinkle type", "kind of sprinkle", "topping type"),
        "colours": _COLOUR,
        "full_g": ("full", "full jar", "full weight", "jar size", "size", "net weight", "net wt", "jar holds",
                   "holds", "full one", "container size", "a full one holds"),
        "empty_jar_g": ("empty", "empty jar", "empty weight", "tare", "jar weight", "tare weight"),
        PRICE_OF_FULL: ("price", "cost", "paid", "price paid", "price per jar", "price jar", "cost per jar",
                        "jar price", "unit price", "unit cost", "price each", "what i paid"),
        "grain_mm": ("grain", "grain size", "bead size", "piece size"),
        "form": ("shape",),
        "lot": ("lot no", "lot number", "batch", "batch no", "batch number", "lot code", "lot nr"),
        "density_g_per_ml": ("density", "weight per tablespoon", "weight per spoon"),
        "melts_in_heat": ("melts", "heat sensitive"),
        "hard_small_pieces": ("choking hazard", "hard", "small hard pieces"),
    },
    "cutters": {
        "name": ("cutter", "cutter name", "shape", "cookie cutter"),
        "colours": _COLOUR,
        "thin_parts": ("fragile", "delicate", "thin"),
    },
    "gels": {
        "name": ("gel", "gel name", "colour name", "color name", "dye"),
        "swatch": _COLOUR,
        "dose_g_per_100g": ("dose", "dose g per g", "strength"),
        "max_g_per_100g": ("max", "limit", "maximum", "maker s limit"),
        PRICE_OF_FULL: ("price", "cost", "paid", "price per bottle", "bottle price"),
    },
    "boxes": {
        "name": ("box", "box name", "carton"),
        "height_mm": ("depth", "deep"),
        "price": ("cost", "unit price", "price each", "cost each", "each"),
        "on_hand": ("boxes", "boxes left", "pieces"),
    },
    "supplies": {
        "name": ("supply", "ingredient", "material"),
        "unit": ("units", "counted in", "unit of measure", "uom"),
        "pack_price": ("price", "cost", "pack cost", "price per pack", "cost per pack"),
        "pack_size": ("pack", "size", "package size", "pack holds"),
    },
    "themes": {
        "name": ("theme", "occasion"),
        "anchors": (*_COLOUR, "colours", "palette"),
        "months": ("month", "when"),
    },
    "recipes": {"name": ("recipe",)},
}  # fmt: skip
#: Units that a title may have anywhere in it; "in" and "jar" mean other things there.
_ANYWHERE = frozenset(
    "g gram grams gr gm gms kg kilo kilos kilogram kilograms oz ounce ounces ozs lb lbs pound pounds ml tsp tbsp "
    "teaspoons tablespoons cups mm cm inch inches percent jars tubs".split()
)
#: Fields that hold a day.
DAYS = ("best_before", "last_used")
#: Words of titles that tell of some other day than ours, and those that tell of no day in particular: "Date
#: bought" is like "Best before date" in its letters only.
_OTHER_DAY = re.compile(
    r"\b(?:bought|buy|purchased?|open(?:ed)?|received|ordered|delivered|made|added|packed|filled)\b"
)
_DAY_ALONE = re.compile(r"\b(?:date|dates|day|days|when|on)\b")
_FILLERS = frozenset("in of the my a an per approx est".split())
_SIGNS = {"€": "EUR", "£": "GBP"}


@dataclass(frozen=True, slots=True)
class Column:
    """One of her columns.

    title     as it stands
    field     what it is taken for, None where the column is left out
    how       why; all but "our name" and "chosen" are proposals, to be confirmed
    unit      of bare figures in it, from titles such as "Amount (oz)", "Price per lb" ("1 lb") or "g per tbsp"
              ("g/tbsp"); None for the field's own
    currency  in a title such as "Price (€)", as ISO 4217
    """

    title: str
    field: str | None
    how: How
    unit: str | None = None
    currency: str | None = None

    @property
    def proposed(self) -> bool:
        """Whether it needs to be confirmed."""
        return self.how not in ("our name", "chosen") and bool(self.title)


def fields_of_sheet(what: str) -> tuple[str, ...]:
    """The fields that a column may stand for."""
    return (*COLUMNS[what], PRICE_OF_FULL) if what in ("jars", "gels") else COLUMNS[what]


def plain(title: str) -> str:
    """A title as choices remember it: its words in lower case."""
    return " ".join(re.findall(r"[^\W_]+|[%€£$]", re.sub(r"([a-z])([A-Z])", r"\1 \2", title).casefold()))


def match(
    titles: Sequence[str],
    what: str,
    chosen: Mapping[str, str] | None = None,
    alike: bool = True,
    remembered: Mapping[str, str] | None = None,
) -> list[Column]:
    """Each title with the field of `what` that it stands for; no field is matched twice, the surest first.

    `chosen` maps titles to fields, or to "" to leave a column out; a unit of bare figures may follow the
    field, "on_hand_g oz". `remembered` are those of an earlier file, which give way to `chosen`. Without
    `alike` likeness is not tried.
    """
    fields = fields_of_sheet(what)
    now = {plain(hers): ours for hers, ours in (chosen or {}).items()}
    before = {
        plain(hers): ours
        for hers, ours in (remembered or {}).items()
        if plain(hers) not in now and (not ours or ours.partition(" ")[0] in fields)
    }
    given = {hers: ours.partition(" ")[0] for hers, ours in {**before, **now}.items()}
    units = {hers: unit_of(ours.partition(" ")[2]) for hers, ours in {**before, **now}.items()}
    read = [_Title.of(title) for title in titles]
    scored: list[tuple[float, int, str, How]] = []
    left: dict[int, How] = {}
    for number, title in enumerate(titles):
        if plain(title) in given:
            ours = given[plain(title)]
            how: How = "chosen" if plain(title) in now else "as you chose last time"
            scored += [(9.0 if how == "chosen" else 8.5, number, ours, how)] if ours in fields else []
            # What was chosen last time may be another column's now.
            left[number] = how if how == "chosen" or not ours else "left out"
        elif title.strip():
            scored += [(score, number, field, how) for field, score, how in _sure(title, read[number], what)]
    unsure = [
        n for n, t in enumerate(titles) if t.strip() and plain(t) not in given and n not in {s[1] for s in scored}
    ]
    if unsure and alike:
        for number, field, score in _alike(tuple((n, read[n].words) for n in unsure), what):
            scored.append((score, number, field, "likeness"))
    found: dict[int, tuple[str | None, How]] = {}
    for _, number, field, by in sorted(scored, key=lambda s: (-s[0], s[1], fields.index(s[2]))):
        if number not in found and field not in {f for f, _ in found.values()}:
            found[number] = (field, by)
    made: list[Column] = []
    for n, title in enumerate(titles):
        meant, by = found.get(n, (None, left.get(n, "left out")))
        unit = units.get(plain(title)) or read[n].unit
        made.append(Column(title, meant, by, unit if meant else None, read[n].currency if meant else None))
    return made


def choice_problems(where: str, titles: Iterable[str], what: str, chosen: Mapping[str, str]) -> list[Problem]:
    """Choices of fields that there are not, and fields that were chosen twice."""
    fields, here = fields_of_sheet(what), {plain(title) for title in titles}
    allowed = "one of " + ", ".join(fields) + ", or nothing to leave it out"
    mine = {hers: ours for hers, ours in chosen.items() if ours and plain(hers) in here}
    problems = []
    for hers, ours in mine.items():
        field, _, unit = ours.partition(" ")
        if field not in fields:
            problems.append(
                Problem(f"{where}, {shown(hers)}", shown(ours), allowed, "Choose a field of the list.")
            )
        elif unit and unit_of(unit) is None:
            known = "a unit such as g, oz, lb, tbsp, jar, mm, cm or in"
            problems.append(Problem(f"{where}, {shown(hers)}", shown(unit), known, "Correct the unit."))
    mine = {hers: ours.partition(" ")[0] for hers, ours in mine.items()}
    for ours in sorted({o for o in mine.values() if o in fields}):
        both = [hers for hers, other in mine.items() if other == ours]
        if len(both) > 1:
            told = " and ".join(f"“{shown(hers)}”" for hers in both)
            problems.append(Problem(where, ours, "one column for each field", f"Both {told} were chosen for it."))
    return problems


def fit(columns: Sequence[Column]) -> float:
    """How well titles fit a thing: columns matched, surely or by likeness, less those left out."""
    worth = {"likeness": 0.6, "left out": -0.5}
    return sum(worth.get(c.how, 1.0) for c in columns if c.title.strip() and (c.field or c.how == "left out"))


@dataclass(frozen=True, slots=True)
class _Title:
    """The words of a title without its unit and its currency."""

    words: str
    unit: str | None
    currency: str | None

    @classmethod
    def of(cls, title: str) -> _Title:
        currency = next((code for sign, code in _SIGNS.items() if sign in title), None)
        code = re.search(r"\b(?:EUR|GBP|USD|CAD|AUD|NZD|CHF)\b", title)
        currency = currency or (code[0] if code else None)
        text = re.sub(r"([a-z])([A-Z])", r"\1 \2", title).casefold()
        text = re.sub(r"[€£$]|\b(?:eur|gbp|usd|cad|aud|nzd|chf)\b", " ", text).replace("_", " ")
        if per := re.search(r"(?:per|/)\s*(\d+)?\s*([a-z]+)\b\)?\s*$", text):
            below = unit_of(per[2])
            above = re.search(r"([a-z]+)\s*$", text[: per.start()])
            mass = unit_of(above[1]) if above else None
            if _measures(mass, "mass") and _measures(below, "volume"):
                return cls("density", f"{mass}/{below}", None)
            if below is not None and mass is None:
                return cls(_words(text[: per.start()], "per", below), f"{per[1] or 1} {below}", currency)
        inside = re.search(r"[(\[]([^)\]]*)[)\]]", text)
        if inside:
            unit = unit_of(inside[1])
            text = text.replace(inside[0], " ") if text.replace(inside[0], " ").strip() else inside[1]
            if unit:
                return cls(_words(text), unit, currency)
        if re.search(r"\w\s+in\.?\s*$", text):
            return cls(_words(text), "in", currency)
        last = re.search(r"(?:,|/|-|\bin)\s*([a-z.]+)\s*$", text)
        if last and (unit := unit_of(last[1])) and unit not in ("piece", "m", "l"):
            return cls(_words(text[: last.start()]) or "amount", unit, currency)
        for word in re.findall(r"[a-z]+|%", text):
            if word in _ANYWHERE or word == "%":
                rest = _words(re.sub(rf"(?<![a-z]){re.escape(word)}(?![a-z])", " ", text, count=1))
                return cls(rest or "amount", unit_of(word), currency)
        return cls(_words(text), None, currency)


def _measures(unit: str | None, sort: str) -> bool:
    return unit is not None and unit in UNITS and UNITS[unit][0] == sort


def _words(text: str, *more: str) -> str:
    return " ".join(w for w in re.findall(r"[^\W_]+", text) if w not in _FILLERS) + (
        " " + " ".join(more) if more else ""
    )


def _names(field: str, what: str) -> list[str]:
    bare = field.removesuffix("_per_100g").removesuffix("_g_per_ml").removesuffix("_g").removesuffix("_mm")
    own = [_words(bare.replace("_", " ")), *_WORDS.get(field, ()), *_OF[what].get(field, ())]
    return list(dict.fromkeys(_words(name) or name for name in own))


def _sure(title: str, read: _Title, what: str) -> list[tuple[str, float, How]]:
    exact = re.sub(r"[\s\-]+", "_", title.strip().casefold())
    fields = fields_of_sheet(what)
    if exact in fields:
        return [(exact, 8.0, "our name")]
    found: list[tuple[str, float, How]] = []
    for field in fields:
        if read.words == "density" and field == "density_g_per_ml":
            found.append((field, 7.0, "a usual word"))
        elif field == "price_per_kg" and " per " in read.words and read.words.split(" per ")[0] in _PRICES:
            per_jar = read.unit is not None and read.unit.split()[-1] == "jar"
            found.append((PRICE_OF_FULL if per_jar and what == "jars" else field, 6.5, "a usual word"))
        elif read.words in _names(field, what):
            # Of two columns that both speak of stock, the one without further words has it.
            found.append((field, 6.0, "a usual word"))
    return found


_PRICES = ("price", "cost", "", "paid")


def _alike(unsure: tuple[tuple[int, str], ...], what: str) -> list[tuple[int, str, float]]:
    """Title number, field and likeness of letter groups, where it is enough."""
    names = [(name, field) for field in fields_of_sheet(what) for name in _names(field, what)]
    grams, table = _letters(what)
    likeness = (grams.transform([words for _, words in unsure]) @ table.T).toarray()
    found = []
    for row, (number, words) in zip(likeness, unsure, strict=True):
        other_day = _OTHER_DAY.search(words) is not None or not _DAY_ALONE.sub(" ", words).strip()
        best: dict[str, float] = {}
        for value, (_, field) in zip(row, names, strict=True):
            if field in DAYS and other_day:
                continue
            best[field] = max(best.get(field, 0.0), float(value))
        found += [(number, field, value) for field, value in best.items() if value >= _ALIKE]
    return found


@lru_cache(maxsize=8)
def _letters(what: str) -> tuple[Any, Any]:
    from sklearn.feature_extraction.text import TfidfVectorizer

    names = [name for field in fields_of_sheet(what) for name in _names(field, what)]
    grams = TfidfVectorizer(analyzer="char_wb", ngram_range=(2, 4))
    return grams, grams.fit_transform(names)
