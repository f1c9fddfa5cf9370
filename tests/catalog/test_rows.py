"""Records: what is accepted and how it is tidied, what is refused and how that is told."""

from __future__ import annotations

import json
import math
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.fields import name_key
from catalog.rows import FIELDS, check, clean, find_kind, merged, with_defaults
from themekit.errors import InvalidValue

JAR: dict[str, Any] = {"name": "white", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]}


def fields(resource: str, record: Any, kinds: Any = ()) -> list[str]:
    return [p.field for p in check(resource, record, kinds)[1]]


def test_a_bare_jar_has_every_field_and_nothing_filled(kinds: Any) -> None:
    jar = clean("jars", JAR, kinds)
    assert tuple(jar) == FIELDS["jars"]
    assert jar["texture"] == dict.fromkeys(("form", "grain_mm", "finish", "hardness"))
    unknown = set(FIELDS["jars"]) - {"name", "kind", "colours", "texture", "motifs"}
    assert all(jar[field] is None for field in unknown)


def test_defaults_fill_blanks_only_and_never_what_can_hurt(kinds: Any) -> None:
    jar = with_defaults(clean("jars", JAR | {"texture": {"finish": "pearl"}}, kinds), kinds)
    assert jar["texture"] == {"form": "sphere", "grain_mm": 1.5, "finish": "pearl", "hardness": "crisp"}
    assert "texture.finish" not in jar["defaults"]
    assert {jar[f] for f in ("allergens", "may_contain", "additives", "diet")} == {None}
    metal = with_defaults(clean("jars", JAR | {"kind": "dragees"}, kinds), kinds)
    assert metal["density_g_per_ml"] is None
    assert metal["hard_small_pieces"] is True
    assert "density_g_per_ml" not in metal["defaults"]


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("nonpareils", "nonpareils"),
        ("Nonpareil", "nonpareils"),
        ("HUNDREDS-AND-THOUSANDS", "nonpareils"),
        ("dragees", "dragées"),
        ("drage\u0301e", "dragées"),
        ("metallic pearl", "dragées"),
    ],
)
def test_a_kind_is_found_by_name_or_alias(word: str, name: str, kinds: Any) -> None:
    kind = find_kind(word, kinds)
    assert kind is not None
    assert kind.name == name


def test_an_unknown_kind_names_the_nearest(kinds: Any) -> None:
    _, problems = check("jars", JAR | {"kind": "nonparils"}, kinds)
    assert [(p.field, p.got) for p in problems] == [("kind", "nonparils")]
    assert "nonpareils" in problems[0].hint


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "   "}, "name"),
        ({"name": None}, "name"),
        ({"name": 7}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"name": "two\nlines"}, "name"),
        ({"name": "nul\x00"}, "name"),
        ({"name": "turned \u202e round"}, "name"),
        ({"name": "half \ud83d"}, "name"),
        ({"kind": None}, "kind"),
        ({"kind": ["nonpareils"]}, "kind"),
        ({"colours": None}, "colours"),
        ({"colours": []}, "colours"),
        ({"colours": "#ffffff"}, "colours"),
        ({"colours": [{}]}, "colours.0"),
        ({"texture": "round"}, "texture"),
        ({"texture": {"form": "blob"}}, "texture.form"),
        ({"texture": {"size": 3}}, "texture.size"),
        ({"texture": {"grain_mm": 0}}, "texture.grain_mm"),
        ({"texture": {"grain_mm": 1001}}, "texture.grain_mm"),
        ({"density_g_per_ml": 0}, "density_g_per_ml"),
        ({"density_g_per_ml": "0.9"}, "density_g_per_ml"),
        ({"on_hand_g": -0.001}, "on_hand_g"),
        ({"on_hand_g": 1_000_000.5}, "on_hand_g"),
        ({"on_hand_g": math.nan}, "on_hand_g"),
        ({"on_hand_g": math.inf}, "on_hand_g"),
        ({"on_hand_g": 10**5000}, "on_hand_g"),
        ({"on_hand_g": True}, "on_hand_g"),
        ({"price_per_kg": -1}, "price_per_kg"),
        ({"price_per_kg": math.nan}, "price_per_kg"),
        ({"price_per_kg": "12 euros"}, "price_per_kg"),
        ({"price_per_kg": "1e999999999"}, "price_per_kg"),
        ({"price_per_kg": 10**5000}, "price_per_kg"),
        ({"best_before": "31.03.2027"}, "best_before"),
        ({"best_before": "2027-02-30"}, "best_before"),
        ({"best_before": "20270331"}, "best_before"),
        ({"best_before": 20270331}, "best_before"),
        ({"last_used": "2027-03-31T10:00"}, "last_used"),
        ({"allergens": "milk"}, "allergens"),
        ({"allergens": ["milk", "plutonium"]}, "allergens"),
        ({"allergens": ["none"]}, "allergens.0"),
        ({"allergens": [None]}, "allergens.0"),
        ({"may_contain": {"milk": True}}, "may_contain"),
        ({"additives": ["E129", ""]}, "additives.1"),
        ({"diet": "paleo"}, "diet"),
        ({"diet": True}, "diet"),
        ({"motifs": ["a|b"]}, "motifs.0"),
        ({"motifs": ["w" * 61]}, "motifs.0"),
        ({"motifs": ["w"] * 61}, "motifs"),
        ({"hard_small_pieces": "yes"}, "hard_small_pieces"),
        ({"melts_in_heat": 1}, "melts_in_heat"),
        ({"lot": 5}, "lot"),
        ({"colour": "red"}, "colour"),
        ({"id": 3}, "id"),
        ({"version": 1}, "version"),
    ],
)
def test_what_a_jar_cannot_be(change: dict[str, Any], field: str, kinds: Any) -> None:
    _, problems = check("jars", JAR | change, kinds)
    assert [p.field for p in problems] == [field]
    assert problems[0].allowed
    assert problems[0].sentence()
    json.dumps(problems[0].got, allow_nan=False).encode("utf-8")


@pytest.mark.parametrize(
    ("resource", "record", "expected"),
    [
        ("cutters", {}, ["name"]),
        ("cutters", {"name": "owl", "width_mm": -3, "thin_parts": "no", "motifs": "owl"},
         ["motifs", "width_mm", "thin_parts"]),
        ("gels", {"name": "red"}, ["dose_g_per_100g", "swatch"]),
        ("gels", {"name": "red", "swatch": "#ff0000", "dose_g_per_100g": 51}, ["dose_g_per_100g", "swatch"]),
        ("boxes", {"name": "box", "on_hand": 2.5, "height_mm": 0, "price": "x"},
         ["height_mm", "on_hand", "price"]),
        ("supplies", {"name": "flour", "unit": "cup", "pack_size": 0, "allergens": ["wheet"]},
         ["unit", "pack_size", "allergens"]),
        ("themes", {"name": "sea", "anchors": [], "months": [0, 13], "motifs": None},
         ["months.0", "months.1", "anchors"]),
        ("themes", {"name": "sea", "anchors": [{"hex": "#00f"}], "months": "May"}, ["months"]),
        ("recipes", {"name": "filling"}, ["name"]),
        ("recipes", {"diet": "vegan"}, ["name"]),
        ("jars", [1], ["record"]),
        ("jars", None, ["record"]),
    ],
)  # fmt: skip
def test_every_problem_of_other_records_is_told(resource: str, record: Any, expected: list[str]) -> None:
    assert fields(resource, record) == expected


def test_clean_raises_with_all_problems(kinds: Any) -> None:
    with pytest.raises(InvalidValue) as caught:
        clean("jars", {"kind": "x", "on_hand_g": -5, "wight": 3}, kinds)
    assert [p.field for p in caught.value.problems] == ["wight", "name", "kind", "colours", "on_hand_g"]
    with pytest.raises(InvalidValue, match="no such resource"):
        clean("spoons", {})


def test_values_are_tidied(kinds: Any) -> None:
    jar = clean(
        "jars",
        JAR
        | {
            "name": " cafe\u0301 ",
            "on_hand_g": 12.34567,
            "price_per_kg": Decimal("9.9999996"),
            "motifs": ["Owl", "owl ", "LEAF"],
            "lot": "  ",
            "diet": "Vegan",
            "texture": {"form": "Sphere"},
        },
        kinds,
    )
    assert jar["name"] == "caf\u00e9"
    assert (jar["on_hand_g"], jar["price_per_kg"]) == (12.346, 10.0)
    assert (jar["motifs"], jar["lot"]) == (["owl", "leaf"], None)
    assert (jar["diet"], jar["texture"]["form"]) == ("vegan", "sphere")
    assert clean("boxes", {"name": "b", "on_hand": 4.0})["on_hand"] == 4
    assert clean("themes", {"name": "t", "anchors": [{"hex": "#00f"}], "months": [8, 7, 8]})["months"] == [
        7,
        8,
    ]


def test_names_are_compared_whatever_the_order_of_their_marks() -> None:
    # Canonical caseless matching (Unicode 15, section 3.13, D145): normalise, fold, normalise.
    assert name_key("\u03b1\u0345\u0301") == name_key("\u1fb4") == name_key("\u0391\u0301\u0399")


def test_merging_follows_json_merge_patch_for_texture(kinds: Any) -> None:
    # RFC 7396: objects merge, null removes; lists are replaced whole.
    old = clean("jars", JAR | {"texture": {"form": "rod", "grain_mm": 6}, "motifs": ["a"]}, kinds)
    new = clean("jars", merged("jars", old, {"texture": {"form": None}, "motifs": ["b"]}), kinds)
    assert new["texture"] == {"form": None, "grain_mm": 6.0, "finish": None, "hardness": None}
    assert new["motifs"] == ["b"]
    with pytest.raises(InvalidValue):
        merged("jars", old, ["texture"])


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.integers(min_value=10**300, max_value=10**301)
    | st.floats()
    | st.text()
    | st.characters(categories=["Cs", "Cc", "Lu"])
    | st.sampled_from(["#ffffff", "#abc", "none", "milk", "E129", "2027-03-31", "sphere", "nonpareils"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["hex", "lab", "share", "weight", "form", "grain_mm"]) | st.text(max_size=5),
            inner,
            max_size=4,
        )
    ),
    max_leaves=8,
)


@given(data=st.data(), resource=st.sampled_from(sorted(FIELDS)))
def test_whatever_comes_is_cleaned_or_told(data: st.DataObject, resource: str, kinds: Any) -> None:
    names = st.sampled_from((*FIELDS[resource], "id", "surprise"))
    record = data.draw(st.dictionaries(names, anything, max_size=6) | anything)
    cleaned, problems = check(resource, record, kinds)
    for problem in problems:
        json.dumps([problem.field, problem.got, problem.allowed, problem.hint], allow_nan=False).encode()
        problem.sentence().encode()
    if not problems:
        json.dumps(cleaned, allow_nan=False).encode()
        assert check(resource, cleaned, kinds) == (cleaned, [])
