"""Where the service listens decides who may come in."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from typing import cast

from flask import current_app, request

EXTENSION = "themekit_listening"
HOST = "127.0.0.1"


@dataclass
class Listening:
    """The address and port that a service listens at.

    On this machine alone nobody signs in, but only its own names open it. On any other address,
    and behind a proxy, everyone signs in or shows a token.

    host      an IP address; "0.0.0.0" and "::" are all addresses of this machine.
    port      None where it is not known; then any will do.
    proxied   one proxy in front sets X-Forwarded-For, -Proto and -Host, and is believed.
    """

    host: str = HOST
    port: int | None = None
    proxied: bool = False

    @property
    def sign_in(self) -> bool:
        """Whether everyone has to sign in."""
        return self.proxied or not ipaddress.ip_address(self.host).is_loopback

    @property
    def names(self) -> frozenset[str]:
        """The names that open a service on this machine alone."""
        return frozenset({"127.0.0.1", "localhost", "::1", self.host})


def listening() -> Listening:
    """Where the application listens that answers the present request."""
    return cast(Listening, current_app.extensions[EXTENSION])


def unread_by_others() -> bool:
    """Whether the present request came by HTTPS, or did not leave this machine."""
    name = request.host.rpartition(":")[0] if request.host.rpartition(":")[2].isdigit() else request.host
    return request.is_secure or name in ("localhost", "127.0.0.1", "[::1]")
