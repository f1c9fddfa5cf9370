"""A label names everything that was entered, in order, and says what was not."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.lexicon.label_rules import label_rules
from themekit.errors import InvalidValue
from themekit.make.kit import Kit, Order, Topping
from themekit.make.label import CHECK, Label, label, net_text, text_of
from themekit.make.label_list import Part
from themekit.make.label_rules import JURISDICTIONS
from themekit.make.settings import Settings, checked
from themekit.values import ALLERGENS, Composition, Jar

Make = Callable[..., Jar]
PACKED = date(2026, 11, 25)
NOTHING = Composition((), (), ())
# Words that no label may use; promises of absence have rules of their own everywhere.
FORBIDDEN = re.compile(r"\bsafe|free from|-free\b|allergen.?free|free of", re.IGNORECASE)


def order(*jars: Jar, **own: object) -> Order:
    made, problems = checked({"label": own}) if own else (Settings(), [])
    assert not problems
    return Order(Kit("owls", (), tuple(Topping(j, 1 / len(jars)) for j in jars), ()), 1, made)


def made(*parts: Part, jurisdiction: str = "US", on: date | None = PACKED, of: Order | None = None) -> Label:
    return label(of or order(), parts, label_rules(jurisdiction), on)


FLOUR = Part("wheat flour", 140.0, (), Composition(("wheat", "gluten"), (), ()), 0.885)
BUTTER = Part("butter", 56.0, (), Composition(("milk",), (), ()), 0.885)
SUGAR = Part("confectioners' sugar", 180.0, ("sugar", "maize starch"), NOTHING)
WHITES = Part("meringue powder", 12.0, ("dried whites", "sugar"), Composition(("egg",), (), ()))
RED = Part("red sprinkles", 13.0, ("sugar", "Red 40"), Composition((), ("soy",), ("E129", "E110")))


def test_ingredients_stand_by_weight_with_what_they_are_made_of() -> None:
    """21 CFR 101.4(a) and Regulation (EU) No 1169/2011, Article 18(1): descending weight at the time of use."""
    told = text_of(made(WHITES, RED, BUTTER, FLOUR, SUGAR).ingredients)
    assert told == (
        "Ingredients: confectioners' sugar (sugar, maize starch), wheat flour, butter, "
        "red sprinkles (sugar, FD&C Red No. 40, FD&C Yellow No. 6), meringue powder (dried whites, sugar)."
    )


def test_the_us_statement_names_the_source_of_every_major_allergen() -> None:
    """US FDA consumer facts: example “Contains Wheat, Milk, and Soy”, after the list."""
    us = made(FLOUR, BUTTER, SUGAR, WHITES)
    assert text_of(us.contains) == "Contains: Milk, Eggs, Wheat."
    assert not any(run.emphasised for run in us.ingredients)
    assert us.complete
    assert us.if_no_list == ""


@pytest.mark.parametrize("jurisdiction", ["EU", "GB"])
def test_the_eu_emphasises_in_the_list(jurisdiction: str) -> None:
    """Regulation (EU) No 1169/2011, Article 21(1): emphasised in the list; without one, “contains”."""
    eu = made(FLOUR, BUTTER, SUGAR, WHITES, jurisdiction=jurisdiction)
    assert [run.text for run in eu.ingredients if run.emphasised] == ["wheat", "milk", "eggs"]
    assert "butter (contains milk)" in text_of(eu.ingredients)
    assert "meringue powder (dried whites, sugar; contains eggs)" in text_of(eu.ingredients)
    assert eu.contains == ()
    assert eu.if_no_list == "Contains: Wheat, Eggs, Milk."


def test_canada_sets_its_titles_in_bold_and_names_gluten_by_its_cereal() -> None:
    """Food and Drug Regulations, B.01.008.2(1), B.01.010.3(1) (version to 2024-10-30)."""
    ca = made(FLOUR, Part("malt", 3.0, ("barley",), Composition(("gluten",), (), ())), jurisdiction="CA")
    assert [r.text for r in (*ca.ingredients, *ca.contains) if r.emphasised] == ["Ingredients: ", "Contains: "]
    assert text_of(ca.contains) == "Contains: Wheat, Barley."
    assert any("French" in remark for remark in ca.remarks)


def test_nuts_are_named_by_kind_where_it_is_known() -> None:
    """US FDA, Questions and Answers Regarding Food Allergens, Edition 5 (January 2025): coconut is no tree nut."""
    walnuts = Part("chopped black walnuts", 9.0, (), Composition(("tree nut",), (), ()))
    assert text_of(made(walnuts).contains) == "Contains: Tree nuts (black walnut)."
    coconut = Part("shredded coconut", 4.0, (), Composition(("tree nut",), (), ()))
    us = made(coconut)
    assert text_of(us.contains) == "Contains: Tree nuts."
    assert any("which kind is not entered (coconut does not count" in m for m in us.missing)
    eu = made(walnuts, jurisdiction="EU")
    assert [r.text for r in eu.ingredients if r.emphasised] == ["walnuts"]
    fish = made(Part("anchovy paste", 1.0, (), Composition(("fish",), (), ())))
    assert text_of(fish.contains) == "Contains: Fish."
    assert any("anchovy paste holds fish; which kind" in m for m in fish.missing)


def test_unknown_allergens_are_never_silent() -> None:
    tin = Part("old tin", 3.0, ("sugar",), Composition())
    for jurisdiction in JURISDICTIONS:
        one = made(FLOUR, tin, jurisdiction=jurisdiction)
        assert not one.complete
        assert one.lines()[0] == one.incomplete
        assert "old tin" in one.incomplete
    assert text_of(made(tin).contains) == "Contains: not known of old tin."
    assert "not known of old tin" in made(tin, jurisdiction="EU").if_no_list


def test_namesakes_are_joined_but_none_hides_what_is_known_of_the_other() -> None:
    twice = made(
        SUGAR, replace(SUGAR, name="Confectioners'  sugar", grams_per_kit=20.0), Part("flour", 190.0, (), NOTHING)
    )
    assert text_of(twice.ingredients).casefold().count("confectioners") == 1
    assert text_of(twice.ingredients).casefold().startswith("ingredients: confectioners")
    odd = [replace(SUGAR, sub_ingredients=subs) for subs in (("sugar",), ("maize starch",), None)]
    assert made(*odd) == made(*reversed(odd))
    one = made(BUTTER, replace(BUTTER, composition=Composition()))
    assert text_of(one.contains) == "Contains: Milk; not known of butter."


def test_what_is_missing_is_said() -> None:
    unweighed = Part("almonds", None, None, Composition(("tree nut",), None, None))
    one = made(unweighed, FLOUR)
    assert text_of(one.ingredients).endswith("wheat flour, almonds.")
    assert one.net_g is None
    assert "fill in" in one.net_quantity
    told = " ".join(one.missing)
    for words in (
        "weight of almonds is not known", "net quantity is not known", "What almonds is made of is not entered",
        "Additives are not entered for almonds", "No “may contain” is entered for almonds",
    ):  # fmt: skip
        assert words in told
    assert label(order(), [unweighed, FLOUR], label_rules("US"), PACKED, weighed_g=340).net_g == 340


def test_words_that_belie_the_entered_allergens_are_pointed_at() -> None:
    sly = Part("cocoa coating", 5.0, ("sugar", "whole milk powder", "hazelnuts"), NOTHING)
    assert [m for m in made(sly).missing if "look again" in m] == [
        "cocoa coating names milk, but its entered allergens do not: look again.",
        "cocoa coating names tree nuts, but its entered allergens do not: look again.",
    ]
    assert not [m for m in made(Part("shredded coconut", 5.0, (), NOTHING)).missing if "look again" in m]


@pytest.mark.parametrize(
    ("grams", "told"),
    [
        # 21 CFR 101.7, by its published example; then arithmetic with the ounce of 28.349523125 g.
        (12 * 28.349523125, "NET WT 12 OZ (340 g)"),
        (340.0, "NET WT 12 OZ (340 g)"),
        (28.349523125, "NET WT 1 OZ (28 g)"),
        (453.59237, "NET WT 16 OZ (1 LB) (454 g)"),
        (545.0, "NET WT 19.2 OZ (1 LB 3.2 OZ) (545 g)"),
        (1500.0, "NET WT 52.9 OZ (3 LB 4.9 OZ) (1500 g)"),
        (None, ""),
    ],
)
def test_net_quantity_in_both_units(grams: float | None, told: str) -> None:
    assert net_text(grams, "US") == told


def test_net_quantity_is_metric_elsewhere_and_of_food_as_packed() -> None:
    """Regulation (EU) No 1169/2011, Article 23(1): kilograms or grams."""
    assert net_text(340.2, "metric") == "340 g"
    assert net_text(1234.0, "metric") == "1.234 kg"
    assert made(FLOUR, SUGAR).net_g == pytest.approx(140 * 0.885 + 180)
    assert made(FLOUR, FLOUR).net_g == pytest.approx(2 * 140 * 0.885)


def test_the_six_colours_carry_their_warning_where_it_is_asked_for() -> None:
    """UK Food Standards Agency guidance (3 June 2010) on Regulation (EC) No 1333/2008, Annex V."""
    for jurisdiction in ("EU", "GB"):
        (warning,) = made(RED, jurisdiction=jurisdiction).warnings
        assert warning == (
            "sunset yellow FCF (E110) and allura red AC (E129): may have an adverse effect on activity and "
            "attention in children."
        )
    blue = replace(RED, sub_ingredients=(), composition=Composition((), (), ("E133",)))
    assert made(blue, jurisdiction="EU").warnings == ()
    assert made(RED, jurisdiction="US").warnings == made(RED, jurisdiction="CA").warnings == ()


@pytest.mark.parametrize(
    ("code", "jurisdiction", "on", "barred"),
    [
        # 90 FR 4628; Regulation (EU) 2022/63; a Committee on Toxicity paper; CFIA table of names.
        ("E127", "US", date(2027, 1, 14), False),
        ("E127", "US", date(2027, 1, 15), True),
        ("E127", "US", None, True),
        ("E171", "EU", PACKED, True),
        ("E171", "GB", PACKED, False),
        ("E171", "US", PACKED, False),
        ("E143", "EU", PACKED, True),
        ("E143", "US", PACKED, False),
        ("E124", "US", PACKED, True),
        ("E124", "EU", PACKED, False),
    ],
)
def test_what_a_place_does_not_permit(code: str, jurisdiction: str, on: date | None, barred: bool) -> None:
    one = made(
        Part("sprinkles", 9.0, (), Composition((), (), (code,))), jurisdiction=jurisdiction, on=on, of=order()
    )
    assert any(f"({code}) in sprinkles" in p for p in one.problems) is barred


def test_an_additive_without_a_held_name_is_shown_as_entered() -> None:
    one = made(Part("white sprinkles", 9.0, ("sugar",), Composition((), (), ("E904",))))
    assert "white sprinkles (sugar, E904)" in text_of(one.ingredients)
    assert any("held for E904: check locally" in m for m in one.missing)


def test_best_before_is_the_earliest_of_all(jar: Make) -> None:
    """By default 14 days each; the icing is sealed a day before packing, so 13 are left of it."""
    far, near = date(2028, 1, 1), date(2026, 12, 1)
    assert made(FLOUR, of=order(jar(1, best_before=far))).best_before == date(2026, 12, 8)
    assert made(FLOUR, of=order(jar(1, best_before=near), jar(2, best_before=far))).best_before == near
    short = made(FLOUR, of=order(best_before_days=5))
    assert short.best_before_text == "Best before November 30, 2026"
    assert made(FLOUR, jurisdiction="GB", of=order(best_before_days=5)).best_before_text == (
        "Best before 30 November 2026"
    )
    assert made(FLOUR, jurisdiction="CA", of=order(best_before_days=5)).best_before_text == (
        "Best before / Meilleur avant 2026-11-30"
    )
    open_day = made(FLOUR, on=None, of=order(jar(1, best_before=near)))
    assert open_day.best_before is None
    assert "at most 13 days after packing, and not after December 1, 2026" in open_day.best_before_text
    unknown = made(FLOUR, of=order(jar(1, name="old tin", best_before=None)))
    assert "No best-before date is entered for old tin." in unknown.missing
    past = made(FLOUR, of=order(jar(1, name="old tin", best_before=date(2026, 11, 24))))
    assert any("old tin was best before" in p for p in past.problems)


def test_what_only_she_can_say() -> None:
    blank = made(FLOUR)
    assert "what your local code asks for" in blank.home_kitchen_statement
    assert "what your local code asks for" in blank.maker
    hers = made(FLOUR, of=order(home_kitchen_statement="Made in a home kitchen.", maker="Owl Lane Bakes"))
    assert hers.home_kitchen_statement == "Made in a home kitchen."
    assert hers.maker == "Owl Lane Bakes"
    boast = made(FLOUR, of=order(product_name="Nut-free kit"))
    assert any("product name says “free”" in p for p in boast.problems)


def test_it_tells_which_rules_it_follows_and_what_to_check() -> None:
    one = made(FLOUR, jurisdiction="GB")
    assert CHECK in one.check
    assert any(c.startswith("Check locally: the nutrition table") for c in one.check)
    assert any("assimilated" in f.source for f in one.follows)
    assert all(re.search(r"\((read|reported|practice), ", f.sentence()) for f in one.follows)


def test_parts_that_cannot_be_used_are_all_told() -> None:
    with pytest.raises(InvalidValue) as caught:
        made(Part(" ", -1.0), Part("flour", float("nan"), kept_share=1.5))
    assert [p.field for p in caught.value.problems] == [
        "parts[1].name", "parts[1].grams_per_kit", "parts[2].grams_per_kit", "parts[2].kept_share",
    ]  # fmt: skip
    with pytest.raises(InvalidValue, match="at least one part"):
        made()
    with pytest.raises(InvalidValue, match="weighed_g"):
        label(order(), [FLOUR], label_rules("US"), PACKED, weighed_g=0)


_words = st.lists(st.sampled_from(ALLERGENS), unique=True, max_size=4).map(tuple)
_codes = st.lists(
    st.sampled_from(["E102", "E127", "E129", "E133", "E171", "E330", "E904"]), unique=True, max_size=3
)
_compositions = st.builds(Composition, st.none() | _words, st.none() | _words, st.none() | _codes.map(tuple))
_names = st.sampled_from(
    [
        "wheat flour",
        "butter",
        "sugar",
        "egg",
        "red gel",
        "pearls",
        "nut mix",
        "almonds",
        "soya chips",
        "malt",
        "fish oil",
    ]
)
_parts = st.lists(
    st.builds(
        Part,
        _names,
        st.none() | st.floats(0.01, 500).map(lambda g: round(g, 2)),
        st.none() | st.lists(st.sampled_from(["sugar", "milk", "cocoa", "pecans", "E129"]), max_size=3).map(tuple),
        _compositions,
        st.floats(0.5, 1),
    ),
    min_size=1,
    max_size=8,
)
_where = st.sampled_from(JURISDICTIONS)


@settings(max_examples=150, deadline=None)
@given(_parts, _where, st.randoms(use_true_random=False))
def test_the_order_of_entry_changes_nothing(parts: list[Part], jurisdiction: str, random: object) -> None:
    mixed = list(parts)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    assert made(*mixed, jurisdiction=jurisdiction) == made(*parts, jurisdiction=jurisdiction)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.none() | st.floats(0.01, 500), min_size=1, max_size=9), _where)
def test_weights_descend_and_unknown_ones_come_last(grams: list[float | None], jurisdiction: str) -> None:
    parts = [Part(f"item{n}", g, (), NOTHING) for n, g in enumerate(grams)]
    told = text_of(made(*parts, jurisdiction=jurisdiction).ingredients)
    in_order = [grams[int(n)] for n in re.findall(r"item(\d+)", told)]
    assert len(in_order) == len(grams)
    assert in_order == sorted(in_order, key=lambda g: (g is None, -(g or 0)))


@settings(max_examples=200, deadline=None)
@given(_parts, _where)
def test_every_allergen_of_every_part_is_named(parts: list[Part], jurisdiction: str) -> None:
    one = made(*parts, jurisdiction=jurisdiction)
    rules = label_rules(jurisdiction)
    statement = text_of(one.contains) or one.if_no_list
    shown = "".join(r.text for r in (one.contains or one.ingredients) if one.contains or r.emphasised)
    for part in parts:
        for word in part.composition.allergens or ():
            rule = rules.allergen(word)
            if rule is None:
                assert any(word in m for m in one.missing) or (word == "gluten" and "heat" in statement)
                continue
            by = [rule.prints, *rule.kinds]
            assert any(w.casefold() in statement.casefold() for w in by), (word, statement)
            by += [*rule.words, *(w.removesuffix("s") for w in by)]
            assert any(w.casefold() in shown.casefold() for w in by), (word, shown)
    # A part whose allergens nobody entered makes the label incomplete, and is named.
    for part in parts:
        if part.composition.allergens is None:
            assert part.name in one.incomplete
    assert one.complete is all(p.composition.allergens is not None for p in parts)


@settings(max_examples=150, deadline=None)
@given(_parts, _where, st.none() | st.dates(date(2026, 1, 1), date(2028, 1, 1)))
def test_no_label_promises_that_something_is_absent(parts: list[Part], where: str, on: date | None) -> None:
    one = made(*parts, jurisdiction=where, on=on)
    said = [*one.lines(), one.if_no_list, *one.problems, *one.missing, *one.remarks, *one.check]
    said += [f.sentence() for f in one.follows]
    assert not [line for line in said if FORBIDDEN.search(line)]
    assert text_of(one.ingredients).count(")") == text_of(one.ingredients).count("(")
