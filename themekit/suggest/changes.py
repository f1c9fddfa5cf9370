"""What another tint, jar or cutter would do to a kit, in a word or two."""

from __future__ import annotations

from collections.abc import Mapping

from themekit.suggest.cutters import USUAL_MM, Chosen
from themekit.suggest.weights import Parts

#: What is gained and what is lost where a part of a score moves most.
_TINTS = {
    "fit": ("nearer the theme", "further from the theme"),
    "coverage": ("shows more of the theme", "shows less of the theme"),
    "harmony": ("calmer together", "livelier together"),
    "contrast": ("clearer steps of light", "less of a step in light"),
    "distinctness": ("easier to tell apart", "harder to tell apart"),
    "chroma": ("as colourful as the theme", "off in colourfulness"),
    "ease": ("fewer gels to mix", "more gels to mix"),
}
_JARS = {
    **_TINTS,
    "contrast": ("more to feel", "less to feel"),
    "suits": ("goes with the icing", "odd with the icing"),
    "ties": ("takes up the icing's colours", "leaves the icing's colours"),
    "stock": ("more of it there", "less of it there"),
    "motif": ("shapes of the theme", "shapes say less"),
}
#: Weighted changes below this are not worth a word.
_LEAST = 0.004
#: A cutter is larger or smaller from this ratio of the longer sides on; judged by eye, no source.
_SIZE = 1.12


def tint_change(before: Mapping[str, float], after: Mapping[str, float], weights: Parts) -> str:
    """What another tint would do, such as "nearer the theme, but harder to tell apart"."""
    return _told(before, after, weights, _TINTS)


def jar_change(before: Mapping[str, float], after: Mapping[str, float], weights: Parts) -> str:
    """What another jar would do."""
    return _told(before, after, weights, _JARS)


def cutter_change(before: Chosen, after: Chosen) -> str:
    """What another cutter would do: what it shows of the theme, its size, and parts that break."""
    words = [what_it_shows(after)]
    size, old = _longer_side(after), _longer_side(before)
    if size > _SIZE * old:
        words.append("larger")
    elif old > _SIZE * size:
        words.append("smaller")
    if after.cutter.thin_parts and not before.cutter.thin_parts:
        words.append("thin parts that may break")
    elif before.cutter.thin_parts and not after.cutter.thin_parts:
        words.append("no thin parts")
    return ", ".join(words)


def what_it_shows(one: Chosen) -> str:
    """What a cutter shows of the theme, and in what way."""
    if one.goes_with and not one.shows:
        return f"goes with “{one.goes_with[0]}”"
    if one.how == "theme":
        return f"shows the theme’s {one.motif}"
    if one.how == "near":
        return f"near the theme’s {one.of or one.motif}"
    if one.how == "guess":
        return f"shows {one.motif}, a guess at “{one.of}”"
    if one.how == "occasion":
        return f"{one.motif} for the {one.of}" if one.of else f"shows {one.motif}, in passing of the theme"
    return "says nothing of the theme"


def _longer_side(one: Chosen) -> float:
    return max(one.cutter.width_mm or 0.0, one.cutter.height_mm or 0.0) or USUAL_MM


def _told(
    before: Mapping[str, float], after: Mapping[str, float], weights: Parts, words: Mapping[str, tuple[str, str]]
) -> str:
    moved = sorted(
        (
            (getattr(weights, name) * (after[name] - before[name]), name)
            for name in words
            if name in before and name in after
        ),
        key=lambda one: (-abs(one[0]), one[1]),
    )
    gain = next((words[name][0] for by, name in moved if by >= _LEAST), "")
    loss = next((words[name][1] for by, name in moved if by <= -_LEAST), "")
    if gain and loss:
        better = sum(by for by, _ in moved) >= 0
        return f"{gain}, if {loss}" if better else f"{loss}, if {gain}"
    return gain or loss or "much the same"
