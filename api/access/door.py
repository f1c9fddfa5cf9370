"""The door: signing in and out, and the page of those who are turned away."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, make_response, redirect, render_template, request

from api.access import tries
from api.access.errors import NotSignedIn, TooManyTries
from api.access.listening import unread_by_others
from api.access.origin import READS
from api.access.passphrase import matches
from api.access.who import COOKIE, present
from api.errors import answer_own, status_of
from api.pages.amiss import FormFields, placed
from api.pages.base import told
from api.service import service
from catalog.access import LONGEST, Access
from catalog.errors import NotFound, ShelfUnclear
from themekit.errors import Problem, ThemekitError

_REALM = 'Bearer realm="themekit"'

blp = Blueprint("door", __name__)


def page(template: str, status: int = 200, **values: Any) -> Response:
    """A page that tells nothing of any shelf."""
    made = make_response(render_template(template, **values), status)
    # These addresses may hold a link's secret.
    made.headers["Referrer-Policy"] = "strict-origin"
    return made


def turned_away(error: ThemekitError) -> Response:
    """The answer to someone who may not come in: where to sign in, or why not."""
    for_program = request.path.startswith("/api/")
    if isinstance(error, NotSignedIn) and not error.bad_token and not for_program and request.method in READS:
        return to("/sign-in?" + urlencode({"next": request.full_path.rstrip("?")}))
    if for_program:
        made = answer_own(error)
    else:
        signed_out = isinstance(error, NotSignedIn)
        made = page("turned_away.html", status_of(error), error=told(error), signed_out=signed_out)
    if isinstance(error, NotSignedIn):
        # RFC 6750, section 3.
        made.headers["WWW-Authenticate"] = _REALM + (', error="invalid_token"' if error.bad_token else "")
    if isinstance(error, TooManyTries):
        made.headers["Retry-After"] = str(error.seconds)
    return made


@blp.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Response:
    """Ask for the passphrase; the right one opens the shelf on this browser."""
    wanted = own_address(request.values.get("next", "/"))
    if present().by != "nobody":
        return to(wanted)
    if request.method == "GET":
        return _asking(wanted, wrong="wrong" in request.args)
    try:
        tries.take(service().store, request.remote_addr)
    except TooManyTries as error:
        return turned_away(error)
    access, shelf_id = Access(service().store), _shelf_meant()
    hash = None if shelf_id is None else access.passphrase_hash(shelf_id)
    good = matches(hash, request.form.get("passphrase", ""))
    secret = access.begin_session(shelf_id, hash) if good and shelf_id is not None else None
    if secret is None:
        if "text/html" not in request.headers.get("Accept", ""):
            return _asking(wanted, wrong=True)
        # A browser that loads this anew or comes back to it is not to send the passphrase once more.
        shelf = {"shelf": request.form["shelf"][:120]} if request.form.get("shelf") else {}
        return to("/sign-in?" + urlencode({"next": wanted, "wrong": 1, **shelf}))
    tries.forgive(service().store, request.remote_addr)
    return signed_in(secret, wanted)


@blp.post("/sign-out")
def sign_out() -> Response:
    """Forget this browser."""
    who = present()
    if who.by == "session":
        Access(service().store).end_session(who.secret)
    made = to("/sign-in")
    made.delete_cookie(COOKIE, httponly=True, samesite="Lax", secure=request.is_secure)
    return made


@blp.route("/enter", methods=["GET", "POST"])
def enter() -> Response:
    """Sign a phone in by a link. Only the tap uses it up, so that a preview of the link does not."""
    access, key = Access(service().store), request.values.get("key", "")
    if request.method == "GET":
        good = bool(key) and access.shelf_of_link(key) is not None
        return page("enter.html", 200 if good else 410, key=key if good else None)
    try:
        tries.take(service().store, request.remote_addr)
    except TooManyTries as error:
        return turned_away(error)
    secret = access.use_link(key)
    if secret is None:
        return page("enter.html", 410, key=None)
    tries.forgive(service().store, request.remote_addr)
    return signed_in(secret, "/")


def signed_in(secret: str, address: str) -> Response:
    """Lead on, with the session's cookie."""
    made = to(address)
    made.set_cookie(
        COOKIE,
        secret,
        max_age=int(LONGEST.total_seconds()),
        httponly=True,
        samesite="Lax",
        secure=request.is_secure,
    )
    return made


def own_address(address: str, otherwise: str = "/") -> str:
    """An address of this page; what would lead elsewhere leads to `otherwise`."""
    own = address.startswith("/") and not address.startswith(("//", "/\\"))
    return address if own and not any(sign < " " for sign in address) else otherwise


def to(address: str) -> Response:
    """Lead the browser on."""
    made: Any = redirect(address, 303)
    return made  # type: ignore[no-any-return]


def _asking(wanted: str, wrong: bool = False) -> Response:
    return page(
        "sign_in.html",
        403 if wrong else 200,
        wanted=wanted,
        **({"error": _wrong()} if wrong else {}),
        shelf=request.values.get("shelf", ""),
        plain=not unread_by_others(),
        ask_shelf=_served() is None,
    )


def _wrong() -> dict[str, Any]:
    """That it was the wrong passphrase, or the wrong shelf: which of the two is not told."""
    shelf = "" if _served() is not None else "the shelf's name, "
    hint = f"Mind {shelf}capitals and blanks, and try again."
    anew = "It can be set anew on the computer that keeps the shelf: themekit passphrase."
    form = FormFields("", ("passphrase",))
    problem = Problem("passphrase", None, "", f"{hint} {anew}")
    return {"message": "That was not it.", **placed([(problem, "Passphrase")], form)}


def _served() -> int | None:
    """The shelf that this service is for; None where it is for several."""
    try:
        return service().served().id
    except (ShelfUnclear, NotFound):
        return None


def _shelf_meant() -> int | None:
    served = _served()
    if served is not None:
        return served
    try:
        return service().store.shelf_named(request.form.get("shelf", "")).id
    except (ShelfUnclear, NotFound):
        return None
