"""A reply to a customer, ready to send: what is not met first, then kits and prices, allergens always.

The words are a start that the baker may change. They never say that a kit suits someone
with an allergy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from themekit.suggest.needs import Unmet
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
    `unknown` names what has no allergens entered, and `untold` what has no traces entered.
    """

    icing: tuple[str, ...]
    toppings: tuple[str, ...]
    mixed: bool
    cookies: tuple[tuple[str, int], ...]
    price: str = ""
    contains: tuple[str, ...] = ()
    traces: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    untold: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """What was read from the message: what for, how many kits, the day and what is doubtful about it.

    `themes` are names that are understood, never the message's own words; `avoid` are the
    allergens to leave out, each of which is answered.
    `not_understood` are whole wishes; `to` is who signed, `age` the youngest child's in years,
    `unwanted` the colours to leave out by their words. `told_day` is the day as it is written
    where the baker is; in plain English unless told.
    """

    themes: tuple[str, ...]
    kits: int | None
    day: date | None
    doubt: str = ""
    not_understood: tuple[str, ...] = ()
    fallback: bool = False
    told_day: str = ""
    avoid: tuple[str, ...] = ()
    to: str = ""
    age: int | None = None
    unwanted: tuple[str, ...] = ()
    price_asked: bool = False


def reply(
    facts: Facts, offers: Sequence[Offer], unmet: Sequence[Unmet], signed: str = "", notes: Sequence[str] = ()
) -> str:
    """The reply as plain text, paragraphs apart by a blank line; `notes` are of all kits together."""
    parts = [f"Hello {facts.to}," if facts.to else "Hello,", _thanks(facts), _noted(facts)]
    if unmet:
        parts.append("Please read this first. " + " ".join(_sorry(unmet)))
    if offers:
        parts.append(_offers(facts, offers))
        parts.append(_allergens(facts, offers))
    else:
        parts.append("I have no kit to offer for this yet.")
    if notes:
        parts.append(" ".join(dict.fromkeys(notes)))
    questions = _questions(facts, any(not offer.price for offer in offers))
    if questions:
        parts.append(" ".join(questions))
    parts.append("Which one would you like?" if len(offers) > 1 else "Would you like it?" if offers else "")
    parts.append("\n".join(filter(None, ("Kind regards", signed))))
    return "\n\n".join(filter(None, parts)) + "\n"


def _thanks(facts: Facts) -> str:
    about = " about " + listed([f"“{theme}”" for theme in facts.themes]) if facts.themes else ""
    many = "" if facts.kits is None else f": {facts.kits} kit{'s' * (facts.kits != 1)}"
    when = "" if facts.day is None else f"{' ' if many else ': '}for {facts.told_day or _plain(facts.day)}"
    return f"thank you for asking{about}{many}{when}."


def _noted(facts: Facts) -> str:
    """What was told to be minded, said back so that a slip is seen."""
    told = [f"not to use {listed(list(facts.unwanted), 'or')}"] if facts.unwanted else []
    if facts.age is not None:
        told.append(
            "that the youngest child is under one" if facts.age == 0 else f"that the youngest is {facts.age}"
        )
    if facts.avoid:
        told.append(f"that {listed(list(facts.avoid))} should be left out")
    return f"I have noted {listed(told)}." if told else ""


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


def _sorry(unmet: Sequence[Unmet]) -> list[str]:
    """What the dough and the icing do not keep, once for each need: "the dough and the icing contain egg"."""
    out = []
    for need in dict.fromkeys(one.need for one in unmet):
        of: dict[str, list[str]] = {}
        for one in unmet:
            if one.need == need:
                of.setdefault(one.why, []).append(f"the {one.of}")
        told = listed([f"{listed(names)} {_many(why) if len(names) > 1 else why}" for why, names in of.items()])
        out.append(f"I cannot promise “{need}”: {told}.")
    return out


def _many(why: str) -> str:
    """A reason said of several: "contain egg"."""
    for one, several in (("contains ", "contain "), ("has ", "have "), ("is ", "are ")):
        if why.startswith(one):
            return several + why.removeprefix(one)
    return why


def _allergens(facts: Facts, offers: Sequence[Offer]) -> str:
    """Every allergen of every kit, each one asked for, the kitchen's caution, and what is not known."""
    told = _each(offers, [o.contains for o in offers], "contain", "contains", "also contains")
    traces = [tuple(set(o.traces) - set(o.contains)) for o in offers]
    told += _each(offers, traces, *("may contain traces of",) * 2, "may also contain traces of")
    if not any(offer.contains for offer in offers):
        told.append("No allergens are entered for what goes into it; that does not mean that there are none.")
    unknown = list(dict.fromkeys(name for offer in offers for name in offer.unknown))
    if unknown:
        told.append(f"The allergens of {listed(unknown)} still have to be read from the label.")
    found = {a for offer in offers for a in (*offer.contains, *offer.traces)}
    if "wheat" in found:
        found.add("gluten")
    rest = [allergen for allergen in facts.avoid if allergen not in found]
    if rest:
        told.append(_left_out(rest, unknown, offers))
    return " ".join([*told, SHARED_KITCHEN])


def _each(offers: Sequence[Offer], held: Sequence[tuple[str, ...]], many: str, one: str, also: str) -> list[str]:
    """What all kits hold once, then what single kits hold beside it."""
    everywhere = sorted(frozenset.intersection(*map(frozenset, held)))
    several = len(offers) > 1
    told = [f"{f'All of them {many}' if several else f'It {one}'} {listed(everywhere)}."] if everywhere else []
    more: dict[tuple[str, ...], list[str]] = {}
    for number, own in enumerate(held, 1):
        rest = tuple(sorted(set(own) - set(everywhere)))
        if rest:
            more.setdefault(rest, []).append(str(number))
    for rest, numbers in more.items():
        verb = (also if everywhere else one) if len(numbers) == 1 else f"also {many}" if everywhere else many
        told.append(f"Kit{'s' * (len(numbers) > 1)} {listed(numbers)} {verb} {listed(rest)}.")
    return told


def _left_out(rest: Sequence[str], unknown: Sequence[str], offers: Sequence[Offer]) -> str:
    """What was asked to be left out and stands on no label read; never that a kit is without it."""
    if unknown:
        return f"So I cannot tell yet about {listed(list(rest), 'or')}."
    text = f"You asked for no {listed(list(rest), 'or')}: I left it out as far as the labels tell"
    untold = list(dict.fromkeys(name for offer in offers for name in offer.untold))
    return f"{text}; whether there are traces in {listed(untold)} is not known." if untold else text + "."


def _questions(facts: Facts, offers_unpriced: bool) -> list[str]:
    asked = []
    if facts.doubt:
        asked.append(facts.doubt + " Which day do you mean?")
    if facts.day is None and not facts.doubt:
        asked.append("For which day do you need them?")
    if facts.kits is None:
        asked.append("How many kits would you like?")
    if facts.price_asked and offers_unpriced:
        asked.append("I will tell you the price as soon as I have worked it out.")
    if facts.not_understood:
        words = listed([f"“{word}”" for word in facts.not_understood[:_MOST_UNKNOWN]])
        asked.append(f"I did not quite understand {words}: what did you mean?")
    return asked
