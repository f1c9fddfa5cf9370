"""Grain sizes side by side on a rule in millimetres."""

from __future__ import annotations

import math
from collections.abc import Sequence

from themekit.draw.cups import described
from themekit.draw.grains import sorts_of
from themekit.draw.svg import at, checked_prefix, picture, words
from themekit.draw.trace import number
from themekit.values import Jar

#: Where the rule begins, mm from the left; the room that words need; the shortest rule.
_LEFT, _WORDS, _SHORTEST = 4.0, 74.0, 10


def grain_rule(jars: Sequence[Jar], prefix: str = "rule") -> str:
    """The largest grain of each jar laid against a rule, all in mm at full size.

    A jar whose grain size is not known is named without a grain. Ids begin with `prefix`;
    raises `InvalidValue` where that cannot begin an id.
    """
    checked_prefix(prefix)
    longest = max((j.texture.grain_mm or 0.0 for j in jars), default=0.0)
    length = max(_SHORTEST, 5 * math.ceil(longest / 5))
    body, shown, y = [_scale(length)], [], 11.0
    for i, jar in enumerate(jars):
        sorts = sorts_of(jar, f"{prefix}-g{i}")
        grain = max(sorts, key=lambda s: (s.size, s.share))
        size = jar.texture.grain_mm
        row = max(5.0, (size or 0.0) + 1.5)
        middle = y + row / 2
        if size is not None:
            # The gradient of a colour is drawn with its first form.
            shown += [s.drawn for s in sorts if s is grain or s.ident[:-1] == grain.ident[:-1]]
            body.append(f'<use href="#{grain.ident}" {at(_LEFT + size / 2, middle, digits=2)}/>')
        said = f"{number(size)} mm" if size is not None else "size not known"
        kept = jar.name if len(jar.name) <= 34 else jar.name[:33] + "…"
        body.append(words(_LEFT + length + 4, middle + 1.1, f"{kept}, {said}", 3.4))
        y += row
    defs = f"<defs>{''.join(shown)}</defs>" if shown else ""
    desc = " ".join(described(jar) for jar in jars) or "No jars."
    return picture(_LEFT + length + _WORDS, y + 2, "Grain sizes in millimetres", desc, [defs, *body], prefix)


def _scale(length: int) -> str:
    """The rule: a tick for each millimetre, longer ones with numbers at every fifth."""
    ticks = "".join(
        f"M{number(_LEFT + mm)} 10L{number(_LEFT + mm)} {6 if mm % 5 == 0 else 8}" for mm in range(length + 1)
    )
    lines = f'<path d="M{number(_LEFT)} 10L{number(_LEFT + length)} 10{ticks}" fill="none" stroke="currentColor"'
    numbers = "".join(
        words(_LEFT + mm, 4.6, str(mm), 3, ' text-anchor="middle"') for mm in range(0, length + 1, 5)
    )
    return f'{lines} stroke-width=".25"/>{numbers}'
