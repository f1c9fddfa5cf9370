"""Many jars in little time: name, kind, colour and, if she likes, how much; what they lack is listed for later."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, redirect, request, url_for

from api.pages.amiss import FormFields
from api.pages.base import show, told
from api.pages.colours import Row, cell_of, lacking, palette, photo_given, read_photo
from api.pages.forms import WORDS, record_of
from api.pages.shelf import everything
from api.service import service
from catalog.move_fields import LEVELS
from catalog.rows import Record
from themekit.errors import InvalidValue, Problem, ThemekitError

blp = Blueprint("many_page", __name__, url_prefix="/shelf/jars")
_BY_WORD = {WORDS[name][0]: name for name in ("name", "kind", "colours")}
_FORM = FormFields("q-", ("name", "kind", "colours", "photo", "level", "grams"), {"share": "colours"} | _BY_WORD)
_LATEST, _SHOWN = 12, 200
_WEIGHED = "weighed"
#: The colours that stand open to be tapped, by name; the others of the palette are behind a fold.
_USUAL = frozenset(
    "silver grey,black,baby pink,candy pink,hot pink,raspberry,coral,red,cherry red,burgundy,peach,orange,"
    "burnt orange,butter yellow,lemon yellow,golden yellow,gold,champagne,caramel,milk chocolate brown,"
    "chocolate brown,mint green,lime green,grass green,emerald green,forest green,teal,turquoise,baby blue,"
    "sky blue,royal blue,navy blue,lavender,violet,purple,plum,white,ivory,dusty rose,bronze".split(",")
)


@blp.route("/many", methods=["GET", "POST"])
def many() -> Response:
    """One jar after another; with a photo and no colour tapped its colours are shown first, to be corrected."""
    if request.method == "GET":
        return _shown({"kind": request.args.get("kind", "")}, added=request.args.get("added", ""))
    at, form = service(), request.form
    cells = {name: form.get(name, "").strip() for name in ("name", "kind")}
    level, grams = form.get("level", "").strip(), form.get("grams", "").strip()
    given: dict[str, Any] = {**cells, "taps": form.getlist("tap"), "level": level, "grams": grams}
    try:
        data = photo_given()
        colours = cell_of(form)
        if data is not None and (form.get("read") or not colours):
            photo = read_photo(data, cells["name"])
            return _shown(given, rows=list(photo.rows), photo=photo.told)
        if not colours:
            problem = Problem("colours", None, "at least one", "Tap a colour, pick one, or take a photo.")
            raise InvalidValue("The jar has no colour yet.", [problem])
        cells |= {"colours": colours} | _amount(level, grams)
        row = at.store.create(at.shelf_id, "jars", record_of("jars", cells, at.store.kinds))
        if level in LEVELS:
            at.stock.record(at.shelf_id, {"jar": row["id"], "kind": "counted", "level": level})
    except ThemekitError as error:
        return _shown(given, error, rows=_typed(form))
    made: Any = redirect(url_for("many_page.many", added=row["name"], kind=cells["kind"]), 303)
    return made  # type: ignore[no-any-return]


def _amount(level: str, grams: str) -> dict[str, str]:
    """The cell that the grams belong to: what is there, or by eye what a full jar holds."""
    if level in LEVELS and not grams:
        hint = "It stands on its label, such as 200. Or choose “later”."
        raise InvalidValue(
            "How much is in the jar cannot be told yet.",
            [Problem("grams", None, "how much is in a full one, in grams", hint)],
        )
    if level and level not in (*LEVELS, _WEIGHED):
        allowed = ", ".join((*LEVELS, _WEIGHED))
        raise InvalidValue("How much is in the jar cannot be read.", [Problem("level", level, allowed, "")])
    return ({"full_g": grams} if level in LEVELS else {"on_hand_g": grams}) if grams else {}


@blp.get("/lacking")
def later() -> Response:
    """Jars that still lack facts."""
    rows = _lacking(everything("jars"))
    return show("lacking.html", rows=rows[:_SHOWN], total=len(rows))


def _shown(
    given: dict[str, Any],
    error: ThemekitError | None = None,
    rows: list[Row] | None = None,
    added: str = "",
    photo: Any = (),
) -> Response:
    at = service()
    jars = everything("jars")
    values = {
        "given": given,
        "rows": rows or [Row("#c8253b", used=False)],
        "photo": photo,
        "added": added,
        "kinds": [kind.name for kind in at.store.kinds],
        "palette": palette(),
        "levels": [level for level in LEVELS if level != "empty"],
        "usual": _USUAL,
        "latest": sorted(_lacking(jars), key=lambda one: -one["id"])[:_LATEST],
        "lacking": len(_lacking(jars)),
        "count": len(jars),
    }
    return show("many.html", 422 if error else 200, **values, **({"error": told(error, _FORM)} if error else {}))


def _lacking(jars: list[Record]) -> list[Record]:
    return [{**row, "lacking": missing} for row in jars if (missing := lacking(row))]


def _typed(form: Any) -> list[Row]:
    """The swatches as they were sent, whatever is wrong with them."""
    used = set(form.getlist("use"))
    shares, exacts = form.getlist("s"), form.getlist("o")
    return [
        Row(hex_, shares[i] if i < len(shares) else "", str(i) in used, "", exacts[i] if i < len(exacts) else "")
        for i, hex_ in enumerate(form.getlist("c")[:40])
    ]
