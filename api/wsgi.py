"""The application for a WSGI server of one's own, such as gunicorn; set up by the environment.

THEMEKIT_DATABASE   where the shelves are kept
THEMEKIT_SHELF      the shelf to serve, if there are several
THEMEKIT_HOST       the address it listens at; 0.0.0.0 for all. Left out, it answers its own machine only
THEMEKIT_PROXIED    1 where one proxy stands in front and sets X-Forwarded-For, -Proto and -Host
THEMEKIT_PASSPHRASE the passphrase of the shelf served; left out, the one that was set before
THEMEKIT_LOG        errors, requests (usual) or personal
"""

from __future__ import annotations

import os

from flask import Flask

from api.access.listening import HOST, Listening
from api.access.passphrase import VARIABLE, ensure
from api.app import create_app
from api.upkeep.log import USUAL, configure
from catalog.access import Access
from catalog.lexicon import lexicon
from catalog.store import Store


def create() -> Flask:
    """The application over the database that the environment names. Raises `ThemekitError`."""
    level = os.environ.get("THEMEKIT_LOG") or USUAL
    configure(level)
    store = Store(os.environ.get("THEMEKIT_DATABASE") or None)
    # Now rather than in the first request.
    lexicon()
    shelf = os.environ.get("THEMEKIT_SHELF") or None
    at = Listening(os.environ.get("THEMEKIT_HOST") or HOST, None, os.environ.get("THEMEKIT_PROXIED") == "1")
    if os.environ.get(VARIABLE):
        ensure(Access(store), store.shelf_named(shelf).id, os.environ[VARIABLE])
    return create_app(store, shelf, listening=at, personal_log=level == "personal")
