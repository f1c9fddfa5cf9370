"""What can go wrong with the store, each with its stable code."""

from __future__ import annotations

from themekit.errors import ThemekitError


class NotFound(ThemekitError, LookupError):
    """Nothing of that id or name on this shelf; another shelf's things count as absent."""

    code = "not_found"


class StaleVersion(ThemekitError, RuntimeError):
    """The row was changed by someone else since it was read."""

    code = "stale_version"


class NameTaken(ThemekitError, ValueError):
    """Another row of the same resource on this shelf already has that name."""

    code = "name_taken"


class ShelfUnclear(ThemekitError, LookupError):
    """There are several shelves and none was named; the problems list their names."""

    code = "shelf_unclear"


class StoreUnusable(ThemekitError, RuntimeError):
    """The database cannot be used: not ours, locked, read-only, unreachable or too new."""

    code = "store_unusable"


class NotAsShown(ThemekitError, RuntimeError):
    """An import whose file, choices or shelf are not those of the plan that was agreed to."""

    code = "not_as_shown"
