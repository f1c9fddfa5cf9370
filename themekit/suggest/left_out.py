"""What was left out of a shelf, as one would say it at the table."""

from __future__ import annotations

from collections.abc import Mapping

from themekit.suggest.needs import E_NUMBER, LARGE_BALL_MM, LARGE_BALLS
from themekit.suggest.words import listed
from themekit.values import ALLERGENS

#: Jars that hold nuts where nobody asked for nuts, as a key of what was ruled out.
UNASKED_NUTS = "nuts only when asked for"
_NO_NUTS_ASKED = "with nuts, since none were asked for (others may hold traces)"
_YOUNGEST = "youngest age "
_SAID = {
    "past best-before": ("past its best-before", "past their best-before"),
    "skip jars": ("that you did not want", "that you did not want"),
    "in stock only": ("of which too little is in stock", "of which too little is in stock"),
    UNASKED_NUTS: (_NO_NUTS_ASKED, _NO_NUTS_ASKED),
    "vegan": ("not entered as vegan", "not entered as vegan"),
    "vegetarian": ("not entered as vegetarian", "not entered as vegetarian"),
}


def left_out(ruled_out: Mapping[str, int]) -> list[str]:
    """How many jars each need left out, in plain words: "2 jars past their best-before".

    Of allergens and additives also those that may hold them, or of which that was never entered.
    """
    held = {need: count for need, count in ruled_out.items() if _is_held(need)}
    out = []
    if held:
        of = listed([f"{need.removeprefix('no ')} ({count})" for need, count in held.items()], "or")
        out.append(f"jars that hold or may hold {of}, or do not say")
    for need, count in ruled_out.items():
        if need not in held:
            out.append(f"{count} jar{'s' * (count != 1)} {_because(need, count)}")
    return out


def _is_held(need: str) -> bool:
    what = need.removeprefix("no ")
    return what != need and (what in ALLERGENS or E_NUMBER.fullmatch(what) is not None)


def _because(need: str, count: int) -> str:
    if need.startswith(LARGE_BALLS):
        return f"with hard balls of {LARGE_BALL_MM:g} mm and more, for a child of {need.removeprefix(LARGE_BALLS)}"
    if need.startswith(_YOUNGEST):
        age = need.removeprefix(_YOUNGEST)
        return f"with small hard or sticky pieces, or not said, for a child of {age}"
    return _SAID[need][count != 1] if need in _SAID else f"because of “{need}”"
