"""Who may change things here: forms and programs of this very address, not pages from elsewhere."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Flask, request

from themekit.errors import Problem, ThemekitError

_READS = ("GET", "HEAD", "OPTIONS")


class FromElsewhere(ThemekitError, PermissionError):
    """A change that a page of another address wants made."""

    code = "from_elsewhere"


def register(app: Flask) -> None:
    """Guard every address of an application."""
    app.before_request(same_origin)


def same_origin() -> None:
    """Refuse a change whose Origin is not this Host.

    Browsers send Origin with every such request (Fetch standard, "Origin header"); programs
    need not.
    """
    origin = request.headers.get("Origin")
    if request.method in _READS or origin is None:
        return
    if urlsplit(origin).netloc.casefold() != request.host.casefold() or not origin.startswith("http"):
        allowed = f"a page of {request.host}"
        problem = Problem("Origin", origin[:200], allowed, "Open the page by its own address and try again.")
        raise FromElsewhere("This change came from a page of another address; nothing was changed.", [problem])
