"""How often sign-in may be tried."""

from __future__ import annotations

import ipaddress
import time

from limits import RateLimitItem, parse_many
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

from api.access.errors import TooManyTries
from themekit.errors import Problem

EACH, ALL = "5/minute;30/hour", "300/hour"


class Tries:
    """Counts tries of each address, and of all together, in this process."""

    def __init__(self) -> None:
        self._limiter = MovingWindowRateLimiter(MemoryStorage())
        self._each, self._all = parse_many(EACH), parse_many(ALL)

    def take(self, address: str | None) -> None:
        """Count one try. Raises `TooManyTries`, before anything is looked at."""
        limits = [
            *((one, ("each", _network(address))) for one in self._each),
            *((one, ("all",)) for one in self._all),
        ]
        full = [pair for pair in limits if not self._limiter.test(pair[0], *pair[1])]
        if full:
            raise self._too_many(full)
        for one, key in limits:
            self._limiter.hit(one, *key)

    def forgive(self, address: str | None) -> None:
        """Forget an address's tries, since the last was right."""
        for one in self._each:
            self._limiter.clear(one, "each", _network(address))

    def _too_many(self, full: list[tuple[RateLimitItem, tuple[str, ...]]]) -> TooManyTries:
        until = max(self._limiter.get_window_stats(one, *key).reset_time for one, key in full)
        error = TooManyTries(
            "Sign-in was tried too often.",
            [Problem("passphrase", None, EACH.replace(";", ", "), "Wait a little, then try again.")],
        )
        error.seconds = max(1, round(until - time.time()))
        return error


def _network(address: str | None) -> str:
    """An address as it is counted; of IPv6 the network, since one machine has many addresses in it."""
    try:
        found = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    if found.version == 6:
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
