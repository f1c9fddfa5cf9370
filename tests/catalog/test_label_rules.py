"""The dated rules of labels, held against the published lists that they are to follow."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.composition import additive as canonical
from catalog.composition import allergen
from catalog.lexicon.label_rules import label_rules
from themekit.errors import InvalidValue
from themekit.make.label_rules import JURISDICTIONS
from themekit.make.settings import rules as setting_rules
from themekit.values import ALLERGENS

# US FDA, "What is a 'major food allergen'?": six foods and three groups (21 U.S.C. 321(qq)).
FDA_NINE = [
    "Milk", "Egg", "Fish", "Crustacean shellfish", "Tree nuts", "Wheat", "Peanuts", "Soybeans", "Sesame",
]  # fmt: skip
# US FDA, Questions and Answers Regarding Food Allergens, Edition 5 (January 2025), Table 1.
FDA_TREE_NUTS = [
    "Almond", "Black walnut", "Brazil nut", "California walnut", "Cashew", "Hazelnut", "Heartnut", "Macadamia",
    "Pecan", "Pine nut", "Pistachio", "Walnut",
]  # fmt: skip
# Regulation (EU) No 1169/2011, Annex II, points 1 to 14, by their leading words.
ANNEX_II = [
    "gluten", "Crustaceans", "Eggs", "Fish", "Peanuts", "Soybeans", "Milk", "Nuts", "Celery", "Mustard",
    "Sesame seeds", "Sulphur dioxide", "Lupin", "Molluscs",
]  # fmt: skip
# Point 8 of the same Annex, and the cereals of point 1.
ANNEX_II_NUTS = [
    "almonds", "hazelnuts", "walnuts", "cashews", "pecan nuts", "Brazil nuts", "pistachio nuts", "macadamia nuts",
]  # fmt: skip
ANNEX_II_CEREALS = ["wheat", "rye", "barley", "oats", "spelt", "kamut"]
# Food and Drug Regulations of Canada, B.01.010.1(1), food allergen (a).
CANADA_NUTS = [
    "almonds", "Brazil nuts", "cashews", "hazelnuts", "macadamia nuts", "pecans", "pine nuts", "pistachios",
    "walnuts",
]  # fmt: skip
# Same section, (b) to (k), gluten, and added sulphites.
CANADA_OTHERS = {
    "peanut", "sesame", "wheat", "egg", "milk", "soy", "crustacean", "mollusc", "fish", "mustard", "gluten",
    "sulphite",
}  # fmt: skip
# UK Food Standards Agency, Labelling of certain food colours as set out in Regulation 1333/2008 (3 June 2010).
FSA_COLOURS = ["E110", "E104", "E122", "E129", "E102", "E124"]
FSA_WORDS = ": may have an adverse effect on activity and attention in children"
# Canadian Food Inspection Agency, Food colours: Canadian, European and United States names.
CFIA = [
    ("E129", "allura red", "FD&C Red No. 40"),
    ("E133", "brilliant blue FCF", "FD&C Blue No. 1"),
    ("E127", "erythrosine", "FD&C Red No. 3"),
    ("E132", "indigotine", "FD&C Blue No. 2"),
    ("E110", "sunset yellow FCF", "FD&C Yellow No. 6"),
    ("E102", "tartrazine", "FD&C Yellow No. 5"),
]


def words(jurisdiction: str) -> set[str]:
    return {rule.word for rule in label_rules(jurisdiction).allergens}


def test_the_us_names_the_nine_of_the_fda() -> None:
    assert words("US") == {a for name in FDA_NINE for a in allergen(name)}
    assert len(words("US")) == 9


@pytest.mark.parametrize("jurisdiction", ["EU", "GB"])
def test_the_eu_and_britain_name_the_fourteen_of_annex_ii(jurisdiction: str) -> None:
    wanted = {a for name in ANNEX_II for a in allergen(name)}
    assert len(ANNEX_II) == len(wanted) == 14
    assert words(jurisdiction) == wanted | {"wheat"}, "wheat is one of the cereals of point 1"
    rules = label_rules(jurisdiction)
    nuts, cereals = rules.allergen("tree nut"), rules.allergen("gluten")
    assert nuts is not None
    assert cereals is not None
    assert set(nuts.kinds) == set(ANNEX_II_NUTS)
    assert set(cereals.kinds) == set(ANNEX_II_CEREALS)


def test_us_tree_nuts_are_the_twelve_of_edition_5_and_no_coconut() -> None:
    nuts = label_rules("US").allergen("tree nut")
    assert nuts is not None
    assert {k.casefold() for k in nuts.kinds} == {n.casefold() for n in FDA_TREE_NUTS} | {"filbert"}
    assert nuts.not_counted == ("coconut",)
    assert nuts.as_of == date(2025, 1, 6)


def test_canada_names_its_own() -> None:
    assert words("CA") == CANADA_OTHERS | {"tree nut"}
    nuts = label_rules("CA").allergen("tree nut")
    assert nuts is not None
    assert sorted(nuts.kinds, key=str.casefold) == sorted(CANADA_NUTS, key=str.casefold)


@pytest.mark.parametrize(("code", "canadian", "american"), CFIA)
def test_colours_have_the_names_of_each_place(code: str, canadian: str, american: str) -> None:
    in_us, in_canada = label_rules("US").additive(code), label_rules("CA").additive(code)
    assert in_us is not None
    assert in_canada is not None
    assert (in_us.names[0], in_canada.names[0]) == (american, canadian)
    assert canonical(american) == canonical(canadian) == code


@pytest.mark.parametrize("jurisdiction", ["EU", "GB"])
def test_the_six_colours_carry_the_agencys_words(jurisdiction: str) -> None:
    (warning,) = label_rules(jurisdiction).warnings
    assert sorted(warning.codes) == sorted(FSA_COLOURS)
    assert FSA_WORDS in warning.text
    assert not label_rules("US").warnings
    assert not label_rules("CA").warnings


def test_dates_of_withdrawal() -> None:
    """90 FR 4628 (FD&C Red No. 3); Commission Regulation (EU) 2022/63 (E171)."""
    red, white = label_rules("US").additive("E127"), label_rules("EU").additive("E171")
    assert red is not None
    assert white is not None
    assert red.not_permitted_from == date(2027, 1, 15)
    assert white.not_permitted_from == date(2022, 2, 7)
    in_britain = label_rules("GB").additive("E171")
    assert in_britain is not None
    assert in_britain.not_permitted_from is None
    assert not in_britain.barred


def test_a_form_of_an_additive_follows_its_main_number() -> None:
    annatto = label_rules("EU").additive("E160b(ii)")
    assert annatto is not None
    assert annatto.names[0] == "annatto"
    assert label_rules("US").additive("E999") is None


@pytest.mark.parametrize("jurisdiction", JURISDICTIONS)
def test_every_rule_tells_its_source_and_how_it_was_read(jurisdiction: str) -> None:
    rules = label_rules(jurisdiction)
    for rule in (*rules.allergens, *rules.additives, *rules.warnings, *rules.wordings):
        assert len(rule.source) > 10, rule
        assert rule.status in ("read", "reported", "practice"), rule
        assert rule.as_of is None or rule.as_of < date(2026, 11, 26), rule
    assert {a.word for a in rules.allergens} <= set(ALLERGENS)
    for a in rules.additives:
        assert canonical(a.code) == a.code, "codes are canonical"
        assert a.names
    assert len({a.code for a in rules.additives}) == len(rules.additives)
    assert rules.wording("allergens") in ("statement", "emphasis")
    assert rules.wording("net") in ("US", "metric")
    assert rules.checks


def test_the_settings_offer_just_these_jurisdictions() -> None:
    assert setting_rules()["label"]["jurisdiction"][1].choices == JURISDICTIONS


def test_an_unknown_jurisdiction_is_told() -> None:
    with pytest.raises(InvalidValue, match="'Atlantis'; allowed: one of US, EU, GB, CA"):
        label_rules("Atlantis")
