"""Who asks, and so which shelf is meant."""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass
from typing import Literal, cast

from flask import g, request

from api.access.errors import NotSignedIn
from api.access.listening import Listening
from catalog.access import Access
from themekit.errors import Problem

COOKIE = "themekit_session"


@dataclass(frozen=True, slots=True)
class Who:
    """One asker.

    by        "token" (a program), "session" (a browser that is signed in), "open" (anyone on this
              machine, where that is enough), "nobody".
    shelf_id  the only shelf that the asker may see; None for the one that is served.
    secret    the session's, to sign it out and to make its forms' token of.
    """

    by: Literal["token", "session", "open", "nobody"]
    shelf_id: int | None = None
    secret: str = ""

    @property
    def csrf(self) -> str:
        """What each form of this session carries and no other page can know; "" without a session.

        The session's own random secret is the key, which the browser keeps from every script.
        """
        if not self.secret:
            return ""
        return hmac.new(self.secret.encode(), b"forms of this session", hashlib.sha256).hexdigest()


NOBODY = Who("nobody")


def present() -> Who:
    """Who asks in the present request; nobody until that was found out."""
    return cast(Who, g.get("who", NOBODY))


def identify(access: Access, at: Listening) -> Who:
    """Find out who asks. Raises `NotSignedIn` for a token that is not good."""
    scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
    if scheme.casefold() == "bearer":
        shelf_id = access.shelf_of_token(secret.strip())
        if shelf_id is None:
            allowed = "Bearer and a token that was made here and is not revoked"
            hint = "Make one with: themekit token new NAME"
            error = NotSignedIn("This token opens nothing.", [Problem("Authorization", "Bearer …", allowed, hint)])
            error.bad_token = True
            raise error
        return Who("token", shelf_id)
    if not at.sign_in:
        return Who("open")
    secret = request.cookies.get(COOKIE, "")
    shelf_id = access.shelf_of_session(secret) if secret else None
    return NOBODY if shelf_id is None else Who("session", shelf_id, secret)
