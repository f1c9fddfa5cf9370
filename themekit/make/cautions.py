"""Cautions of a kit, from one place, each with why and its source.

They name what is known and what is not; nothing here ever says that a kit suits someone
with an allergy. Local codes and the makers' labels come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from themekit.suggest.needs import CHOKING_AGE, choking
from themekit.suggest.weights import VERY_DARK_L
from themekit.suggest.words import listed
from themekit.values import Composition, Gel, Jar, Needs, Tint

#: The six colours of Regulation (EC) No 1333/2008, Annex V.
SIX_COLOURS = ("E102", "E104", "E110", "E122", "E124", "E129")
SHARED_KITCHEN = (
    "Made in a home kitchen that also handles other allergens: say so on the label, and check the local code "
    "and each maker's label."
)
RAW_FLOUR = (
    "The dough holds raw flour and often raw egg: bake before eating (advice of US FDA and CDC, from memory)."
)
RAW_EGG = (
    "Make royal icing with meringue powder or pasteurised whites, not with raw whites (advice of Iowa State "
    "University Extension, 2022); some places do not allow egg icings from home kitchens."
)


def for_kit(
    jars: Sequence[Jar], gels: Sequence[Gel], dough: Composition, icing: Composition, needs: Needs
) -> list[str]:
    """All cautions of a kit with these jars and gels, the most serious first."""
    named = {"dough": dough, "icing": icing, **{g.name: g.composition for g in gels}}
    named |= {j.name: j.composition for j in jars}
    out = [*allergen_cautions(named), SHARED_KITCHEN, *choking_cautions(jars, needs)]
    if icing.allergens is None or "egg" in icing.allergens:
        out.append(RAW_EGG)
    return [*out, *additive_cautions(named), *heat_cautions(jars)]


def allergen_cautions(named: Mapping[str, Composition]) -> list[str]:
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
    out = []
    if contains:
        told = "; ".join(f"{a} ({listed(names)})" for a, names in sorted(contains.items()))
        out.append(f"Contains {told}.")
    if possible:
        told = "; ".join(f"{a} ({listed(names)})" for a, names in sorted(possible.items()))
        out.append(f"May contain {told}, by the makers' labels.")
    if unknown:
        out.append(f"Allergens are not entered for {listed(unknown)}: read the label before promising anything.")
    if traces:
        out.append(f"No “may contain” is entered for {listed(traces)}: makers need not print one, so ask.")
    return out


def choking_cautions(jars: Iterable[Jar], needs: Needs) -> list[str]:
    """Hard or sticky small pieces, for the youngest age asked where one is known."""
    pieces = [j.name for j in jars if choking(j)]
    out = []
    if pieces:
        out.append(
            f"Small hard or sticky pieces: {listed(pieces)}. Not for children under {CHOKING_AGE}; supervise "
            "older ones (American Academy of Pediatrics, Pediatrics 125(3):601, 2010)."
        )
    metallic = [j.name for j in jars if j.texture.finish == "metallic" and "dragée" in j.kind]
    if metallic:
        out.append(
            f"Metallic dragées ({listed(metallic)}) are for decoration only in the US, not to be eaten (FDA "
            "Compliance Policy Guide 545.200); elsewhere check the local code."
        )
    if needs.youngest_age is not None and needs.youngest_age < CHOKING_AGE and not pieces:
        out.append(
            f"A child of {needs.youngest_age} is eating: pieces of toppings can still be inhaled, so stay beside "
            "the child."
        )
    return out


def additive_cautions(named: Mapping[str, Composition]) -> list[str]:
    """Colour additives of note with the rule and its date."""
    found: dict[str, list[str]] = {}
    for name, composition in named.items():
        for additive in composition.additives or ():
            found.setdefault(additive, []).append(name)
    out = []
    six = [code for code in SIX_COLOURS if code in found]
    if six:
        out.append(
            f"{', '.join(six)}: may have an adverse effect on activity and attention in children; in the EU and "
            "UK the label must say so (Regulation (EC) 1333/2008, Annex V)."
        )
    if "E127" in found:
        out.append(
            f"E127 (Red No. 3) in {listed(found['E127'])}: not permitted in US food from 15 January 2027 "
            "(90 FR 4628)."
        )
    if "E171" in found:
        out.append(
            f"E171 (titanium dioxide) in {listed(found['E171'])}: not authorised in the EU since 2022 "
            "(Regulation (EU) 2022/63)."
        )
    return out


def heat_cautions(jars: Iterable[Jar]) -> list[str]:
    """Toppings that melt."""
    soft = [j.name for j in jars if j.melts_in_heat]
    return [f"Melts in warm rooms and in the post: {listed(soft)}."] if soft else []


def for_tints(tints: Sequence[Tint]) -> list[str]:
    """Bleeding of very dark tints; common practice, no source."""
    dark = [t.name or t.hex for t in tints if t.lab[0] < VERY_DARK_L]
    out = []
    if dark:
        out.append(
            f"Very dark icing ({listed(dark)}) bleeds into light icing beside it: let it dry first, and expect "
            "coloured tongues."
        )
    return out
