"""Colours as a baker enters them: hex or CIELAB, one or several with shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from catalog.fields import Checks
from themekit.colour.difference import delta_e_2000
from themekit.colour.space import hex_to_lab, lab_to_hex, parse_hex, to_gamut
from themekit.errors import InvalidValue

MOST_COLOURS = 40
# Shares and weights are kept in millionths, so that they add up to exactly 1.
MILLION = 1_000_000
# A hex and a Lab of one colour may differ by rounding and gamut mapping, not by more.
_AGREE = 3.0
_SUM_SLACK = 0.01
_LAB = "[L, a, b] with L from 0 to 100, a and b from −150 to 150"


def check_colour(checks: Checks, path: str, value: Any, extra: str | None = None) -> dict[str, Any] | None:
    """One colour object with "hex" or "lab" as {"lab": two decimals, "hex": in gamut}."""
    allowed = 'an object with "hex" such as "#2a9d8f" or "lab"' + (f', and "{extra}"' if extra else "")
    if not isinstance(value, Mapping) or not (value.get("hex") or value.get("lab")):
        checks.wrong(path, value, allowed, "Give the colour as hex or as CIELAB.")
        return None
    for name in value:
        if name not in ("hex", "lab", extra):
            checks.wrong(f"{path}.{str(name)[:40]}", value[name], allowed, "Leave this field out.")
    lab = _lab(checks, f"{path}.lab", value["lab"]) if value.get("lab") is not None else None
    hexed = None
    if value.get("hex") is not None:
        try:
            hexed = parse_hex(value["hex"], f"{path}.hex")
        except InvalidValue as error:
            for problem in error.problems:
                checks.wrong(problem.field, problem.got, problem.allowed, problem.hint)
            return None
    if lab is None:
        if hexed is None or value.get("lab") is not None:
            return None
        lab = _rounded(hex_to_lab(hexed))
    elif hexed is not None:
        apart = float(np.min(delta_e_2000(hex_to_lab(hexed), np.array([lab, to_gamut(lab)]))))
        if apart > _AGREE:
            near = lab_to_hex(lab)
            hint = f"They lie ΔE00 {apart:.1f} apart; the Lab given is about {near}. Send only one of them."
            checks.wrong(f"{path}.hex", hexed, f"a hex within ΔE00 {_AGREE:g} of the Lab given", hint)
            return None
    return {"lab": lab, "hex": lab_to_hex(lab)}


def _lab(checks: Checks, path: str, value: Any) -> list[float] | None:
    numbers = isinstance(value, Sequence) and not isinstance(value, str) and len(value) == 3
    if not numbers or not all(isinstance(v, int | float) and not isinstance(v, bool) for v in value):
        checks.wrong(path, value, _LAB, "Send three numbers.")
        return None
    if not (0 <= value[0] <= 100 and all(-150 <= v <= 150 for v in value[1:])):
        checks.wrong(path, str([str(v)[:12] for v in value]), _LAB, "Check the three numbers.")
        return None
    return _rounded(value)


def _rounded(lab: Any) -> list[float]:
    # Adding 0.0 turns a −0.0 into 0.0, which would be shown with its sign.
    return [round(float(v), 2) + 0.0 for v in lab]


def check_colours(
    checks: Checks, path: str, value: Any, weight: str | None, *, required: bool = False
) -> list[dict[str, Any]]:
    """A list of colours; with `weight` ("share" or "weight") each carries its part of 1.

    Equal colours are merged. Parts may all be left out (then they are equal), must be
    positive, and must add up to 1 within 0.01; they are then normalised in millionths.
    """
    allowed = f"a list of {1 if required else 0} to {MOST_COLOURS} colours"
    if value is None or value == []:
        if required:
            checks.wrong(path, value, allowed, "Give at least one colour.")
        return []
    if not isinstance(value, list | tuple) or len(value) > MOST_COLOURS:
        checks.wrong(path, value, allowed, "Send a list.")
        return []
    before = len(checks.problems)
    colours = [check_colour(checks, f"{path}.{i}", one, weight) for i, one in enumerate(value)]
    parts = _parts(checks, path, value, weight) if weight else [1.0] * len(value)
    if len(checks.problems) > before:
        return []
    merged: dict[tuple[float, ...], dict[str, Any]] = {}
    for colour, part in zip(colours, parts, strict=True):
        if colour is not None:
            kept = merged.setdefault(tuple(colour["lab"]), {**colour, "part": 0.0})
            kept["part"] += part
    shares = millionths([kept.pop("part") for kept in merged.values()])
    if weight:
        for kept, share in zip(merged.values(), shares, strict=True):
            kept[weight] = share / MILLION
    return list(merged.values())


def _parts(checks: Checks, path: str, value: Sequence[Any], weight: str) -> list[float]:
    given: list[Any] = [one.get(weight) if isinstance(one, Mapping) else None for one in value]
    if all(part is None for part in given):
        return [1.0] * len(given)
    allowed = "a number above 0 (at least 0.0001), at most 1"
    before = len(checks.problems)
    for i, part in enumerate(given):
        number = isinstance(part, int | float) and not isinstance(part, bool)
        if not number or not 0.0001 <= part <= 1:
            hint = "Give every colour its part, or none of them."
            checks.wrong(f"{path}.{i}.{weight}", part, allowed, hint)
    if len(checks.problems) > before:
        return []
    total = float(sum(given))
    if abs(total - 1) > _SUM_SLACK + 1e-9:
        hint = f"They add up to {total:.4g}."
        checks.wrong(path, f"{weight}s adding up to {total:.4g}", f"{weight}s that add up to 1", hint)
        return []
    return [float(part) for part in given]


def millionths(parts: Sequence[float]) -> list[int]:
    """Positive parts as whole millionths that add up to exactly one million.

    What rounding leaves over goes to the largest remainders, the earlier first.
    """
    total = sum(parts)
    exact = [part / total * MILLION for part in parts]
    whole = [int(e + 1e-6) for e in exact]
    left = MILLION - sum(whole)
    order = sorted(range(len(parts)), key=lambda i: (-(exact[i] - whole[i]), i))
    for i in order[:left]:
        whole[i] += 1
    return whole
