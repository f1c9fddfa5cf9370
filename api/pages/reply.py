"""A customer's message: what was read from it to correct, three kits with prices, a reply, and the order."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, request

from api.pages.amiss import FormFields
from api.pages.asked import of_order
from api.pages.base import local, show, told
from api.pages.corrections import (
    CORRECTED,
    SINGLE,
    Corrections,
    as_read,
    body_of,
    digest_of,
    fields_of,
    from_form,
    from_reading,
    theme_of,
    with_needs,
)
from api.pages.ideas import COMMON, table_address
from api.pages.kit import told_once, worked
from api.pages.kit_address import CARRIED, laid_in
from api.pages.making import TooLate, day_said, keep, key_of_form, not_kept, plainly, to, whole
from api.pages.pictures import kit_of_idea, picture_of
from api.requests import read_message
from api.requests import request as answer_request
from api.service import service
from api.tables import judged
from api.works import asked_for, joined
from catalog import lexicon as built_in
from catalog.rows import Record
from themekit.errors import InvalidValue, Problem, ThemekitError, raise_all
from themekit.suggest.message import signed_by
from themekit.suggest.words import MAX_TEXT
from themekit.values import ALLERGENS

blp = Blueprint("reply_page", __name__)
#: What is typed of an order beside what was read.
_TYPED = (
    "customer", "contact", "order_kits", "order_date", "time", "total", "note", "dayless", "know",
    "market", "chosen",
)  # fmt: skip
_ORDER = (*_TYPED, "key", "another", "reply", "late", "order")
#: The page's fields in their order, by what problems call them.
_FORM = FormFields(
    "r-",
    ("text", *SINGLE, "reply", "chosen", *_TYPED[:-1]),
    {"youngest_age": "age", "kit": "chosen", "letter": "reply", "said": "text"}
    | {word: name for name, word in CORRECTED.items()},
)
#: An address may be so long; longer ones are not to be kept or sent.
_LONGEST = 4_000


@blp.get("/reply")
def reply() -> Response:
    """The message and its answer; what stands in the fields counts, once the message was read."""
    return _page(request.args)


@blp.post("/reply")
def take() -> Response:
    """Make an order with its batch of the kit that was chosen, in one step; a message makes one, unless told.

    With the step "answer" what was corrected is answered instead, and all that was typed stays.
    """
    form, at = request.form, service()
    given = {name: form.get(name, "").strip() for name in _ORDER}
    own = given | ({"reply": ""} if _same_letter(given["reply"], form.get("worked", "")) else {})
    if form.get("step") == "answer":
        return _answered(form, own)
    said = form.get("text", "").strip()
    fresh = said and not given["another"] and not given["order"]
    first = at.orders.of_words(at.shelf_id, said) if fresh else None
    if first is not None:
        return to(f"/orders/{first}?already=1")
    try:
        if not given["customer"] and not given["market"] and not given["order"]:
            hint = "Write their name, or tick “sold at a market”."
            raise InvalidValue("The order has no name.", [Problem("customer", None, "who it is for", hint)])
        if not given["chosen"]:
            raise InvalidValue(
                "No kit was chosen.", [Problem("kit", None, "one of the kits", "Tap the one that they want.")]
            )
        read = laid_in(given["chosen"], built_in.lexicon().colour_words)
        table = judged(at.store, at.shelf_id, read.laid, at.today(), swaps=False)
        slips = (*read.told, *table.told)
        if slips:
            hint = "Read the message again and choose anew."
            raise InvalidValue("This kit is no longer as it was.", [Problem("kit", s, "", hint) for s in slips])
        corrected = from_form(form)
        if form.get("for", digest_of(corrected)) != digest_of(corrected):
            hint = "Look at the kits and the letter, choose one, and keep it then."
            problem = Problem("", None, "", f"What was read of the message was changed after that. {hint}")
            raise InvalidValue("These kits answer it as it was put right now; nothing is kept yet.", [problem])
        kits, day = given["order_kits"] or corrected.kits, given["order_date"] or corrected.date
        if not kits:
            problem = Problem("order_kits", None, "how many they want", "Ask, or write it.")
            raise InvalidValue("The order has no number of kits.", [problem])
        batch = {
            "kits": kits,
            "due": day,
            "name": corrected.theme[:120],
            "late": given["late"],
            "order": given["order"],
        }
        order: Record = {name: given[name] or None for name in ("customer", "contact", "time", "note")}
        order |= {"total": local().read_money(given["total"]) or None, "due": day or None}
        letter = given["reply"] or None
        order |= {"said": said or None, "letter": letter}
        if form.get("promise"):
            day_said(batch, given["dayless"])
        if given["order"]:
            asked = joined(table.needs, of_order(given["order"]))
            if not given["know"]:
                raise_all(not_kept(worked(replace(table, needs=asked)).breaks), "Nothing is kept yet.")
        order["needs"] = asked_for(table.needs)
        new = None if given["order"] else order
        promised, key = bool(form.get("promise")), key_of_form(given["key"])
        made = keep(table, batch, new, promised, key, letter if new is None else None)
    except ThemekitError as error:
        if isinstance(error, TooLate):
            own["late"] = error.due
        return _page(form, plainly(error), own)
    return to(f"/orders/{made['order_id']}", "promised" if promised else "order")


def _answered(form: Any, given: Mapping[str, str]) -> Response:
    """Answer what was corrected: at an address to keep where nothing else was typed, else with all of that."""
    pairs = [(name, form.get(name, "").strip()) for name in ("text", "another", "order")]
    address = "/reply?" + urlencode([pair for pair in pairs if pair[1]] + fields_of(from_form(form)))
    # A name that stood under the message was not typed.
    signed = signed_by(form.get("text", ""))
    typed = [name for name in (*_TYPED, "reply") if given[name] and (name, given[name]) != ("customer", signed)]
    if typed or len(address) > _LONGEST:
        return _page(form, None, given)
    return to(address)


def _same_letter(letter: str, worked: str) -> bool:
    """Whether a letter is the one that was worked out, whose digest the form has; line ends are the browser's."""
    return not letter or hashlib.sha256(" ".join(letter.split()).encode()).hexdigest() == worked


def _page(args: Any, error: ThemekitError | None = None, given: Mapping[str, str] | None = None) -> Response:
    """The place with its answer; `error` and what was `given` are of an order that could not be made."""
    at, words = service(), built_in.lexicon().colour_words
    text = args.get("text", "").strip()
    values: dict[str, Any] = {
        "text": text,
        "common": COMMON,
        "others": [a for a in ALLERGENS if a not in COMMON],
        "given": given or {},
        "another": args.get("another", "").strip(),
        "order": _order(args.get("order", "").strip()),
        # New for every showing: a form sent twice makes one order, a new form a new one.
        "typed": (*_TYPED, "reply"),
        "key": secrets.token_urlsafe(12),
    }
    if not text:
        return show("reply.html", **values)
    corrected = from_form(args) if args.get("read") else None
    try:
        if corrected is None and values["order"] and values["order"]["needs"]:
            # What goes with the order counts beside what is read of the words.
            reading = from_reading(read_message(at.store, at.shelf_id, text, at.today()))
            corrected = with_needs(reading, values["order"]["needs"])
        body = {"text": text} | (body_of(corrected, words) if corrected else {})
        if corrected and as_read(corrected, from_reading(read_message(at.store, at.shelf_id, text, at.today()))):
            # The few words of the field say less than the message does: an occasion with its age, whole names.
            del body["theme"]
        answer = answer_request(at.store, at.shelf_id, body, at.today(), given_alone=corrected is not None)
    except ThemekitError as wrong:
        if corrected is None and len(text) <= MAX_TEXT:
            corrected = from_reading(read_message(at.store, at.shelf_id, text, at.today()))
        return show(
            "reply.html", 422, error=told(wrong, _form(corrected)), fields=corrected, jars=_jars(),
            of=_of(values, corrected), **values,
        )  # fmt: skip
    if corrected is None:
        corrected = from_reading(answer)
    values |= {
        "fields": corrected,
        # Kits answer what was read as it stood; what is put right later is answered first.
        "digest": digest_of(corrected),
        "worked": hashlib.sha256(" ".join(answer["reply"].split()).encode()).hexdigest(),
        "jars": _jars(),
        "answer": answer,
        "of": _of(values, corrected),
    }
    if given is None:
        values["given"] = {"customer": answer["read"]["customer"]}
    values["shown"] = _kits(answer, corrected)
    order = values["order"]
    along = {"due": corrected.date, "order": order["id"] if order else "new"}
    if order is None:
        # Longer words would not fit into every address.
        along |= {
            "customer": values["given"].get("customer", ""),
            "said": text if len(text) <= CARRIED["said"] else "",
        }
    values["along"] = urlencode({name: value for name, value in along.items() if value})
    if error is not None:
        values |= {"error": told_once(error, _form(corrected)), "short": getattr(error, "short", [])}
    return show("reply.html", 200 if error is None else 422, **values)


def _of(values: Mapping[str, Any], corrected: Corrections | None) -> str:
    """What tells one message's answer from another's, by what was put right and the order that it is added to."""
    order = values["order"]["id"] if values["order"] else values["another"]
    told = repr((values["text"], order, digest_of(corrected) if corrected else ""))
    return hashlib.sha256(told.encode()).hexdigest()[:20]


def _form(corrected: Corrections | None) -> FormFields:
    """The page's fields: what the message tells stands above, what it does not is asked with the order."""
    told = corrected is not None and corrected.date
    return replace(_FORM, also={**_FORM.also, "due": "date" if told else "order_date"})


def _order(number: str) -> Record | None:
    """The order to which a batch is to be added; None for a new one. Raises `NotFound`."""
    at = service()
    return at.orders.get(at.shelf_id, whole(number)) if number else None


def _kits(answer: dict[str, Any], corrected: Corrections) -> list[dict[str, Any]]:
    """Each offered kit with its picture, its price and its place on the table, under all needs applied."""
    at = service()
    shelf = at.store.read(at.shelf_id)
    theme = theme_of(corrected)
    needs: dict[str, Any] = {}
    for one in answer["needs"]["applied"]:
        if one["need"] in ("youngest_age", "diet", "in_stock_only"):
            needs[one["need"]] = one["value"]
        elif one["need"] != "avoid_motifs":
            needs.setdefault(one["need"], []).append(one["value"])
    return [
        {
            "picture": picture_of(kit_of_idea(idea, theme, shelf), f"r{n}", f"Kit {n} from above"),
            "table": table_address(idea, theme, answer["kits"], needs),
            "offer": offer,
            "idea": idea,
        }
        for n, (idea, offer) in enumerate(zip(answer["ideas"], answer["offers"], strict=True), 1)
    ]


def _jars() -> dict[str, str]:
    """Names of the shelf's jars by their ids as text."""
    at = service()
    return {str(jar.id): jar.name for jar in at.store.read(at.shelf_id).jars}
