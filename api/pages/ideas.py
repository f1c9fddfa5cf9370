"""Ideas: a theme, a season or a customer's message in; kits as pictures out."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, request

from api import questions
from api.bodies import Body, number_in
from api.pages import eyes
from api.pages.amiss import FormFields
from api.pages.base import show, told
from api.pages.needs import in_address, needs_given
from api.pages.pictures import kit_of_idea, picture_of
from api.pages.taste import said_of
from api.service import service
from themekit.errors import ThemekitError
from themekit.values import ALLERGENS

blp = Blueprint("ideas_page", __name__)

#: Allergens that customers name most stand open; the others are behind a fold.
COMMON = ("milk", "egg", "wheat", "peanut", "tree nut", "soy", "sesame")
_SHOWN = 3
_FORM = FormFields("i-", ("theme", "age", "kits", "cookies"), {"youngest_age": "age"})


@blp.get("/")
def ideas() -> Response:
    """The first place: a field to say what the kit is for, and the answer below it."""
    asked = _asked()
    values: dict[str, Any] = {
        "asked": asked,
        "common": COMMON,
        "others": [a for a in ALLERGENS if a not in COMMON],
    }
    at = service()
    shelf = at.store.read(at.shelf_id)
    values |= {"empty": not shelf.jars, "names": {str(jar.id): jar.name for jar in shelf.jars}}
    if not asked["theme"]:
        return show("ideas.html", **values)
    try:
        answer = questions.ideas(at.store, at.shelf_id, _body(asked), at.today())
    except ThemekitError as error:
        return show("ideas.html", error=told(error, _FORM), **values)
    shown = []
    needs = needs_given(request.args)
    for number, idea in enumerate(answer["ideas"], 1):
        kit = kit_of_idea(idea, asked["theme"], shelf)
        alike, alike_to_others = eyes.of_answer(idea["palette"]["tints"], idea["trio"]["jars"])
        shown.append(
            {
                **idea,
                "alike": alike,
                "alike_to_others": alike_to_others,
                "number": number,
                "picture": picture_of(kit, f"k{number}", f"Idea {number} from above"),
                "table": table_address(idea, asked["theme"], answer["kits"], needs),
            }
        )
    for idea, said in zip(shown, said_of(asked["theme"], shown), strict=True):
        idea["said"] = said
    shared = _shared(shown)
    return show("ideas.html", answer=answer, ideas=shown, shared=shared, **values)


def table_address(idea: dict[str, Any], theme: str, kits: int, needs: dict[str, Any]) -> str:
    """The address at which an idea lies on the table, with the needs given, to change it by hand."""
    query = [("theme", theme), ("kits", kits), ("serve", idea["trio"]["serve"])]
    query += [("t", tint["hex"].lstrip("#")) for tint in idea["palette"]["tints"]]
    query += [("j", jar["id"]) for jar in idea["trio"]["jars"]]
    query += [("c", f"{cutter['id']}:{cutter['cookies']}") for cutter in idea["cutters"]]
    body = Body({"needs": needs}, ("needs",))
    query += in_address(body.needs())
    return "/kit?" + urlencode(query)


def _asked() -> dict[str, Any]:
    """What the form holds."""
    args = request.args
    return {
        "theme": args.get("theme", "").strip(),
        "kits": args.get("kits", "").strip(),
        "cookies": args.get("cookies", "").strip(),
        "age": args.get("age", "").strip(),
        "diet": args.get("diet", "").strip(),
        "serve": args.get("serve", "").strip(),
        "avoid": args.getlist("avoid"),
        "stock": bool(args.get("stock")),
        "count": args.get("count", "").strip(),
        "use": [int(id) for id in args.getlist("use") if id.isascii() and id.isdigit() and len(id) < 10],
    }


def _body(asked: dict[str, Any]) -> dict[str, Any]:
    """The form as the service takes it."""
    needs = needs_given(request.args)
    body: dict[str, Any] = {"theme": asked["theme"], "count": _SHOWN}
    body |= {name: number_in(asked[name]) for name in ("kits", "cookies", "count") if asked[name]}
    body |= {"serve": asked["serve"]} if asked["serve"] else {}
    return body | ({"needs": needs} if needs else {})


def _shared(ideas: list[dict[str, Any]]) -> list[str]:
    """Cautions that every idea has; they are told once."""
    if not ideas:
        return []
    return [c for c in ideas[0]["cautions"] if all(c in other["cautions"] for other in ideas)]
