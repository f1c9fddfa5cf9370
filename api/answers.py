"""The core's values as JSON dicts: one form for the service and for the command line's --json.

Scores and parts are 0–1, `lab` has two decimals, masses are grams, money is text with two
decimals in the shelf's currency. What is None is not known.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np

from catalog.colours import MILLION, millionths
from themekit.colour.names import Names
from themekit.colour.space import lab_to_hex, labs_to_hex
from themekit.suggest.asked import Asked, unwanted
from themekit.suggest.blend import mean_colour
from themekit.suggest.cutters import Chosen
from themekit.suggest.ideas import Answer, Idea, InShort, ToldPalette, ToldTrio
from themekit.suggest.idle import IdleJar, Use
from themekit.suggest.needs import Allowed, Unmet
from themekit.suggest.palettes import Palette, Unreached
from themekit.suggest.theme import Reading
from themekit.suggest.trios import Trio
from themekit.values import Anchor, Jar, Shelf, Tint

Json = dict[str, Any]
#: Fields of a request that are facts of the order, not needs.
_FACTS = ("kits", "cookies", "date")


def to_json(value: Any) -> str:
    """Compact JSON with keys in the order given and every script as it is written."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    # A lone half of a surrogate pair has no UTF-8 form.
    return text.encode("utf-8", "replace").decode("utf-8")


def lab_list(lab: Iterable[float]) -> list[float]:
    """[L, a, b] to two decimals, without a negative zero."""
    return [round(float(v), 2) + 0.0 for v in lab]


def money(amount: Decimal | None) -> str | None:
    """An amount as text, such as "0.84"."""
    return None if amount is None else f"{amount:f}"


def reading(read: Reading, names: Names) -> Json:
    """What a phrase was understood to mean; the anchors' weights add up to 1."""
    return {
        "text": read.text,
        "anchors": _anchors(read.anchors, names),
        "motifs": [{"word": m.word, "weight": m.weight, "kind": m.kind, "of": m.of} for m in read.motifs],
        "understood": [
            {"words": u.words, "as": u.taken_as, "name": u.name, "how": u.how, "sureness": u.sureness}
            for u in read.understood
        ],
        "unknown": list(read.unknown),
        "sureness": read.sureness,
        "fallback": read.fallback,
    }


def _anchors(anchors: Sequence[Anchor], names: Names) -> list[Json]:
    if not anchors:
        return []
    labs = [a.lab for a in anchors]
    weights = millionths([a.weight for a in anchors])
    rows = zip(anchors, labs_to_hex(labs), names.nearest_many(labs), weights, strict=True)
    return [
        {"hex": colour, "lab": lab_list(a.lab), "name": name, "weight": weight / MILLION, "from": a.source}
        for a, colour, (name, _), weight in rows
    ]


def applied_needs(asked: Asked, shelf: Shelf) -> Json:
    """The needs as applied, each with its source: "given", or the words it was read from."""
    needs, said = asked.needs, asked.request.said
    words: dict[tuple[str, Any], str] = {("avoid_colours", c): w for c, w in unwanted(asked.request, asked.lookup)}
    for s in said:
        words.setdefault((s.field, s.value), s.words)
        if s.field == "avoid_kinds":
            for jar in shelf.jars:
                if jar.kind == s.value:
                    words.setdefault(("skip_jars", jar.id), s.words)
    applied = []
    for name in needs.__dataclass_fields__:
        value = getattr(needs, name)
        if name == "sources" or value is None or value is False or value == ():
            continue
        for one in value if isinstance(value, tuple) else (value,):
            given = needs.sources.get(f"{name}: {one}") == "given"
            source = "given" if given else words.get((name, one), "given")
            applied.append({"need": name, "value": one, "source": source})
    for s in said:
        if s.field == "avoid_motifs":
            applied.append({"need": s.field, "value": s.value, "source": s.words})
    return {"applied": applied}


def unmet(found: Sequence[Unmet]) -> list[Json]:
    """What the standing dough or icing breaks."""
    return [{"need": u.need, "of": u.of, "why": u.why} for u in found]


def told_first(asked: Asked, allowed: Allowed, shelf: Shelf, names: Names) -> Json:
    """What leads every suggestion: what is not met, what was understood, applied and ruled out."""
    return {
        "unmet": unmet(allowed.unmet),
        "theme": reading(asked.reading, names) if asked.reading.text else None,
        "kits": asked.kits,
        "needs": applied_needs(asked, shelf),
        "ruled_out": dict(allowed.ruled_out),
    }


def unreached(found: Sequence[Unreached]) -> list[Json]:
    """Colours of the theme that the gels cannot make, with the nearest that they can."""
    return [{"hex": u.hex, "name": u.name, "nearest": u.nearest, "delta_e": u.delta_e} for u in found]


def tint(one: Tint) -> Json:
    """An icing colour with its recipe, g of gel per 100 g of icing."""
    return {
        "hex": one.hex,
        "lab": lab_list(one.lab),
        "name": one.name,
        "recipe": [{"gel": d.gel, "gel_id": d.gel_id, "g_per_100g": d.g_per_100g} for d in one.recipe],
    }


def palette(told: ToldPalette, first: Sequence[str] = ()) -> Json:
    """Three tints; `first` are the cautions that lead."""
    return {
        "score": told.palette.score,
        "parts": told.palette.parts,
        "tints": [tint(t) for t in told.palette.tints],
        "reasons": list(told.reasons),
        "cautions": [*first, *told.cautions],
        "in_short": in_short(told.in_short),
    }


def in_short(told: InShort) -> Json:
    """The telling reasons and every caution but what is not met, in few words."""
    return {"why": list(told.why), "cautions": list(told.cautions)}


def named(found: Palette, names: Names) -> Palette:
    """A palette with plain colour names."""
    a, b, c = (
        replace(t, name=name) for t, (name, _) in zip(found.tints, names.nearest_many(found.labs), strict=True)
    )
    return replace(found, tints=(a, b, c))


def colours(found: Palette) -> list[Json]:
    """The colours of a palette without recipes."""
    return [{"hex": t.hex, "lab": lab_list(t.lab), "name": t.name} for t in found.tints]


def scored_colours(scored: Palette, reasons: Sequence[str]) -> Json:
    """Three colours of her own with the score and what makes it."""
    return {
        "score": scored.score,
        "parts": scored.parts,
        "colours": colours(scored),
        "reasons": list(reasons),
    }


def trio(told: ToldTrio, names: Names, first: Sequence[str] = ()) -> Json:
    """Three jars; of a mixed trio also the blend's mean colour."""
    return {
        **_jars(told.trio, names),
        "reasons": list(told.reasons),
        "cautions": [*first, *told.cautions],
        "in_short": in_short(told.in_short),
    }


def _jars(found: Trio, names: Names) -> Json:
    return {
        "score": found.score,
        "parts": found.parts,
        "serve": found.serve,
        "jars": [
            {
                "id": p.jar.id,
                "name": p.jar.name,
                "kind": p.jar.kind,
                "colours": _shares(p.jar),
                "grams_per_kit": None if p.grams_per_kit is None else round(p.grams_per_kit, 2),
                "share": p.share,
            }
            for p in found.portions
        ],
        "blend": _blend(found, names) if found.serve == "mixed" else None,
        "makes_kits": found.makes_kits,
        "price_per_kit": money(found.price_per_kit),
        "proven": found.proven,
    }


def trio_facts(found: Trio, names: Names) -> Json:
    """Three jars without reasons and cautions."""
    return _jars(found, names)


def _shares(jar: Jar) -> list[Json]:
    hexes = labs_to_hex([c.lab for c in jar.colours])
    return [{"hex": h, "share": c.share} for h, c in zip(hexes, jar.colours, strict=True)]


def _blend(found: Trio, names: Names) -> Json:
    shares = np.array([p.share for p in found.portions])
    lab = shares @ np.array([mean_colour(p.jar) for p in found.portions])
    return {"hex": lab_to_hex(lab), "lab": lab_list(lab), "name": names.nearest(lab)[0]}


def cutter(chosen: Chosen) -> Json:
    """A cutter with the cookies to cut; `motif` is what it was taken for, None for a plain shape."""
    return {
        "id": chosen.cutter.id,
        "name": chosen.cutter.name,
        "cookies": chosen.cookies,
        "motif": chosen.motif or None,
    }


def idea(one: Idea, names: Names, currency: str | None) -> Json:
    """A palette, a trio and cutters with what they make and cost."""
    return {
        "score": one.score,
        "parts": one.parts,
        "palette": palette(one.palette),
        "trio": trio(one.trio, names),
        "cutters": [cutter(c) for c in one.cutters],
        "makes_kits": one.trio.trio.makes_kits,
        "cost": {"toppings_per_kit": money(one.trio.trio.price_per_kit), "currency": currency},
        "fallback": one.fallback,
        "reasons": list(one.reasons),
        "cautions": list(one.cautions),
        "in_short": in_short(one.in_short),
    }


def ideas(answer: Answer, shelf: Shelf, names: Names, currency: str | None) -> Json:
    """Ideas with all that was understood, applied, ruled out and not met."""
    return {
        **told_first(answer.asked, answer.allowed, shelf, names),
        "cookies": answer.asked.cookies,
        "unreached": unreached(answer.unreached),
        "ideas": [idea(one, names, currency) for one in answer.ideas],
        "notes": list(answer.notes),
    }


def idle_jar(one: IdleJar, names: Names) -> Json:
    """An idle jar: why, what is at risk, and its best uses (none where it should not be used)."""
    return {
        "id": one.jar.id,
        "name": one.jar.name,
        "kind": one.jar.kind,
        "colours": _shares(one.jar),
        "why": list(one.why),
        "idle": one.idle,
        "last_used": one.jar.last_used and one.jar.last_used.isoformat(),
        "best_before": one.jar.best_before and one.jar.best_before.isoformat(),
        "grams_at_risk": one.grams_at_risk,
        "money_at_risk": money(one.money_at_risk),
        "used_g_per_day": None if one.used_g_per_day is None else round(one.used_g_per_day, 4),
        "left_g": one.left_g,
        "uses": [_use(use, names) for use in one.uses],
    }


def at_risk(found: Sequence[IdleJar]) -> Json:
    """What all idle jars together put at risk, as far as it is known."""
    grams = [one.grams_at_risk for one in found if one.grams_at_risk is not None]
    worth = [one.money_at_risk for one in found if one.money_at_risk is not None]
    return {
        "grams": round(sum(grams), 3),
        "money": money(sum(worth, Decimal(0))) if worth else None,
        "at_least": len(worth) < len(found) or len(grams) < len(found),
    }


def _use(use: Use, names: Names) -> Json:
    return {
        "theme": use.theme.name,
        "own": use.theme.own,
        "score": use.score,
        "by_colour": use.by_colour,
        "anchors": _anchors(use.theme.anchors, names),
        "trio": _jars(use.trio, names),
    }


def order_facts(asked: Asked) -> Json:
    """Kits, cookies and day that a sentence names; None where it names none."""
    facts: Json = {name: next(iter(asked.request.values(name)), None) for name in _FACTS}
    if facts["date"] is not None:
        month, day = facts["date"].month, facts["date"].day
        facts["date"] = None if month is None else f"{month:02d}-{day:02d}"
    return facts
