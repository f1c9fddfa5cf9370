"""A label's sentence in her cell: what a thing contains and what may be in it, kept apart; never a "free from".

Words after "may contain", "traces of" or a shared line may be in it, those after "contains" are in it, up to
the next such word. Whatever else stands there comes back as a word, so that it is told of as no allergen.
"""

from __future__ import annotations

import re
from typing import Literal

from themekit.errors import InvalidValue, Problem

Part = Literal["allergens", "may_contain"]
#: The words of labels for what may be in a thing (common practice, no source). They hold no name of a food.
_SHARED = (
    r"(?:(?:also|made|manufactured|produced|processed|packed|packaged|prepared|baked|in|on|at|a|an|the|same|shared)\s+)*"
    r"(?:facility|facilities|factory|plant|site|kitchen|bakery|lines?|equipment|machinery|machines?|premises)"
    r"(?:\s+(?:that|which|where|we|also|is|are|it|they|shared|may|might))*"
    r"\s+(?:handles?|handling|processe?s?|processing|uses?|used|using|contains?|containing|with|makes?|making|packs?|"
    r"packing|for|has|have)(?:\s+(?:also|of|for|with|products?|other|items))*"
)
_MAY = (
    rf"{_SHARED}|(?:also\s+)?(?:may|might|can|could)(?:\s+(?:also|still|possibly))*\s+(?:contain|have|include|hold)"
    r"(?:\s+(?:small|trace|some|minute))*(?:\s+(?:traces?|amounts?|bits?|residues?))?(?:\s+of)?"
    r"|(?:(?:also\s+)?(?:contains?|has|with)\s+)?(?:possible\s+|small\s+|some\s+)*(?:traces?\s+of|trace\s+amounts?\s+of|traces?(?=\s*:))"
    r"|(?:(?:possible|risk\s+of)\s+)?cross[\s-]*(?:contact|contamination)(?:\s+(?:risk|with|of|from))*"
    r"|possible|possibly|maybe|risk\s+of|may(?=\s*:)"
)
_CONTAINS = (
    r"(?:it\s+|also\s+)*(?:contains?|containing|includes?|including|made\s+with"
    r"|(?:allergens?|ingredients?)(?=\s*:))"
)
_MARK = re.compile(rf"\b(?:(?P<may>{_MAY})|(?P<contains>{_CONTAINS}))(?![\w-])\s*:?", re.IGNORECASE)
#: "wheat (may contain)" and "soy traces": of that word alone.
_AFTER = re.compile(
    r"(?P<word>[^,;.:()|/\n]+?)\s*\(\s*(?:may\s+contain|traces?(?:\s+only)?|possible|possibly|maybe)\s*\)",
    re.IGNORECASE,
)
_TRACES = re.compile(r"\s+traces?$", re.IGNORECASE)
_ENDS = re.compile(r"[;.\n]")
_BETWEEN = re.compile(r"[|,;/\n&+().]|\b(?:and|or|plus|as\s+well\s+as)\b|\s[-–—]\s", re.IGNORECASE)
_FREE = re.compile(
    r"free\b|\b(?:no|non|not|nor|neither|never|without|w/o|zero|minus|except|excluding|excludes?|lacks?|none)\b|n['’]t\b",
    re.IGNORECASE,
)
#: "milk and soy traces": of one or of both.
_JOINED = re.compile(r"(?:\b(?:and|or)\b|[&+/])[^,;.()|\n]*?\s+traces?\s*(?:$|[,;.()|\n])", re.IGNORECASE)
_EACH = "Write “contains” or “may contain” before each part."
_ALLOWED = "what the label names after “contains” and after “may contain”, such as: milk, soy; may contain wheat"


def parts(cell: str, own: Part, both: bool = False) -> dict[Part, list[str]]:
    """What is in a thing and what may be, as words in order; a part that the cell does not speak of is missing.

    `own` is what its column is of, and the part of words without "contains" or "may contain"; with
    `both` the column is of either, and each word needs one. "none" makes an empty list of a part. Raises
    `InvalidValue` for "nut free", "no milk" and the like, and for what may belong to either part.
    """
    found: dict[Part, list[str]] = {}
    nothing: set[Part] = set()
    text = re.sub(r"[ \t\r\xa0]+", " ", cell.replace("’", "'"))
    if _FREE.search(_alone(text)):
        hint = (
            "That something is free of an allergen is never brought in. Write what the label names; "
            "write none only where you looked and it names nothing; leave it blank where you do not know."
        )
        raise _wrong(cell, hint)
    text = _AFTER.sub(lambda m: f"{m['word']} traces", text)
    marks = list(_MARK.finditer(text))
    stretches: list[tuple[Part | None, str]] = [
        (None if both else own, text[: marks[0].start() if marks else None])
    ]
    for mark, following in zip(marks, [*marks[1:], None], strict=False):
        said: Part = "may_contain" if mark["may"] else "allergens"
        stretch = text[mark.end() : following.start() if following else None]
        if not _words(stretch):
            raise _wrong(cell, f"Say what “{mark[0].strip()}” speaks of.")
        # The words behind a sign that ends a sentence may belong to it or not.
        _, *rest = _ENDS.split(stretch.strip(" .;\n"))
        if (both or said != own) and any(_words(one) for one in rest):
            raise _wrong(cell, _EACH)
        stretches.append((said, stretch))
    for of, stretch in stretches:
        if of != "may_contain" and _JOINED.search(stretch):
            raise _wrong(cell, _EACH)
        for word in _words(stretch):
            bare = _TRACES.sub("", word)
            part: Part | None = "may_contain" if bare != word else of
            if part is None:
                raise _wrong(cell, _EACH)
            found.setdefault(part, [])
            if bare.casefold() == "none":
                nothing.add(part)
            else:
                found[part].append(bare)
    if any(found[part] for part in nothing):
        raise _wrong(cell, "Write none, or what the label names, not both.")
    return found


def _alone(text: str) -> str:
    """The text without each "none" that stands for a whole part."""
    return re.sub(r"\bnone\b(?=\s*(?:$|[|,;.()\n]))", "", text, flags=re.IGNORECASE)


def _words(stretch: str) -> list[str]:
    words = (one.strip(" \t.:-–—*•!'\"") for one in _BETWEEN.split(stretch))
    return [word for word in words if word]


def _wrong(cell: str, hint: str) -> InvalidValue:
    return InvalidValue("Unclear.", [Problem("allergens", cell[:200], _ALLOWED, hint)])


def of_either(title: str) -> bool:
    """Whether a column's title speaks of both parts, such as "Contains / may contain"."""
    pieces = [one for one in re.split(r"[/&+,(]|\band\b|\bor\b", title.casefold()) if one.strip()]
    may = [bool(re.search(r"\b(?:may|traces?|cross)\b", one)) for one in pieces]
    return any(may) and not all(may)
