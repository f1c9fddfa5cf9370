"""Numbers in plain words: "12", "twelve", "a dozen", "two dozen", "5th"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from themekit.suggest.words import Token

_UNITS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
    "seventeen eighteen nineteen"
).split()
_TENS = {w: 10 * i for i, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}
_VALUES = {w: i for i, w in enumerate(_UNITS)} | _TENS
#: Words that only count: "fifty" is no theme of the fifties.
NUMBER_WORDS = frozenset(_VALUES)
_ORDINALS = {
    w: i
    for i, w in enumerate(
        "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth".split(), 1
    )
}
_ORDINALS |= {w[:-1] + "ieth": i for w, i in _TENS.items()}
#: Words that only count, and those that only rank: "seventieth".
ORDINAL_WORDS = frozenset(_ORDINALS)
_DIGITS = re.compile(r"(\d{1,6})(st|nd|rd|th)?")


def number_at(words: Sequence[Token], at: int, ordinals: bool = False) -> tuple[int, int] | None:
    """The whole number that starts at `at` and where it ends, or None.

    Ordinals ("5th", "fifth") count only where `ordinals` is set.
    """
    if at >= len(words):
        return None
    word = words[at].fold
    digits = _DIGITS.fullmatch(word)
    if digits and (ordinals or not digits.group(2)):
        value, stop = int(digits.group(1)), at + 1
    elif word in _VALUES:
        value, stop = _VALUES[word], at + 1
        if word in _TENS:
            unit = stop + (stop < len(words) and words[stop].fold == "-")
            if unit < len(words) and 0 < _VALUES.get(words[unit].fold, 0) < 10:
                value, stop = value + _VALUES[words[unit].fold], unit + 1
    elif ordinals and word in _ORDINALS:
        value, stop = _ORDINALS[word], at + 1
    elif word in ("a", "one") and at + 1 < len(words) and words[at + 1].fold == "dozen":
        return 12, at + 2
    elif word == "dozen":
        return 12, at + 1
    else:
        return None
    if stop < len(words) and words[stop].stem == "dozen":
        return value * 12, stop + 1
    if stop < len(words) and words[stop].fold == "hundred":
        return value * 100, stop + 1
    return value, stop
