"""What every place of the page shares: its templates' words, its headers, its errors."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from importlib.resources import files
from typing import Any, cast

from flask import (
    Blueprint,
    Flask,
    Response,
    g,
    make_response,
    redirect,
    render_template,
    request,
    send_from_directory,
)
from markupsafe import Markup, escape
from werkzeug.exceptions import HTTPException

from api.errors import answer_own, answer_unforeseen, answer_web, status_of
from api.local import Local
from api.pages import eyes
from api.pages.amiss import NO_FORM, FormFields, amiss, marks, mending, placed
from api.pages.amounts import length, quantity, weight
from api.pages.answering import answer_address
from api.pages.done import forgotten, said
from api.pages.needs import need_in_words
from api.service import service
from api.upkeep.watching import failed, request_id
from themekit import __version__
from themekit.colour.names import lightness_word
from themekit.colour.space import hex_to_lab
from themekit.errors import ThemekitError
from themekit.suggest.draft import guessed
from themekit.suggest.left_out import left_out
from themekit.values import ALLERGENS

_HERE = files(__package__)
#: Places in the order of the navigation: address, word, what one finds there.
PLACES = (
    ("/", "Ideas", "kits for a theme or a customer's message"),
    ("/shelf", "Shelf", "jars, cutters, gels and boxes"),
    ("/idle", "Idle jars", "what stands unused, and uses for it"),
    ("/season", "Season", "the months ahead"),
    ("/orders", "Orders", "who wants what by when"),
    ("/week", "Week", "what to bake, mix and pack"),
)
# Nothing from elsewhere, no script or style inside the page; pictures may be data of the page's own.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'; font-src 'self'"
)
_STATIC = "/static"

blp = Blueprint("pages", __name__, template_folder="templates")


def register(app: Flask) -> None:
    """Bring the page to an application: places, templates' words, headers."""
    from api.pages import places
    from api.pages.colours import room_for_photos

    # Before anything looks into a form.
    app.before_request(room_for_photos)
    for place in places():
        app.register_blueprint(place)
    app.register_blueprint(blp)
    app.register_error_handler(404, not_here)
    app.register_error_handler(Exception, unforeseen)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters.update(
        money=money,
        day=day,
        shortday=lambda text: local().short_day(date.fromisoformat(text)),
        weight=lambda grams: weight(grams, local()),
        quantity=lambda amount, unit: quantity(amount, unit, local()),
        size=lambda mm: length(mm, local()),
        shade=shade,
        sentences=sentences,
        state=lambda word: "saved for later" if word == "sketched" else word,
        plural=plural,
    )
    app.jinja_env.filters.update(
        cautions=cautions, figure=figure, need=need_in_words, left_out=left_out, guessed=guessed, mending=mending
    )
    app.jinja_env.globals.update(
        swatch=swatch, amiss=amiss, marks=marks, places=PLACES, version=__version__, allergens=ALLERGENS
    )


@blp.post("/units")
def units() -> Response:
    """Remember the reader's units, and go back to where the switch was used."""
    return _remembered("units", "us" if request.form.get("units") == "us" else "metric")


@blp.post("/eyes")
def seen_as() -> Response:
    """Remember as whose eyes the page is seen, and go back to where the switch was used."""
    value = request.form.get("eyes", "")
    return _remembered(eyes.COOKIE, value if value in eyes.VISIONS else "")


def _remembered(name: str, value: str) -> Response:
    back = request.form.get("back", "/")
    # Only an address of this page; "//elsewhere" would lead away.
    made = redirect(back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/", 303)
    made.set_cookie(name, value, max_age=31_536_000, samesite="Lax", httponly=True)
    return cast(Response, made)


@blp.get("/underway/<name>")
def underway(name: str) -> Response:
    """How far the work is that answers a form still under way, as JSON; 0 of 0 where nothing is known of it."""
    at = service()
    done, of = at.underway.done(at.shelf_id, name) or (0, 0)
    return Response(json.dumps({"done": done, "of": of}), mimetype="application/json")


@blp.post("/underway/<name>/stop")
def stop(name: str) -> Response:
    """Have such work end; it changes nothing then."""
    at = service()
    at.underway.stop(at.shelf_id, name)
    return Response(status=204)


@blp.get(f"{_STATIC}/<path:name>")
def static_file(name: str) -> Response:
    """A style or script of the page, from this machine and from nowhere else."""
    return send_from_directory(str(_HERE / "static"), name, max_age=3600)


def show(template: str, status: int = 200, **values: Any) -> Response:
    """A place as HTML with the headers that keep it to itself."""
    at = service()
    row = at.shelf_row()
    common = {
        "shelf": row,
        "currency": row.currency or "",
        "today": at.today(),
        "units": request.cookies.get("units", "metric"),
        "here": request.path,
        # Back to the same answer, also of a form.
        "back_here": request.full_path.rstrip("?") if request.method in ("GET", "HEAD") else answer_address(),
        "eyes": eyes.chosen(),
        "visions": eyes.choices(),
        "was_done": said(),
    }
    page = eyes.seen(render_template(template, **{**common, **values}))
    return forgotten(_with_headers(make_response(page, status)))


def refused(error: ThemekitError) -> Response:
    """An error that a place has no better answer for; programs are told in JSON."""
    if request.path.startswith("/api/"):
        return answer_own(error)
    if status_of(error) >= 500:
        failed(error, foreseen=True)
    return _framed(status_of(error), heading="That cannot be done", error=told(error), back="/")


def _framed(status: int, **values: Any) -> Response:
    """A plain page in the shelf's frame, or without one where no shelf can be had."""
    try:
        return show("plain.html", status, **values)
    except ThemekitError as error:
        page = render_template("unusable.html", error=told(error), here=request.path)
        return _with_headers(make_response(page, status_of(error)))


def _with_headers(made: Response) -> Response:
    made.headers["Content-Security-Policy"] = POLICY
    made.headers["Referrer-Policy"] = "same-origin"
    made.headers["Cache-Control"] = "no-store"
    return made


def not_here(error: HTTPException) -> Response:
    """An address without a place; programs are told in JSON."""
    if request.path.startswith("/api/"):
        return answer_web(error)
    lines = ["It may have been taken off the list, or the address has a slip in it."]
    return _framed(404, heading="There is nothing here", lines=lines, back="/")


def unforeseen(error: Exception) -> Response:
    """Anything that went wrong by a fault of ours; programs are told in JSON."""
    answer = answer_unforeseen(error)
    if request.path.startswith("/api/"):
        return answer
    lines = [
        "Nothing was changed by what you just did; all that you kept is still there.",
        f"If it happens again, tell whoever looks after this program the number {request_id()}.",
    ]
    try:
        return _framed(500, heading="Something went wrong here", lines=lines, back="/")
    except Exception:
        # What failed may be what every place needs.
        return answer


def told(error: ThemekitError, form: FormFields = NO_FORM) -> dict[str, Any]:
    """An error as the templates tell it, with the elements of the form that it is about."""
    problems = [(p, _field_word(p.field)) for p in error.problems]
    return {"message": error.message, "short": getattr(error, "short", []), **placed(problems, form)}


#: What the page calls the fields that the store names.
_FIELD_WORDS = {
    "customer": "Customer",
    "contact": "How to reach them",
    "due": "Day",
    "date": "Day",
    "time": "Time",
    "total": "Price agreed",
    "deposit": "Paid ahead",
    "note": "Note",
    "said": "Their words",
    "kit": "Kit",
    "kits": "Kits",
    "name": "Name",
    "id": "Number",
    "theme": "Theme",
    "grams": "Amount",
    "gross_g": "Amount",
    "pieces": "Amount",
    "amount": "Amount",
    "level": "How",
    "full_g": "A full one holds",
    # What is ticked has its words beside it.
    "know": "",
    "dayless": "",
    "early": "",
    "sure": "",
}


def _field_word(field: str) -> str:
    """What the page calls a field such as order.total or jars.59; others as they are."""
    first, _, last = field.rpartition(".")
    if first == "jars" and last.isascii() and last.isdigit():
        at = service()
        return next((jar.name for jar in at.store.read(at.shelf_id).jars if str(jar.id) == last), f"Jar {last}")
    return _FIELD_WORDS.get(last, field) if first in ("", "order") else field


def swatch(hex_: str, name: str = "", large: bool = False) -> Markup:
    """A colour to see, with its name and lightness for those who don't see it."""
    label = f"{name or hex_}, {shade(hex_)}"
    size = 40 if large else 22
    return Markup(
        '<svg class="swatch" width="{s}" height="{s}" viewBox="0 0 22 22" role="img" aria-label="{label}">'
        '<rect x="1" y="1" width="20" height="20" rx="6" fill="{fill}"/></svg>'
    ).format(s=size, label=label, fill=hex_)


def shade(hex_: str) -> str:
    """How light a colour is, in one word."""
    return lightness_word(float(hex_to_lab(hex_)[0]))


def local() -> Local:
    """How days, numbers and money are written where the shelf is."""
    made = g.get("local")
    if made is None:
        made = g.local = Local(service().shelf_row().locale)
    return cast(Local, made)


def money(amount: Any, currency: str = "") -> str:
    """An amount with its currency, as the shelf's place writes it; a dash where it is not known."""
    return local().money(amount, currency)


def day(value: Any) -> str:
    """A day as people say it, such as Sat 5 December 2026; a dash where it is not known."""
    if not value:
        return "–"
    return local().day(date.fromisoformat(value) if isinstance(value, str) else value)


def plural(count: int, one: str, many: str = "") -> str:
    """A count with its noun."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def sentences(lines: Any) -> Markup:
    """Plain sentences as a list."""
    items = Markup("").join(Markup("<li>{}</li>").format(line) for line in lines)
    return Markup("<ul class='sentences'>{}</ul>").format(items) if items else Markup("")


# A source in brackets: it says a year, a body or that there is none.
_SOURCE = re.compile(
    r" \((?=(?:[^()]|\([^()]*\))*?(?:\d{4}|no source|no published|US FDA|University))(?:[^()]|\([^()]*\))+\)"
)


def cautions(lines: Any) -> Markup:
    """Cautions as a list: every word stays in sight, where it is from stands small behind it."""
    items = Markup("").join(Markup("<li>{}</li>").format(_caution(line)) for line in lines)
    return Markup("<ul class='sentences'>{}</ul>").format(items) if items else Markup("")


def _caution(line: str) -> Markup:
    parts, end = [], 0
    for found in _SOURCE.finditer(line):
        parts += [escape(line[end : found.start()]), Markup('<span class="source">{}</span>').format(found[0])]
        end = found.end()
    return Markup("").join([*parts, escape(line[end:])])


def figure(value: Any, digits: int | None = None) -> str:
    """A number as the shelf's place writes it; a dash where it is not known."""
    return "–" if value is None else local().number(value, digits)


def fields(form: Mapping[str, Any], *names: str) -> dict[str, str]:
    """Some of a form's fields as trimmed text, those left blank left out."""
    found = {name: str(form.get(name, "")).strip() for name in names}
    return {name: value for name, value in found.items() if value}


__all__ = ["PLACES", "POLICY", "blp", "fields", "register", "show", "told"]
