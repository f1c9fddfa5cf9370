"""The table laid anew: what is not held changes, and nothing that was seen comes back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from api.tables import MOST_SEEN, Laid, Seen, Spread, palette_of, spread
from catalog.store import Store
from themekit.colour.space import Floats
from themekit.suggest.keep import kept_cutters, palette_seen, placed, trio_seen
from themekit.suggest.palettes import Palette
from themekit.suggest.trios import Trio
from themekit.suggest.weights import QUALITY_FLOOR
from themekit.values import Jar

#: How often cutters are put back once more, until a set comes that was not seen.
_ROUNDS = 12


def laid_anew(store: Store, shelf_id: int, laid: Laid, today: date) -> Laid | None:
    """The table with all that is not held chosen anew, unlike every kit seen; None when all are seen.

    Colours lie apart from all palettes seen, jars share at most one with each trio seen (beside
    those held), both above the usual share of the best score. Where only one of them has
    something new, the other stays. `MOST_SEEN` kits count as all. Raises as `spread` does.
    """
    on = spread(store, shelf_id, laid, today)
    seen = tuple(dict.fromkeys((*laid.seen, on.laid.now)))
    if len(seen) > MOST_SEEN:
        return None
    palette = _new_palette(on, seen)
    labs = (palette or palette_of(on.made)).labs
    trio = _new_trio(on, seen, labs)
    tints = tuple(t.hex for t in palette.tints) if palette else None
    jars = tuple(p.jar.id for p in trio.portions) if trio else on.laid.jars
    colours = on.laid.tints
    if tints is not None:
        made = [m.tint.hex for m in on.made]
        # What is held keeps the colour that was asked for, not only the icing made of it.
        asked = {m.tint.hex: m.asked for i, m in enumerate(on.made) if f"t{i}" in laid.held}
        colours = tuple(asked.get(tints[i], tints[i]) for i in placed(made, tints))
    placed_jars = tuple(jars[i] for i in placed(on.laid.jars, jars))
    cuts = _new_cuts(on, seen, colours, placed_jars, palette is not None or trio is not None)
    if cuts is None:
        return None
    held = frozenset(p for p in laid.held if p[0] != "c")
    held |= {f"c{i}" for i in range(sum(f"c{i}" in laid.held for i in range(len(on.cuts))))}
    return replace(on.laid, tints=colours, jars=placed_jars, cuts=cuts, held=held, seen=seen)


def _new_palette(on: Spread, seen: Sequence[Seen]) -> Palette | None:
    held = [t for i, t in enumerate(on.icing) if f"t{i}" in on.laid.held]
    if len(held) == 3:
        return None
    search = on.palettes(held)
    best = search.best(1)
    found = search.best(1, [palette_seen(one.tints) for one in seen if len(one.tints) == 3])
    return found[0] if found and found[0].score >= QUALITY_FLOOR * best[0].score else None


def _new_trio(on: Spread, seen: Sequence[Seen], labs: Floats) -> Trio | None:
    held = [j.id for i, j in enumerate(on.jars) if f"j{i}" in on.laid.held]
    if len(held) == 3:
        return None
    by_id: dict[int, Jar] = {j.id: j for j in on.suggester.shelf.jars}
    earlier = [
        trio_seen([by_id[id] for id in one.jars])
        for one in seen
        if len(one.jars) == 3 and all(id in by_id for id in one.jars)
    ]
    search, serve = on.trios(held), on.laid.serve
    best = search.best(1, labs, serve=serve)
    found = search.best(1, labs, earlier, serve)
    return found[0] if best and found and found[0].score >= QUALITY_FLOOR * best[0].score else None


def _new_cuts(
    on: Spread, seen: Sequence[Seen], colours: Sequence[str], jars: Sequence[int], new: bool
) -> tuple[tuple[int, int], ...] | None:
    """The held cutters, then others; None when neither they nor anything else would be new.

    With new colours or jars the cutters only make room as those of the next idea do: what
    shows the theme best may come again.
    """
    kept = [cut for i, cut in enumerate(on.cuts) if f"c{i}" in on.laid.held]
    total = sum(count for _, count in on.cuts)
    palette = palette_seen(colours).labs
    taken = Counter(seen[-1].cutters)
    for _ in range(1 if new else _ROUNDS):
        chosen = kept_cutters(on.cutters, kept, total, palette, taken)
        cuts = tuple((c.cutter.id, c.cookies) for c in chosen)
        ids = tuple(sorted(id for id, _ in cuts))
        if Seen(tuple(colours), tuple(jars), ids) not in seen:
            return cuts
        taken.update(ids)
    return None


__all__ = ["laid_anew"]
