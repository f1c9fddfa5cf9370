"""What a customer's message says beside theme and needs: who signed it, a question of price, wishes left unread.

Patterns of common usage, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_CLOSING = re.compile(
    r"\b(?:thanks|thank you|thx|regards|wishes|cheers|sincerely|best|love|yours|warmly)"
    r"(?: again| so much| in advance)?"
    r"(?:\s*[,!.–—-]+\s*|\s*\n\s*| from )([A-Z][a-zà-ÿ'’-]+(?: [A-Z][a-zà-ÿ'’-]+)?)\s*[.!x]*\s*$",
    re.MULTILINE,
)
_PRICE = re.compile(r"\b(?:prices?|pricing|costs?|how much|quote|charge)\b", re.IGNORECASE)
_CLAUSE = re.compile(
    r"[.!?;:,\n()]+|\s[-–—]\s|\bbut\b|\band\b(?=\s+(?:i|we|she|he|they|could|can|please)\b)", re.I
)
_WISH = re.compile(
    r"\b(?:please|want|wants|would|need|needs|like|likes|love|loves|could|can|may|must|should|prefer|hope|hoping|with|"
    r"without|no|not|only|make|have|include|add)\b",
    re.IGNORECASE,
)


def signed_by(text: str) -> str:
    """The name under a message, "" where none is sure: "Best wishes, Tilda" is Tilda."""
    found = list(_CLOSING.finditer(_small_closings(text.strip())))
    return " ".join(found[-1].group(1).split()) if found and not text.strip()[found[-1].end() :].strip() else ""


def asks_price(text: str) -> bool:
    """Whether a message asks what it costs."""
    return bool(_PRICE.search(text))


def unclear(text: str, unknown: Iterable[str], understood: Sequence[str]) -> tuple[str, ...]:
    """The clauses that wish for something and of which nothing was understood, as they were written.

    A word that nobody knows amid others that were understood carries nothing to ask about.
    """
    words = [word.casefold() for word in unknown]
    known = [word.casefold() for word in understood if word]
    found = []
    for clause in _CLAUSE.split(text):
        told = " ".join(clause.split())
        folded = told.casefold()
        holds = any(re.search(rf"\b{re.escape(word)}\b", folded) for word in words)
        if holds and _WISH.search(told) and not any(word in folded for word in known):
            found.append(told)
    return tuple(dict.fromkeys(found))


def _small_closings(text: str) -> str:
    """The text with the capitals that begin its sentences made small, so that a closing is read in any case."""
    return re.sub(r"\b(Thanks|Thank|Thx|Regards|Wishes|Cheers|Sincerely|Best|Love|Yours|Warmly|Kind|Warm)\b",
                  lambda found: found.group().lower(), text)  # fmt: skip
