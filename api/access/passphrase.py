"""The passphrase: what may be one, its slow hash, and the check in constant time."""

from __future__ import annotations

import unicodedata
from threading import Lock

from werkzeug.security import check_password_hash, generate_password_hash

from catalog.access import Access
from themekit.errors import InvalidValue, Problem

VARIABLE = "THEMEKIT_PASSPHRASE"
LEAST, MOST = 12, 200
# Each check takes 32 MB and a moment of one core (scrypt, RFC 7914, N = 2^15); many at once would
# be a way to wear the service out.
_METHOD = "scrypt:32768:8:1"
_ONE_AT_A_TIME = Lock()
_NOBODYS = (
    "scrypt:32768:8:1$nobodys$0000000000000000000000000000000000000000000000000000000000000000"
    "0000000000000000000000000000000000000000000000000000000000000000"
)


def _plain(text: str) -> str:
    # The same letters typed on another keyboard are the same passphrase (NIST SP 800-63B, 5.1.1.2).
    return unicodedata.normalize("NFKC", text)


def hashed(text: str) -> str:
    """The hash of a new passphrase. Raises `InvalidValue` for one that is too short or too long."""
    clean = _plain(text)
    if not LEAST <= len(clean) <= MOST or len(set(clean)) < 5:
        allowed = f"{LEAST} to {MOST} characters, at least five of them different"
        hint = "Take four words or more that you will remember."
        got = f"{len(clean)} characters"
        raise InvalidValue("This passphrase cannot be used.", [Problem("passphrase", got, allowed, hint)])
    return generate_password_hash(clean, _METHOD)


def matches(hash: str | None, text: str) -> bool:
    """Whether it is the passphrase; takes as long where there is none."""
    clean = _plain(text)[: MOST + 1]
    with _ONE_AT_A_TIME:
        same = check_password_hash(hash or _NOBODYS, clean)
    return same and hash is not None


def ensure(access: Access, shelf_id: int, given: str | None) -> None:
    """Set the given passphrase, if it is another than the one kept; raise `InvalidValue` if there is none."""
    kept = access.passphrase_hash(shelf_id)
    if given:
        if not matches(kept, given):
            access.set_passphrase(shelf_id, hashed(given))
    elif kept is None:
        hint = f"Set one with: themekit passphrase; or in the environment, as {VARIABLE}."
        problem = Problem("passphrase", None, "a passphrase that others sign in with", hint)
        raise InvalidValue("Without a passphrase the shelf is served on this machine only.", [problem])
