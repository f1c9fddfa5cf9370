"""A customer's message: read, answered with ideas and prices, and with a reply to send."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from api import answers
from api.answers import Json
from api.bodies import Body, nothing_left
from api.local import Local
from api.works import order_of
from catalog import lexicon as built_in
from catalog.batch_fields import check_batch, flattened
from catalog.lexicon.label_rules import label_rules
from catalog.store import DEMO, Store
from catalog.taste import Tastes
from themekit.colour.names import names_of
from themekit.colour.space import lab_to_hex
from themekit.errors import NeedConflict
from themekit.make.cautions import gel_told, of_choking
from themekit.make.quantities import most_kits
from themekit.make.work import Basis, Work, work
from themekit.suggest.asked import Asked, ask
from themekit.suggest.draft import is_occasion
from themekit.suggest.ideas import Suggester
from themekit.suggest.message import asks_price, signed_by, unclear
from themekit.suggest.needs import relax_hints
from themekit.suggest.reply import Facts, Offer, reply
from themekit.suggest.when import Dated, resolved
from themekit.suggest.words import MAX_TEXT, key_of
from themekit.values import Composition, Gel, Shelf

#: Where the size in a caution is from.
_OWN_SIZE = re.compile(r" \(size from [^()]*\)")
FIELDS = ("text", "theme", "count", "kits", "cookies", "needs", "date", "serve")
USUAL_OFFERS = 3


def request(store: Store, shelf_id: int, body: Any, today: date, given_alone: bool = False) -> Json:
    """Read {"text"} and answer it; kits, cookies, needs and date that are given go before what was read.

    With a `theme` the message counts no more: the theme is read in its place, so that what
    was misread can be put right. With `given_alone` the message's theme still counts, but of kits,
    cookies, needs and date only what is given. Raises as `questions.ideas` does. The date read is the next
    such day from today on.
    """
    checked = Body(body, FIELDS)
    text, count, serve = checked.text("text"), checked.whole("count", USUAL_OFFERS), checked.serve()
    needs, kits, cookies = checked.needs(), checked.maybe_whole("kits"), checked.maybe_whole("cookies")
    given = checked.checks.day("date", checked.raw.get("date"))
    message = text
    text = checked.text("theme") if checked.has("theme") else text
    checked.done()
    shelf, lexicon = store.read(shelf_id), built_in.lexicon()
    row = store.shelf_record(shelf_id)
    asked = ask(text, shelf, lexicon, needs, kits, cookies, given_alone)
    dated = Dated(date.fromisoformat(given)) if given else _dated(asked, today)
    suggester = Suggester(asked, shelf, lexicon, today, Tastes(store).taste(shelf_id))
    found = suggester.ideas(count, serve)
    if not found.ideas:
        ruled_out = suggester.allowed.ruled_out
        hint = relax_hints(ruled_out) if ruled_out else "Take an included colour or a jar to use out."
        raise NeedConflict("No kits meet all the needs together.", [nothing_left("0 ideas", hint)])
    answer = answers.ideas(found, shelf, names_of(lexicon.colour_basics), row["currency"])
    works = [_worked(idea, asked, shelf, row, dated.day, today) for idea in answer["ideas"]]
    kits_said = kits or next(iter(asked.request.values("kits")), None)
    place = Local(row["locale"])
    facts = Facts(
        _names(asked), kits_said, dated.day, dated.doubt, _unclear(asked), asked.reading.fallback,
        place.day(dated.day, long=True) if dated.day else "", asked.needs.avoid_allergens,
        signed_by(message), asked.needs.youngest_age, _unwanted(asked), asks_price(message),
    )  # fmt: skip
    offers = [_offer(done, shelf, row["currency"] or "", place) for done in works]
    return {
        "read": _read(asked, kits_said, dated, message),
        **answer,
        "offers": [
            {
                "price_per_kit": None if done.cost.price is None else f"{done.cost.price.price:.2f}",
                "cost_per_kit": f"{done.cost.per_kit:.2f}",
                "at_least": done.cost.at_least,
                "makes_kits": most_kits(done.order),
                "late": done.days.late if done.days else "",
                "missing": list(done.cost.missing),
                "contains": list(offer.contains),
                "traces": list(offer.traces),
            }
            for done, offer in zip(works, offers, strict=True)
        ],
        "reply": reply(facts, offers, suggester.allowed.unmet, _signed(row["name"]), _choking(works, asked)),
    }


def read_message(store: Store, shelf_id: int, text: str, today: date) -> Json:
    """What a message says, without an answer: {"read", "needs"} as `request` tells them.

    For a message to which there is no answer yet, so that what was read can be put right.
    """
    shelf, lexicon = store.read(shelf_id), built_in.lexicon()
    asked = ask(text[:MAX_TEXT], shelf, lexicon)
    kits = next(iter(asked.request.values("kits")), None)
    return {"read": _read(asked, kits, _dated(asked, today), text), "needs": answers.applied_needs(asked, shelf)}


def _read(asked: Asked, kits: int | None, dated: Dated, message: str) -> Json:
    return {
        "theme": ", ".join(_theme_words(asked)),
        "kits": kits,
        "cookies": asked.cookies,
        "date": dated.day and dated.day.isoformat(),
        "date_doubt": dated.doubt or None,
        "colours_unwanted": list(dict.fromkeys(word for word, _ in asked.request.values("avoid_colours"))),
        "not_understood": list(_unknown(asked)),
        "customer": signed_by(message),
    }


def _dated(asked: Asked, today: date) -> Dated:
    """The day that the message names; several that differ are a doubt."""
    found = [resolved(day, today) for day in asked.request.values("date")]
    days = list(dict.fromkeys(one.day for one in found if one.day is not None))
    if len(days) > 1:
        told = " and ".join(f"{day.day} {day:%B %Y}" for day in days[:3])
        return Dated(days[0], f"Several days are named: {told}.")
    return next((one for one in found if one.day in days or not days), Dated(None))


def _names(asked: Asked) -> tuple[str, ...]:
    """The themes that are surely understood, else the things, by the names that they have here; occasions last.

    The message's own words may be odd when torn from it, and may name a child.
    """
    sure = [u for u in asked.reading.understood if not u.how.startswith("by meaning")]
    themes = list(dict.fromkeys(u.name for u in sure if u.taken_as == "theme"))
    known = asked.lookup.themes
    themes.sort(key=lambda name: (theme := known.get(key_of(name))) is not None and is_occasion(theme))
    things = dict.fromkeys(u.name for u in sure if u.taken_as == "thing")
    return tuple(themes or things)


def _signed(name: str) -> str:
    """The shelf's name under the letter, unless it is a name that the tool gave."""
    return "" if name.casefold() in (DEMO, "shelf", "my shelf") else name


def _choking(works: Sequence[Work], asked: Asked) -> list[str]:
    """What to mind of small pieces, once for all the kits."""
    jars = {topping.jar.id: topping.jar for done in works for topping in done.order.kit.toppings}
    strict = any(done.order.settings.label.strict_choking for done in works)
    found = [c for c in of_choking(jars.values(), asked.needs, strict) if c.kind == "choking"]
    # A letter names no sources.
    return [_OWN_SIZE.sub("", c.text.replace(f" ({c.source})", "")) for c in found]


def _unwanted(asked: Asked) -> tuple[str, ...]:
    """The colours to leave out, by the words of a message, or by their names where they were given."""
    said = [word for word, _ in asked.request.values("avoid_colours")]
    known = {lab_to_hex(lab): word for word, lab in built_in.lexicon().colour_words.items()}
    given = [known.get(colour, colour) for colour in asked.needs.avoid_colours]
    plain = [word for word in given if " " not in word]
    return tuple(dict.fromkeys(said or plain or given))


def _unclear(asked: Asked) -> tuple[str, ...]:
    """What is asked about: wishes of which nothing was understood; every word where nothing was."""
    unknown = _unknown(asked)
    if asked.reading.fallback or not asked.reading.anchors:
        return unknown
    known = [u.words for u in asked.reading.understood]
    wishes = unclear(asked.request.text, unknown, known)
    left = [
        words for words in asked.request.not_understood if not any(words in wish.casefold() for wish in wishes)
    ]
    return (*wishes, *dict.fromkeys(left))


def _theme_words(asked: Asked) -> list[str]:
    """What was understood as the theme, in the order of the message; what stands together stays together."""
    text = asked.reading.text.casefold()
    spans: list[tuple[int, int, str]] = []
    for u in asked.reading.understood:
        at = text.find(u.words.casefold())
        if u.taken_as in ("theme", "thing", "colour"):
            spans.append((at if at >= 0 else len(text), at + len(u.words) if at >= 0 else len(text), u.words))
    out: list[str] = []
    end = -1
    for start, stop, words in sorted(spans, key=lambda one: (one[0], -one[1])):
        if (stop <= end and start < len(text)) or words in out:
            continue  # said within something longer
        together = bool(out) and 0 <= end <= start and not text[end:start].strip() and start < len(text)
        out = [*out[:-1], f"{out[-1]} {words}"] if together else [*out, words]
        end = stop
    return out


def _unknown(asked: Asked) -> tuple[str, ...]:
    return tuple(dict.fromkeys(asked.reading.unknown))


def _worked(idea: Json, asked: Asked, shelf: Shelf, row: Json, due: date | None, today: date) -> Work:
    staples = built_in.lexicon().staples
    body = {**flattened({"idea": idea}), "theme": asked.reading.text[:2000], "kits": asked.kits}
    record, _ = check_batch(body, shelf, staples)
    order = order_of(record, shelf, row["settings"])
    rules = label_rules(order.settings.label.jurisdiction)
    return work(order, Basis(shelf, staples, rules, row["currency"] or ""), asked.needs, due, today)


def _offer(done: Work, shelf: Shelf, currency: str, place: Local) -> Offer:
    kit = done.order.kit
    ids = {dose.gel_id for tint in kit.tints for dose in tint.recipe}
    gels: list[Gel] = [gel for gel in shelf.gels if gel.id in ids]
    named: list[tuple[str, Composition]] = [("the dough", shelf.dough), ("the icing", shelf.icing)]
    named += [(gel_told(gel), gel.composition) for gel in gels]
    named += [(t.jar.name, t.jar.composition) for t in kit.toppings]
    return Offer(
        icing=tuple(tint.name or tint.hex for tint in kit.tints),
        toppings=tuple(t.jar.name for t in kit.toppings),
        mixed=kit.serve == "mixed",
        cookies=tuple((cut.cutter.name, cut.cookies) for cut in kit.cuts),
        price=_price(done, currency, place),
        contains=tuple(sorted({a for _, c in named for a in c.allergens or ()})),
        traces=tuple(sorted({a for _, c in named for a in c.may_contain or ()})),
        unknown=tuple(name for name, c in named if c.allergens is None),
        untold=tuple(name for name, c in named if c.allergens is not None and c.may_contain is None),
    )


def _price(done: Work, currency: str, place: Local) -> str:
    """The price in words; "" where costs are not all known, for a price that is too low is no help."""
    if done.cost.price is None or (done.cost.at_least and done.order.settings.cost.price is None):
        return ""
    each: Decimal = done.cost.price.price
    told = f"{place.money(each, currency)} a kit"
    return told if done.order.kits == 1 else f"{told}, {place.money(each * done.order.kits, currency)} in all"
