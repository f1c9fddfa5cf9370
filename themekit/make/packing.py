"""Whether a kit goes into each of her boxes, which box to take, how to lay it, what it weighs.

A box's sizes are inner ones; each loses `packing.wall_mm` to folds and walls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from themekit.errors import Problem
from themekit.make.arrange import Answer, Arrangement, Laid, Piece, arrange
from themekit.make.kit import Order
from themekit.make.layout_words import in_words
from themekit.make.pieces import kit_pieces
from themekit.make.quantities import KitContents, contents
from themekit.make.settings import Settings
from themekit.make.units import OZ_G, mass
from themekit.suggest.words import listed
from themekit.values import Box

FITS: tuple[Answer, Answer] = ("fits", "fits only laid so")


@dataclass(frozen=True, slots=True)
class BoxAnswer:
    """One of her boxes, and whether the kit goes into it.

    answer      of the search, or "not known" where sizes of the box or of cookies are missing.
    sentence    the answer in plain words.
    inner_mm    length, width and height that were reckoned with; None where not known.
    laid        the layout, empty without one; `words` tells it level by level.
    used_share  of the room that the pieces take.
    enough      whether as many are on hand as there are kits; None where not known.
    """

    box: Box
    answer: Answer | Literal["not known"]
    sentence: str
    inner_mm: tuple[float, float, float] | None = None
    laid: tuple[Laid, ...] = ()
    words: tuple[str, ...] = ()
    used_share: float | None = None
    enough: bool | None = None


@dataclass(frozen=True, slots=True)
class KitWeight:
    """One kit's weight with its box: g and avoirdupois oz; `at_least` where a part is not known.

    parts  name and grams of each part, None for one that is not known.
    """

    g: float
    oz: float
    at_least: bool
    parts: tuple[tuple[str, float | None], ...]
    words: str


@dataclass(frozen=True, slots=True)
class PackingPlan:
    """How one kit of an order is packed.

    boxes     every box in the order given.
    best      the smallest by room that the kit goes into; None without one.
    in_stock  the smallest of which enough are on hand, where that is known.
    advice    which box to take, in plain words.
    breakage  cutters whose cookies are likely to break.
    """

    pieces: tuple[Piece, ...]
    boxes: tuple[BoxAnswer, ...]
    best: BoxAnswer | None
    in_stock: BoxAnswer | None
    advice: tuple[str, ...]
    weight: KitWeight
    breakage: tuple[str, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    missing: tuple[str, ...]


def packing_plan(order: Order, boxes: Sequence[Box], cookies_g: float | None = None) -> PackingPlan:
    """Answers for every box, the box to take, the kit's weight and what is likely to break.

    `cookies_g` are the baked cookies of one kit in grams, None where not known.

    Raises `InvalidValue` for kits, cookies or shares out of range.
    """
    held = contents(order)
    kit = kit_pieces(order)
    answers = _answers(order, boxes, kit.pieces, bool(kit.missing))
    good = sorted(
        (a for a in answers if a.answer in FITS and a.inner_mm), key=lambda a: (_room_ml(a), a.box.name, a.box.id)
    )
    best = good[0] if good else None
    stocked = next((a for a in good if a.enough), None)
    notes = list(kit.notes)
    if best and (filling := order.settings.contents.filling_g):
        left = _room_ml(best) * (1 - (best.used_share or 0))
        takes = filling * order.settings.packing.filling_ml_per_g
        notes.append(
            f"In the {best.box.name} about {left:.0f} mL stay free; {filling:g} g of filling "
            f"fill about {takes:.0f} mL."
        )
    return PackingPlan(
        pieces=kit.pieces,
        boxes=answers,
        best=best,
        in_stock=stocked,
        advice=_advice(answers, best, stocked, order.kits),
        weight=_weight(order.settings, held, cookies_g),
        breakage=_breakage(held),
        problems=kit.problems,
        notes=tuple(notes),
        missing=kit.missing,
    )


def _answers(
    order: Order, boxes: Sequence[Box], pieces: tuple[Piece, ...], unsized: bool
) -> tuple[BoxAnswer, ...]:
    """Answers in the order of `boxes`; smaller boxes are searched first, for their layouts go
    into every box that is larger each way."""
    packing = order.settings.packing
    inner = {i: _inner(box, packing.wall_mm) for i, box in enumerate(boxes)}
    sized = {i: size for i, size in inner.items() if size and min(size) >= 1}
    done: dict[int, Arrangement] = {}
    for i in sorted(sized, key=lambda i: (_volume(sized[i]), i)):
        found = arrange(pieces, sized[i], packing.loose_share)
        if found.answer == "not found":
            smaller = next((j for j, a in done.items() if a.laid and _within(sized[j], sized[i])), None)
            if smaller is not None:
                found = Arrangement("fits only laid so", done[smaller].laid, found.used_share, "", found.steps)
        done[i] = found
    out = []
    for i, box in enumerate(boxes):
        enough = None if box.on_hand is None else box.on_hand >= order.kits
        if i in done:
            out.append(_told(box, done[i], sized[i], enough, unsized))
        elif inner[i]:
            out.append(
                BoxAnswer(box, "does not fit", f"The {box.name} has no room within its walls.", enough=enough)
            )
        else:
            sizes = (("length", box.length_mm), ("width", box.width_mm), ("height", box.height_mm))
            names = listed([name for name, size in sizes if size is None])
            words = f"Not entered for the {box.name}: inner {names}. Measure it."
            out.append(BoxAnswer(box, "not known", words, enough=enough))
    return tuple(out)


def _told(
    box: Box, found: Arrangement, inner: tuple[float, float, float], enough: bool | None, unsized: bool
) -> BoxAnswer:
    """One searched answer in words. Where a piece has no size only a refusal is certain."""
    share = f"{found.used_share:.0%} of the room"
    if found.answer == "does not fit":
        words = f"The kit does not fit the {box.name}. {found.why}"
    elif unsized:
        words = f"Whether all fits the {box.name} is not known: the pieces with sizes alone take {share}."
        return BoxAnswer(box, "not known", words, inner, used_share=found.used_share, enough=enough)
    elif found.answer == "not found":
        words = f"No layout was found for the {box.name}, and none is ruled out: try it by hand ({share})."
    elif found.answer == "fits":
        words = f"The kit fits the {box.name}: it takes {share}."
    else:
        words = f"The kit fits the {box.name} only laid so: " + " ".join(in_words(found.laid, inner))
    told = in_words(found.laid, inner)
    return BoxAnswer(box, found.answer, words, inner, found.laid, told, found.used_share, enough)


def _inner(box: Box, wall_mm: float) -> tuple[float, float, float] | None:
    """Room within the walls in mm, None where a size is not known."""
    if box.length_mm is None or box.width_mm is None or box.height_mm is None:
        return None
    return box.length_mm - wall_mm, box.width_mm - wall_mm, box.height_mm - wall_mm


def _within(small: tuple[float, float, float], large: tuple[float, float, float]) -> bool:
    return all(s <= b for s, b in zip(small, large, strict=True))


def _volume(size: tuple[float, float, float]) -> float:
    return size[0] * size[1] * size[2]


def _room_ml(answer: BoxAnswer) -> float:
    return _volume(answer.inner_mm) / 1000 if answer.inner_mm else 0.0


def _advice(
    answers: Sequence[BoxAnswer], best: BoxAnswer | None, stocked: BoxAnswer | None, kits: int
) -> tuple[str, ...]:
    """Which box to take, and whether there are enough of it."""
    if best is None:
        open_ones = [a.box.name for a in answers if a.answer in ("not known", "not found")]
        if not answers:
            return ("No boxes are entered.",)
        if open_ones:
            return (f"No box is known to do; still open: {listed(open_ones)}.",)
        return ("The kit goes into none of the boxes.",)
    out = [f"The smallest box that does is the {best.box.name}."]
    if best.enough is None:
        out.append("How many are on hand is not entered.")
    elif best.enough:
        out.append(f"{best.box.on_hand} on hand, {kits} needed.")
    else:
        out.append(f"Only {best.box.on_hand} on hand, {kits} needed.")
        if stocked:
            out.append(f"The smallest with enough on hand is the {stocked.box.name} ({stocked.box.on_hand}).")
        else:
            out.append("No box that does is known to be on hand in that number.")
    return tuple(out)


def _weight(settings: Settings, held: KitContents, cookies_g: float | None) -> KitWeight:
    """Weight of one kit for posting, part by part."""
    packing = settings.packing
    goods = {line.what: int(line.per_kit or 0) for line in held.goods if line.unit == "piece"}
    small = ("sticks", "spoons", "picks", "napkins", "cards", "stickers", "labels", "piping bag clips")
    bags = sum(count for what, count in goods.items() if what == "piping bags" or what.endswith("cookie bags"))
    parts: list[tuple[str, float | None]] = []
    if any(line.per_kit for line in held.cookies):
        parts.append(("cookies", cookies_g))
    parts.append(("icing", sum(i.g_per_kit for i in held.icing)))
    parts += [(p.jar.name, p.g_per_kit) for p in held.toppings]
    parts += [
        ("cups", goods.get("cups", 0) * packing.cup_g),
        ("bags", bags * packing.bag_g),
        ("small goods", sum(goods.get(what, 0) for what in small) * packing.small_goods_g),
        ("filling", settings.contents.filling_g),
        ("box", packing.box_g),
    ]
    grams = sum(g for _, g in parts if g is not None)
    unknown = [name for name, g in parts if g is None]
    words = f"{'at least ' if unknown else ''}{mass(grams)} ({mass(grams, 'US')})"
    if unknown:
        words += f"; not known: {listed(unknown)}"
    return KitWeight(grams, grams / OZ_G, bool(unknown), tuple(parts), words)


def _breakage(held: KitContents) -> tuple[str, ...]:
    """Sentences on thin parts; a cutter's are None where nobody entered them."""
    thin = [line.cutter.name for line in held.cookies if line.cutter.thin_parts]
    unknown = [line.cutter.name for line in held.cookies if line.cutter.thin_parts is None]
    out = []
    if thin:
        out.append(f"Thin parts are likely to break: {listed(thin)}. Lay them flat, between others, with filling.")
    if unknown:
        out.append(f"Thin parts are not entered for {listed(unknown)}: look before posting.")
    return tuple(out)
