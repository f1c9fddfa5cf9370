"""A reply to a customer, ready to send: what is not met first, then kits and prices, allergens always.

The words are a start that the baker may change. They never say that a kit suits someone
with an allergy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from themekit.suggest.words import listed

SHARED_KITCHEN = (
    "Everything is made in a home kitchen that also handles other allergens, so traces of any of "
    "them are possible."
)
_MOST_UNKNOWN = 6


@dataclass(frozen=True, slots=True)
class Offer:
    """One kit as it is offered: plain names, the price told as text ("" where not known), and notes.

    `contains` and `traces` are the whole kit's allergens, dough and icing included;
    `unknown` names what has no allergens entered.
    """

    icing: tuple[str, ...]
    toppings: tuple[str, ...]
    mixed: bool
    cookies: tuple[tuple[str, int], ...]
    price: str = ""
    contains: tuple[str, ...] = ()
    traces: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """What was read from the message: what for, how many kits, the day and what is doubtful about it.

    `told_day` is the day as it is written where the baker is; in plain English unless told.
    """

    theme: str
    kits: int | None
    day: date | None
    doubt: str = ""
    not_understood: tuple[str, ...] = ()
    fallback: bool = False
    told_day: str = ""


def reply(facts: Facts, offers: Sequence[Offer], unmet: Sequence[str], signed: str = "") -> str:
    """The reply as plain text, paragraphs apart by a blank line."""
    parts = ["Hello,", _thanks(facts)]
    if unmet:
        parts.append("Please read this first: " + " ".join(unmet))
    if offers:
        parts.append(_offers(facts, offers))
        parts.append(_allergens(offers))
    else:
        parts.append("I have no kit to offer for this yet.")
    notes = list(dict.fromkeys(note for offer in offers for note in offer.notes))
    if notes:
        parts.append(" ".join(notes))
    questions = _questions(facts)
    if questions:
        parts.append(" ".join(questions))
    parts.append("Which one would you like?" if len(offers) > 1 else "Would you like it?" if offers else "")
    parts.append("\n".join(filter(None, ("Kind regards", signed))))
    return "\n\n".join(filter(None, parts)) + "\n"


def _thanks(facts: Facts) -> str:
    about = f" about “{facts.theme}”" if facts.theme else ""
    many = "" if facts.kits is None else f": {facts.kits} kit{'s' * (facts.kits != 1)}"
    when = "" if facts.day is None else f"{' ' if many else ': '}for {facts.told_day or _plain(facts.day)}"
    return f"thank you for asking{about}{many}{when}."


def _plain(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B} {day.year}"


def _offers(facts: Facts, offers: Sequence[Offer]) -> str:
    lead = "This is what I can make:" if len(offers) == 1 else f"Here are {len(offers)} kits to choose from:"
    if facts.fallback:
        lead = "I was not sure what you have in mind, so these are many-coloured. " + lead
    lines = [lead]
    for number, offer in enumerate(offers, 1):
        cups = "one mix of" if offer.mixed else "cups of"
        cut = listed([f"{n} × {name}" for name, n in offer.cookies])
        text = f"{number}. Icing in {listed(offer.icing)}; {cups} {listed(offer.toppings)}"
        text += f"; cookies: {cut}." if cut else "."
        lines.append(text + (f" {offer.price}." if offer.price else ""))
    return "\n".join(lines)


def _allergens(offers: Sequence[Offer]) -> str:
    """Every allergen of every kit, the kitchen's caution, and what is not known."""
    held = [frozenset(offer.contains) for offer in offers]
    everywhere = sorted(frozenset.intersection(*held))
    told = (
        [f"{'All of them contain' if len(offers) > 1 else 'It contains'} {listed(everywhere)}."]
        if everywhere
        else []
    )
    for number, offer in enumerate(offers, 1):
        more = sorted(set(offer.contains) - set(everywhere))
        if more:
            told.append(f"Kit {number} also contains {listed(more)}.")
        traces = sorted(set(offer.traces) - set(offer.contains))
        if traces:
            told.append(f"{f'Kit {number}' if len(offers) > 1 else 'It'} may contain traces of {listed(traces)}.")
    unknown = list(dict.fromkeys(name for offer in offers for name in offer.unknown))
    if unknown:
        told.append(f"The allergens of {listed(unknown)} still have to be read from the label.")
    if not everywhere and not any(held):
        told.append("No allergens are entered for what goes into it; that does not mean that there are none.")
    return " ".join([*told, SHARED_KITCHEN])


def _questions(facts: Facts) -> list[str]:
    asked = []
    if facts.doubt:
        asked.append(facts.doubt + " Which day do you mean?")
    if facts.day is None and not facts.doubt:
        asked.append("For which day do you need them?")
    if facts.kits is None:
        asked.append("How many kits would you like?")
    if facts.not_understood:
        words = listed([f"“{word}”" for word in facts.not_understood[:_MOST_UNKNOWN]])
        asked.append(f"I did not quite understand {words}: what did you mean?")
    return asked
