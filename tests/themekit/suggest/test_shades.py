"""Shade words do to a colour what they say, whatever the colour, and stay within sRGB."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.lexicon import lexicon
from themekit.colour.space import hex_to_lab, lab_to_hex
from themekit.suggest.shades import MODIFIERS, PLAIN, hex_lab, modified
from themekit.values import Lab

rgb = st.lists(st.integers(0, 255), min_size=3, max_size=3)
#: Colours so far inside the gamut that no shade word meets its edge.
middling = st.lists(st.integers(90, 165), min_size=3, max_size=3)
TRIES = settings(derandomize=True, max_examples=80, deadline=None)
WHITENING = ("pastel", "pale", "baby", "soft")


def lab_of(channels: list[int]) -> Lab:
    L, a, b = hex_to_lab("#" + bytes(channels).hex()).tolist()
    return (L, a, b)


def chroma(lab: Lab) -> float:
    return math.hypot(lab[1], lab[2])


@TRIES
@given(rgb)
def test_words_that_lighten_lighten_and_those_that_darken_darken(channels: list[int]) -> None:
    lab = lab_of(channels)
    for word in (*WHITENING, "light"):
        assert modified(lab, word)[0] >= min(lab[0], 97) - 0.05, word
        assert chroma(modified(lab, word)) <= chroma(lab) + 0.05, word
    for word in ("dark", "deep"):
        assert modified(lab, word)[0] <= max(lab[0], 4) + 0.05, word
    assert modified(lab, "dark")[0] <= modified(lab, "deep")[0] + 0.05


@TRIES
@given(rgb)
def test_words_for_less_colour_grey_it_and_those_for_more_do_not(channels: list[int]) -> None:
    lab = lab_of(channels)
    for word, factor in (("dusty", 0.55), ("muted", 0.6)):
        assert chroma(modified(lab, word)) <= factor * chroma(lab) + 0.1, word


@TRIES
@given(middling)
def test_by_how_much_each_word_changes_a_middling_colour(channels: list[int]) -> None:
    """Warm is yellower and cool bluer: b* is that axis of CIELAB (CIE 15). The amounts are our own."""
    lab = lab_of(channels)
    for word, factor in (("dusty", 0.55), ("muted", 0.6), ("light", 0.85), ("dark", 0.85), ("vivid", 1.25)):
        assert chroma(modified(lab, word)) == pytest.approx(factor * chroma(lab), abs=0.01), word
    for word, step in (("light", 15), ("dark", -20), ("deep", -14), ("bright", 4), ("vivid", 0)):
        assert modified(lab, word)[0] == pytest.approx(lab[0] + step, abs=0.01), word
    assert modified(lab, "warm") == pytest.approx((lab[0], lab[1] + 4, lab[2] + 8), abs=0.01)
    assert modified(lab, "cool") == pytest.approx((lab[0], lab[1] - 4, lab[2] - 8), abs=0.01)


@TRIES
@given(rgb)
def test_every_shade_stays_within_what_a_screen_shows(channels: list[int]) -> None:
    for word in MODIFIERS:
        made = modified(lab_of(channels), word)
        shown = hex_to_lab(lab_to_hex(made))
        assert np.abs(shown - made).max() < 1.5, word  # eight bits a channel


def test_the_palest_of_the_words_leads_farthest_towards_white() -> None:
    """Whitening goes straight to L* 98 by a part of the way: 0.6, 0.55, 0.5 and 0.4."""
    teal = lab_of([29, 138, 138])
    for word, part in (("pale", 0.6), ("pastel", 0.55), ("baby", 0.5), ("soft", 0.4)):
        expected = [teal[0] + part * (98 - teal[0]), teal[1] * (1 - part), teal[2] * (1 - part)]
        assert modified(teal, word) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(("short", "long"), [("#0a8", "#00aa88"), ("#fff", "#ffffff"), ("#123", "#112233")])
def test_short_and_long_hex_are_one_colour(short: str, long: str) -> None:
    assert hex_lab(short) == hex_lab(long) == pytest.approx(tuple(hex_to_lab(long).tolist()))


def test_plain_colour_words_are_colours_of_the_table() -> None:
    assert set(lexicon().colour_words) >= PLAIN
    assert PLAIN.isdisjoint(MODIFIERS)
