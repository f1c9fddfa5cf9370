"""The gate that every request passes before any route sees it."""

from __future__ import annotations

from flask import Flask, Response, g, request
from werkzeug.middleware.proxy_fix import ProxyFix

from api.access import door, phone
from api.access.errors import NotSignedIn
from api.access.forms import Guarded, check_token, csrf
from api.access.headers import careful
from api.access.listening import EXTENSION, Listening, listening
from api.access.origin import check_origin, check_type, check_way
from api.access.who import identify, present
from api.bringing import MOST_FORM
from api.photos import MOST_BYTES
from api.service import service
from catalog.access import Access
from themekit.errors import Problem, ThemekitError

#: Whether it lives and is ready; tells nothing of anyone.
HEALTH = ("health.alive", "health.health")
#: What answers without sign-in: health, signing in, and the page's styles and scripts.
OPEN = (*HEALTH, "door.sign_in", "door.enter", "pages.static_file")
_PHOTO = MOST_BYTES + 100_000
#: Addresses that take more than a form's worth, in bytes; their forms are read here first.
LARGER = {
    **dict.fromkeys(("photo.Photo", "many_page.many", "shelf_page.new", "shelf_page.one"), _PHOTO),
    "sheets.Import": MOST_FORM,
    "bring_page.bring": MOST_FORM,
}


def register(app: Flask, at: Listening) -> None:
    """Guard every address of an application that listens there."""
    app.extensions[EXTENSION] = at
    if at.proxied:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=1, x_proto=1, x_host=1)  # type: ignore[method-assign]
    app.jinja_env.add_extension(Guarded)
    app.jinja_env.globals.update(csrf=csrf, who=present)
    app.register_blueprint(door.blp)
    app.register_blueprint(phone.blp)
    app.before_request(come_in)
    app.after_request(careful)
    app.teardown_request(_let_go)


def come_in() -> Response | None:
    """Find out who asks, and turn away who may not."""
    at = listening()
    if request.endpoint in LARGER:
        request.max_content_length = request.max_form_memory_size = LARGER[request.endpoint]
    try:
        check_way(at)
        if request.endpoint in HEALTH:
            # These answer even when the database does not.
            return None
        g.who = who = identify(Access(service().store), at)
        if who.by == "nobody" and request.endpoint not in OPEN:
            hint = "Sign in on the page; a program sends the header Authorization: Bearer and its token."
            raise NotSignedIn("This needs a sign-in.", [Problem("Authorization", None, "a token", hint)])
        if who.by != "token":
            check_origin()
            check_token()
            check_type()
    except ThemekitError as error:
        return door.turned_away(error)
    return None


def _let_go(_: BaseException | None) -> None:
    """Close files that were sent, also those that no route looked at."""
    request.close()
