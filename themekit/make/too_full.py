"""Proofs, without a search, that pieces cannot all lie in a box.

A dual feasible function u maps lengths as shares of the box to shares, so that lengths
which go side by side still do afterwards. Then the volumes of the mapped pieces must go
into the unit box too, whichever function is taken on each axis; of a piece that may be
turned the least of its ways counts.

S. P. Fekete, J. Schepers, "A general framework for bounds for higher-dimensional
orthogonal packing problems", Math. Methods Oper. Res. 60 (2004), u^(k) (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

from themekit.make.lowering import Kind, Size

_HIGHEST_K = 4
_SCALE = 12  # divisible by 1 to 4, so that all values are whole numbers


def fitting(kind: Kind, box: Size) -> Kind:
    """The kind with only those ways that go into the empty box; none where it cannot lie in it."""
    return Kind(tuple(w for w in kind.ways if all(s <= b for s, b in zip(w, box, strict=True))), kind.count)


def too_much(kinds: Sequence[Kind], box: Size) -> bool:
    """Whether the pieces hold more than the box."""
    return sum(k.volume * k.count for k in kinds) > box[0] * box[1] * box[2]


def too_bulky(kinds: Sequence[Kind], box: Size) -> bool:
    """Whether the mapped pieces exceed the box for some functions u; every way must fit the box."""
    for which in product(range(_HIGHEST_K + 1), repeat=3):
        room = 1
        for axis, k in enumerate(which):
            room *= _SCALE * box[axis] if k == 0 else _SCALE
        used = 0
        for kind in kinds:
            least = room
            for way in kind.ways:
                mapped = 1
                for axis, k in enumerate(which):
                    mapped *= _mapped(k, way[axis], box[axis])
                least = min(least, mapped)
            used += kind.count * least
        if used > room:
            return True
    return False


def _mapped(k: int, length: int, whole: int) -> int:
    """u^(k) of length / whole, times `_SCALE`; k = 0 is the length itself, times `whole` too."""
    if k == 0:
        return _SCALE * length
    parts, rest = divmod((k + 1) * length, whole)
    if rest == 0:
        # u leaves multiples of 1/(k + 1) as they are; rounded down to a twelfth where 1/5 is none.
        return _SCALE * length // whole
    return parts * _SCALE // k
