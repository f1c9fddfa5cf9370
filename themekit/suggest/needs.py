"""Needs as hard limits: what breaks one is never suggested, and it is told how often.

Unknown fails: an allergen, additive or diet that was never entered breaks every need on
it. A "may contain" fails too; where none was entered the jar passes with a caution,
since labels need not carry one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab
from themekit.errors import NeedConflict, Problem
from themekit.suggest.weights import AVOIDED_WITHIN
from themekit.values import Composition, Gel, Jar, Needs, Shelf

#: Hard round pieces are kept from children under this age (American Academy of
#: Pediatrics, Prevention of choking among children, Pediatrics 125(3), 2010, and the
#: lists that follow it).
CHOKING_AGE = 4
#: The stricter line of some advice, for round foods (University of British Columbia:
#: "until at least 5 years").
STRICT_AGE = 5
#: From this size a hard ball counts as a choking piece, and from the next as a graver one.
#: No published lower size was found; both are our own caution.
HARD_BALL_MM = 3.0
LARGE_BALL_MM = 6.0
#: Up to this age hard balls of the larger size are left out: the stricter line, still included.
SMALL_CHILD = STRICT_AGE
#: Such a jar as a key of what was ruled out, before the age.
LARGE_BALLS = f"hard balls of {LARGE_BALL_MM:g} mm and more, youngest age "
#: Kinds that those lists name beside hard candy: marshmallow, gummy, nuts.
CHOKING_WORDS = frozenset(("marshmallow", "marshmallows", "gummy", "nut", "nuts", "dragée", "dragées"))
#: A jar's colour is avoided from this share on.
AVOIDED_SHARE = 0.1
#: One US tablespoon in mL (231 cubic inches to the gallon, 256 tablespoons).
TABLESPOON_ML = 14.78676478125
#: An E number: digits, letter and sub-class.
E_NUMBER = re.compile(r"E(\d{3,4})([a-z])?(?:\(([ivx]+)\))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Unmet:
    """A need that the standing dough or icing breaks; it leads every answer."""

    need: str
    of: str
    why: str

    def sentence(self) -> str:
        """The fact as a baker would say it."""
        return f"The {self.of} {self.why}, so “{self.need}” is not met by any kit of this shelf."


@dataclass(frozen=True, slots=True)
class Allowed:
    """What is left of a shelf under needs, and how many items each need ruled out."""

    jars: tuple[Jar, ...]
    gels: tuple[Gel, ...]
    ruled_out: dict[str, int]
    unmet: tuple[Unmet, ...]


def check_conflicts(needs: Needs) -> None:
    """Raise `NeedConflict` with every pair of needs that contradict each other."""
    problems = [
        Problem(
            "needs.use_jars",
            jar,
            "a jar that is not also skipped",
            "Take it out of use_jars or of skip_jars.",
        )
        for jar in needs.use_jars
        if jar in needs.skip_jars
    ]
    for wanted in needs.include_colours:
        for unwanted in needs.avoid_colours:
            distance = float(delta_e_2000(hex_to_lab(wanted), hex_to_lab(unwanted)))
            if distance < AVOIDED_WITHIN:
                problems.append(
                    Problem(
                        "needs.include_colours",
                        wanted,
                        f"a colour at least ΔE00 {AVOIDED_WITHIN:g} from the avoided {unwanted}",
                        "Take one of the two colours out.",
                    )
                )
    if problems:
        raise NeedConflict("Some needs contradict each other.", problems)


def broken(composition: Composition, needs: Needs) -> list[tuple[str, str]]:
    """The needs that a composition breaks, each with why: [("no milk", "contains milk")]."""
    found: list[tuple[str, str]] = []
    for allergen in needs.avoid_allergens:
        names = ("gluten", "wheat") if allergen == "gluten" else (allergen,)
        if composition.allergens is None:
            found.append((f"no {allergen}", "has no allergens entered"))
        elif any(n in composition.allergens for n in names):
            found.append((f"no {allergen}", f"contains {allergen}"))
        elif any(n in (composition.may_contain or ()) for n in names):
            found.append((f"no {allergen}", f"may contain {allergen}"))
        elif composition.may_contain is None:
            found.append((f"no {allergen}", "has no “may contain” entered"))
    for additive in needs.avoid_additives:
        if composition.additives is None:
            found.append((f"no {additive}", "has no additives entered"))
        elif meant := [a for a in composition.additives if same_additive(additive, a)]:
            same = meant[0].casefold() == additive.casefold()
            which = (
                "" if same else f", which may be {additive}" if _wider(meant[0], additive) else f" ({additive})"
            )
            found.append((f"no {additive}", f"contains {meant[0]}{which}"))
    if needs.diet:
        suits = ("vegan",) if needs.diet == "vegan" else ("vegan", "vegetarian")
        if composition.diet is None:
            found.append((needs.diet, "has no diet entered"))
        elif composition.diet not in suits:
            found.append((needs.diet, f"is not {needs.diet}"))
    return found


def same_additive(asked: str, entered: str) -> bool:
    """Whether an additive on a label is, or may be, the one to be kept out.

    E160b holds E160b(i) and E160b(ii), and E150 holds E150a to E150d (Regulation (EC)
    1333/2008, Annex II part B): who avoids the wider number avoids all of its sub-classes,
    and a label with only the wider number may mean the very one.
    """
    return asked.casefold() == entered.casefold() or _wider(asked, entered) or _wider(entered, asked)


def _wider(one: str, other: str) -> bool:
    """Whether E number `one` is the class that `other` belongs to."""
    a, b = E_NUMBER.fullmatch(one), E_NUMBER.fullmatch(other)
    if not a or not b or one.casefold() == other.casefold():
        return False
    return all(not x or x.casefold() == (y or "").casefold() for x, y in zip(a.groups(), b.groups(), strict=True))


def grams_per_tablespoon(jar: Jar) -> float | None:
    """Grams in a US tablespoon through the jar's bulk density; None where it is unknown."""
    return None if jar.density_g_per_ml is None else jar.density_g_per_ml * TABLESPOON_ML


def choking_age(strict: bool = False) -> int:
    """The age in years under which choking pieces are held back."""
    return STRICT_AGE if strict else CHOKING_AGE


def hard_ball(jar: Jar, from_mm: float = HARD_BALL_MM) -> bool:
    """Whether the jar holds hard balls of at least `from_mm` mm; unknown size or hardness is no."""
    made = jar.texture
    return made.form == "sphere" and made.hardness == "hard" and (made.grain_mm or 0.0) >= from_mm


def too_large(jar: Jar, needs: Needs) -> bool:
    """Whether the jar holds hard balls of the larger size, and a child of up to five years eats."""
    age = needs.youngest_age
    return age is not None and age <= SMALL_CHILD and hard_ball(jar, LARGE_BALL_MM)


def choking(jar: Jar) -> bool:
    """Whether the jar holds hard small pieces, or pieces that choking advice names."""
    return bool(jar.hard_small_pieces) or hard_ball(jar) or not CHOKING_WORDS.isdisjoint(jar.kind.split())


def _jar_breaks(jar: Jar, needs: Needs, kits: int, today: date | None, strict: bool) -> Iterable[str]:
    yield from (need for need, _ in broken(jar.composition, needs))
    young = needs.youngest_age is not None and needs.youngest_age < choking_age(strict)
    if young and (choking(jar) or jar.hard_small_pieces is None):
        yield f"youngest age {needs.youngest_age}"
    elif too_large(jar, needs):
        yield f"{LARGE_BALLS}{needs.youngest_age}"
    if jar.id in needs.skip_jars:
        yield "skip jars"
    if needs.in_stock_only:
        grams = grams_per_tablespoon(jar)
        if jar.on_hand_g is None or grams is None or jar.on_hand_g < grams * kits:
            yield "in stock only"
    if today and jar.best_before and jar.best_before < today:
        yield "past best-before"


def allowed(shelf: Shelf, needs: Needs, kits: int = 1, today: date | None = None, strict: bool = False) -> Allowed:
    """The jars and gels of a shelf that break no need; conflicts raise `NeedConflict`.

    `strict` holds choking pieces back up to five years instead of four.
    """
    check_conflicts(needs)
    counts: Counter[str] = Counter()
    jars = []
    coloured = shows_avoided(shelf.jars, needs.avoid_colours)
    for jar, shows in zip(shelf.jars, coloured, strict=True):
        breaks = list(_jar_breaks(jar, needs, kits, today, strict)) + [_unwanted(c, needs) for c in shows]
        counts.update(dict.fromkeys(breaks, 1))
        if not breaks:
            jars.append(jar)
    gels = tuple(g for g in shelf.gels if not broken(g.composition, needs))
    unmet = tuple(
        Unmet(need, of, why)
        for of, composition in (("dough", shelf.dough), ("icing", shelf.icing))
        for need, why in broken(composition, needs)
    )
    return Allowed(tuple(jars), gels, dict(sorted(counts.items())), unmet)


def _unwanted(colour: str, needs: Needs) -> str:
    """An avoided colour as it was said, or by its hex code where it was given so."""
    words = needs.sources.get(f"avoid_colours: {colour}", "given")
    return f"no {colour}" if words == "given" else words


def shows_avoided(jars: Sequence[Jar], avoided: Sequence[str]) -> list[list[str]]:
    """For each jar the avoided colours that one of its larger shares comes near to."""
    if not avoided or not jars:
        return [[] for _ in jars]
    labs = np.array([hex_to_lab(c) for c in avoided])
    out = []
    for jar in jars:
        own = np.array([c.lab for c in jar.colours if c.share >= AVOIDED_SHARE]).reshape(-1, 3)
        distance = delta_e_2000(own[:, None, :], labs[None, :, :]).min(axis=0, initial=np.inf)
        out.append([colour for colour, d in zip(avoided, distance.tolist(), strict=True) if d < AVOIDED_WITHIN])
    return out


def relax_hints(ruled_out: dict[str, int]) -> str:
    """Which need to relax first, as a sentence; empty when none ruled anything out."""
    if not ruled_out:
        return "Add jars to the shelf."
    most = sorted(ruled_out.items(), key=lambda item: (-item[1], item[0]))[:3]
    told = ", ".join(f"“{need}” ruled out {count}" for need, count in most)
    return f"{told}. Enter what is unknown on the labels, relax one of these, or add jars."
