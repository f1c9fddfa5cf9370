"""The web application: the API, its documentation, one shape of errors."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from flask import Flask, Response
from flask_smorest import Api
from werkzeug.routing import IntegerConverter

from api import errors
from api.access import gate
from api.access.listening import Listening
from api.pages import answering
from api.pages import base as pages
from api.routes import BLUEPRINTS, docs
from api.schemas.errors import ErrorBody
from api.service import EXTENSION, Service
from api.upkeep import watching
from catalog.lookup import LARGEST_ID
from catalog.store import Store
from themekit import __version__
from themekit.errors import ThemekitError


class RowId(IntegerConverter):
    """An id in an address; longer ones cannot be any row's."""

    regex = r"\d{1,10}"


class DocumentedApi(Api):  # type: ignore[misc]
    """flask-smorest's OpenAPI document with our shape of errors."""

    ERROR_SCHEMA = ErrorBody
    # Every status is documented by itself; a default would hide one that is forgotten.
    DEFAULT_ERROR_RESPONSE_NAME = None

    def handle_http_exception(self, error: Any) -> Response:
        """Answer an error of the web itself."""
        return errors.answer_web(error)


def create_app(
    store: Store,
    shelf: str | None = None,
    today: Callable[[], date] = date.today,
    *,
    listening: Listening | None = None,
    personal_log: bool = False,
) -> Flask:
    """The application over one store.

    Parameters
    ----------
    store   where the shelves are kept.
    shelf   the name of the shelf that is served; None for the only one there is.
    today   gives the present day; asked anew for every question.
    personal_log  whether the log also holds what people send.
    listening  where it listens, and so who may come in; None for this machine alone.
    """
    app = Flask("themekit", static_folder=None)
    app.extensions[EXTENSION] = Service(store, shelf, today)
    watching.register(app, personal_log)
    app.config.update(
        MAX_CONTENT_LENGTH=errors.MOST_BYTES,
        API_TITLE="themekit",
        API_VERSION=__version__,
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api/v1",
        OPENAPI_JSON_PATH="openapi.json",
        OPENAPI_SWAGGER_UI_PATH="docs",
        OPENAPI_SWAGGER_UI_URL=f"{docs.PAGE}/files/",
        # Without this the page would have the document checked by a service elsewhere.
        OPENAPI_SWAGGER_UI_CONFIG={"validatorUrl": None},
        # On this machine alone nothing is needed.
        API_SPEC_OPTIONS={"security": [{}, {"token": []}]},
    )
    app.url_map.converters["row"] = RowId
    api = DocumentedApi(app)
    api.register_converter(RowId, _row_id_schema)
    about = "A program's token names its shelf: themekit token new NAME. Browsers sign in on the page instead."
    api.spec.components.security_scheme("token", {"type": "http", "scheme": "bearer", "description": about})
    for blueprint in BLUEPRINTS:
        api.register_blueprint(blueprint)
    app.register_blueprint(docs.blp)
    errors.register(app)
    pages.register(app)
    app.register_error_handler(ThemekitError, pages.refused)
    gate.register(app, listening or Listening())
    answering.register(app)
    return app


def _row_id_schema(_: RowId) -> dict[str, Any]:
    return {"type": "integer", "minimum": 1, "maximum": LARGEST_ID}
