"""Why a jar, a cutter or an icing may not go into a kit: every need that it breaks, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from themekit.colour.difference import delta_e_2000
from themekit.colour.space import Floats, hex_to_lab
from themekit.suggest.cutters import seen_in
from themekit.suggest.fitting import has_nuts, names_nuts, shows_unwanted
from themekit.suggest.ideas import Suggester
from themekit.suggest.needs import (
    LARGE_BALL_MM,
    broken,
    choking,
    choking_age,
    grams_per_tablespoon,
    shows_avoided,
    too_large,
)
from themekit.suggest.weights import AVOIDED_WITHIN
from themekit.suggest.words import listed
from themekit.values import Cutter, Jar, Needs


def jars_not_to_take(on: Suggester) -> dict[int, tuple[str, ...]]:
    """By id of each jar that breaks a need of the kit, why, such as "contains milk".

    Just the jars that suggestions leave out for a need. What is only left out of suggestions
    unasked, as nuts are (`only_if_meant`), may be taken by hand.
    """
    needs, kits = on.asked.needs, on.asked.kits
    unwanted = shows_avoided(on.shelf.jars, needs.avoid_colours)
    out = {}
    for jar, colours in zip(on.shelf.jars, unwanted, strict=True):
        why = [reason for _, reason in broken(jar.composition, needs)]
        why += _too_young(jar, needs)
        if jar.id in needs.skip_jars:
            why.append("is to be left out")
        if needs.in_stock_only:
            why += _too_little(jar, kits)
        why += _past(jar, on.today)
        why += [f"shows {_called(on, colour)}, which is not wanted" for colour in colours]
        if shows_unwanted(jar, on.asked):
            why.append(f"shows what is not wanted ({listed(list(on.asked.avoid_motifs))})")
        if why:
            out[jar.id] = tuple(dict.fromkeys(why))
    return out


def only_if_meant(on: Suggester) -> frozenset[int]:
    """The jars that are or contain nuts, where nobody asked for nuts: to be taken only if they are meant."""
    return frozenset() if names_nuts(on.asked) else frozenset(j.id for j in on.shelf.jars if has_nuts(j))


def cutters_not_to_take(on: Suggester) -> dict[int, tuple[str, ...]]:
    """By id of each cutter that shows what is not wanted, why."""
    left = {c.id for c in on.cutters.cutters}
    return {c.id: (_unwanted_in(c),) for c in on.shelf.cutters if c.id not in left}


def tints_not_to_take(on: Suggester, labs: Floats) -> list[tuple[str, ...]]:
    """For each icing, a CIELAB row of shape (n, 3), the avoided colours that it is too near to, as reasons."""
    avoided = on.asked.needs.avoid_colours
    if not avoided:
        return [()] * len(labs)
    apart = delta_e_2000(np.asarray(labs)[:, None, :], hex_to_lab(list(avoided))[None, :, :])
    near = apart < AVOIDED_WITHIN
    told = [f"is near {_called(on, colour)}, which is not wanted" for colour in avoided]
    return [tuple(why for why, hit in zip(told, row, strict=True) if hit) for row in near]


def _called(on: Suggester, colour: str) -> str:
    return on.names.nearest(hex_to_lab(colour))[0]


def _too_young(jar: Jar, needs: Needs) -> Sequence[str]:
    age = needs.youngest_age
    if age is None or age >= choking_age():
        return (f"has hard balls of {LARGE_BALL_MM:g} mm and more, for a child of {age}",) * too_large(jar, needs)
    if choking(jar):
        return (f"has small hard or sticky pieces, not for a child of {age}",)
    if jar.hard_small_pieces is None:
        return (f"may have hard pieces: nothing is entered, and a child of {age} gets it",)
    return ()


def _too_little(jar: Jar, kits: int) -> Sequence[str]:
    if jar.on_hand_g is None:
        return ("was never counted",)
    grams = grams_per_tablespoon(jar)
    if grams is None:
        return ("has no weight per spoon entered, so nobody knows whether it suffices",)
    return ("is too little for all kits",) if jar.on_hand_g < grams * kits else ()


def _past(jar: Jar, today: date | None) -> Sequence[str]:
    return ("is past its best-before day",) if today and jar.best_before and jar.best_before < today else ()


def _unwanted_in(cutter: Cutter) -> str:
    return f"shows {listed(list(seen_in(cutter)))}, which is not wanted"


__all__ = ["cutters_not_to_take", "jars_not_to_take", "only_if_meant", "tints_not_to_take"]
