"""Amounts as people note them: "8 oz", "1 lb 4 oz", "3 tbsp", "half a jar", "3 1/2 in", "$4.99 / 8 oz".

Units are those of `themekit.make.units`; spoons and cups are US customary ones. Nothing is
guessed: what may mean two things, and what lacks the density or the jar that it needs, is
refused with what to enter. Every function raises `InvalidValue` with one problem, and
nothing else, whatever text it gets.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass

from themekit.errors import InvalidValue, Problem
from themekit.make.units import UNITS, convert

#: Reads one figure, digits with points or commas in them; it may raise `InvalidValue`.
Figure = Callable[[str], float]

_LONGEST = 80
_WORDS: dict[str, tuple[str, ...]] = {
    "g": ("gram", "grams", "gramme", "grammes", "gr", "gm", "gms", "grs"),
    "kg": ("kilo", "kilos", "kilogram", "kilograms", "kgs"),
    "oz": ("ounce", "ounces", "ozs"),
    "lb": ("lbs", "pound", "pounds"),
    "ml": ("millilitre", "millilitres", "milliliter", "milliliters", "mls"),
    "l": ("litre", "litres", "liter", "liters"),
    "tsp": ("teaspoon", "teaspoons", "tsps"),
    "tbsp": ("tablespoon", "tablespoons", "tbsps", "tbs", "tblsp", "tbl"),
    "cup": ("cups",),
    "fl oz": ("fluid ounce", "fluid ounces", "fl ounce", "fl ounces"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters", "cms"),
    "in": ("inch", "inches", '"', "″", "”"),
    "jar": ("jars", "tub", "tubs", "bottle", "bottles", "pot", "pots", "container", "containers", "shaker"),
    "%": ("percent",),
    "piece": ("pieces", "pc", "pcs", "each", "ea", "unit", "units", "box", "boxes", "bag", "bags", "sheets"),
    "dozen": ("doz", "dozens"),
    "m": ("metre", "metres", "meter", "meters"),
}  # fmt: skip
_UNIT = {word: unit for unit, words in _WORDS.items() for word in (unit, *words)}
_FRACTIONS = {
    "half": 1 / 2, "halves": 1 / 2, "third": 1 / 3, "thirds": 1 / 3, "quarter": 1 / 4, "quarters": 1 / 4,
    "fourth": 1 / 4, "fourths": 1 / 4, "eighth": 1 / 8, "eighths": 1 / 8,
}  # fmt: skip
_COUNTS = {word: n for n, word in enumerate("zero one two three four five six seven eight nine ten".split())}
_COUNTS |= {"a": 1, "an": 1}
_ABOUT = ("about", "approx", "approximately", "around", "ca", "circa", "roughly", "~", "≈")
_TOKEN = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+|\S")
_SIGNS = {"$": None, "€": "EUR", "£": "GBP"}
# What there was, and what is left of it or gone.
_LEFT = re.compile(
    r"(?P<had>(?:bought|had|got|was|were)\s*:?\s+)?(?P<whole>\S.*)(?:\s*[,;]\s+|\s*\(\s*|\s+[-–]\s+|,?\s+but\s+)"
    r"(?:about\s+)?(?P<part>\S.*?)\s+(?P<how>left(?:\s+over)?|remaining|full|used(?:\s+up)?|gone)\s*[).!]*"
)
_SEVERAL = re.compile(r"\d\s*[x×*]|\b(?:jars|tubs|bottles|pots|containers)\b")
# "an 8 oz jar": the jar says nothing more.
_SIZED_JAR = re.compile(r"(\d.*[a-z]\.?)\s+(?:jar|tub|bottle|pot|container)\s*$", re.IGNORECASE)
_AMOUNT = "an amount such as 250 g, 8 oz, 3 tbsp or half a jar"
_LENGTH = "a length such as 75 mm, 7.5 cm or 3 1/2 in"
_PRICE = "an amount of money such as 12.50 or $4.99 for 8 oz"


@dataclass(frozen=True, slots=True)
class Jarful:
    """What turns spoons and jars into grams; None where it is not known.

    density_g_per_ml  of the topping as it is poured
    full_g            what a full jar holds
    """

    density_g_per_ml: float | None = None
    full_g: float | None = None


@dataclass(frozen=True, slots=True)
class Price:
    """Money, its ISO 4217 code (None for a plain number or "$"), and the unit that it buys, if told.

    `buys` is (4.0, "oz") for "$5 per 4 oz".
    """

    amount: float
    currency: str | None = None
    buys: tuple[float, str] | None = None


def unit_of(word: str) -> str | None:
    """The unit that a word stands for: one of `UNITS`, "jar", "%", "piece", "dozen" or "m"; None for none."""
    return _UNIT.get(" ".join(word.casefold().replace(".", " ").split()))


def figure(text: str) -> float:
    """One figure ≥ 0 with a decimal point or comma. "1,250" may mean two numbers and is refused."""
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text):
        plain = text.replace(",", "")
        hint = f"Write {plain} for thousands, or {text.replace(',', '.')}0 for a fraction."
        raise _wrong(text, "a number that can be read in one way only", hint)
    if not re.fullmatch(r"\d+(?:[.,]\d+)?", text, re.ASCII) or len(text) > _LONGEST:
        raise _wrong(text, "a plain number such as 12.5")
    return float(text.replace(",", "."))


def grams(text: str, jar: Jarful | None = None, unit: str = "g", read: Figure = figure) -> float:
    """Grams ≥ 0 of an amount of topping.

    Parameters
    ----------
    text  "250", "8 oz", "1 lb 4 oz", "2 x 250 g", "2 1/2 tbsp", "½ jar", "half a jar", "3/4 full", "75 %",
          "2 jars of 8 oz", "half a 4 oz jar", "8 oz, half left", "bought 8 oz, 3 oz used", "full", "empty"
    jar   what spoons and parts of a jar need
    unit  of a figure that stands alone: one of `UNITS`, "jar" or "%" of a jar
    read  how figures are read

    Raises `InvalidValue`.
    """
    reader = _Reader(text, _AMOUNT, read)
    if reader.only("empty", "none", "none left", "all gone", "gone", "nothing", "out", "used up"):
        return 0.0
    if reader.only("full", "a full jar", "full jar"):
        return _of_jar(1, jar, reader)
    if told := _LEFT.fullmatch(_plain(text[:_LONGEST]).strip()):
        try:
            return _left(told, jar, unit, read, reader)
        except InvalidValue as error:
            raise reader.wrong(error.problems[0].hint, error.problems[0].allowed) from error
    total = 0.0
    parts = reader.parts()
    if reader.implied and any(found in UNITS for _, found in parts):
        raise reader.wrong("Say of what: of a jar, or of the amount before.")
    for number, (amount, found) in enumerate(parts):
        if found is None:
            if number or (unit == "g" and reader.fraction):
                raise reader.wrong("Say of what: grams, ounces, spoons or a jar.")
            found = unit
        total += _grams(amount, found, jar, reader)
    return total


def millimetres(text: str, unit: str = "mm", read: Figure = figure) -> float:
    """Millimetres ≥ 0 of a length: "75", "7.5 cm", '3 1/2"'. Raises `InvalidValue`."""
    reader = _Reader(text, _LENGTH, read)
    total = 0.0
    for number, (amount, found) in enumerate(reader.parts()):
        if found is None and number:
            raise reader.wrong("Name the unit of each part.")
        total += reader.converted(amount, found or unit, "length")
    return total


def pieces(text: str, read: Figure = figure) -> float:
    """A count ≥ 0: "12", "12 pcs", "2 dozen", "a dozen". Raises `InvalidValue`."""
    reader = _Reader(text, "a count such as 12 or 2 dozen", read)
    if reader.only("none", "none left", "empty", "out"):
        return 0.0
    total = 0.0
    for amount, found in reader.parts():
        if found not in (None, "piece", "dozen"):
            raise reader.wrong("Count whole pieces.")
        total += amount * (12 if found == "dozen" else 1)
    return total


def measured(text: str, unit: str, read: Figure = figure) -> float:
    """An amount in `unit`, one of g, ml, piece and m: "2 kg" is 2000 of g. Raises `InvalidValue`."""
    if unit == "piece":
        return pieces(text, read)
    reader = _Reader(text, f"an amount in {unit}", read)
    total = 0.0
    for number, (amount, found) in enumerate(reader.parts()):
        if found is None and number:
            raise reader.wrong("Name the unit of each part.")
        if unit == "m":
            lengths = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": UNITS["in"][1] / 1000, None: 1.0}
            if found not in lengths:
                raise reader.wrong("Give a length.")
            total += amount * lengths[found]
        else:
            total += reader.converted(amount, found or unit, "mass" if unit == "g" else "volume") / UNITS[unit][1]
    return total


def density(text: str, unit: str = "g/ml", read: Figure = figure) -> float:
    """Grams in a millilitre: "0.85", "0.85 g/ml", "12 g per tbsp"; `unit` of a bare figure. `InvalidValue`."""
    allowed = "a weight for its volume such as 0.85 g/ml or 12 g per tbsp"
    top, bottom = _halves(text)
    reader = _Reader(top, allowed, read)
    ((amount, found),) = reader.parts(1)
    mass, volume = (*unit.split("/"), "ml")[:2]
    if bottom is not None:
        below = _Reader(bottom, allowed, read, alone=1.0)
        ((share, volume_found),) = below.parts(1)
        if volume_found is None or not share:
            raise below.wrong("Name the volume.")
        volume = volume_found
        amount /= share
    return reader.converted(amount, found or mass, "mass") / reader.converted(1, volume, "volume")


def price(text: str, read: Figure = figure) -> Price:
    """Money: "12.50", "$12.50", "12,50 €", "EUR 12", "£3 per 100 g", "5/lb". Raises `InvalidValue`."""
    top, bottom = _halves(text)
    if bottom is not None and any(one in bottom for one in _SIGNS) and not any(one in top for one in _SIGNS):
        # "8 oz for $4.99"
        top, bottom = bottom, top
    currency, words, sign = None, top.replace("US$", "$"), False
    for one, code in _SIGNS.items():
        if one in words:
            words, currency, sign = words.replace(one, " ", 1), code, True
            break
    code_found = re.search(r"(?<![A-Za-z])([A-Z]{3})(?![A-Za-z])", words)
    if code_found and not sign:
        currency, words = code_found[1], words.replace(code_found[1], " ", 1)
    reader = _Reader(words, _PRICE, read)
    ((amount, found),) = reader.parts(1)
    if found == "piece" and bottom is None:
        return Price(amount, currency, (1.0, "piece"))
    if found is not None:
        raise reader.wrong("Put “per” before what it buys.")
    if bottom is None:
        return Price(amount, currency)
    below = _Reader(_SIZED_JAR.sub(r"\1", bottom), _PRICE, read, alone=1.0)
    ((share, unit),) = below.parts(1)
    if unit is None or not share:
        raise below.wrong("Name what it buys, such as per kg.")
    return Price(amount, currency, (share, unit))


def per_kg(paid: Price, jar: Jarful | None = None, unit: str = "kg") -> float:
    """The price of a kg, of a price of grams, spoons or jars; `unit` where it names none. `InvalidValue`."""
    share, found = paid.buys or (1.0, unit)
    reader = _Reader(f"{share:g} {found}", _PRICE, figure)
    weight = _grams(share, found, jar, reader)
    if not weight:
        raise reader.wrong("Name what it buys, such as per kg.")
    return paid.amount / weight * 1000


class _Reader:
    """The words of one text, read from left to right."""

    def __init__(self, text: str, allowed: str, read: Figure, alone: float | None = None) -> None:
        self.text, self._allowed, self._read, self._alone = text, allowed, read, alone
        self._words = _TOKEN.findall(_plain(text)) if len(text) <= _LONGEST else []
        self._at = 0
        #: Whether the last number was a fraction such as 1/2, and whether a word such as "half" stood for a part
        #: of a jar that was not named.
        self.fraction = self.implied = False
        if not self._words:
            raise self.wrong()

    def wrong(self, hint: str = "", allowed: str = "") -> InvalidValue:
        return _wrong(self.text, allowed or self._allowed, hint)

    def only(self, *texts: str) -> bool:
        """Whether the words are these and no more."""
        return " ".join(self._words).rstrip(" .!") in texts

    def parts(self, most: int = 12) -> list[tuple[float, str | None]]:
        """Each amount with its unit, None where none is named; at least one."""
        found: list[tuple[float, str | None]] = []
        while self._at < len(self._words):
            found.append(self._part())
            self._skip(",", "+", "and", "&", "plus")
        if not 1 <= len(found) <= most:
            raise self.wrong()
        return found

    def converted(self, amount: float, unit: str, sort: str) -> float:
        """`amount` in g, mL or mm, of a unit that measures `sort`."""
        if unit not in UNITS or UNITS[unit][0] != sort:
            raise self.wrong(f"“{unit}” measures no {sort}.")
        return convert(amount, unit, {"mass": "g", "volume": "ml", "length": "mm"}[sort])

    def _part(self) -> tuple[float, str | None]:
        self._skip(*_ABOUT, ".")
        if self._peek() in ("a", "an") and "".join(self._words[self._at + 1 : self._at + 2])[:1].isdigit():
            self._at += 1
        named = self._unit() if self._alone is not None else None
        if named is not None:
            return self._alone or 1.0, named
        amount = self._number()
        if self._skip("x", "×", "*"):
            amount *= self._number()
        worded = self.fraction and self._words[self._at - 1] in _FRACTIONS
        share = self.fraction
        if self._skip("of", "a", "an", "the", ".") and share and self._begins_number():
            return self._share_of(amount)
        if self._skip("full"):
            self._skip("jar", "of")
            return amount, "jar"
        unit = self._unit()
        if unit == "%" and self._skip("of"):
            self._skip("a", "an", "the")
            if self._begins_number():
                return self._share_of(amount / 100)
            self._unit()
        if unit == "jar" and self._skip("of", "@", "("):
            # "2 jars of 8 oz": each holds so much.
            self._skip("about")
            amount *= self._number()
            unit = self._unit()
            if unit is None:
                raise self.wrong("Name the unit of what each holds.")
            self._skip("each")
            self._skip(")")
        self._skip("left", "full", "remaining", "each", ".")
        self._skip(".")
        self.implied = self.implied or (unit is None and worded)
        return amount, "jar" if unit is None and worded else unit

    def _begins_number(self) -> bool:
        word = self._peek() or ""
        return word[:1].isdigit() or (word in _COUNTS and word not in ("a", "an"))

    def _share_of(self, share: float) -> tuple[float, str]:
        """A share of what follows, such as "4 oz" or "a 4 oz jar"."""
        whole = self._number()
        unit = self._unit()
        if unit is None:
            raise self.wrong("Name the unit of the whole.")
        self._skip(".")
        if unit in UNITS and self._unit() not in (None, "jar"):
            raise self.wrong()
        self._skip("left", "remaining", ".")
        return share * whole, unit

    def _number(self) -> float:
        self.fraction = False
        word = self._next()
        if word in _FRACTIONS:
            self.fraction = True
            return _FRACTIONS[word]
        if word in _COUNTS:
            self._skip("-")
            if self._peek() in _FRACTIONS:
                self.fraction = True
                return _COUNTS[word] * _FRACTIONS[self._next()]
            return float(_COUNTS[word])
        if not word[0].isdigit() or not word.isascii():
            raise self.wrong()
        value = self._figure(word)
        if self._peek() == "/":
            return self._over(value)
        ahead = self._words[self._at : self._at + 3]
        if len(ahead) == 3 and ahead[1] == "/" and word.isdigit():
            self._next()
            part = self._over(self._figure(ahead[0]))
            if part >= 1:
                raise self.wrong()
            return value + part
        return value

    def _figure(self, word: str) -> float:
        try:
            return self._read(word)
        except InvalidValue as error:
            raise self.wrong(error.problems[0].hint, error.problems[0].allowed) from error

    def _over(self, above: float) -> float:
        self._next()
        below = self._next()
        if not (below.isascii() and below.isdigit() and float(below)):
            raise self.wrong()
        self.fraction = True
        return above / float(below)

    def _unit(self) -> str | None:
        for length in (2, 1):
            unit = unit_of(" ".join(self._words[self._at : self._at + length]))
            if unit and self._at + length <= len(self._words):
                self._at += length
                return unit
        return None

    def _skip(self, *words: str) -> bool:
        """Pass over these words; whether there was one."""
        at = self._at
        while self._peek() in words:
            self._at += 1
        return self._at > at

    def _peek(self) -> str | None:
        return self._words[self._at] if self._at < len(self._words) else None

    def _next(self) -> str:
        if self._at >= len(self._words):
            raise self.wrong()
        self._at += 1
        word: str = self._words[self._at - 1]
        return word


def _plain(text: str) -> str:
    """Lower case, with signs such as ½ written out."""
    out = ""
    for sign in text:
        whole = unicodedata.normalize("NFKC", sign)
        fraction = unicodedata.category(sign) == "No" and "⁄" in whole
        out += f" {whole.replace('⁄', '/')} " if fraction else sign
    return out.casefold().replace("⁄", "/")


def _halves(text: str) -> tuple[str, str | None]:
    """What stands before and after "per", "for" or a slash, or before and in brackets."""
    parts = re.split(
        r"\s*/\s*(?!\d+\b(?!\.\d|,\d|\s*[^\W\d_%]))|\b(?:per|for)\b|\((?=\s*\d[^()]*\)\s*$)"
        r"|\ba(?=\s+(?:kg|kilo|pound|lb|jar|tub|bottle|pot|container)\b)",
        text,
        maxsplit=1,
        flags=re.IGNORECASE,
    )
    return (parts[0], parts[1].rstrip(") ")) if len(parts) == 2 else (text, None)


def _grams(amount: float, unit: str, jar: Jarful | None, reader: _Reader) -> float:
    if unit in ("jar", "%"):
        return _of_jar(amount / (100 if unit == "%" else 1), jar, reader)
    if unit in UNITS and UNITS[unit][0] == "volume":
        if jar is None or jar.density_g_per_ml is None:
            hint = "Enter its density, a kind that has one, or the amount in grams."
            raise reader.wrong(hint, "grams, or spoons of a topping whose density is known")
        return reader.converted(amount, unit, "volume") * jar.density_g_per_ml
    return reader.converted(amount, unit, "mass")


def _left(told: re.Match[str], jar: Jarful | None, unit: str, read: Figure, reader: _Reader) -> float:
    """What is left of "8 oz, half left" or "bought 8 oz, 3 oz used"."""
    used = told["how"].startswith(("used", "gone"))
    whole_is = _Reader(told["whole"], _AMOUNT, read).parts()
    if any(found in ("jar", "%") and amount != 1 for amount, found in whole_is) or _SEVERAL.search(told["whole"]):
        raise reader.wrong("It may be a part of one jar or of all. Write how much is left in all.")
    whole = grams(told["whole"], jar, unit, read)
    if told["part"] in ("none", "nothing", "all"):
        return whole if used == (told["part"] != "all") else 0.0
    of = _Reader(told["part"], _AMOUNT, read)
    ((amount, found),) = of.parts(1)
    if found == "%" or (found in ("jar", None) and of.fraction):
        part = whole * (amount / 100 if found == "%" else amount)
    elif found is not None and found in UNITS and (told["had"] or used):
        part = _grams(amount, found, jar, reader)
    else:
        raise reader.wrong("Write only what is left.")
    if part > whole:
        raise reader.wrong("More than there was. Write only what is left.")
    return whole - part if used else part


def _of_jar(amount: float, jar: Jarful | None, reader: _Reader) -> float:
    if jar is None or jar.full_g is None:
        hint = "Enter what a full jar holds (full_g), or the amount in grams."
        raise reader.wrong(hint, "grams, or a part of a jar whose full weight is known")
    return amount * jar.full_g


def _wrong(text: str, allowed: str, hint: str = "") -> InvalidValue:
    safe = text[:200].encode("utf-8", "replace").decode("utf-8")
    return InvalidValue("The amount is unclear.", [Problem("amount", safe, allowed, hint)])
