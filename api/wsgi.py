"""The application for a WSGI server of one's own, such as gunicorn; set up by the environment.

THEMEKIT_DATABASE   where the shelves are kept
THEMEKIT_SHELF      the shelf to serve, if there are several
THEMEKIT_LOG        errors, requests (usual) or personal
"""

from __future__ import annotations

import os

from flask import Flask

from api.app import create_app
from api.upkeep.log import USUAL, configure
from catalog.lexicon import lexicon
from catalog.store import Store


def create() -> Flask:
    """The application over the database that the environment names. Raises `ThemekitError`."""
    level = os.environ.get("THEMEKIT_LOG") or USUAL
    configure(level)
    store = Store(os.environ.get("THEMEKIT_DATABASE") or None)
    # Now rather than in the first request.
    lexicon()
    return create_app(store, os.environ.get("THEMEKIT_SHELF") or None, personal_log=level == "personal")
