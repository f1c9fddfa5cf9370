"""Jars that would do instead of another: nearest in colour and in texture."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.values import Jar

#: Other form or finish counts like so many CIEDE2000, a doubled grain like the third; by judgement.
FORM, FINISH, GRAIN = 6.0, 3.0, 4.0
#: Beyond this a jar is not of the same look any more.
FARTHEST = 20.0


def stand_ins(jar: Jar, others: Iterable[Jar], count: int = 3) -> list[tuple[Jar, float]]:
    """The `count` jars that look most like `jar`, each with CIEDE2000 between their colours.

    Colours are compared by share, best against best in both directions, so a mix is like
    a mix. None that is too far to pass for it.
    """
    measured = [(other, colour_distance(jar, other)) for other in others if other.id != jar.id]
    ranked = sorted((far + _texture(jar, other), other.id, other, far) for other, far in measured)
    return [(other, far) for total, _, other, far in ranked if total <= FARTHEST][:count]


def colour_distance(a: Jar, b: Jar) -> float:
    """CIEDE2000 between the colours of two jars: share-weighted mean of nearest, the worse way round."""
    if not a.colours or not b.colours:
        return float("inf")
    A, B = (np.array([c.lab for c in jar.colours]) for jar in (a, b))
    far = delta_e_2000(A[:, None, :], B[None, :, :])
    p, q = (np.array([c.share for c in jar.colours]) for jar in (a, b))
    return float(max(p @ far.min(axis=1), q @ far.min(axis=0)))


def _texture(a: Jar, b: Jar) -> float:
    far = FORM * (a.texture.form != b.texture.form) + FINISH * (a.texture.finish != b.texture.finish)
    if a.texture.grain_mm and b.texture.grain_mm:
        far += GRAIN * abs(float(np.log2(a.texture.grain_mm / b.texture.grain_mm)))
    return float(far)
