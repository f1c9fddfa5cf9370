"""Headers that keep browsers careful, on every answer."""

from __future__ import annotations

from flask import Response, request

from api.access.listening import unread_by_others
from api.pages.base import POLICY
from api.routes import docs

#: Of what is no page. A PDF is left to the browser's viewer, which is a page with a style of its own.
_OTHER, _PDF = "default-src 'none'; frame-ancestors 'none'", "frame-ancestors 'none'"
_YEAR = 31_536_000
# What never changes with the shelf may be kept by the browser.
_KEPT = ("pages.static_file", "docs_files.file")


def careful(response: Response) -> Response:
    """Set what a place has not set itself."""
    given = response.headers
    if request.path == docs.PAGE and response.mimetype == "text/html":
        given["Content-Security-Policy"] = docs.POLICY
    policy = {"text/html": POLICY, "application/pdf": _PDF}.get(response.mimetype or "", _OTHER)
    given.setdefault("Content-Security-Policy", policy)
    if "frame-ancestors" not in given["Content-Security-Policy"]:
        given["Content-Security-Policy"] += "; frame-ancestors 'none'"
    given.setdefault("X-Content-Type-Options", "nosniff")
    given.setdefault("Referrer-Policy", "same-origin")
    given.setdefault("Cross-Origin-Resource-Policy", "same-origin")
    if unread_by_others():
        # Elsewhere browsers ignore it, and say so.
        given.setdefault("Cross-Origin-Opener-Policy", "same-origin")
    # A jar's colours are read off a photo, which is taken at the shelf.
    camera = "(self)" if request.path.startswith("/shelf") else "()"
    given.setdefault("Permissions-Policy", f"camera={camera}, geolocation=(), microphone=(), payment=(), usb=()")
    if request.endpoint not in _KEPT or response.status_code >= 400:
        given.setdefault("Cache-Control", "no-store")
    if request.is_secure:
        given.setdefault("Strict-Transport-Security", f"max-age={_YEAR}")
    return response
