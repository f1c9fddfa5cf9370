"""Cautions name what is known and unknown, why and by which source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from catalog.lexicon.label_rules import label_rules
from themekit.make.cautions import (
    RAW_FLOUR,
    SHARED_KITCHEN,
    gel_told,
    is_warm,
    of_additives,
    of_allergens,
    of_choking,
    of_goods,
    of_heat,
    of_honey,
    of_kit,
    of_order,
    of_tints,
    shorts,
    texts,
)
from themekit.make.kit import Cut, Kit, Order, Topping
from themekit.make.settings import Settings, checked
from themekit.make.settings.contents import Contents
from themekit.make.settings.label import Label
from themekit.values import Composition, Cutter, Gel, Jar, Needs, Texture, Tint

Make = Callable[..., Jar]


def test_allergens_are_told_by_where_they_are() -> None:
    told = texts(
        of_allergens(
            {
                "dough": Composition(("milk", "wheat"), ()),
                "icing": Composition(("egg",), ()),
                "red jimmies": Composition((), ("milk",)),
                "old tin": Composition(),
                "pearls": Composition((), None),
            }
        )
    )
    assert told[0] == "Contains egg (icing); milk (dough); wheat (dough)."
    assert "May contain milk (red jimmies)" in told[1]
    assert "not entered for old tin" in told[2]
    assert "pearls" in told[3]


def test_six_colours_and_dated_rules() -> None:
    """Regulation (EC) 1333/2008 Annex V; 90 FR 4628; Regulation (EU) 2022/63."""
    told = texts(of_additives({"a": Composition(additives=("E129", "E102", "E133", "E127", "E171"))}))
    assert told[0].startswith("E102, E129: may have an adverse effect on activity and attention in children")
    assert "15 January 2027" in told[1]
    assert "2022/63" in told[2]
    assert texts(of_additives({"a": Composition(additives=("E133",))})) == []


def test_choking_and_metal(jar: Make) -> None:
    """Pediatrics 125(3):601 (2010); FDA Compliance Policy Guide 545.200."""
    dragees = jar(1, name="gold dragées", kind="dragées", texture=Texture("sphere", 4, "metallic", "hard"))
    told = texts(of_choking([dragees, jar(2)], Needs()))
    assert "gold dragées" in told[0]
    assert "under 4" in told[0]
    assert "545.200" in told[1]
    young = texts(of_choking([jar(2)], Needs(youngest_age=3)))
    assert len(young) == 1
    assert "child of 3" in young[0]


def test_the_shared_kitchen_is_always_told(jar: Make) -> None:
    kit = texts(
        of_kit(
            [jar(1), jar(2), jar(3)],
            [],
            Composition((), (), (), "vegan"),
            Composition((), (), (), "vegan"),
            Needs(),
        )
    )
    assert kit == [SHARED_KITCHEN]
    with_egg = texts(of_kit([jar(1)], [], Composition((), ()), Composition(("egg",), ()), Needs()))
    assert any("pasteurised" in caution for caution in with_egg)
    unknown = texts(of_kit([jar(1)], [], Composition(), Composition(), Needs()))
    assert any("pasteurised" in caution for caution in unknown), "unknown icing may hold egg"


def test_dark_icing_and_melting(jar: Make) -> None:
    dark, light = Tint((20, 0, 0), "#303030", "charcoal", ()), Tint((90, 0, 0), "#e2e2e2", "white", ())
    assert "charcoal" in texts(of_tints([dark, light]))[0]
    assert texts(of_tints([light])) == []
    assert "mini chips" in texts(of_heat([jar(1, name="mini chips", melts_in_heat=True)]))[0]


PLAIN = Composition((), (), (), "vegan")
SEVERITIES = ["danger", "care", "note"]


def ball(jar: Make, mm: float, **more: object) -> Jar:
    return jar(1, name="pearls", kind="sugar pearls", texture=Texture("sphere", mm, "pearl", "hard"), **more)


@pytest.mark.parametrize(
    ("mm", "told"),
    # Own caution: no published lower size was found; 3 mm counts, 6 mm is graver.
    [(2.9, []), (3.0, ["choking"]), (5.9, ["choking"]), (6.0, ["choking", "choking"])],
)
def test_hard_balls_count_by_their_size(jar: Make, mm: float, told: list[str]) -> None:
    found = [c for c in of_choking([ball(jar, mm)], Needs()) if c.kind == "choking"]
    assert [c.kind for c in found] == told
    if len(found) == 2:
        assert found[1].severity == "danger"
        assert "6 mm and more" in found[1].text


def test_the_strict_line_is_five_years(jar: Make) -> None:
    """American Academy of Pediatrics lists: under four; University of British Columbia: five for round foods."""
    four = Needs(youngest_age=4)
    usual, strict = of_choking([ball(jar, 4)], four)[0], of_choking([ball(jar, 4)], four, strict=True)[0]
    assert ("under 4" in usual.text, usual.severity) == (True, "care")
    assert ("under 5" in strict.text, strict.severity) == (True, "danger")
    assert "British Columbia" in strict.source
    assert of_choking([ball(jar, 4)], Needs(youngest_age=3))[0].severity == "danger"


@pytest.mark.parametrize("kind", ["mini marshmallows", "gummy pieces", "chopped nuts"])
def test_what_choking_advice_names_is_told_with_why(jar: Make, kind: str) -> None:
    """American Academy of Pediatrics (2010): hard candy, nuts, marshmallows among the foods named."""
    (one,) = of_choking([jar(1, name="hers", kind=kind)], Needs())
    assert one.kind == "choking"
    assert "is named in advice on choking" in one.why


def test_hard_pieces_are_hard_on_teeth(jar: Make) -> None:
    assert "teeth" in [c.kind for c in of_choking([ball(jar, 4)], Needs())]
    assert of_choking([jar(1)], Needs()) == []


def test_goods_that_prick_smother_or_strangle() -> None:
    assert [c.kind for c in of_goods(Contents())] == ["bags", "ribbon"]
    assert [c.kind for c in of_goods(replace(Contents(), picks=2))] == ["sharp", "bags", "ribbon"]


def test_honey_is_nothing_for_the_first_year() -> None:
    """INSPQ: honey never for babies under age 1, not even in baking."""
    (one,) = of_honey(["sugar", "Clover Honey powder"])
    assert "under one year" in one.text
    assert one.severity == "danger"
    assert of_honey(["sugar", "honeycomb-shaped quins"]) == []


def test_additives_follow_the_jurisdiction_with_its_dates() -> None:
    """90 FR 4628; Regulation (EU) 2022/63; Regulation (EC) No 1333/2008, Annex V by the FSA's guidance."""
    named = {"jar": Composition(additives=("E127", "E171", "E102", "E160b(ii)"))}
    us = texts(of_additives(named, label_rules("US")))
    assert any("15 January 2027" in t for t in us)
    assert not any("adverse effect" in t for t in us)
    eu = texts(of_additives(named, label_rules("EU")))
    assert any("not authorised since 7 February 2022" in t for t in eu)
    assert any("tartrazine (E102): may have an adverse effect" in t for t in eu)
    assert any("annatto (E160b)" in t for t in eu), "a form follows its main number"
    assert of_additives({"jar": Composition(additives=("E133",))}, label_rules("EU")) == []
    assert all("as of" in c.source for c in of_additives(named, label_rules("EU")))


def test_warm_months_may_run_over_the_new_year() -> None:
    assert [m for m in range(1, 13) if is_warm(m, Label())] == [5, 6, 7, 8, 9]
    south = replace(Label(), warm_from_month=11, warm_to_month=3)
    assert [m for m in range(1, 13) if is_warm(m, south)] == [1, 2, 3, 11, 12]


def test_what_melts_is_graver_when_warm_or_posted(jar: Make) -> None:
    chips = [jar(1, name="mini chips", melts_in_heat=True)]
    assert of_heat(chips, Label(), 1)[0].severity == "note"
    warm = of_heat(chips, Label(), 7)[0]
    assert (warm.severity, "July is warm" in warm.text) == ("care", True)
    assert of_heat(chips, Label(), 1, posted=True)[0].severity == "care"
    assert of_heat([jar(2)], Label(), 7) == []
    assert "buttercream" in of_heat([], Label(), 7, buttercream=True)[0].text


def test_an_order_tells_everything_the_gravest_first(jar: Make) -> None:
    made, problems = checked({"contents": {"picks": 2}, "label": {"strict_choking": True}})
    assert not problems
    kit = Kit(
        "owls",
        (Tint((20, 0, 0), "#303030", "charcoal", ()),),
        (Topping(ball(jar, 7), 0.5), Topping(jar(2, name="chips", melts_in_heat=True), 0.5)),
        (Cut(Cutter(1, "antler", thin_parts=True), 8),),
    )
    found = of_order(
        Order(kit, 1, made), [], Composition(("wheat", "gluten"), ()), Composition(("egg",), ()), Needs(),
        label_rules("US"), ["honey"], month=7, posted=True,
    )  # fmt: skip
    ranks = [SEVERITIES.index(c.severity) for c in found]
    assert ranks == sorted(ranks)
    assert {c.kind for c in found} == {
        "allergens", "kitchen", "choking", "teeth", "egg", "flour", "sharp", "bags", "ribbon", "honey", "heat",
        "post", "bleeding",
    }  # fmt: skip
    assert RAW_FLOUR in texts(found)
    assert any("under 5" in t for t in texts(found))
    assert all(c.why and c.source and c.text.endswith((".", ")")) for c in found)
    assert len([c for c in found if c.kind == "heat"]) == 1


def test_no_caution_promises_that_something_is_absent(jar: Make) -> None:
    kit = Kit("owls", (), (Topping(ball(jar, 7), 1.0),), ())
    for composition in (PLAIN, Composition(), Composition(("milk",), ("egg",), ("E102", "E127", "E171"))):
        for rules in (None, label_rules("US"), label_rules("EU"), label_rules("CA")):
            for one in of_order(Order(kit, 1, Settings()), [], composition, composition, None, rules, ["honey"]):
                said = f"{one.text} {one.why} {one.source}".casefold()
                assert " safe" not in said
                assert "free" not in said


def test_a_gel_is_told_as_a_gel_beside_a_jar_of_its_name(jar: Make) -> None:
    """Two called alike are two, each with its allergens."""
    soy, milk = Composition((), ("soy",), ()), Composition((), ("milk",), ())
    gel = Gel(1, "black", (20.0, 0.0, 0.0), 1.0, (), composition=soy)
    black = replace(jar(1, "#000000"), name="black", composition=milk)
    text = of_kit([black], [gel], Composition(), Composition(), Needs())[0].text
    assert "milk (black)" in text
    assert "soy (black gel)" in text
    assert gel_told(replace(gel, name="red gel")) == "red gel"
    assert gel_told(replace(gel, id=-1, name="ground turmeric")) == "ground turmeric"


def test_in_short_no_allergen_and_no_danger_is_lost(jar) -> None:
    """Every allergen, unknown label and choking piece is in the few words too; only sources are left out."""
    hard = Texture("sphere", 8.0, "gloss", "hard")
    pearls = replace(jar(1, name="pearls"), hard_small_pieces=True, texture=hard)
    pearls = replace(pearls, composition=Composition(("soy",), ("peanut", "milk"), ("E129", "E127")))
    blank = jar(2, name="blank")
    kit = of_kit(
        [pearls, replace(blank, composition=Composition())],
        [],
        Composition(("milk",), ()),
        Composition((), ()),
        Needs(),
    )
    told = " ".join(shorts(kit))
    for word in (
        "Contains milk and soy",
        "May contain peanut",
        "not entered: blank",
        "under 4: pearls",
        "windpipe",
    ):
        assert word in told
    assert "E127" in told
    assert len(shorts(kit)) == len(kit)
    assert all(len(c.short) < len(c.text) for c in kit if c.short)
    assert "Pediatrics" not in told
    assert "Pediatrics" in " ".join(texts(kit))


def test_traces_in_short_are_those_not_told_already() -> None:
    told = shorts(of_allergens({"dough": Composition(("milk",), ()), "jar": Composition((), ("milk", "soy"))}))
    assert told == ["Contains milk.", "May contain soy."]
    same = shorts(of_allergens({"dough": Composition(("milk",), ()), "jar": Composition((), ("milk",))}))
    assert same == ["Contains milk.", "Traces too of milk, which is in it anyway."]
