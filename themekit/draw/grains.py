"""Grains of a jar, drawn to scale in mm: their sorts, a heap of them, a pinch strewn about.

Each sort of grain is drawn once and shown again by reference. A heap that would hold
too many is woven from one tile that meets itself on all sides.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from themekit.draw.dice import Dice, allotted
from themekit.draw.forms import ROUND, coat, footprint, grain
from themekit.draw.outlines import Outline, outline_for, outline_of
from themekit.draw.svg import shade, use
from themekit.draw.trace import number
from themekit.suggest.words import key_of
from themekit.values import ColourShare, Cutter, Jar

#: Drawn where a jar's grain size is not known, mm; the picture's words say so.
PLAIN_MM = 3.0
#: Heaps of more grains than this are woven from a tile of TILE × TILE grains.
MOST, TILE = 60, 6
#: Grains this many times smaller than the largest of a mix sink below it.
_FINE = 4.0
#: Strips are drawn from this length on, mm; shorter flakes are specks.
_STRIP_MM = 8.0
#: What a blend of unknown make-up is drawn from: form and size per its largest grain.
_BLEND = (("sphere", 0.55), ("rod", 0.9), ("sphere", 0.25))


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of grain: its id, form, size in mm, share of all grains, and its drawing.

    `drawn` holds the gradient it needs, if any, and the grain under its id.
    """

    ident: str
    form: str
    size: float
    share: float
    drawn: str

    @property
    def round(self) -> bool:
        """Whether turning it changes nothing."""
        return self.form in ROUND


def size_of(jar: Jar) -> float:
    """The grain size that is drawn, mm; `PLAIN_MM` where it is not known."""
    return jar.texture.grain_mm or PLAIN_MM


def seed_of(jar: Jar) -> str:
    """What chance hangs on for a jar: its id and name."""
    return f"{jar.id}/{jar.name}"


def _members(jar: Jar) -> list[tuple[str, float, Outline | None]]:
    """The forms in a jar with their sizes in mm."""
    size, form = size_of(jar), jar.texture.form
    shaped = None
    if form in ("shape", "mix"):
        shaped = outline_for(jar.motifs) or outline_of(Cutter(jar.id, jar.name))
    if form == "shape":
        if any(key_of(m) in (("eye",), ("eyeball",)) for m in jar.motifs):
            return [("eye", size, None)]
        return [("shape", size, shaped) if shaped else ("disc", size, None)]
    if form == "mix":
        own: list[tuple[str, float, Outline | None]] = [("shape", size, shaped)] if shaped else []
        return own + [(kind, part * size, None) for kind, part in _BLEND]
    if form == "flake":
        return [("strip" if size >= _STRIP_MM else "flake", size, None)]
    return [(form or "dot", size, None)]


def sorts_of(jar: Jar, prefix: str, share: float = 1.0) -> tuple[Sort, ...]:
    """The sorts of grain in a jar, with ids that begin with `prefix`; shares add up to `share`."""
    members = _members(jar)
    colours = jar.colours or (ColourShare((80.0, 0.0, 0.0), 1.0),)
    total = sum(c.share for c in colours) or 1.0
    if members[0][0] == "eye":
        colours, total = colours[:1], colours[0].share or 1.0
    sorts = []
    for i, colour in enumerate(colours):
        # Two forms for each colour of a blend are enough to show that it is one.
        shown = [members[(i + k) % len(members)] for k in range(min(2, len(members)))]
        painted, gradient = coat(colour.lab, jar.texture.finish or "matte", f"{prefix}-{i}f")
        for k, (form, size, outline) in enumerate(shown):
            ident = f"{prefix}-{i}{'ab'[k]}"
            body = grain(form, size, painted, f"{seed_of(jar)}/{i}/{k}", outline)
            drawn = (gradient if k == 0 else "") + f'<g id="{ident}">{body}</g>'
            sorts.append(Sort(ident, form, size, share * colour.share / total / len(shown), drawn))
    return tuple(sorts)


def ground(jars: Sequence[Jar]) -> str:
    """Hex of what shows between the grains of a heap: their mean colour in shadow."""
    colours = [c for jar in jars for c in jar.colours]
    total = sum(c.share for c in colours)
    if total <= 0:
        return "#6d6154"
    mean = [sum(c.share * c.lab[k] for c in colours) / total for k in range(3)]
    return shade((mean[0], mean[1], mean[2]), -18)


def definitions(sorts: Sequence[Sort]) -> str:
    """The drawings of all sorts, for the defs of a picture."""
    return "".join(s.drawn for s in sorts)


def drawn_from(sorts: Sequence[Sort], count: int, dice: Dice) -> list[Sort]:
    """`count` grains, split by shares as evenly as whole grains allow, in a shaken order."""
    numbers = allotted([s.share for s in sorts], count)
    return dice.shuffled([s for s, n in zip(sorts, numbers, strict=True) for _ in range(n)])


def show(sort: Sort, x: float, y: float, dice: Dice) -> str:
    """One grain at a place, turned by chance where that can be seen."""
    return use(sort.ident, x, y, 0.0 if sort.round else dice.between(0, 360))


def spacing(sorts: Sequence[Sort]) -> float:
    """Distance between grains of a closed heap, mm."""
    total = sum(s.share for s in sorts) or 1.0
    area = sum(s.share * footprint(s.form, s.size) for s in sorts) / total
    return 0.98 * math.sqrt(area)


def heap(sorts: Sequence[Sort], radius: float, ident: str, seed: str) -> tuple[str, str]:
    """A round heap of grains about (0, 0): what it needs in the defs, and the heap itself.

    Grains far smaller than the largest lie below as ground; the others cover as much of it
    as is their share.
    """
    largest = max(s.size for s in sorts)
    fine = [s for s in sorts if _FINE * s.size < largest]
    if fine:
        return _on_ground(fine, [s for s in sorts if s not in fine], radius, ident, seed)
    dice = Dice(seed)
    step = spacing(sorts)
    rows = step * math.sqrt(3) / 2
    if math.pi * radius**2 / (step * rows) > MOST:
        return _woven(sorts, radius, step, ident, dice)
    reach = radius - 0.3 * max(s.size for s in sorts)
    places = []
    n = math.ceil(radius / rows)
    for j in range(-n, n + 1):
        for i in range(-n - 1, n + 2):
            x = (i + 0.5 * (j % 2)) * step + dice.between(-0.2, 0.2) * step
            y = j * rows + dice.between(-0.2, 0.2) * step
            if math.hypot(x, y) <= reach:
                places.append((x, y))
    places = places or [(0.0, 0.0)]
    # The rim lies under the middle, as in a heap.
    places.sort(key=lambda p: -math.hypot(*p))
    grains = zip(drawn_from(sorts, len(places), dice), places, strict=True)
    shown = "".join(show(s, x, y, dice) for s, (x, y) in grains)
    rim = f'<clipPath id="{ident}"><circle r="{number(radius)}"/></clipPath>'
    return rim, f'<g clip-path="url(#{ident})">{shown}</g>'


def _on_ground(
    fine: Sequence[Sort], coarse: Sequence[Sort], radius: float, ident: str, seed: str
) -> tuple[str, str]:
    """A heap of fine grains with the coarse ones strewn on it."""
    needed, ground_text = heap(fine, radius, ident, seed)
    total = sum(s.share for s in (*fine, *coarse)) or 1.0
    exact = [s.share / total * math.pi * radius**2 / footprint(s.form, s.size) for s in coarse]
    count = min(MOST, max(len(coarse), round(sum(exact))))
    dice = Dice(f"{seed}/coarse")
    numbers = allotted(exact, count)
    order = dice.shuffled([s for s, n in zip(coarse, numbers, strict=True) for _ in range(n)])
    shown = []
    for k, sort in enumerate(order):
        # Fermat's spiral by the golden angle spreads them evenly; shaken, so that it does not show.
        turn = 2.39996 * k + dice.between(-0.5, 0.5)
        reach = (radius - 0.4 * sort.size) * math.sqrt((k + dice.roll()) / count)
        shown.append(show(sort, reach * math.cos(turn), reach * math.sin(turn), dice))
    rim = f'<clipPath id="{ident}c"><circle r="{number(radius)}"/></clipPath>'
    return needed + rim, f'{ground_text}<g clip-path="url(#{ident}c)">{"".join(shown)}</g>'


def _woven(sorts: Sequence[Sort], radius: float, step: float, ident: str, dice: Dice) -> tuple[str, str]:
    """A heap filled with a tile that meets itself on all sides."""
    # Many colours need a larger tile, or its repeats show.
    columns = lines = TILE + 2 * (len({s.ident[:-1] for s in sorts}) > 2)
    # To the tenth, as it is written, so that the copies meet.
    width, height = round(columns * step, 1), round(lines * step * math.sqrt(3) / 2, 1)
    count = columns * lines
    body = []
    order = dice.shuffled([(i, j) for j in range(lines) for i in range(columns)])
    for sort, (i, j) in zip(drawn_from(sorts, count, dice), order, strict=True):
        x = (i + 0.5 * (j % 2) + 0.5 + dice.between(-0.25, 0.25)) * width / columns
        y = (j + 0.5 + dice.between(-0.25, 0.25)) * height / lines
        body.append(show(sort, x, y, dice))
    # The tile is shown again all round itself, so that grains over an edge come back at the other.
    shifts = [(dx, dy) for dx in (-width, 0.0, width) for dy in (-height, 0.0, height) if dx or dy]
    rest = "".join(use(f"{ident}t", dx, dy) for dx, dy in shifts)
    tile = (
        f'<pattern id="{ident}" patternUnits="userSpaceOnUse" width="{number(width)}" height="{number(height)}">'
    )
    tile += f'<g id="{ident}t">{"".join(body)}</g>{rest}</pattern>'
    return tile, f'<circle r="{number(radius)}" fill="url(#{ident})"/>'
