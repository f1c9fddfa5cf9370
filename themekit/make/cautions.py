"""Cautions of a kit, from one place for ideas, sheets and labels, each with why and its source.

They name what is known and what is not; nothing here ever says that a kit suits someone
with an allergy. Local codes and the makers' labels come first. No recipe here boils
sugar, so nothing is said of hot sugar.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from themekit.make.kit import Order
from themekit.make.label_rules import LabelRules, Rule
from themekit.make.settings.base import PRACTICE
from themekit.make.settings.contents import Contents
from themekit.make.settings.label import Label as LabelSettings
from themekit.suggest.needs import (
    CHOKING_WORDS,
    HARD_BALL_MM,
    LARGE_BALL_MM,
    choking,
    choking_age,
    hard_ball,
)
from themekit.suggest.weights import VERY_DARK_L
from themekit.suggest.words import listed
from themekit.values import Composition, Gel, Jar, Needs, Tint

Severity = Literal["danger", "care", "note"]
_ORDER: tuple[Severity, ...] = ("danger", "care", "note")

#: The six colours of Regulation (EC) No 1333/2008, Annex V.
SIX_COLOURS = ("E102", "E104", "E110", "E122", "E124", "E129")
SHARED_KITCHEN = (
    "Made in a home kitchen that also handles other allergens: say so on the label, and check the local code "
    "and each maker's label."
)
SHARED_KITCHEN_SHORT = (
    "Made in a home kitchen that handles other allergens too: say so on the label, and check the local code "
    "and each maker's label."
)
RAW_EGG_SHORT = "Make royal icing with meringue powder or pasteurised whites, not with raw whites."
RAW_FLOUR = (
    "The dough holds raw flour and often raw egg: bake before eating, and let no one taste it raw (US CDC, Raw "
    "Flour and Dough; US FDA, Flour Is a Raw Food)."
)
RAW_EGG = (
    "Make royal icing with meringue powder or pasteurised whites, not with raw whites (advice of Iowa State "
    "University Extension, 2022); some places do not allow egg icings from home kitchens."
)
_AAP = "American Academy of Pediatrics, Pediatrics 125(3):601, 2010"
_UBC = "University of British Columbia, for round foods"
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind.

    kind      what it is about, one word: "choking"
    text      the whole sentence for people
    why       the reason alone
    source    where it is from, or that it is common practice
    severity  "danger" before "care" before "note"
    short     the same in few words, without its source, for those who decide; no allergen and no
              danger is left out of it
    """

    kind: str
    text: str
    why: str
    source: str
    severity: Severity
    short: str = ""


def texts(cautions: Iterable[Caution]) -> list[str]:
    """The sentences alone, in order."""
    return [caution.text for caution in cautions]


def shorts(cautions: Iterable[Caution]) -> list[str]:
    """The same in few words, in order; a caution that has none is told whole."""
    return [caution.short or caution.text for caution in cautions]


def of_order(
    order: Order,
    gels: Sequence[Gel],
    dough: Composition,
    icing: Composition,
    needs: Needs | None = None,
    rules: LabelRules | None = None,
    ingredients: Iterable[str] = (),
    month: int | None = None,
    posted: bool = False,
) -> list[Caution]:
    """Every caution of an order, the most serious first, for sheets and labels.

    `rules` narrows notes on additives to one jurisdiction; `ingredients` are the words of
    every list of ingredients; `month` is the one of the pick-up, 1–12.
    """
    kit, own = order.kit, order.settings
    jars = [t.jar for t in kit.toppings]
    buttercream = own.icing.recipe == "buttercream"
    out = [
        *of_kit(jars, gels, dough, icing, needs or Needs(), own.label.strict_choking, rules, heat=False),
        _raw_flour(),
        *of_honey(ingredients),
        *of_goods(own.contents),
        *of_heat(jars, own.label, month, posted, buttercream),
        *of_tints(kit.tints),
    ]
    thin = [c.cutter.name for c in kit.cuts if c.cutter.thin_parts]
    if posted and thin:
        out.append(
            Caution(
                "post",
                f"Cookies with thin parts break in the post: {listed(thin)}.",
                "thin parts break",
                PRACTICE,
                "note",
            )
        )
    return sorted(out, key=lambda c: _ORDER.index(c.severity))


def of_kit(
    jars: Sequence[Jar],
    gels: Sequence[Gel],
    dough: Composition,
    icing: Composition,
    needs: Needs,
    strict: bool = False,
    rules: LabelRules | None = None,
    heat: bool = True,
) -> list[Caution]:
    """The cautions of what is eaten, in the order that ideas show them."""
    named = {"dough": dough, "icing": icing, **{gel_told(g): g.composition for g in gels}}
    named |= {j.name: j.composition for j in jars}
    out = [
        *of_allergens(named),
        Caution("kitchen", SHARED_KITCHEN, "traces of other allergens", PRACTICE, "care", SHARED_KITCHEN_SHORT),
        *of_choking(jars, needs, strict),
    ]
    if icing.allergens is None or "egg" in icing.allergens:
        why = "raw whites may carry Salmonella"
        out.append(Caution("egg", RAW_EGG, why, "Iowa State University Extension, 2022", "care", RAW_EGG_SHORT))
    return [*out, *of_additives(named, rules), *(of_heat(jars) if heat else ())]


def gel_told(gel: Gel) -> str:
    """A gel's name beside jars', which may be called like it: "black gel"; kitchen staples keep theirs."""
    told = gel.id < 0 or not {"gel", "colour", "color", "colouring", "paste", "powder"}.isdisjoint(
        gel.name.casefold().split()
    )
    return gel.name if told else f"{gel.name} gel"


def of_allergens(named: Mapping[str, Composition]) -> list[Caution]:
    """What contains, may contain or leaves unknown which allergens."""
    contains: dict[str, list[str]] = {}
    possible: dict[str, list[str]] = {}
    for name, composition in named.items():
        for allergen in composition.allergens or ():
            contains.setdefault(allergen, []).append(name)
        for allergen in composition.may_contain or ():
            possible.setdefault(allergen, []).append(name)
    unknown = [n for n, c in named.items() if c.allergens is None]
    traces = [n for n, c in named.items() if c.allergens is not None and c.may_contain is None]
    told: list[tuple[str, str, str, Severity, str]] = []
    if contains:
        where = "; ".join(f"{a} ({listed(names)})" for a, names in sorted(contains.items()))
        short = f"Contains {listed(sorted(contains))}."
        told.append((f"Contains {where}.", "allergens entered", "as entered from the labels", "danger", short))
    if possible:
        where = "; ".join(f"{a} ({listed(names)})" for a, names in sorted(possible.items()))
        text = f"May contain {where}, by the makers' labels."
        told.append((text, "possible traces", "the makers' labels", "care", _may_contain(possible, contains)))
    if unknown:
        text = f"Allergens are not entered for {listed(unknown)}: read the label before promising anything."
        short = f"Allergens not entered: {listed(unknown)}; read the label first."
        told.append((text, "unknown allergens", "nothing was entered", "danger", short))
    if traces:
        text = f"No “may contain” is entered for {listed(traces)}: makers need not print one, so ask."
        short = f"“May contain” not entered: {listed(traces)}; ask the maker."
        told.append((text, "such a line is voluntary", "nothing was entered", "note", short))
    return [Caution("allergens", *one) for one in told]


def _may_contain(possible: Collection[str], contains: Collection[str]) -> str:
    """Traces in few words, less those of what is in it for certain, which is told before."""
    further = sorted(set(possible).difference(contains))
    if not further:
        are = "is" if len(possible) == 1 else "are"
        return f"Traces too of {listed(sorted(possible))}, which {are} in it anyway."
    return f"May contain {listed(further)}."


def of_choking(jars: Iterable[Jar], needs: Needs, strict: bool = False) -> list[Caution]:
    """Hard or sticky small pieces, for the youngest age asked where one is known; and hard on teeth."""
    held = list(jars)
    age, youngest = choking_age(strict), needs.youngest_age
    source = f"{_AAP}; {_UBC}" if strict else _AAP
    young = youngest is not None and youngest < age
    pieces = [j for j in held if choking(j)]
    out = []
    if pieces:
        out.append(
            Caution(
                "choking",
                f"Small hard or sticky pieces: {listed([j.name for j in pieces])}. Not for children under {age}; "
                f"supervise older ones ({source}).",
                "; ".join(f"{j.name}: {_why_choking(j)}" for j in pieces),
                source,
                "danger" if young else "care",
                f"Not for children under {age}: {listed([j.name for j in pieces])} (small hard or sticky pieces).",
            )
        )
    large = [j.name for j in pieces if hard_ball(j, LARGE_BALL_MM)]
    if large:
        out.append(
            Caution(
                "choking",
                f"Hard balls of {LARGE_BALL_MM:g} mm and more can block a windpipe whole: {listed(large)}. Leave "
                "them out where small children eat (size from our own caution; no published limit was found).",
                "large enough to close a small airway",
                "own caution; " + source,
                "danger",
                f"Hard balls of {LARGE_BALL_MM:g} mm and more can block a windpipe whole ({listed(large)}): leave "
                "them out where small children eat.",
            )
        )
    metallic = [j.name for j in held if j.texture.finish == "metallic" and "dragée" in j.kind]
    if metallic:
        out.append(
            Caution(
                "decoration",
                f"Metallic dragées ({listed(metallic)}) are for decoration only in the US, not to be eaten (FDA "
                "Compliance Policy Guide 545.200); elsewhere check the local code.",
                "not held to be food in the US when sold to decorate",
                "FDA Compliance Policy Guide 545.200 (1988)",
                "danger",
                f"For decoration only in the US, not to be eaten: {listed(metallic)}; elsewhere check the local "
                "code.",
            )
        )
    hard = [j.name for j in held if hard_ball(j) or (j.texture.hardness == "hard" and j.hard_small_pieces)]
    if hard:
        text = f"Hard on teeth: {listed(hard)}; let them soften in the icing, do not bite them dry."
        short = f"Hard on teeth: {listed(hard)}; let them soften in the icing."
        why = "hard pieces can crack a tooth"
        out.append(Caution("teeth", text + f" ({PRACTICE})", why, PRACTICE, "note", short))
    if young and not pieces:
        text = (
            f"A child of {youngest} is eating: pieces of toppings can still be inhaled, so stay beside the child."
        )
        out.append(Caution("choking", text, "any piece can be inhaled", source, "care"))
    return out


def _why_choking(jar: Jar) -> str:
    named = sorted(CHOKING_WORDS.intersection(jar.kind.split()))
    if named:
        return f"{named[0]} is named in advice on choking"
    if hard_ball(jar):
        return f"hard balls of {HARD_BALL_MM:g} mm or more"
    return "hard small pieces"


def of_additives(named: Mapping[str, Composition], rules: LabelRules | None = None) -> list[Caution]:
    """Colour additives of note with the rule and its date, of one jurisdiction where `rules` are given."""
    found: dict[str, list[str]] = {}
    for name, composition in named.items():
        for additive in composition.additives or ():
            # E160b(ii) is a form of E160b.
            found.setdefault(additive.partition("(")[0], []).append(name)
    return _by_rules(found, rules) if rules else _everywhere(found)


def _by_rules(found: Mapping[str, list[str]], rules: LabelRules) -> list[Caution]:
    out = []
    for warning in rules.warnings:
        codes = [c for c in warning.codes if c in found]
        if codes:
            names = [f"{r.names[0]} ({r.code})" for r in rules.additives if r.code in codes]
            text = warning.text.format(colours=listed(names))
            text = f"The label must say: “{text}” ({warning.source})."
            out.append(Caution("additives", text, "a warning is asked for", _dated(warning), "care"))
    for rule in rules.additives:
        if rule.code in found and rule.note:
            text = f"{rule.names[0]} ({rule.code}) in {listed(found[rule.code])}: {rule.note} ({rule.source})."
            grave = rule.barred or rule.not_permitted_from is not None
            out.append(Caution("additives", text, rule.note, _dated(rule), "danger" if grave else "note"))
    return out


def _dated(rule: Rule) -> str:
    return f"{rule.source}, as of {rule.as_of or 'an undated copy'}"


def _everywhere(found: Mapping[str, list[str]]) -> list[Caution]:
    out = []
    six = [code for code in SIX_COLOURS if code in found]
    if six:
        text = (
            f"{', '.join(six)}: may have an adverse effect on activity and attention in children; in the EU and "
            "UK the label must say so (Regulation (EC) 1333/2008, Annex V)."
        )
        source = "Regulation (EC) No 1333/2008, Annex V; UK Food Standards Agency guidance, 2010"
        short = f"{', '.join(six)} may affect children's activity and attention; EU and UK labels must say so."
        out.append(Caution("additives", text, "a warning is asked for in the EU and UK", source, "care", short))
    if "E127" in found:
        text = (
            f"E127 (Red No. 3) in {listed(found['E127'])}: not permitted in US food from 15 January 2027 "
            "(90 FR 4628)."
        )
        short = f"E127 (Red No. 3), not permitted in US food from 15 January 2027: {listed(found['E127'])}."
        out.append(Caution("additives", text, "withdrawn in the US", "90 FR 4628, 16 January 2025", "care", short))
    if "E171" in found:
        text = (
            f"E171 (titanium dioxide) in {listed(found['E171'])}: not authorised in the EU since 2022 "
            "(Regulation (EU) 2022/63)."
        )
        short = f"E171 (titanium dioxide), not authorised in the EU: {listed(found['E171'])}."
        out.append(Caution("additives", text, "withdrawn in the EU", "Regulation (EU) 2022/63", "care", short))
    return out


def of_heat(
    jars: Iterable[Jar],
    own: LabelSettings | None = None,
    month: int | None = None,
    posted: bool = False,
    buttercream: bool = False,
) -> list[Caution]:
    """What melts; graver in a warm month or in the post. `month` is 1–12, None where not known."""
    soft = [j.name for j in jars if j.melts_in_heat] + (["buttercream"] if buttercream else [])
    if not soft:
        return []
    text = f"Melts in warm rooms and in the post: {listed(soft)}."
    warm = own is not None and month is not None and is_warm(month, own)
    if warm and month is not None:
        text += f" {_MONTHS[month - 1]} is warm: keep the kits cool, and do not post them."
    elif posted:
        text += " Post it early in the week, and not in warm weather."
    return [Caution("heat", text, "it melts", PRACTICE, "care" if warm or posted else "note")]


def is_warm(month: int, own: LabelSettings) -> bool:
    """Whether a month, 1–12, is one of the warm ones; they may run over the new year."""
    first, last = own.warm_from_month, own.warm_to_month
    return first <= month <= last if first <= last else month >= first or month <= last


def of_goods(contents: Contents) -> list[Caution]:
    """What is not eaten: picks, bags, ties and small things."""
    out = []
    if contents.picks > 0:
        text = "Picks are sharp: for older hands only, count them out and in."
        out.append(Caution("sharp", f"{text} ({PRACTICE})", "they prick", PRACTICE, "care"))
    text = "Plastic bags can smother: keep them, also empty, from babies and small children."
    out.append(Caution("bags", f"{text} ({PRACTICE})", "they can smother", PRACTICE, "care"))
    text = "Ribbon, ties and clips: off before small children handle the kit."
    source = "16 CFR 1501.4: what fits a cylinder of 31.7 mm is a small part for under threes; " + PRACTICE
    why = "they can choke or strangle"
    out.append(Caution("ribbon", f"{text} (small parts: 16 CFR 1501.4)", why, source, "note"))
    return out


def of_honey(ingredients: Iterable[str]) -> list[Caution]:
    """Honey in any ingredient is nothing for the first year."""
    if not any(re.search(r"\bhoney\b", word, re.IGNORECASE) for word in ingredients):
        return []
    source = "Institut national de santé publique du Québec, Honey: never for babies under age 1"
    text = f"Holds honey: never for a child under one year, not even baked ({source})."
    return [Caution("honey", text, "infant botulism", source, "danger")]


def _raw_flour() -> Caution:
    source = "US CDC, Raw Flour and Dough; US FDA, Flour Is a Raw Food"
    return Caution("flour", RAW_FLOUR, "raw flour and egg may carry germs", source, "care")


def of_tints(tints: Sequence[Tint]) -> list[Caution]:
    """Bleeding of very dark tints; common practice, no source."""
    dark = [t.name or t.hex for t in tints if t.lab[0] < VERY_DARK_L]
    if not dark:
        return []
    text = (
        f"Very dark icing ({listed(dark)}) bleeds into light icing beside it: let it dry first, and expect "
        "coloured tongues."
    )
    short = f"Very dark icing bleeds: let the {listed(dark)} dry before a light one goes beside it."
    return [Caution("bleeding", text, "much colour moves in wet icing", PRACTICE, "note", short)]
