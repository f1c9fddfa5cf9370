"""Every form that changes something carries the session's token; put there when templates are compiled."""

from __future__ import annotations

import re
from hmac import compare_digest
from typing import Any

from flask import request
from jinja2.ext import Extension
from markupsafe import Markup

from api.access.errors import FromElsewhere
from api.access.origin import READS
from api.access.who import present
from themekit.errors import Problem

FIELD, HEADER = "csrf", "X-CSRF-Token"
_FORM = re.compile(r"<form\b(?:\{\{.*?\}\}|\{%.*?%\}|[^>{])*>", re.IGNORECASE | re.DOTALL)
_POSTS = re.compile(r"""\bmethod\s*=\s*["']?post\b""", re.IGNORECASE)


class Guarded(Extension):
    """Writes the hidden field into each form with method="post", so that none can be forgotten."""

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        """The template's source with `csrf()` called in each such form."""
        return _FORM.sub(lambda m: m[0] + ("{{ csrf() }}" if _POSTS.search(m[0]) else ""), source)


def csrf() -> Markup:
    """The hidden field; nothing where nobody is signed in by a browser."""
    token = present().csrf
    return Markup('<input type="hidden" name="{}" value="{}">').format(FIELD, token) if token else Markup("")


def check_token() -> None:
    """Raise `FromElsewhere` for a signed-in browser's change without its session's token."""
    who = present()
    if who.by != "session" or request.method in READS:
        return
    given: Any = request.headers.get(HEADER)
    if given is None:
        given = request.form.get(FIELD, "")
    if not compare_digest(given.encode("utf-8", "replace"), who.csrf.encode()):
        hint = "Open the page anew and try again."
        problem = Problem(FIELD, "another token" if given else None, "the token of the page's own form", hint)
        raise FromElsewhere("This form is not of your present sign-in; nothing was changed.", [problem])
