"""A kit laid out on the table, judged by the same scores as an idea, with what else would go in each place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from catalog import lexicon as built_in
from catalog.store import Store
from catalog.taste import Tastes
from themekit.colour.space import hex_to_lab
from themekit.errors import InvalidValue, NeedConflict, Problem
from themekit.make.kit import Cut, Kit, Serve, Topping
from themekit.suggest.asked import MOST_COOKIES, ask
from themekit.suggest.changes import cutter_change, jar_change, tint_change
from themekit.suggest.cutters import Chosen, CutterSearch
from themekit.suggest.ideas import Idea, Suggester
from themekit.suggest.keep import KeptPalettes, KeptTrios, Made, kept_cutters, made_of, other_cutters, placed
from themekit.suggest.palettes import Palette, Tints, score_colours
from themekit.suggest.reasons import palette_reasons
from themekit.suggest.trios import Trio
from themekit.values import Anchor, Cutter, Jar, Needs, Shelf, Tint

_OTHERS = 4
#: Kits that are remembered as seen; nobody looks at more, and an address stays one that can be sent.
MOST_SEEN = 40
#: Beyond this CIEDE2000 the icing is visibly another colour than was asked for.
MISSED = 2.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A kit that lay on the table before: three colours, three jars, and its cutters."""

    tints: tuple[str, ...]
    jars: tuple[int, ...]
    cutters: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """What lies on the table, as an address says it: colours, jars, cutters, and which of them are held.

    `held` names parts such as "t0", "j2" and "c1" by kind and place; `seen` are the kits that
    were there before, oldest first, so that none comes back unasked. `carried` is what was
    said of the batch to be made of it, by field, and changes nothing on the table.
    """

    theme: str
    tints: tuple[str, ...]
    jars: tuple[int, ...]
    cuts: tuple[tuple[int, int], ...]
    kits: int = 1
    serve: Serve = "apart"
    held: frozenset[str] = frozenset()
    needs: Needs = field(default_factory=Needs)
    seen: tuple[Seen, ...] = ()
    carried: tuple[tuple[str, str], ...] = ()

    @property
    def now(self) -> Seen:
        """What lies there now, as it will be remembered."""
        return Seen(self.tints, self.jars, tuple(sorted(id for id, _ in self.cuts)))


@dataclass(frozen=True, slots=True)
class Swap:
    """Something else for one place, and what it would do in a word."""

    place: str
    value: Any
    told: str


@dataclass(frozen=True, slots=True)
class Own:
    """Three colours of her own as she gave them, scored as they are, not as the gels make them."""

    palette: Palette
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A kit judged: `made` tells how near the gels come to each colour, `swaps` what else would go.

    `laid` is whole: what was missing or not on the shelf was filled in, and `told` says so.
    `needs` are those applied: the given ones and those that the theme's words tell. `own` are
    her colours where the gels make visibly other ones. `on` is what it was judged against.
    """

    on: Spread
    laid: Laid
    idea: Idea
    kit: Kit
    made: tuple[Made, ...]
    swaps: tuple[Swap, ...]
    shelf: Shelf
    needs: Needs
    told: tuple[str, ...] = ()
    own: Own | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """A table with everything on it found: the whole `laid`, its things, and what they are judged against."""

    laid: Laid
    suggester: Suggester
    tints: Tints
    made: tuple[Made, ...]
    jars: tuple[Jar, ...]
    cuts: tuple[tuple[Cutter, int], ...]
    anchors: tuple[Anchor, ...]
    cutters: CutterSearch
    told: tuple[str, ...]

    @property
    def icing(self) -> list[Tint]:
        """The three tints as the gels make them, in their places."""
        return [one.tint for one in self.made]

    def palettes(self, held: Sequence[Tint]) -> KeptPalettes:
        """The palettes that hold these tints."""
        return KeptPalettes(
            self.tints, self.anchors, self.suggester.asked.needs, held, self.suggester.taste.palette
        )

    def trios(self, held: Sequence[int]) -> KeptTrios:
        """The trios that hold these jars."""
        return KeptTrios(self.suggester, held, self.anchors)


def spread(store: Store, shelf_id: int, laid: Laid, today: date) -> Spread:
    """Find what lies on the table, and fill in what is missing by the best that goes with the rest.

    Raises `InvalidValue` where there is neither a theme nor a colour to go by, `NeedConflict`
    or `TooFewCandidates` where nothing goes with what is there.
    """
    shelf, lexicon = store.read(shelf_id), built_in.lexicon()
    cookies = sum(count for _, count in laid.cuts)
    asked = ask(laid.theme, shelf, lexicon, laid.needs, laid.kits, min(cookies, MOST_COOKIES) or None)
    suggester = Suggester(asked, shelf, lexicon, today, Tastes(store).taste(shelf_id))
    tints = suggester.tints()
    told: list[str] = []
    made = _made(laid, tints, told)
    anchors = suggester.anchors or tuple(Anchor(m.tint.lab, 1 / len(made), m.tint.name) for m in made)
    if not anchors:
        hint = "Begin with a theme under Ideas."
        problem = Problem("theme", laid.theme or None, "a theme that is understood, or three colours", hint)
        raise InvalidValue("There is nothing to lay out.", [problem])
    if len(made) < 3:
        best = KeptPalettes(tints, anchors, asked.needs, [m.tint for m in made], suggester.taste.palette).best(1)
        rest = [t for t in _first(best, "colours").tints if t.hex not in {m.tint.hex for m in made}]
        made += [Made(t.hex, t, 0.0) for t in rest]
    jars = _jars(laid, shelf, told)
    if len(jars) < 3:
        labs = palette_of(made).labs
        found = KeptTrios(suggester, [j.id for j in jars], anchors).best(1, labs, serve=laid.serve)
        jars += [j for j in _first(found, "jars").jars if j.id not in {own.id for own in jars}]
    search = suggester.cutters
    cuts = _cuts(laid, shelf, told)
    if not cuts:
        cuts = [(c.cutter, c.cookies) for c in search.choose(asked.cookies, palette_of(made).labs)]
        if not cuts:
            problem = Problem("cutters", None, "at least one cutter", "Put a cutter on the shelf.")
            raise InvalidValue("There is no cutter to lay out.", [problem])
    whole = replace(
        laid,
        tints=tuple(m.asked for m in made),
        jars=tuple(j.id for j in jars),
        cuts=tuple((cutter.id, count) for cutter, count in cuts),
    )
    return Spread(whole, suggester, tints, tuple(made), tuple(jars), tuple(cuts), anchors, search, tuple(told))


def judged(store: Store, shelf_id: int, laid: Laid, today: date, swaps: bool = True) -> Table:
    """Judge three colours, three jars and cutters as one kit; raises as `spread` does."""
    on = spread(store, shelf_id, laid, today)
    suggester, held = on.suggester, on.icing
    palette = _in_order(on.palettes(held).best(1)[0], held)
    trio = _first(on.trios([j.id for j in on.jars]).best(1, palette.labs, serve=laid.serve), "jars")
    chosen = kept_cutters(on.cutters, on.cuts, sum(count for _, count in on.cuts), palette.labs)
    idea = suggester.idea_of(palette, trio, tuple(chosen))
    portions = {p.jar.id: p for p in trio.portions}
    kit = Kit(
        laid.theme,
        tuple(idea.palette.palette.tints),
        tuple(Topping(jar, portions[jar.id].share) for jar in on.jars),
        tuple(Cut(cutter, count) for cutter, count in on.cuts),
        laid.serve,
    )
    others = (
        (*_tint_swaps(on, palette), *_jar_swaps(on, trio, palette), *_cutter_swaps(on, chosen, palette))
        if swaps
        else ()
    )
    return Table(
        on, on.laid, idea, kit, on.made, others, suggester.shelf, suggester.asked.needs, on.told, _own(on)
    )


def palette_of(made: Sequence[Made]) -> Palette:
    """Three tints as a palette without a score."""
    a, b, c = (one.tint for one in made)
    return Palette((a, b, c), 0.0, {})


def _own(on: Spread) -> Own | None:
    if all(one.delta_e <= MISSED for one in on.made):
        return None
    labs = hex_to_lab([one.asked for one in on.made])
    scored = on.suggester.named(score_colours(labs, on.suggester.anchors, on.suggester.taste.palette))
    return Own(scored, tuple(palette_reasons(scored, on.suggester.anchors)))


def _made(laid: Laid, tints: Tints, told: list[str]) -> list[Made]:
    """The icing for each colour; one that comes out as another's icing makes room for a third."""
    made: list[Made] = []
    for colour in laid.tints[:3]:
        one = made_of(colour, tints)
        if any(one.tint.hex == other.tint.hex for other in made):
            told.append(f"The gels make the same icing of {colour} as of another colour here: a third stands in.")
        else:
            made.append(one)
    return made


def _jars(laid: Laid, shelf: Shelf, told: list[str]) -> list[Jar]:
    by_id = {j.id: j for j in shelf.jars}
    found: list[Jar] = []
    for id in laid.jars[:3]:
        if id not in by_id:
            told.append(f"There is no jar {id} on this shelf: another stands in its place.")
        elif by_id[id] in found:
            told.append(f"{by_id[id].name} was there twice: another jar stands in its place.")
        else:
            found.append(by_id[id])
    return found


def _cuts(laid: Laid, shelf: Shelf, told: list[str]) -> list[tuple[Cutter, int]]:
    by_id, found = {c.id: c for c in shelf.cutters}, dict[int, int]()
    for id, count in laid.cuts:
        if id not in by_id:
            told.append(f"There is no cutter {id} on this shelf: its {count} cookies are left out.")
        elif sum(found.values()) + count > MOST_COOKIES:
            told.append(f"A kit has at most {MOST_COOKIES} cookies: those of {by_id[id].name} are left out.")
        else:
            found[id] = found.get(id, 0) + count
    return [(by_id[id], count) for id, count in found.items()]


def _tint_swaps(on: Spread, palette: Palette) -> list[Swap]:
    swaps, held, suggester = [], on.icing, on.suggester
    for place in range(3):
        rest = [t for i, t in enumerate(held) if i != place]
        for other in on.palettes(rest).best(_OTHERS, [palette]):
            new = next((t for t in other.tints if t.hex not in {r.hex for r in rest}), None)
            if new is not None and new.hex != held[place].hex:
                named = suggester.names.nearest(new.lab)[0]
                told = tint_change(palette.parts, other.parts, suggester.taste.palette)
                swaps.append(Swap(f"t{place}", replace(new, name=named), told))
    return swaps


def _jar_swaps(on: Spread, trio: Trio, palette: Palette) -> list[Swap]:
    swaps = []
    for place in range(3):
        rest = [j.id for i, j in enumerate(on.jars) if i != place]
        seen = {on.jars[place].id}
        for other in on.trios(rest).best(_OTHERS + 1, palette.labs, (), on.laid.serve):
            new = next((p.jar for p in other.portions if p.jar.id not in rest), None)
            if new is not None and new.id not in seen and len(seen) <= _OTHERS:
                seen.add(new.id)
                told = jar_change(trio.parts, other.parts, on.suggester.taste.trio)
                swaps.append(Swap(f"j{place}", new, told))
    return swaps


def _cutter_swaps(on: Spread, chosen: Sequence[Chosen], palette: Palette) -> list[Swap]:
    swaps = []
    for place, before in enumerate(chosen):
        for other in other_cutters(on.cutters, on.cuts, place, palette.labs, _OTHERS):
            swaps.append(Swap(f"c{place}", other.cutter, cutter_change(before, other)))
    return swaps


def _in_order(palette: Palette, held: Sequence[Tint]) -> Palette:
    by_hex = {t.hex: t for t in palette.tints}
    a, b, c = (by_hex.get(t.hex, t) for t in held)
    return replace(palette, tints=(a, b, c))


def _first(found: Sequence[Any], what: str) -> Any:
    if not found:
        problem = Problem(what, None, f"three {what} that can stand together", "Hold fewer, or others.")
        raise NeedConflict(f"No three {what} go with what is held.", [problem])
    return found[0]


__all__ = ["Laid", "Own", "Seen", "Spread", "Swap", "Table", "judged", "palette_of", "placed", "spread"]
