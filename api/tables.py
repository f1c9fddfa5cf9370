"""A kit laid out on the table: its parts judged by the same scores, held, swapped, or laid anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from catalog import lexicon as built_in
from catalog.store import Store
from themekit.errors import InvalidValue, NeedConflict, Problem, raise_all
from themekit.make.kit import Cut, Kit, Serve, Topping
from themekit.suggest.asked import ask
from themekit.suggest.changes import jar_change, tint_change
from themekit.suggest.cutters import Chosen, CutterSearch
from themekit.suggest.ideas import Idea, Suggester
from themekit.suggest.keep import KeptPalettes, KeptTrios, Made, kept_cutters, made_of, placed
from themekit.suggest.palettes import Palette
from themekit.suggest.taste import Taste
from themekit.suggest.trios import Trio
from themekit.values import Anchor, Cutter, Jar, Needs, Shelf, Tint

_OTHERS = 4


@dataclass(frozen=True, slots=True)
class Laid:
    """What lies on the table, as an address says it: colours, jars, cutters, and which of them are held.

    `held` names parts such as "t0", "j2" and "c1" by kind and place.
    """

    theme: str
    tints: tuple[str, ...]
    jars: tuple[int, ...]
    cuts: tuple[tuple[int, int], ...]
    kits: int = 1
    serve: Serve = "apart"
    held: frozenset[str] = frozenset()
    needs: Needs = field(default_factory=Needs)


@dataclass(frozen=True, slots=True)
class Swap:
    """Something else for one place, and what it would do in a word."""

    place: str
    value: Any
    told: str


@dataclass(frozen=True, slots=True)
class Table:
    """A kit judged: `made` tells how near the gels come to each colour, `swaps` what else would go.

    `needs` are those applied: the given ones and those that the theme's words tell.
    """

    laid: Laid
    idea: Idea
    kit: Kit
    made: tuple[Made, ...]
    swaps: tuple[Swap, ...]
    shelf: Shelf
    needs: Needs


def judged(store: Store, shelf_id: int, laid: Laid, today: date, taste: Taste | None = None) -> Table:
    """Judge three colours, three jars and cutters as one kit. Raises `InvalidValue` with every problem."""
    shelf = store.read(shelf_id)
    suggester = _suggester(shelf, laid, today)
    jars, cuts = _found(shelf, laid)
    tints = suggester.tints()
    made = tuple(made_of(colour, tints) for colour in laid.tints)
    held = [one.tint for one in made]
    if len({t.hex for t in held}) < 3:
        hint = "Choose three colours that differ."
        raise InvalidValue("Two of the colours are one.", [Problem("tints", ", ".join(laid.tints), "three", hint)])
    anchors = suggester.anchors or tuple(Anchor(t.lab, 1 / 3, t.name) for t in held)
    palette = _in_order(KeptPalettes(tints, anchors, suggester.asked.needs, held).best(1)[0], held)
    trio_search = KeptTrios(suggester, [j.id for j in jars], anchors)
    trio = _only(trio_search.best(1, palette.labs, serve=laid.serve))
    cutters = CutterSearch(
        shelf.cutters, suggester.asked.reading.motifs, suggester.asked.lookup, suggester.asked.avoid_motifs
    )
    cookies = sum(count for _, count in cuts)
    chosen = tuple(kept_cutters(cutters, cuts, cookies, palette.labs))
    idea = suggester.idea_of(palette, trio, chosen)
    kit = Kit(
        laid.theme,
        tuple(idea.palette.palette.tints),
        tuple(Topping(p.jar, p.share if p.share is not None else 1 / 3) for p in _by_place(trio, jars)),
        tuple(Cut(cutter, count) for cutter, count in cuts),
        laid.serve,
    )
    swaps = (
        *_tint_swaps(suggester, anchors, held, palette),
        *_jar_swaps(suggester, anchors, jars, trio, palette, laid.serve),
    )
    return Table(laid, idea, kit, made, swaps, shelf, suggester.asked.needs)


def laid_anew(store: Store, shelf_id: int, laid: Laid, today: date) -> Laid:
    """The table with all that is not held chosen anew, unlike what lay there before."""
    shelf = store.read(shelf_id)
    suggester = _suggester(shelf, laid, today)
    jars, cuts = _found(shelf, laid)
    tints = suggester.tints()
    made = [made_of(colour, tints).tint for colour in laid.tints]
    held = [t for i, t in enumerate(made) if f"t{i}" in laid.held]
    anchors = suggester.anchors or tuple(Anchor(t.lab, 1 / 3, t.name) for t in made)
    before = KeptPalettes(tints, anchors, suggester.asked.needs, made).best(1)
    found = KeptPalettes(tints, anchors, suggester.asked.needs, held).best(1, before if len(held) < 3 else ())
    palette = found[0] if found else before[0]
    new_tints = [palette.tints[i] for i in placed([t.hex for t in made], [t.hex for t in palette.tints])]
    held_jars = [j.id for i, j in enumerate(jars) if f"j{i}" in laid.held]
    earlier = KeptTrios(suggester, [j.id for j in jars], anchors).best(1, palette.labs, serve=laid.serve)
    search = KeptTrios(suggester, held_jars, anchors)
    trios = search.best(1, palette.labs, earlier if len(held_jars) < 3 else (), laid.serve)
    trio = _only(trios or search.best(1, palette.labs, serve=laid.serve))
    ids = [p.jar.id for p in trio.portions]
    new_jars = [ids[i] for i in placed([j.id for j in jars], ids)]
    cutters = CutterSearch(
        shelf.cutters, suggester.asked.reading.motifs, suggester.asked.lookup, suggester.asked.avoid_motifs
    )
    kept = [cut for i, cut in enumerate(cuts) if f"c{i}" in laid.held]
    total = sum(count for _, count in cuts)
    taken = Counter(cutter.id for i, (cutter, _) in enumerate(cuts) if f"c{i}" not in laid.held)
    chosen: list[Chosen] = kept_cutters(cutters, kept, total, palette.labs, taken)
    held_places = {f"t{i}" for i, t in enumerate(new_tints) if t.hex in {h.hex for h in held}}
    held_places |= {f"j{i}" for i, id in enumerate(new_jars) if id in held_jars}
    held_places |= {f"c{i}" for i in range(len(kept))}
    return replace(
        laid,
        tints=tuple(t.hex for t in new_tints),
        jars=tuple(new_jars),
        cuts=tuple((c.cutter.id, c.cookies) for c in chosen),
        held=frozenset(held_places),
    )


def _suggester(shelf: Shelf, laid: Laid, today: date) -> Suggester:
    lexicon = built_in.lexicon()
    cookies = sum(count for _, count in laid.cuts) or None
    return Suggester(ask(laid.theme, shelf, lexicon, laid.needs, laid.kits, cookies), shelf, lexicon, today)


def _found(shelf: Shelf, laid: Laid) -> tuple[list[Jar], list[tuple[Cutter, int]]]:
    by_id, cutters = {j.id: j for j in shelf.jars}, {c.id: c for c in shelf.cutters}
    problems = []
    if len(laid.tints) != 3:
        problems.append(Problem("tints", len(laid.tints), "three colours", "Choose three."))
    if len(laid.jars) != 3 or len(set(laid.jars)) < 3:
        problems.append(Problem("jars", len(set(laid.jars)), "three different jars", "Choose three."))
    for id in laid.jars:
        if id not in by_id:
            problems.append(Problem("jars", id, "a jar on this shelf", "Choose another."))
    for id, count in laid.cuts:
        if id not in cutters or not 1 <= count <= 100:
            problems.append(Problem("cutters", f"{id}: {count}", "a cutter on this shelf with 1 to 100 cookies"))
    if not laid.cuts:
        problems.append(Problem("cutters", None, "at least one cutter", "Choose one."))
    raise_all(problems, "This kit cannot be laid out.")
    return [by_id[id] for id in laid.jars], [(cutters[id], count) for id, count in laid.cuts]


def _tint_swaps(
    suggester: Suggester, anchors: Sequence[Anchor], held: Sequence[Tint], palette: Palette
) -> list[Swap]:
    swaps = []
    tints, needs = suggester.tints(), suggester.asked.needs
    for place in range(3):
        rest = [t for i, t in enumerate(held) if i != place]
        for other in KeptPalettes(tints, anchors, needs, rest).best(_OTHERS, [palette]):
            new = next((t for t in other.tints if t.hex not in {r.hex for r in rest}), None)
            if new is not None and new.hex != held[place].hex:
                named = suggester.names.nearest(new.lab)[0]
                told = tint_change(palette.parts, other.parts, suggester.taste.palette)
                swaps.append(Swap(f"t{place}", replace(new, name=named), told))
    return swaps


def _jar_swaps(
    suggester: Suggester,
    anchors: Sequence[Anchor],
    jars: Sequence[Jar],
    trio: Trio,
    palette: Palette,
    serve: Serve,
) -> list[Swap]:
    swaps = []
    for place in range(3):
        rest = [j.id for i, j in enumerate(jars) if i != place]
        seen = {jars[place].id}
        earlier: list[Trio] = [trio]
        search = KeptTrios(suggester, rest, anchors)
        for other in search.best(_OTHERS + 1, palette.labs, (), serve):
            new = next((p.jar for p in other.portions if p.jar.id not in rest), None)
            if new is not None and new.id not in seen and len(seen) <= _OTHERS:
                seen.add(new.id)
                earlier.append(other)
                swaps.append(Swap(f"j{place}", new, jar_change(trio.parts, other.parts, suggester.taste.trio)))
    return swaps


def _in_order(palette: Palette, held: Sequence[Tint]) -> Palette:
    by_hex = {t.hex: t for t in palette.tints}
    a, b, c = (by_hex.get(t.hex, t) for t in held)
    return replace(palette, tints=(a, b, c))


def _by_place(trio: Trio, jars: Sequence[Jar]) -> list[Any]:
    by_id = {p.jar.id: p for p in trio.portions}
    return [by_id[j.id] for j in jars]


def _only(found: Sequence[Trio]) -> Trio:
    if not found:
        problem = Problem("jars", None, "three jars that can stand together", "Hold fewer, or other jars.")
        raise NeedConflict("No three jars go with what is held.", [problem])
    return found[0]
