"""People's names in a message, told by how they are written and by what stands beside them.

"My daughter Lily", "Rose's birthday" and "Thanks, Marion" mean no flowers and no maroon. A word with a
capital amid a sentence that no table knows is more likely a name than a slip. The patterns are common
usage, no source. A text all in capitals, or with a capital to most of its words, tells none.
"""

from __future__ import annotations

import re

from themekit.suggest.draft import EMPTY
from themekit.suggest.lookup import Lookup
from themekit.suggest.words import fold, key_of, singular

#: Who it is for; the word after one is a name or a verb when no table knows it.
RELATIONS = frozenset(
    "niece nephew daughter son cousin grandson granddaughter grandaughter grandchild sister brother wife husband "
    "partner fiance fiancee boyfriend girlfriend colleague coworker boss neighbour neighbor kiddo mum mom mommy "
    "mother father dad daddy auntie aunt uncle granny gran nan grandma grandmother grandpa grandad grandfather "
    "goddaughter godson godmother godfather stepson stepdaughter".split()
)
_CHILDREN = frozenset("boy girl child kid baby toddler friend twins".split())
#: Groups of themes whose names are written with a capital, or as readily as not.
_PROPER = frozenset("holidays places seasons life parties school sport work".split())
_NAME = r"([A-Z][a-zà-ÿ]+)"
_AND = rf"(?:(?:,| and| &) {_NAME})?"
_OF = "|".join(sorted(RELATIONS | _CHILDREN))
_BESIDE = (
    re.compile(rf"\b(?:{_OF})(?:,| called| named)? {_NAME}{_AND}\b"),
    re.compile(rf"\b{_NAME}{_AND}['’]s? (?:[a-z0-9]+ ){{0,2}}?(?:birthday|bday|christening|baptism|shower)\b"),
    re.compile(rf"\b(?:called|named) {_NAME}\b"),
)
#: The same where the word may be something else than a name too.
_PERHAPS = (
    re.compile(rf"\b(?:[Mm]y|[Oo]ur|[Hh]is|[Hh]er) [a-z]+ {_NAME}\b(?! [A-Z])"),
    re.compile(rf"\bfor {_NAME}{_AND}(?= who\b| is\b| and\b|\s*[-–—.,;:!?]|\s*$)"),
)
_FIRST = re.compile(rf"(?:^|[.!?]\s+){_NAME} (?:is|was|turns|loves|likes|adores|wants|will|would|has)\b")
_CLOSING = re.compile(
    r"(?:\b(?:thanks|thank you|thx|ta|regards|wishes|cheers|sincerely|best|love|yours|warmly|xx?x?)"
    r"(?: again| so much| from)?\s*[,!.\n]?\s*)((?:[A-Z][a-zà-ÿ]+[ .]*){1,3})x*\s*$",
    re.IGNORECASE,
)
#: What ends a sentence, or stands before something of its own.
_ENDS = '.!?:;\n-–—•*"“”('


def names_in(text: str, lookup: Lookup) -> list[str]:
    """People's names by what stands beside them, folded: after a relation, before a birthday, under a letter."""
    if not _tells_by_capitals(text):
        return []
    found = [name for pattern in _BESIDE for name in _groups(pattern, text)]
    found += [name for pattern in _PERHAPS for name in _groups(pattern, text) if not _is_proper(name, lookup)]
    found += [name for name in _FIRST.findall(text) if not _is_word(name, lookup)]
    signed = _CLOSING.search(text.strip())
    if signed:
        found += [name for name in re.findall(r"[^\W\d_]+", signed.group(1)) if name[0].isupper()]
    return [fold(name) for name in found]


def amid_sentences(text: str) -> frozenset[str]:
    """Words, folded, that have a capital though they begin no sentence: names, places and festivals."""
    if not _tells_by_capitals(text):
        return frozenset()
    return frozenset(fold(word) for word in _amid(text))


def _amid(text: str) -> list[str]:
    found = []
    for match in re.finditer(r"[^\W\d_]{2,}", text):
        word, before = match.group(), text[: match.start()].rstrip(" \t'’")
        if before and before[-1] not in _ENDS and word[0].isupper() and not word.isupper():
            found.append(word)
    return found


def _tells_by_capitals(text: str) -> bool:
    small = re.findall(r"\b[a-zà-ÿ]{3,}", text)
    return bool(small) and len(_amid(text)) <= len(small)


def _groups(pattern: re.Pattern[str], text: str) -> list[str]:
    return [name for match in pattern.finditer(text) for name in match.groups() if name]


def _is_proper(name: str, lookup: Lookup) -> bool:
    """Whether a capital says nothing: festivals and places have one, and several of a kind are no person."""
    theme = lookup.themes.get(key_of(name))
    known = singular(fold(name)) in lookup.known_words
    return (theme is not None and theme.group in _PROPER) or (known and singular(fold(name)) != fold(name))


def _is_word(name: str, lookup: Lookup) -> bool:
    """Whether any table or the English words know it, as they know what may begin a sentence."""
    word = fold(name)
    return singular(word) in lookup.known_words or lookup.lexicon.is_word(word) or word in EMPTY
