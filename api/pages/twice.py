"""Two tabs on one thing: nothing typed is lost and nothing is overwritten unseen.

Every form carries the version that it was made from and what stood in it then. Where the
thing was changed since, a page shows both, field by field, and she chooses.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import Response, request

from api.pages.base import show

#: No row has it: a form without a version is taken for one that is out of date.
NEVER = -1
_LONGEST = 100_000


@dataclass(frozen=True, slots=True)
class Differs:
    """A field that is not the same in the form and in the row; `chosen` is "" where she has to say."""

    name: str
    word: str
    mine: str
    theirs: str
    told: str
    chosen: str


def version_in_form() -> int:
    """The version that the form was made from."""
    text = request.form.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else NEVER


def was_in_form() -> dict[str, str] | None:
    """What stood in the form when it was opened; None where that is not told."""
    try:
        found = json.loads(request.form.get("was", "")[:_LONGEST])
    except (ValueError, RecursionError):
        return None
    if not isinstance(found, dict) or not all(isinstance(v, str) for v in found.values()):
        return None
    return found


def differing(
    words: Mapping[str, str], mine: Mapping[str, str], theirs: Mapping[str, str], was: Mapping[str, str] | None
) -> list[Differs]:
    """The fields in which form and row differ, with who changed what where `was` tells."""
    found = []
    for name, word in words.items():
        own, other = mine.get(name, ""), theirs.get(name, "")
        if own == other:
            continue
        before = None if was is None else was.get(name)
        if before is not None and own == before:
            told, chosen = "changed there, not by you", "theirs"
        elif before is not None and other == before:
            told, chosen = "changed by you alone", "mine"
        else:
            told, chosen = "changed in both", ""
        found.append(Differs(name, word, own, other, told, chosen))
    return found


def both_shown(
    heading: str,
    action: str,
    version: int,
    words: Mapping[str, str],
    mine: Mapping[str, str],
    theirs: Mapping[str, str],
    empty: Mapping[str, str] | None = None,
    back: str | None = None,
) -> Response:
    """A page with what was typed beside what is there now; its form sends what she chooses.

    `words` name the fields, `empty` says what a field means that holds nothing; `back` is
    where the thing can be looked at, `action` itself if not told.
    """
    was = was_in_form()
    return show(
        "twice.html",
        409,
        heading=heading,
        action=action,
        version=version,
        lines=differing(words, mine, theirs, was),
        same={name: mine.get(name, "") for name in words if mine.get(name, "") == theirs.get(name, "")},
        was=json.dumps({name: theirs.get(name, "") for name in words}),
        empty=empty or {},
        back=back or action,
    )


def step_overtaken(
    heading: str,
    action: str,
    word: str | None,
    version: int,
    words: Mapping[str, str],
    theirs: Mapping[str, str],
    typed: Sequence[tuple[str, str]] = (),
) -> Response:
    """A page that tells what changed before a step could be taken, and offers the step again.

    `word` is the step's; None where it can no longer be taken. `typed` is sent along again.
    """
    was = was_in_form()
    changed = [
        (words[name], before, theirs.get(name, ""))
        for name, before in (was or {}).items()
        if name in words and before != theirs.get(name, "")
    ]
    values: dict[str, Any] = {"heading": heading, "action": action, "word": word, "version": version}
    values["back"] = action.rpartition("/")[0]
    values |= {"changed": changed, "known": was is not None, "typed": typed, "was": json.dumps(dict(theirs))}
    return show("overtaken.html", 409, **values)
