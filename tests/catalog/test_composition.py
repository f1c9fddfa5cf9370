"""Words for allergens and additives, held against the lists of the law."""

from __future__ import annotations

from typing import Any

import pytest

from catalog.composition import additive, allergen, check_composition
from catalog.fields import Checks
from catalog.lexicon import kinds
from catalog.rows import check
from themekit.values import ALLERGENS

# 21 U.S.C. 321(qq)(1), as amended by the FASTER Act of 2021: the nine major food allergens.
US_NINE = [
    "milk",
    "eggs",
    "fish",
    "Crustacean shellfish",
    "tree nuts",
    "wheat",
    "peanuts",
    "soybeans",
    "sesame",
]
# Regulation (EU) 1169/2011, Annex II: the fourteen, by their leading words; of its "Nuts" see below.
EU_FOURTEEN = [
    "gluten", "Crustaceans", "Eggs", "Fish", "Peanuts", "Soybeans", "Milk", "tree nuts", "Celery", "Mustard",
    "Sesame seeds", "Sulphur dioxide", "Lupin", "Molluscs",
]  # fmt: skip
# The nuts that Annex II, point 8, names.
EU_NUTS = ["almonds", "hazelnuts", "walnuts", "cashews", "pecan nuts", "Brazil nuts", "pistachio nuts"]


@pytest.mark.parametrize("word", [*US_NINE, *EU_FOURTEEN])
def test_every_allergen_of_the_law_is_understood(word: str) -> None:
    assert len(allergen(word)) == 1
    assert set(allergen(word)) <= set(ALLERGENS)


def test_together_the_laws_cover_every_fixed_word() -> None:
    assert {a for word in US_NINE + EU_FOURTEEN for a in allergen(word)} == set(ALLERGENS)


@pytest.mark.parametrize("word", EU_NUTS)
def test_the_nuts_of_annex_ii_count_as_tree_nuts(word: str) -> None:
    assert allergen(word) == ("tree nut",)


def test_a_doubtful_word_counts_as_all_that_it_may_mean() -> None:
    assert allergen("Shellfish") == ("crustacean", "mollusc")
    assert allergen("Nuts") == allergen("nut") == ("peanut", "tree nut")
    assert allergen("plutonium") == ()


@pytest.mark.parametrize(
    ("code", "words"),
    [
        # Regulation (EC) 1333/2008, Annex II part B, and 21 CFR 74 subpart A; pairing from memory.
        ("E129", ["e 129", "E129", "E-129", "INS 129", "129", "Allura Red AC", "Red 40", "FD&C Red No. 40",
                  "FD & C red no 40", "Red 40 Lake", "Red No. 40 aluminum lake", "RED #40"]),
        ("E102", ["Tartrazine", "Yellow 5", "FD&C Yellow No. 5"]),
        ("E110", ["Sunset Yellow FCF", "Yellow 6"]),
        ("E127", ["Erythrosine", "Red 3"]),
        ("E132", ["Indigotine", "Indigo carmine", "Blue 2"]),
        ("E133", ["Brilliant Blue FCF", "FD&C Blue No. 1"]),
        ("E143", ["Fast Green FCF", "Green 3"]),
        ("E171", ["Titanium dioxide", "e171"]),
        ("E120", ["carmine", "Cochineal"]),
        ("E150d", ["E 150 D", "E150d"]),
        ("E160b(ii)", ["E160b(ii)", "e 160b (II)"]),
        ("E999", ["e 999"]),
    ],
)  # fmt: skip
def test_an_additive_has_one_code_however_it_is_written(code: str, words: list[str]) -> None:
    assert {word: additive(word) for word in words} == dict.fromkeys(words, code)


@pytest.mark.parametrize("word", ["spirulina extract", "Red 41", "999", "butterfly pea flower", "E"])
def test_what_is_not_known_stays_as_entered(word: str) -> None:
    assert additive(word) == word


def composed(**record: Any) -> tuple[dict[str, Any], list[Any]]:
    checks = Checks()
    return check_composition(checks, record), checks.problems


def test_unknown_stays_unknown_and_none_stays_none() -> None:
    made, problems = composed(allergens=[], additives=[])
    assert problems == []
    assert made == {"allergens": [], "may_contain": None, "additives": [], "diet": None}


def test_lists_are_in_one_order_without_repeats() -> None:
    made, _ = composed(allergens=["Soya", "dairy", "milk", "tree nuts"], additives=["Red 40", "E129", "Blue 1"])
    assert made["allergens"] == ["milk", "soy", "tree nut"]
    assert made["additives"] == ["E129", "E133"]


def test_an_unknown_allergen_is_refused_with_the_nearest() -> None:
    made, problems = composed(may_contain=["milk", "peenut"])
    assert [(p.field, p.got) for p in problems] == [("may_contain", "peenut")]
    assert "peanut" in problems[0].hint
    assert all(word in problems[0].allowed for word in ALLERGENS)
    assert made["may_contain"] == ["milk"]


@pytest.mark.parametrize(
    ("diet", "allergens", "against"),
    [
        ("vegan", ["milk"], "milk"),
        ("vegan", ["egg", "soy", "milk"], "milk and egg"),
        ("vegan", ["fish"], "fish"),
        ("vegetarian", ["mollusc"], "mollusc"),
        ("vegan", ["soy", "wheat", "tree nut"], ""),
        ("vegan", [], ""),
        ("vegan", None, ""),
        ("vegetarian", ["milk", "egg"], ""),
        ("neither", ["milk", "fish"], ""),
        (None, ["milk"], ""),
    ],
)
def test_a_diet_and_an_allergen_that_rules_it_out_are_refused(
    diet: str | None, allergens: list[str] | None, against: str
) -> None:
    """No milk, egg, fish or shellfish is vegan, no fish or shellfish vegetarian (ISO 23662:2021, from memory)."""
    made, problems = composed(diet=diet, allergens=allergens)
    assert made["diet"] == diet
    if not against:
        assert problems == []
        return
    (problem,) = problems
    assert (problem.field, problem.got) == ("diet", diet)
    assert problem.allowed.startswith(f"a diet that may hold {against}: ")
    assert diet not in problem.allowed.split(": ")[1].split(" or ")
    assert "label" in problem.hint


def test_what_may_only_be_in_it_does_not_contradict_a_diet() -> None:
    assert composed(diet="vegan", allergens=[], may_contain=["milk", "egg"])[1] == []


@pytest.mark.parametrize("resource", ["jars", "gels", "recipes"])
def test_the_slip_is_refused_wherever_a_composition_is_entered(resource: str) -> None:
    """Jars, gels and the standing recipes alike."""
    rows = {
        "jars": {"name": "a", "kind": "nonpareils", "colours": [{"hex": "#ffffff"}]},
        "gels": {"name": "a", "swatch": {"hex": "#d8474f"}, "dose_g_per_100g": 1},
        "recipes": {"name": "icing"},
    }
    record = rows[resource] | {"allergens": ["egg"], "diet": "vegan"}
    _, problems = check(resource, record, kinds())
    assert [p.field for p in problems] == ["diet"]
    assert check(resource, record | {"diet": "vegetarian"}, kinds())[1] == []


def test_coconut_is_no_allergen_of_the_list_and_is_refused_with_what_is() -> None:
    """US FDA, Questions and Answers Regarding Food Allergens, edition 5 (January 2025): no tree nut."""
    made, problems = composed(allergens=["coconut"])
    assert made["allergens"] == []
    assert [(p.field, p.got) for p in problems] == [("allergens", "coconut")]
    assert allergen("coconut") == ()
