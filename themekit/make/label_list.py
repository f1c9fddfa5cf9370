"""The list of ingredients: parts by descending weight, allergens and additives in a jurisdiction's words."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from themekit.errors import Problem, raise_all
from themekit.make.label_rules import AdditiveRule, AllergenRule, LabelRules
from themekit.suggest.words import listed
from themekit.values import ALLERGENS, Composition

_UNKNOWN = Composition()


@dataclass(frozen=True, slots=True)
class Part:
    """One ingredient of a kit, as it goes on the label.

    name             its common name
    grams_per_kit    g at the time of use (raw), None where not known
    sub_ingredients  what it is made of, in the maker's order; () for a plain food, None where not known
    composition      its allergens and additives; None is not known
    kept_share       0–1, the share of its weight that is still in the packed kit: 1 − bake loss for dough
    """

    name: str
    grams_per_kit: float | None
    sub_ingredients: tuple[str, ...] | None = ()
    composition: Composition = _UNKNOWN
    kept_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of text, and whether it must stand out from the rest."""

    text: str
    emphasised: bool = False


@dataclass(slots=True)
class Found:
    """What came up while the list was made."""

    missing: list[str] = field(default_factory=list)
    additives: dict[str, list[str]] = field(default_factory=dict)
    unnamed: dict[str, list[str]] = field(default_factory=dict)


def checked_parts(parts: Sequence[Part]) -> None:
    """Raise `InvalidValue` with every part that cannot be used."""
    problems = []
    if all(part.grams_per_kit == 0 for part in parts):
        problems.append(
            Problem("parts", len(parts), "at least one part with weight", "Add the kit's ingredients.")
        )
    for number, part in enumerate(parts, start=1):
        where = f"parts[{number}]"
        if not part.name.strip():
            problems.append(Problem(f"{where}.name", part.name, "a name", "Enter its common name."))
        grams = part.grams_per_kit
        if grams is not None and not (math.isfinite(grams) and grams >= 0):
            problems.append(
                Problem(f"{where}.grams_per_kit", grams, "0 g or more, or nothing", "Correct it, or leave it out.")
            )
        if not 0 <= part.kept_share <= 1:
            problems.append(Problem(f"{where}.kept_share", part.kept_share, "a share from 0 to 1", "Correct it."))
    raise_all(problems, "Some parts of the label cannot be used.")


def joined(parts: Iterable[Part]) -> list[Part]:
    """Parts by descending weight, those of one name joined; unknown weights last, by name.

    Parts without weight (0 g) are left out.
    """
    by_name: dict[tuple[object, ...], Part] = {}
    for part in sorted(parts, key=_whole):
        if part.grams_per_kit == 0:
            continue
        # What is known of one must not be lost in what is unknown of its namesake.
        made = part.composition
        entered = (part.sub_ingredients, made.allergens, made.may_contain, made.additives)
        key = (" ".join(part.name.split()).casefold(), *(e is None for e in entered))
        by_name[key] = _both(by_name[key], part) if key in by_name else part
    return sorted(by_name.values(), key=lambda p: (p.grams_per_kit is None, -(p.grams_per_kit or 0.0), *_whole(p)))


def _whole(part: Part) -> tuple[str, str]:
    """An order of parts that does not hang on how they came."""
    return part.name.casefold(), repr(part)


def _both(a: Part, b: Part) -> Part:
    grams = kept = None
    if a.grams_per_kit is not None and b.grams_per_kit is not None:
        grams = a.grams_per_kit + b.grams_per_kit
        kept = (a.grams_per_kit * a.kept_share + b.grams_per_kit * b.kept_share) / grams if grams else None
    return Part(
        a.name,
        grams,
        _union(a.sub_ingredients, b.sub_ingredients),
        Composition(
            _union(a.composition.allergens, b.composition.allergens),
            _union(a.composition.may_contain, b.composition.may_contain),
            _union(a.composition.additives, b.composition.additives),
        ),
        min(a.kept_share, b.kept_share) if kept is None else kept,
    )


def _union(a: tuple[str, ...] | None, b: tuple[str, ...] | None) -> tuple[str, ...] | None:
    return None if a is None or b is None else tuple(dict.fromkeys((*a, *b)))


def ingredient_runs(parts: Sequence[Part], rules: LabelRules, found: Found) -> tuple[Run, ...]:
    """The list as text runs, with what is missing put into `found`; `parts` come in their final order."""
    emphasis = rules.wording("allergens") == "emphasis"
    runs: list[Run] = []
    for number, part in enumerate(parts):
        item = part.name + (", " if number + 1 < len(parts) else ".")
        body = [*_subs(part, rules, found)]
        names = [named(part, rule, found) for rule in _held(part, rules)]
        shown = " ".join((part.name, *body))
        absent = [n for n in names if not _spans(shown, n.look_for)] if emphasis else []
        inner = ", ".join(body)
        if absent:
            inner += ("; " if inner else "") + "contains " + listed([word for n in absent for word in n.prints])
        end = item[len(part.name) :]
        text = part.name + (f" ({inner})" if inner else "") + end
        runs += _marked(text, [w for n in names for w in n.look_for]) if emphasis else [Run(text)]
    return _merged(runs)


@dataclass(frozen=True, slots=True)
class Named:
    """One allergen of one part: the words to print, and all by which the list may already name it."""

    word: str
    group: str
    kinds: tuple[str, ...]
    look_for: tuple[str, ...]

    @property
    def prints(self) -> tuple[str, ...]:
        """The kinds where they are known, else the group."""
        return self.kinds or (self.group,)


def named(part: Part, rule: AllergenRule, found: Found | None = None) -> Named:
    """How a part's allergen is named; a kind that is not known is put into `found`."""
    text = " ".join((part.name, *(part.sub_ingredients or ())))
    kinds = _kinds(text, rule.kinds)
    held = part.composition.allergens or ()
    kinds += [k for k in rule.kinds if k in held and k not in kinds]
    if rule.kinds and not kinds and found is not None:
        not_counted = [w for w in rule.not_counted if _spans(text, (w,))]
        aside = f" ({listed(not_counted)} does not count as one here)" if not_counted else ""
        found.missing.append(f"{part.name} holds {rule.prints}; which kind is not entered{aside}: name it.")
    look_for = (*kinds, *(() if kinds else (rule.prints, *rule.words)))
    return Named(rule.word, rule.prints, tuple(kinds), look_for)


def unread_allergens(part: Part, rules: LabelRules) -> list[str]:
    """Allergens that a part's words name but its entered allergens do not."""
    if part.composition.allergens is None:
        return []
    text = " ".join((part.name, *(part.sub_ingredients or ())))
    text = re.sub("|".join(w for r in rules.allergens for w in r.not_counted) or "(?!)", " ", text, flags=re.I)
    held = part.composition.allergens
    return [
        rule.prints
        for rule in rules.allergens
        if rule.word not in held
        and not (rule.word == "gluten" and "wheat" in held)
        and _spans(text, (rule.prints, *rule.words, *rule.kinds))
    ]


def _held(part: Part, rules: LabelRules) -> list[AllergenRule]:
    held = part.composition.allergens or ()
    return [rule for rule in rules.allergens if rule.word in held]


def outside(parts: Sequence[Part], rules: LabelRules) -> list[str]:
    """The parts' allergens that these rules do not ask to be named; wheat tells gluten."""
    known = {rule.word for rule in rules.allergens}
    held: set[str] = set()
    for part in parts:
        own = set(part.composition.allergens or ())
        held |= own - {"gluten"} if "wheat" in own else own
    return [w for w in ALLERGENS if w in held and w not in known]


def _kinds(text: str, kinds: Sequence[str]) -> list[str]:
    """The kinds that a text names; "black walnut" is not also "walnut". In the order of the rules."""
    left, got = text, []
    for kind in sorted(kinds, key=lambda k: (-len(k), k)):
        if _spans(left, (kind,)):
            got.append(kind)
            left = _pattern(kind).sub(" ", left)
    return [k for k in kinds if k in got]


def _subs(part: Part, rules: LabelRules, found: Found) -> list[str]:
    """What stands in a part's parentheses: its own ingredients, then additives they do not name yet."""
    if part.sub_ingredients is None:
        found.missing.append(f"What {part.name} is made of is not entered: copy it from the maker's label.")
    body, seen = [], set()
    for word in part.sub_ingredients or ():
        rule = _additive_of(word, rules)
        if rule:
            seen.add(rule.code)
            found.additives.setdefault(rule.code, []).append(part.name)
        body.append(additive_text(rule, rules) if rule else word)
    if part.composition.additives is None:
        found.missing.append(f"Additives are not entered for {part.name}.")
    for code in part.composition.additives or ():
        rule = rules.additive(code)
        if rule is None:
            found.unnamed.setdefault(code, []).append(part.name)
            if code.casefold() not in {w.casefold() for w in body}:
                body.append(code)
            continue
        if rule.code not in seen:
            seen.add(rule.code)
            found.additives.setdefault(rule.code, []).append(part.name)
            body.append(additive_text(rule, rules))
    return body


def _additive_of(word: str, rules: LabelRules) -> AdditiveRule | None:
    plain = " ".join(word.split()).casefold()
    for rule in rules.additives:
        if plain in (rule.code.casefold(), *(name.casefold() for name in rule.names)):
            return rule
    return None


def additive_text(rule: AdditiveRule, rules: LabelRules) -> str:
    """An additive in the list: "colour: tartrazine (E102)" or "FD&C Yellow No. 5"."""
    form = rules.wording("additive", "{name}") if rule.colour else "{name}"
    return form.format(name=rule.names[0], code=rule.code)


@lru_cache(maxsize=4096)
def _pattern(phrase: str) -> re.Pattern[str]:
    """A whole phrase, singular or plural, in capitals or not."""
    stem = phrase[:-1] if phrase.endswith("s") and not phrase.endswith("ss") else phrase
    return re.compile(rf"(?<![^\W_]){re.escape(stem)}(?:s|es)?(?![^\W_])", re.IGNORECASE)


def _spans(text: str, phrases: Iterable[str]) -> list[tuple[int, int]]:
    return sorted(m.span() for phrase in phrases for m in _pattern(phrase).finditer(text))


def _marked(text: str, phrases: Sequence[str]) -> list[Run]:
    """`text` with every whole phrase of `phrases` emphasised."""
    runs, at = [], 0
    for start, end in _spans(text, phrases):
        if end <= at:
            continue
        runs += [Run(text[at : max(start, at)]), Run(text[max(start, at) : end], True)]
        at = end
    return [r for r in (*runs, Run(text[at:])) if r.text]


def _merged(runs: Iterable[Run]) -> tuple[Run, ...]:
    out: list[Run] = []
    for run in runs:
        if out and out[-1].emphasised == run.emphasised:
            out[-1] = Run(out[-1].text + run.text, run.emphasised)
        else:
            out.append(run)
    return tuple(out)
