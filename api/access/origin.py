"""Whether a request came the way it should: to a name of ours, from a page of ours, in a form of ours.

Against pages elsewhere that have a visitor's browser call this service (cross-site requests), and
against names elsewhere that are pointed at this machine (DNS rebinding).
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from flask import request
from werkzeug.exceptions import UnsupportedMediaType

from api.access.errors import FromElsewhere, WrongHost
from api.access.listening import Listening
from themekit.errors import Problem

READS = ("GET", "HEAD", "OPTIONS")
# What a form of another page can send without asking first (Fetch standard, "CORS-safelisted request-header").
_FORM_TYPES = ("application/x-www-form-urlencoded", "multipart/form-data", "text/plain")
_FORWARDED = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP")
#: Addresses of the API that take a file.
_FILES = ("photo.Photo", "sheets.Import")


def check_way(at: Listening) -> None:
    """On this machine alone: raise `WrongHost` unless asked by this machine, straight, and by its own name."""
    if at.sign_in:
        return
    given = request.headers.get("Host", "")
    name, port = _split(given)
    usual = {"http": 80, "https": 443}[request.scheme]
    if name not in at.names or (at.port is not None and (port or usual) != at.port):
        allowed = f"127.0.0.1 or localhost{f', port {at.port}' if at.port else ''}"
        hint = "Open it by that address. To open it from other machines: themekit serve --help."
        raise WrongHost("This service does not go by that name.", [Problem("Host", given[:200], allowed, hint)])
    came = next((header for header in _FORWARDED if header in request.headers), None)
    if came is not None or not _is_loopback(request.remote_addr):
        got = came or request.remote_addr
        hint = "Behind a proxy start it with --proxied, for the network with --host; both need a passphrase."
        problem = Problem("request", got, "a request of this machine itself", hint)
        raise WrongHost("This service is open to its own machine only.", [problem])


def _split(host: str) -> tuple[str, int | None]:
    """Name and port of a Host header; "" for one that is none."""
    try:
        parts = urlsplit(f"//{host}")
        if parts.path or parts.query or parts.fragment or "@" in parts.netloc:
            return "", None
        return (parts.hostname or "").rstrip("."), parts.port
    except ValueError:
        return "", None


def _is_loopback(address: str | None) -> bool:
    # Every server tells an address, be it "" for a socket in a file; without a server there is none.
    try:
        return address is None or ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def check_origin() -> None:
    """Raise `FromElsewhere` for a change that another address's page wants made.

    Browsers send Origin with every such request, newer ones Sec-Fetch-Site too (Fetch standard,
    "Origin header"; Fetch Metadata Request Headers); programs need not.
    """
    if request.method in READS:
        return
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site", "same-origin")
    other = origin is not None and (
        not origin.startswith(("http://", "https://"))
        or urlsplit(origin).netloc.casefold() != request.host.casefold()
    )
    if other or site not in ("same-origin", "none"):
        field, got = ("Origin", origin) if other else ("Sec-Fetch-Site", site)
        problem = Problem(
            field, str(got)[:200], f"a page of {request.host}", "Open the page by its own address and try again."
        )
        raise FromElsewhere("This change came from a page of another address; nothing was changed.", [problem])


def check_type() -> None:
    """Refuse with 415 what a plain form sends to the API, bodies that nobody reads included."""
    if request.method in READS or request.endpoint in _FILES or not request.path.startswith("/api/"):
        return
    # What no route takes is told so by the router.
    if request.routing_exception is None and request.mimetype in _FORM_TYPES:
        raise UnsupportedMediaType
