"""Reading a batch as it is asked for: an idea, how many kits of it, for when and whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from catalog.fields import Checks
from catalog.lookup import LARGEST_ID, possible
from catalog.rows import Record
from catalog.shelf_fields import merged_settings
from themekit.colour.space import hex_to_lab
from themekit.errors import Problem, ThemekitError
from themekit.suggest.keep import made_of
from themekit.suggest.palettes import tints_within_reach
from themekit.values import Dose, Gel, Shelf

#: The parts of a batch that say what is in a kit, and the others that a person can enter.
CHOICE = ("tints", "jars", "cutters", "serve")
DETAILS = ("name", "theme", "kits", "due", "order", "needs", "settings", "note")
MOST_COOKIES = 100
MOST_CUTTERS = 20
MOST_KITS = 1_000


def flattened(body: Mapping[str, Any]) -> Record:
    """A body with the parts of its `idea`, as the service gave it, brought to the top."""
    idea = body.get("idea")
    flat = {name: value for name, value in body.items() if name != "idea"}
    if not isinstance(idea, Mapping):
        return flat
    palette, trio = idea.get("palette"), idea.get("trio")
    if isinstance(palette, Mapping):
        flat.setdefault("tints", palette.get("tints"))
    if isinstance(trio, Mapping):
        flat.setdefault("jars", trio.get("jars"))
        flat.setdefault("serve", trio.get("serve"))
    for name in ("tints", "jars", "cutters", "serve"):
        if idea.get(name) is not None:
            flat.setdefault(name, idea[name])
    return flat


def check_batch(
    body: Any, shelf: Shelf, staples: Sequence[Gel], old: Record | None = None
) -> tuple[Record, list[Problem]]:
    """The clean form of a batch, with `old` under it for a change, and every problem."""
    checks = Checks()
    if not isinstance(body, Mapping):
        checks.wrong("batch", body, "an object with an idea and kits", "Send an object.")
        return {}, checks.problems
    known = (*DETAILS, *CHOICE, "idea")
    for name in body:
        if name not in known:
            near = get_close_matches(str(name)[:60], known, n=1)
            hint = f"Did you mean {near[0]}?" if near else "Leave it out."
            path = str(name)[:60].encode("utf-8", "replace").decode()
            checks.wrong(path, body[name], "one of " + ", ".join(known), hint)
    if body.get("idea") is not None and not isinstance(body["idea"], Mapping):
        checks.wrong("idea", body["idea"], "an idea as POST /api/v1/ideas gives it", "Send the object.")
    given = {**(old or {}), **flattened(body)}
    clean = {**_details(checks, given), **_choice(checks, given, shelf, staples)}
    clean["settings"], problems = merged_settings(
        {} if old is None else old["settings"], flattened(body).get("settings", {})
    )
    if not clean["name"] and clean["theme"]:
        clean["name"] = clean["theme"][:120]
    return clean, [*checks.problems, *problems]


def _details(checks: Checks, given: Record) -> Record:
    kits = checks.whole("kits", given.get("kits"), least=1, most=MOST_KITS)
    if given.get("kits") is None:
        checks.wrong("kits", None, f"a whole number from 1 to {MOST_KITS}", "Say how many kits.")
    needs = given.get("needs")
    if needs is not None and not isinstance(needs, Mapping):
        checks.wrong("needs", needs, "an object, as POST /api/v1/ideas takes it", "Send an object.")
        needs = None
    return {
        "name": checks.text("name", given.get("name")) or "",
        "theme": checks.text("theme", given.get("theme"), longest=2000) or "kit",
        "kits": kits,
        "due": checks.day("due", given.get("due")),
        "order": checks.whole("order", given.get("order"), least=1, most=LARGEST_ID),
        "needs": dict(needs or {}),
        "note": checks.text("note", given.get("note"), longest=2000),
    }


def _choice(checks: Checks, given: Record, shelf: Shelf, staples: Sequence[Gel]) -> Record:
    serve = checks.choice("serve", given.get("serve") or "apart", ("apart", "mixed"))
    return {
        "tints": _tints(checks, given.get("tints"), shelf, staples),
        "jars": _jars(checks, given.get("jars"), shelf),
        "cutters": _cutters(checks, given.get("cutters"), shelf),
        "serve": serve,
    }


def _list(checks: Checks, field: str, value: Any, most: int, what: str, least: int = 1) -> list[Any]:
    if isinstance(value, list | tuple) and least <= len(value) <= most:
        return list(value)
    got = value if not isinstance(value, list | tuple) else f"a list of {len(value)}"
    checks.wrong(field, got, f"a list of {least} to {most} {what}", f"Send {what}, or a whole idea.")
    return []


def _tints(checks: Checks, value: Any, shelf: Shelf, staples: Sequence[Gel]) -> list[Record]:
    """Hex colours, or tints with their recipes; a colour alone gets the best recipe of her gels."""
    found = []
    for number, one in enumerate(_list(checks, "tints", value, 6, "icing tints")):
        field = f"tints.{number}"
        hex_ = one.get("hex") if isinstance(one, Mapping) else one
        recipe = one.get("recipe") if isinstance(one, Mapping) else None
        try:
            lab = hex_to_lab(hex_) if isinstance(hex_, str) else None
        except (ThemekitError, ValueError):
            lab = None
        if lab is None:
            checks.wrong(field, hex_, "a colour such as #2a9d8f, or a tint with hex and recipe")
            continue
        doses = _doses(checks, field, recipe, shelf, staples)
        if doses is None:
            # By the same rule as a colour that is laid on the table.
            doses = list(made_of(str(hex_), tints_within_reach((*shelf.gels, *staples))).tint.recipe)
        found.append(
            {
                "hex": str(hex_).lower(),
                "recipe": [{"gel": d.gel, "gel_id": d.gel_id, "g_per_100g": d.g_per_100g} for d in doses],
            }
        )
    return found


def _doses(checks: Checks, field: str, recipe: Any, shelf: Shelf, staples: Sequence[Gel]) -> list[Dose] | None:
    if recipe is None:
        return None
    gels = {gel.id: gel for gel in shelf.gels}
    staple_names = {gel.name for gel in staples}
    doses = []
    for number, one in enumerate(_list(checks, f"{field}.recipe", recipe, 6, "doses of gel", least=0)):
        path = f"{field}.recipe.{number}"
        if not isinstance(one, Mapping):
            checks.wrong(path, one, "an object with gel_id, or gel, and g_per_100g")
            continue
        id, name = one.get("gel_id"), one.get("gel")
        grams = checks.number(f"{path}.g_per_100g", one.get("g_per_100g"), most=50, unit="g in 100 g", decimals=6)
        if possible(id) and id in gels:
            name = gels[id].name
        elif id is not None or not isinstance(name, str) or name not in staple_names:
            checks.wrong(f"{path}.gel_id", id, "the id of a gel on this shelf, or null for a kitchen staple")
            continue
        if grams is None:
            checks.wrong(f"{path}.g_per_100g", None, "a number from 0 to 50")
            continue
        doses.append(Dose(str(name), id, grams))
    return doses


def _jars(checks: Checks, value: Any, shelf: Shelf) -> list[Record]:
    known = {jar.id for jar in shelf.jars}
    found: list[Record] = []
    listed = _list(checks, "jars", value, 6, "jars")
    for number, one in enumerate(listed):
        id = one.get("id") if isinstance(one, Mapping) else one
        share = one.get("share") if isinstance(one, Mapping) else None
        if isinstance(id, bool) or not isinstance(id, int) or id not in known:
            checks.wrong(
                f"jars.{number}", id, "the id of a jar on this shelf", "List the jars to see what there is."
            )
        elif any(id == other["id"] for other in found):
            checks.wrong(f"jars.{number}", id, "each jar once", "Leave it out, or choose another.")
        else:
            found.append(
                {"id": id, "share": checks.number(f"jars.{number}.share", share, most=1, unit="of the whole")}
            )
    shares = [one["share"] for one in found if one["share"]]
    total = sum(shares)
    # Without a jar that was wrong the others cannot add up.
    if shares and len(found) == len(listed) and (len(shares) < len(found) or abs(total - 1) > 0.01):
        allowed = "shares above 0 that add up to 1, or none"
        checks.wrong("jars", round(total, 4), allowed, "Correct the shares, or leave them all out.")
    for one in found:
        one["share"] = (one["share"] or 0) / total if total else 1 / len(found)
    return found


def _cutters(checks: Checks, value: Any, shelf: Shelf) -> list[Record]:
    known = {cutter.id for cutter in shelf.cutters}
    found: list[Record] = []
    for number, one in enumerate(_list(checks, "cutters", value, MOST_CUTTERS, "cutters with their cookies")):
        path = f"cutters.{number}"
        if not isinstance(one, Mapping):
            checks.wrong(path, one, "an object with id and cookies")
            continue
        id = one.get("id")
        cookies = checks.whole(f"{path}.cookies", one.get("cookies"), least=1, most=MOST_COOKIES)
        if isinstance(id, bool) or not isinstance(id, int) or id not in known:
            checks.wrong(
                f"{path}.id", id, "the id of a cutter on this shelf", "List the cutters to see what there is."
            )
        elif any(id == other["id"] for other in found):
            checks.wrong(f"{path}.id", id, "each cutter once", "Add its cookies up.")
        elif cookies is None and one.get("cookies") is None:
            checks.wrong(f"{path}.cookies", None, f"a whole number from 1 to {MOST_COOKIES}")
        elif cookies is not None:
            found.append({"id": id, "cookies": cookies})
    if sum(one["cookies"] for one in found) > MOST_COOKIES:
        checks.wrong("cutters", sum(one["cookies"] for one in found), f"at most {MOST_COOKIES} cookies in a kit")
    return found
