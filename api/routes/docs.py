"""The files of the documentation page, from this machine and from nowhere else."""

from __future__ import annotations

from importlib.resources import files

from flask import Blueprint, Response, send_from_directory

PAGE = "/api/v1/docs"
_FILES = ("swagger-ui.css", "swagger-ui-bundle.js", "swagger-ui-standalone-preset.js")
# The page's own few lines stand in the page itself; nothing may come from elsewhere.
POLICY = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'self'; frame-ancestors 'none'; base-uri 'none'"
)

blp = Blueprint("docs_files", __name__, url_prefix=PAGE)


@blp.get(f"/files/<any({', '.join(repr(name) for name in _FILES)}):name>")
def file(name: str) -> Response:
    """One file of the page."""
    return send_from_directory(str(files("flask_swagger_ui") / "dist"), name, max_age=86_400)
