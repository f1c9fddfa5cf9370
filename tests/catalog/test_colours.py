"""Colours with shares: hex and Lab agree, equal ones merge, shares add up to exactly 1."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.colours import MILLION, check_colours, millionths
from catalog.fields import Checks
from themekit.colour.space import in_gamut


def colours(value: Any, weight: str | None = "share") -> tuple[list[dict[str, Any]], list[str]]:
    checks = Checks()
    found = check_colours(checks, "colours", value, weight, required=True)
    return found, [p.field for p in checks.problems]


def test_hex_and_lab_of_one_colour_must_agree() -> None:
    # sRGB red has CIELAB (53.23, 80.11, 67.22) by the rounded matrix of IEC 61966-2-1.
    found, wrong = colours([{"hex": "#F00", "lab": [53.23, 80.11, 67.22]}])
    assert wrong == []
    assert found == [{"lab": [53.23, 80.11, 67.22], "hex": "#ff0000", "share": 1.0}]
    # The Lab is the finer of the two, so it is what is kept.
    found, wrong = colours([{"hex": "#f00", "lab": [53, 79, 66]}])
    assert wrong == []
    assert found[0]["lab"] == [53.0, 79.0, 66.0]
    assert colours([{"hex": "#ff0000", "lab": [60, 80, 67]}]) == ([], ["colours.0.hex"])


def test_a_colour_out_of_gamut_is_kept_and_its_hex_mapped() -> None:
    found, wrong = colours([{"lab": [50, 20, -140]}])
    assert wrong == []
    assert found[0]["lab"] == [50.0, 20.0, -140.0]
    assert not in_gamut([50, 20, -140])
    # What was given out can be sent back.
    assert colours(found) == (found, [])


def test_equal_colours_merge_and_keep_their_order() -> None:
    found, _ = colours(
        [{"hex": "#ff0000", "share": 0.25}, {"hex": "#00f", "share": 0.5}, {"hex": "#f00", "share": 0.25}]
    )
    assert [(c["hex"], c["share"]) for c in found] == [("#ff0000", 0.5), ("#0000ff", 0.5)]


def test_shares_left_out_are_equal_and_a_near_sum_is_normalised() -> None:
    found, _ = colours([{"hex": "#f00"}, {"hex": "#0f0"}, {"hex": "#00f"}])
    assert [c["share"] for c in found] == [0.333334, 0.333333, 0.333333]
    found, wrong = colours([{"hex": "#f00", "share": 0.5}, {"hex": "#0f0", "share": 0.495}])
    assert wrong == []
    assert sum(c["share"] for c in found) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("value", "field"),
    [
        ([{"hex": "#f00", "share": 0.5}, {"hex": "#0f0", "share": 0.48}], "colours"),
        ([{"hex": "#f00", "share": 0.5}, {"hex": "#0f0"}], "colours.1.share"),
        ([{"hex": "#f00", "share": 1.2}], "colours.0.share"),
        ([{"hex": "#f00", "share": 0}], "colours.0.share"),
        ([{"hex": "#f00", "share": -0.5}], "colours.0.share"),
        ([{"hex": "#f00", "share": float("nan")}], "colours.0.share"),
        ([{"hex": "#f00", "share": "1"}], "colours.0.share"),
        ([{"hex": "#ff"}], "colours.0.hex"),
        ([{"hex": "red"}], "colours.0.hex"),
        ([{"hex": 16711680}], "colours.0.hex"),
        ([{"lab": [50, 0]}], "colours.0.lab"),
        ([{"lab": "50,0,0"}], "colours.0.lab"),
        ([{"lab": [101, 0, 0]}], "colours.0.lab"),
        ([{"lab": [50, 151, 0]}], "colours.0.lab"),
        ([{"lab": [50, float("nan"), 0]}], "colours.0.lab"),
        ([{"lab": [50, 10**400, 0]}], "colours.0.lab"),
        ([{"lab": [True, 0, 0]}], "colours.0.lab"),
        ([{"hex": "#f00", "weight": 1}], "colours.0.weight"),
        (["#f00"], "colours.0"),
        ([{"hex": "#f00"}] * 41, "colours"),
    ],
)
def test_what_colours_cannot_be(value: Any, field: str) -> None:
    assert colours(value) == ([], [field])


def test_without_shares_none_may_be_given() -> None:
    assert colours([{"hex": "#f00", "share": 1}], None)[1] == ["colours.0.share"]
    found, wrong = colours([{"hex": "#f00"}, {"hex": "#f00"}], None)
    assert wrong == []
    assert [set(c) for c in found] == [{"lab", "hex"}]


@given(st.lists(st.integers(1, 10_000), min_size=1, max_size=40))
def test_millionths_add_up_and_stay_within_one_of_the_exact_part(parts: list[int]) -> None:
    whole = millionths([float(p) for p in parts])
    assert sum(whole) == MILLION
    for part, got in zip(parts, whole, strict=True):
        assert abs(Fraction(part, sum(parts)) * MILLION - got) <= 1
    assert millionths([w / MILLION for w in whole]) == whole
