"""The label of one kit: ingredients, allergens, net quantity, additives, date and what is still missing.

It states what was entered and what was not; it never promises that something is absent.
Which rules it follows, and as of when, is part of it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from themekit.errors import Problem, raise_all
from themekit.make.kit import Order
from themekit.make.label_list import (
    Found,
    Part,
    Run,
    checked_parts,
    ingredient_runs,
    joined,
    named,
    outside,
    unread_allergens,
)
from themekit.make.label_rules import AdditiveRule, LabelRules, Rule, Status
from themekit.make.settings import Settings
from themekit.suggest.words import listed
from themekit.values import ALLERGENS

CHECK = "Home kitchens' laws differ; some places exclude egg icings; check the local code."
TO_FILL_IN = "to fill in: what your local code asks for"
#: Grams in an avoirdupois ounce (1959 agreement, NIST Handbook 44 App. C; exact).
OUNCE_G = 28.349523125
OUNCES_PER_POUND = 16
# Claims that no label should make without proof; a baker's own words are only pointed at.
_CLAIM = re.compile(r"\bfree\b|\bsafe\b", re.IGNORECASE)
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Followed:
    """One source that the label follows, the date of the text that was read, and how it was read."""

    source: str
    as_of: date | None
    status: Status

    def sentence(self) -> str:
        """The source with its date, for people."""
        return f"{self.source} ({self.status}, {self.as_of or 'undated copy'})"


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says, and what whoever prints it must still see to.

    ingredients      the whole list with its heading, allergens emphasised where the rules ask for it
    contains         the allergen statement after the list; empty where the list itself shows them
    if_no_list       the words that stand instead where no list is carried; empty where not foreseen
    incomplete       why the label must not be used yet; empty when every part's allergens are entered
    may_contain      the voluntary line; empty when nothing was entered
    net_g            food in the packed kit, g; None where a weight is missing
    best_before      None until the day of packing is known
    problems         what must not be sold so
    missing          what is not known
    remarks          what to mind when printing, from the rules
    check            what no rule is held for, one sentence, and the standing sentence on home kitchens
    follows          the sources followed
    """

    jurisdiction: str
    name: str
    ingredients: tuple[Run, ...]
    contains: tuple[Run, ...]
    if_no_list: str
    incomplete: str
    may_contain: str
    net_quantity: str
    net_g: float | None
    warnings: tuple[str, ...]
    best_before: date | None
    best_before_text: str
    storage: str
    maker: str
    home_kitchen_statement: str
    problems: tuple[str, ...]
    missing: tuple[str, ...]
    remarks: tuple[str, ...]
    check: tuple[str, ...]
    follows: tuple[Followed, ...]

    @property
    def complete(self) -> bool:
        """Whether every part's allergens are entered."""
        return not self.incomplete

    def lines(self) -> list[str]:
        """What is printed, in order, as plain text."""
        shown = (
            self.incomplete, self.name, text_of(self.ingredients), text_of(self.contains), self.may_contain,
            *self.warnings, self.net_quantity, self.best_before_text, self.storage, self.maker,
            self.home_kitchen_statement,
        )  # fmt: skip
        return [line for line in shown if line]


def text_of(runs: Sequence[Run]) -> str:
    """Runs as plain text."""
    return "".join(run.text for run in runs)


def label(
    order: Order,
    parts: Sequence[Part],
    rules: LabelRules,
    packed_on: date | None = None,
    weighed_g: float | None = None,
    no_later: date | None = None,
) -> Label:
    """The label of one kit of an order.

    Parameters
    ----------
    order      the kit with its settings; toppings' best-before dates count.
    parts      every ingredient of one kit with its weight at the time of use.
    rules      the jurisdiction's rules.
    packed_on  the day of packing; without it the best-before date stays to be filled in.
    weighed_g  food of one packed kit as weighed, g; it goes before the sum of the parts.
    no_later   the best-before of the order's own day plan, where there is one.

    Raises `InvalidValue` with every part or weight that cannot be used.
    """
    checked_parts(parts)
    if weighed_g is not None and not (math.isfinite(weighed_g) and weighed_g > 0):
        raise_all([Problem("weighed_g", weighed_g, "more than 0 g", "Weigh the food of one packed kit.")])
    in_order = joined(parts)
    found = Found()
    runs = ingredient_runs(in_order, rules, found)
    own = order.settings.label
    unknown = [p.name for p in in_order if p.composition.allergens is None]
    net_g = weighed_g if weighed_g is not None else _net_g(in_order)
    used = [rule for rule in rules.additives if rule.code in found.additives]
    problems, notes = _additive_problems(used, found, packed_on)
    until, until_text, date_problems, date_missing = _best_before(order, rules, packed_on, no_later)
    warned = [w for w in rules.warnings if set(w.codes) & set(found.additives)]
    followed: tuple[Rule, ...] = (*rules.allergens, *used, *warned, *rules.wordings)
    bold = rules.wording("bold_titles") == "yes"
    heading = Run(rules.wording("heading", "Ingredients") + ": ", bold)
    statement = rules.wording("allergens") == "statement"
    names = _names(in_order, rules)
    contains = rules.wording("contains", "Contains")
    return Label(
        jurisdiction=rules.jurisdiction,
        name=own.product_name,
        ingredients=(heading, *runs),
        contains=_statement(contains, names, unknown, bold) if statement else (),
        if_no_list="" if statement else text_of(_statement(contains, names, unknown, False)),
        incomplete=(
            f"Not to be used yet: the allergens of {listed(unknown)} are not entered, so this list of "
            "allergens is not whole. Read the maker's label and enter them."
            if unknown
            else ""
        ),
        may_contain=_may_contain(in_order, rules),
        net_quantity=net_text(net_g, rules.wording("net"))
        or "Net quantity to fill in: weigh the food of one kit.",
        net_g=net_g,
        warnings=tuple(w.text.format(colours=_colours(w.codes, used)) for w in warned),
        best_before=until,
        best_before_text=until_text,
        storage=own.storage,
        maker=own.maker or "Maker " + TO_FILL_IN,
        home_kitchen_statement=own.home_kitchen_statement or "Home-kitchen statement " + TO_FILL_IN,
        problems=(*problems, *date_problems, *_claims(order.settings)),
        missing=tuple(dict.fromkeys((*_missing(in_order, rules, found, net_g), *date_missing))),
        remarks=(*notes, *rules.all_wordings("remark")),
        check=(*_checks(rules), CHECK),
        follows=tuple(Followed(*s) for s in dict.fromkeys((r.source, r.as_of, r.status) for r in followed)),
    )


def net_text(grams: float | None, form: str) -> str:
    """The net quantity: "NET WT 12 OZ (340 g)" for the form "US", else "340 g"; "" when not known.

    Ounces to a tenth, grams whole, each from the measured mass; from a pound on the
    ounces are followed by pounds and ounces.
    """
    if grams is None:
        return ""
    whole = round(grams)
    metric = f"{whole} g" if whole < 1000 or form == "US" else f"{whole / 1000:g} kg"
    if form != "US":
        return metric
    ounces = round(grams / OUNCE_G, 1)
    pounds, rest = divmod(round(ounces * 10), OUNCES_PER_POUND * 10)
    in_pounds = f" ({pounds} LB{f' {rest / 10:g} OZ' if rest else ''})" if pounds else ""
    return f"NET WT {ounces:g} OZ{in_pounds} ({metric})"


def _net_g(parts: Sequence[Part]) -> float | None:
    kept = [None if p.grams_per_kit is None else p.grams_per_kit * p.kept_share for p in parts]
    known = [g for g in kept if g is not None]
    return sum(sorted(known)) if len(known) == len(kept) else None


def _names(parts: Sequence[Part], rules: LabelRules) -> list[str]:
    """Every allergen of the parts once, in the order of the rules, kinds where they are known."""
    out: list[str] = []
    for rule in rules.allergens:
        having = [named(p, rule) for p in parts if rule.word in (p.composition.allergens or ())]
        if not having:
            continue
        kinds = sorted({k for n in having for k in n.kinds}, key=rule.kinds.index)
        if rule.word == "gluten" and kinds and all(n.kinds for n in having):
            out += kinds
        else:
            out.append(f"{rule.prints} ({', '.join(kinds)})" if kinds else rule.prints)
    return list(dict.fromkeys(out))


def _statement(word: str, names: Sequence[str], unknown: Sequence[str], bold: bool) -> tuple[Run, ...]:
    """ "Contains: Wheat, Milk, Eggs." with what is not known told in the same line."""
    told = ", ".join(n[:1].upper() + n[1:] for n in names)
    if unknown:
        told += ("; " if told else "") + f"not known of {listed(unknown)}"
    return (Run(f"{word}: ", bold), Run(told + ".")) if told else ()


def _may_contain(parts: Sequence[Part], rules: LabelRules) -> str:
    held = {a for p in parts for a in p.composition.allergens or ()}
    possible = {a for p in parts for a in p.composition.may_contain or ()} - held
    words = []
    for word in (w for w in ALLERGENS if w in possible):
        rule = rules.allergen(word)
        words.append(rule.prints if rule else word)
    return f"May contain {listed(words)} (voluntary, by the makers' labels)." if words else ""


def _colours(codes: Sequence[str], used: Sequence[AdditiveRule]) -> str:
    return listed([f"{r.names[0]} ({r.code})" for r in used if r.code in codes])


def _additive_problems(
    used: Sequence[AdditiveRule], found: Found, packed_on: date | None
) -> tuple[list[str], list[str]]:
    """Additives that may not be used on the day of packing, and notes on the others."""
    problems, notes = [], []
    for rule in used:
        told = (
            f"{rule.names[0]} ({rule.code}) in {listed(found.additives[rule.code])}: {rule.note} ({rule.source})."
        )
        starts = rule.not_permitted_from
        if rule.barred or (starts is not None and (packed_on is None or packed_on >= starts)):
            problems.append(f"{told} Do not sell this kit under these rules with it.")
        elif rule.note:
            notes.append(told)
    return problems, notes


def _best_before(
    order: Order, rules: LabelRules, packed_on: date | None, no_later: date | None
) -> tuple[date | None, str, list[str], list[str]]:
    """The earliest of her own days, what icing and cookies keep, and the toppings' dates."""
    made = order.settings
    icing_age = max(0, made.work.icing_days_before - made.work.pack_days_before)
    days = min(
        made.label.best_before_days,
        max(0, made.icing.keeps_days - icing_age),
        made.dough.cookies_keep_days,
    )
    dates = {t.jar.name: t.jar.best_before for t in order.kit.toppings}
    missing = [f"No best-before date is entered for {n}." for n, d in sorted(dates.items()) if d is None]
    known = sorted((d, n) for n, d in dates.items() if d is not None)
    word = rules.wording("best_before", "Best before")
    if packed_on is None:
        by = f", and not after {_day(known[0][0], rules)}" if known else ""
        return None, f"{word}: to fill in, at most {days} days after packing{by}", [], missing
    past = [f"{n} was best before {_day(d, rules)}: leave it out." for d, n in known if d < packed_on]
    ends = [packed_on + timedelta(days=days), *(d for d, _ in known), *([no_later] if no_later else [])]
    until = min(ends)
    return until, f"{word} {_day(until, rules)}", past, missing


def _day(day: date, rules: LabelRules) -> str:
    form, month = rules.wording("date"), _MONTHS[day.month - 1]
    if form == "month first":
        return f"{month} {day.day}, {day.year}"
    return f"{day.day} {month} {day.year}" if form == "day first" else day.isoformat()


def _missing(parts: Sequence[Part], rules: LabelRules, found: Found, net_g: float | None) -> list[str]:
    out = list(found.missing)
    weightless = [p.name for p in parts if p.grams_per_kit is None]
    if weightless:
        out.append(f"The weight of {listed(weightless)} is not known: placed last in the list.")
    if net_g is None:
        out.append("The net quantity is not known until every weight is, or a packed kit is weighed.")
    for part in parts:
        for word in unread_allergens(part, rules):
            out.append(f"{part.name} names {word}, but its entered allergens do not: look again.")
    silent = [p.name for p in parts if p.composition.may_contain is None]
    if silent:
        out.append(f"No “may contain” is entered for {listed(silent)}: makers need not print one, so ask.")
    other = outside(parts, rules)
    if other:
        out.append(
            f"{listed(other)} is held too, but is no allergen that these rules ask to name: see to the list."
        )
    if found.unnamed:
        out.append(f"No name under these rules is held for {listed(sorted(found.unnamed))}: check locally.")
    return out


def _checks(rules: LabelRules) -> list[str]:
    return [f"Check locally: {'; '.join(rules.checks)}."] if rules.checks else []


def _claims(settings: Settings) -> list[str]:
    """Her own words that promise absence; the label only repeats them, so she is told."""
    own = settings.label
    return [
        f"Your {what} says “{hit[0]}”: a promise of absence has its own rules and needs proof. Take it out, or "
        "check the local code."
        for what, text in (
            ("product name", own.product_name),
            ("storage text", own.storage),
            ("maker text", own.maker),
        )
        if (hit := _CLAIM.search(text))
    ]
