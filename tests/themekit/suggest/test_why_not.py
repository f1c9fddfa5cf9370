"""Why a thing may not be taken: just what suggestions leave out for a need, each with its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from themekit.colour.space import hex_to_lab
from themekit.suggest.ideas import Suggester
from themekit.suggest.why_not import cutters_not_to_take, jars_not_to_take, only_if_meant, tints_not_to_take
from themekit.values import Composition, Jar, Needs, Shelf, Texture

Ask = Callable[..., Suggester]


@pytest.mark.parametrize(
    ("text", "needs"),
    [
        ("owl party", Needs()),
        ("owl party", Needs(avoid_allergens=("milk",))),
        ("owl party", Needs(avoid_allergens=("gluten", "soy"), avoid_additives=("E129",), youngest_age=2)),
        ("owl party", Needs(diet="vegan", avoid_colours=("#f29ab5", "#1d8a8a"), in_stock_only=True)),
        ("owl party without stars", Needs(skip_jars=(1, 2))),
        ("owl party", Needs(youngest_age=5)),
        ("peanut party", Needs(avoid_allergens=("egg",))),
    ],
)
def test_the_jars_refused_are_those_that_suggestions_leave_out_for_a_need(
    demo: Shelf, suggester: Ask, text: str, needs: Needs
) -> None:
    on = suggester(text, needs=needs, kits=6)
    refused, offered = set(jars_not_to_take(on)), {jar.id for jar in on.allowed.jars}
    assert not refused & offered
    assert {jar.id for jar in demo.jars} - offered - refused <= only_if_meant(on), "nuts may be taken by hand"


@pytest.mark.parametrize(
    ("changes", "needs", "why"),
    [
        (
            {"composition": Composition(("milk",), (), (), "vegan")},
            Needs(avoid_allergens=("milk",)),
            "contains milk",
        ),
        (
            {"composition": Composition(None, (), (), "vegan")},
            Needs(avoid_allergens=("milk",)),
            "no allergens entered",
        ),
        ({"hard_small_pieces": True}, Needs(youngest_age=2), "not for a child of 2"),
        ({"hard_small_pieces": None}, Needs(youngest_age=2), "nothing is entered"),
        (
            {"texture": Texture("sphere", 8.0, "pearl", "hard")},
            Needs(youngest_age=5),
            "hard balls of 6 mm and more, for a child of 5",
        ),
        ({"best_before": date(2026, 11, 24)}, Needs(), "past its best-before day"),
        ({"on_hand_g": 1.0}, Needs(in_stock_only=True), "too little"),
        ({"on_hand_g": None}, Needs(in_stock_only=True), "never counted"),
        ({"density_g_per_ml": None}, Needs(in_stock_only=True), "weight per spoon"),
        ({}, Needs(skip_jars=(1,)), "left out"),
        ({}, Needs(avoid_colours=("#ffffff",)), "shows white, which is not wanted"),
    ],
)
def test_each_reason_is_told(
    demo: Shelf, suggester: Ask, jar: Callable[..., Jar], changes: dict[str, object], needs: Needs, why: str
) -> None:
    shelf = replace(demo, jars=(jar(1, **changes), *(jar(n, "#d7263d") for n in range(2, 6))))
    refused = jars_not_to_take(suggester("owl party", shelf, needs, kits=6))
    assert why in " ".join(refused[1])


def test_cutters_and_icings_that_are_not_wanted(suggester: Ask) -> None:
    on = suggester("owl party without stars", needs=Needs(avoid_colours=("#d7263d",)))
    stars = {c.id for c in on.shelf.cutters if "star" in c.motifs}
    assert stars <= set(cutters_not_to_take(on))
    assert all("star" in " ".join(why) for why in cutters_not_to_take(on).values())
    near, far = tints_not_to_take(on, hex_to_lab(["#d4283f", "#1d8a8a"]))
    assert near
    assert not far
