"""Gel for one batch of one colour, as it can be measured: by scale, by drops or by a toothpick's tip."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from themekit.colour.difference import delta_e_2000
from themekit.colour.mixing import predict
from themekit.colour.reach import limit_g, within_ceiling
from themekit.colour.space import lab_to_hex
from themekit.make.settings.icing import Icing
from themekit.make.units import nearest
from themekit.suggest.words import listed
from themekit.values import Gel, Lab, Tint

Way = Literal["scale", "drops", "tip"]

#: CIEDE2000 from which on a tint is visibly not the one wanted. Common practice, no source.
MOVED = 2.0
_COUNTABLE = 40  # drops beyond which nobody counts


@dataclass(frozen=True, slots=True)
class GelDose:
    """One gel in the batch's icing of one colour.

    gel, gel_id          its name; the id is None for a kitchen staple.
    exact_g              by the recipe, for the batch.
    way                  how it is measured: by scale, by drops, or a toothpick's tip by eye.
    grams                as measured; of a tip as meant.
    drops                the nearest count of drops; None for a staple.
    first_g, rest_g      half to begin with, and the rest, in g; together `grams`.
    first, rest, text    the same and the whole, in words.
    g_per_100g           `grams` in 100 g of white icing.
    limit_g_per_100g     the maker's limit, else the general ceiling; None for a gel that is not known.
    over_limit           whether the measured dose is above it; None for a gel that is not known.
    """

    gel: str
    gel_id: int | None
    exact_g: float
    way: Way
    grams: float
    drops: int | None
    first_g: float
    rest_g: float
    first: str
    rest: str
    text: str
    g_per_100g: float
    limit_g_per_100g: float | None
    over_limit: bool | None


@dataclass(frozen=True, slots=True)
class Measured:
    """All gels of one colour; `lab`, `hex` and `delta_e` (CIEDE2000 to the wanted tint) after rounding.

    They are None where a gel or its strength is not known; `missing` then says so. A toothpick's
    tip counts as meant, as only the eye can judge it.
    """

    doses: tuple[GelDose, ...]
    lab: Lab | None
    hex: str | None
    delta_e: float | None
    told: tuple[str, ...]
    missing: tuple[str, ...]


def known_gels(gels: Sequence[Gel]) -> dict[int | str, Gel]:
    """Gels by id, and kitchen staples (ids below zero) by name."""
    return {(gel.id if gel.id > 0 else gel.name): gel for gel in gels}


def measured(tint: Tint, white_g: float, kits: int, known: Mapping[int | str, Gel], icing: Icing) -> Measured:
    """The tint's gels for `white_g` grams of white icing, and the colour that they then give.

    `kits` is only used to tell from how many kits on a faint dose can be weighed.
    """
    name = tint.name or tint.hex
    doses: list[GelDose] = []
    gels: list[Gel | None] = []
    told: list[str] = []
    missing: list[str] = []
    for part in tint.recipe:
        gel = known.get(part.gel if part.gel_id is None else part.gel_id)
        dose = _dose(part.gel, part.gel_id, part.g_per_100g * white_g / 100, white_g, gel, icing)
        if dose.exact_g <= 0:
            continue
        if dose.way == "tip":
            told.append(_faint(dose, kits, icing))
        if dose.over_limit and gel is not None:
            told.append(_over(dose, gel))
        if gel is None:
            missing.append(f"{part.gel} is not among the gels: the colour after rounding is not known.")
        elif not gel.k:
            missing.append(f"The strength of {part.gel} is not known, nor the colour after rounding.")
        doses.append(dose)
        gels.append(gel)
    found = [gel for gel in gels if gel is not None and gel.k]
    if len(found) < len(doses):
        return Measured(tuple(doses), None, None, None, tuple(told), tuple(missing))
    amounts = [dose.g_per_100g for dose in doses]
    if len(doses) > 1 and float(within_ceiling([amounts], [limit_g(gel) for gel in found])[0]) < 1 - 1e-9:
        told.append(f"All gels of {name} together are more than icing bears: it may turn soft and bitter.")
    meant = [100 * dose.exact_g / white_g for dose in doses]
    labs = predict([gel.k for gel in found], [amounts, meant])
    L, a, b = labs[0].tolist()
    delta, moved = float(delta_e_2000(labs[0], tint.lab)), float(delta_e_2000(labs[0], labs[1]))
    if not doses and delta > MOVED:
        missing.append(f"No gels are named for {name}: find a recipe for it first.")
    elif moved > MOVED:
        told.append(
            f"Rounded to what can be measured, {name} moves by a colour difference of {moved:.1f}: the eye sees "
            f"more than {MOVED:g}. Tint a larger quantity, or weigh from 1 part of gel stirred into 9 parts of "
            f"white icing."
        )
    elif delta > MOVED:
        told.append(f"The recipe of {name} gives a colour that differs by {delta:.1f} from the one wanted.")
    return Measured(tuple(doses), (L, a, b), lab_to_hex((L, a, b)), delta, tuple(told), tuple(missing))


def _dose(name: str, gel_id: int | None, exact: float, white_g: float, gel: Gel | None, icing: Icing) -> GelDose:
    step, drop = icing.scale_step_g, icing.drop_g
    drops = None if gel_id is None else nearest(exact, drop)
    way: Way
    if exact >= step:
        way, count, unit = "scale", nearest(exact, step), step
    elif drops is not None and exact >= drop:
        way, count, unit = "drops", drops, drop
    else:
        way, count, unit = "tip", 1, exact
    grams = round(count * unit, 9) if way != "tip" else exact
    first_g = round(count // 2 * unit, 9) if count > 1 else grams / 2
    first, rest, text = _words(way, count, step, drops)
    per_100 = 100 * grams / white_g if white_g else 0.0
    limit = None if gel is None else limit_g(gel)
    return GelDose(
        name, gel_id, exact, way, grams, drops, first_g, grams - first_g, first, rest, text, per_100, limit,
        None if limit is None else per_100 > limit * (1 + 1e-9),
    )  # fmt: skip


def _words(way: Way, count: int, step: float, drops: int | None) -> tuple[str, str, str]:
    """The first half, the rest and the whole, as they are measured."""
    if way == "tip":
        whole = "a pinch" if drops is None else "a toothpick's tip"
        return f"half of {whole}", "the rest by eye", whole
    if way == "drops":
        if count == 1:
            return "half a drop on a toothpick", "the rest by eye", "1 drop"
        return _drops(count // 2), _drops(count - count // 2), _drops(count)
    text = _grams(count, step)
    if drops is not None and 0 < drops <= _COUNTABLE:
        text += f" (about {_drops(drops)})"
    if count > 1:
        return _grams(count // 2, step), _grams(count - count // 2, step), text
    if drops is not None and drops > 1:
        return _drops(drops // 2), f"{_drops(drops - drops // 2)}, by eye", text
    return "half of it, by eye", "the rest by eye", text


def _faint(dose: GelDose, kits: int, icing: Icing) -> str:
    """What to do about a dose that neither scale nor drops can measure."""
    factor = 10 if 10 * dose.exact_g >= icing.scale_step_g else 100
    enough = math.ceil(kits * icing.scale_step_g / dose.exact_g - 1e-9)
    thinned = nearest(dose.exact_g * factor, icing.scale_step_g)
    advice = f"from {enough} kits on it can be weighed"
    if thinned:
        advice += (
            f"; or stir 1 part of it into {factor - 1} parts of white icing and weigh "
            f"{_grams(thinned, icing.scale_step_g)} of that"
        )
    small = "for the scale" if dose.drops is None else "for the scale or a drop"
    return (
        f"{dose.gel}: {dose.exact_g:.2g} g is too little {small}: "
        f"take {dose.text} and judge by eye, or tint a larger quantity ({advice})."
    )


def _over(dose: GelDose, gel: Gel) -> str:
    whose = "the general ceiling" if gel.max_g_per_100g is None else "its maker's limit"
    return (
        f"{dose.gel}: {dose.g_per_100g:.2f} g for 100 g of icing is above {whose} of {dose.limit_g_per_100g:g} g: "
        "take less, and check the maker's sheet."
    )


def _drops(count: int) -> str:
    return f"{count} drop{'' if count == 1 else 's'}"


def _grams(count: int, step: float) -> str:
    """So many steps of the scale, with the decimals that it shows."""
    return f"{count * Decimal(repr(step)).normalize():f} g"


@dataclass(frozen=True, slots=True)
class GelTotal:
    """One gel over all colours of the batch; `drops` is None for a staple, the stock where it is not known."""

    gel: str
    gel_id: int | None
    grams: float
    drops: int | None
    on_hand_g: float | None
    short_g: float | None


def totals(
    colours: Sequence[Sequence[GelDose]], known: Mapping[int | str, Gel], drop_g: float
) -> tuple[GelTotal, ...]:
    """Each gel's total for the batch, the most first."""
    grams: dict[tuple[str, int | None], float] = {}
    for dose in (dose for doses in colours for dose in doses):
        key = (dose.gel, dose.gel_id)
        grams[key] = grams.get(key, 0.0) + dose.grams
    out = []
    for (name, gel_id), total in grams.items():
        gel = known.get(name if gel_id is None else gel_id)
        on_hand = None if gel is None else gel.on_hand_g
        short = None if on_hand is None else max(0.0, total - on_hand)
        out.append(
            GelTotal(name, gel_id, total, None if gel_id is None else nearest(total, drop_g), on_hand, short)
        )
    return tuple(sorted(out, key=lambda t: (-t.grams, t.gel)))


def mixing_order(tints: Sequence[Tint], known: Mapping[int | str, Gel], dark_l: float) -> tuple[int, ...]:
    """Positions of the tints as they are best mixed: light before dark, weak natural colours before dark ones."""

    def key(i: int) -> tuple[bool, float, int]:
        gels = [known.get(d.gel if d.gel_id is None else d.gel_id) for d in tints[i].recipe]
        natural = all(gel is not None and (gel.natural or gel.id < 0) for gel in gels)
        return tints[i].lab[0] < dark_l and not natural, -tints[i].lab[0], i

    return tuple(sorted(range(len(tints)), key=key))


def natural_names(tints: Sequence[Tint], known: Mapping[int | str, Gel]) -> str:
    """The natural gels and kitchen staples of these tints, "a and b"."""
    names = []
    for part in (part for tint in tints for part in tint.recipe):
        gel = known.get(part.gel if part.gel_id is None else part.gel_id)
        if part.gel_id is None or (gel is not None and gel.natural):
            names.append(part.gel)
    return listed(names)
