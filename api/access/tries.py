"""How often sign-in may be tried, from an address and in all; `catalog.tries` counts."""

from __future__ import annotations

import ipaddress
import math

from api.access.errors import TooManyTries
from catalog.store import Store
from catalog.tries import EACH, Tries
from themekit.errors import Problem


def take(store: Store, address: str | None) -> None:
    """Count one try. Raises `TooManyTries`, before anything is looked at."""
    wait = Tries(store).take(_network(address))
    if wait is None:
        return
    minute, hour = (limit.most for limit in EACH)
    error = TooManyTries(
        "Sign-in was tried too often.",
        [Problem("passphrase", None, f"{minute} a minute, {hour} an hour", "Wait a little, then try again.")],
    )
    error.seconds = max(1, math.ceil(wait.total_seconds()))
    raise error


def forgive(store: Store, address: str | None) -> None:
    """Forget an address's tries, since the last was right."""
    Tries(store).forgive(_network(address))


def _network(address: str | None) -> str:
    """An address as it is counted; of IPv6 the network, since one machine has many addresses in it."""
    try:
        found = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    if found.version == 6:
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
