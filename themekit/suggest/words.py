"""Plain words of a phrase: tokens, singulars and one-letter typos."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

#: Longest phrase that is read; a customer's message fits many times over.
MAX_TEXT = 2000

_TOKEN = re.compile(r"#[0-9a-f]{6}\b|#[0-9a-f]{3}\b|[^\W_]+(?:['’][^\W_]+)*|[,;.!?&+/\n-]")
_POSSESSIVE = re.compile(r"['’]s\b")
_IRREGULAR = {
    "leaves": "leaf", "wolves": "wolf", "children": "child", "mice": "mouse", "geese": "goose",
    "men": "man", "women": "woman", "people": "person", "feet": "foot", "teeth": "tooth",
    "knives": "knife", "elves": "elf", "shelves": "shelf", "loaves": "loaf", "halves": "half",
    "calves": "calf", "scarves": "scarf", "lives": "life", "wives": "wife", "thieves": "thief",
    "dwarves": "dwarf", "hooves": "hoof", "cacti": "cactus", "octopi": "octopus", "oxen": "ox",
    "cookies": "cookie", "pies": "pie", "ties": "tie", "movies": "movie", "brownies": "brownie",
    "smoothies": "smoothie", "zombies": "zombie", "fairies": "fairy", "genies": "genie",
    "selfies": "selfie", "hippies": "hippie", "rookies": "rookie", "shoes": "shoe", "canoes": "canoe",
    "toes": "toe", "axes": "axe", "bees": "bee", "trees": "tree",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Token:
    """One word of a phrase: as written, folded for look-up, and in the singular."""

    text: str
    fold: str
    stem: str

    @property
    def is_word(self) -> bool:
        """False for punctuation, which only separates."""
        return _is_word(self.fold)


def _is_word(folded: str) -> bool:
    return folded[:1].isalnum() or folded.startswith("#")


def fold(text: str) -> str:
    """`text` in compatibility form, case-folded, without accents or possessives."""
    if text.isascii():  # nothing to decompose; thousands of names are folded at every start
        plain = text.lower()
    else:
        folded = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold())
        plain = "".join(c for c in folded if not unicodedata.combining(c))
    if "'" in plain or "’" in plain:
        plain = _POSSESSIVE.sub("", plain.replace("s’ ", "s ").replace("s' ", "s ")).replace("’", "'")
    return plain


def singular(word: str) -> str:
    """The singular of a folded English word, near enough for look-up.

    Applied alike to the phrase and to the tables, so that a wrong stem still meets
    itself ("christmas" becomes "christma" on both sides).
    """
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("ches", "shes", "xes", "sses", "zes")):
        return word[:-2]
    if len(word) > 4 and word.endswith("oes"):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def tokens(text: str) -> list[Token]:
    """The words and separators of `text`, in order."""
    return [Token(m, m, singular(m)) for m in _TOKEN.findall(fold(text))]


@lru_cache(maxsize=16_384)
def key_of(text: str) -> tuple[str, ...]:
    """The look-up key of a name: the stems of its words; kept, as each shelf's tables ask for the same."""
    if text.isascii() and text.replace(" ", "").isalpha():
        # Most names by far; thousands are looked up at every start.
        return tuple(map(singular, text.lower().split()))
    return tuple(singular(m) for m in _TOKEN.findall(fold(text)) if _is_word(m))


def one_letter_off(word: str, known: str) -> bool:
    """Whether one insertion, deletion, change or swap of neighbours turns one into the other."""
    short, long = sorted((word, known), key=len)
    if word == known or len(long) - len(short) > 1:
        return False
    start = 0
    while start < len(short) and short[start] == long[start]:
        start += 1
    if len(short) < len(long):
        return short[start:] == long[start + 1 :]
    if short[start + 1 :] == long[start + 1 :]:
        return True
    swapped = long[start : start + 2][::-1]
    return short[start : start + 2] == swapped and short[start + 2 :] == long[start + 2 :]


def mended(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` is one letter away from, or None.

    Only words of four letters and more are mended; of several, one with the same
    first letter wins, then the alphabet, so that the same typo is always read alike.
    """
    if len(word) < 4:
        return None
    near = [k for k in known if len(k) >= 4 and one_letter_off(word, k)]
    return min(near, key=lambda k: (k[0] != word[0], k), default=None)


def listed(words: Sequence[str], link: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    words = list(dict.fromkeys(words))
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {link} {words[-1]}"
