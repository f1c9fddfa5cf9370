"""Cautions name what is known and unknown, why and by which source."""

from __future__ import annotations

from collections.abc import Callable

from themekit.make.cautions import (
    SHARED_KITCHEN,
    additive_cautions,
    allergen_cautions,
    choking_cautions,
    for_kit,
    for_tints,
    heat_cautions,
)
from themekit.values import Composition, Jar, Needs, Texture, Tint

Make = Callable[..., Jar]


def test_allergens_are_told_by_where_they_are() -> None:
    told = allergen_cautions(
        {
            "dough": Composition(("milk", "wheat"), ()),
            "icing": Composition(("egg",), ()),
            "red jimmies": Composition((), ("milk",)),
            "old tin": Composition(),
            "pearls": Composition((), None),
        }
    )
    assert told[0] == "Contains egg (icing); milk (dough); wheat (dough)."
    assert "May contain milk (red jimmies)" in told[1]
    assert "not entered for old tin" in told[2]
    assert "pearls" in told[3]


def test_six_colours_and_dated_rules() -> None:
    """Regulation (EC) 1333/2008 Annex V; 90 FR 4628; Regulation (EU) 2022/63."""
    told = additive_cautions({"a": Composition(additives=("E129", "E102", "E133", "E127", "E171"))})
    assert told[0].startswith("E102, E129: may have an adverse effect on activity and attention in children")
    assert "15 January 2027" in told[1]
    assert "2022/63" in told[2]
    assert additive_cautions({"a": Composition(additives=("E133",))}) == []


def test_choking_and_metal(jar: Make) -> None:
    """Pediatrics 125(3):601 (2010); FDA Compliance Policy Guide 545.200."""
    dragees = jar(1, name="gold dragées", kind="dragées", texture=Texture("sphere", 4, "metallic", "hard"))
    told = choking_cautions([dragees, jar(2)], Needs())
    assert "gold dragées" in told[0]
    assert "under 4" in told[0]
    assert "545.200" in told[1]
    young = choking_cautions([jar(2)], Needs(youngest_age=3))
    assert len(young) == 1
    assert "child of 3" in young[0]


def test_the_shared_kitchen_is_always_told(jar: Make) -> None:
    kit = for_kit(
        [jar(1), jar(2), jar(3)], [], Composition((), (), (), "vegan"), Composition((), (), (), "vegan"), Needs()
    )
    assert kit == [SHARED_KITCHEN]
    with_egg = for_kit([jar(1)], [], Composition((), ()), Composition(("egg",), ()), Needs())
    assert any("pasteurised" in caution for caution in with_egg)
    unknown = for_kit([jar(1)], [], Composition(), Composition(), Needs())
    assert any("pasteurised" in caution for caution in unknown), "unknown icing may hold egg"


def test_dark_icing_and_melting(jar: Make) -> None:
    dark, light = Tint((20, 0, 0), "#303030", "charcoal", ()), Tint((90, 0, 0), "#e2e2e2", "white", ())
    assert "charcoal" in for_tints([dark, light])[0]
    assert for_tints([light]) == []
    assert "mini chips" in heat_cautions([jar(1, name="mini chips", melts_in_heat=True)])[0]
