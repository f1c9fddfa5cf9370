"""What was just done, said once on the page that follows."""

from __future__ import annotations

import re

from flask import Response, g, request

#: Each word with what it says; {} is a count with its noun.
_SAID = {
    "order": "Order saved.",
    "erased": "The order is off the list, and what was personal in it is erased.",
    "moved": "Order saved, and its batches are moved to its day.",
    "kept": "{} saved for later.",
    "promised": "{} promised: the stock is held.",
    "changed": "The batch is saved.",
    "packed": "Packed: what it held is taken off the shelf.",
    "unpacked": "The packing is undone; the stock is held again.",
    "dropped": "Dropped: its stock is free again.",
    "ended": "Written down what became of them.",
    "counted": "Written down.",
}
_COOKIE = "done"
_WORD = re.compile(r"([a-z]+)-(\d{1,4})", re.ASCII)


def say(made: Response, word: str, count: int = 1) -> Response:
    """Have the page that a redirect leads to say what was done."""
    made.set_cookie(_COOKIE, f"{word}-{count}", max_age=60, samesite="Lax", httponly=True)
    return made


def said() -> str:
    """What is to be said on this page, "" for nothing; only a page that is asked for says it."""
    match = _WORD.fullmatch(request.cookies.get(_COOKIE, "")) if request.method == "GET" else None
    if match is None or match[1] not in _SAID:
        return ""
    g.said_done = True
    return _SAID[match[1]].format(f"{match[2]} {'batch' if match[2] == '1' else 'batches'}")


def forgotten(made: Response) -> Response:
    """An answer after which it is said no more, where it has said it."""
    if g.pop("said_done", False):
        made.delete_cookie(_COOKIE, samesite="Lax", httponly=True)
    return made
