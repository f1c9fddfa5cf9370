"""Why someone is turned away at the door."""

from __future__ import annotations

from themekit.errors import ThemekitError


class WrongHost(ThemekitError, PermissionError):
    """A name or address that this service does not go by, or a way that it is not meant to be reached."""

    code = "wrong_host"


class FromElsewhere(ThemekitError, PermissionError):
    """A change that a page of another address wants made."""

    code = "from_elsewhere"


class NotSignedIn(ThemekitError, PermissionError):
    """Nobody known: no sign-in and no token, or one that is not good (then `bad_token`)."""

    code = "not_signed_in"
    bad_token = False


class TooManyTries(ThemekitError, PermissionError):
    """Sign-in was tried too often; `seconds` tells when it may be tried again."""

    code = "too_many_tries"
    seconds = 60
