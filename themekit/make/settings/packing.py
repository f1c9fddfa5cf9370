"""Settings of sizes and weights in the box. All are common practice; hers go first."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import setting


@dataclass(frozen=True, slots=True)
class Packing:
    """Outer sizes of the pieces in mm and empty weights in g."""

    wall_mm: float = setting(
        5.0, "lost on each side-to-side measure of a box to folds and walls", unit="mm", least=0, most=50
    )
    cup_diameter_mm: float = setting(62.0, "cup for toppings, top with lid", unit="mm", least=10, most=200)
    cup_height_mm: float = setting(31.0, "cup for toppings, height with lid", unit="mm", least=5, most=200)
    cup_ml: float = setting(
        59.1,
        "cup for toppings, to the brim",
        unit="mL",
        least=5,
        most=1000,
        source="2 US fl oz, nominal; NIST SP 430",
    )
    cup_fill_share: float = setting(0.8, "of a cup that is filled at most", least=0.1, most=1)
    icing_bag_width_mm: float = setting(70.0, "filled icing bag lying flat, width", unit="mm", least=20, most=300)
    icing_bag_thickness_mm: float = setting(
        22.0, "filled icing bag lying flat, thickness", unit="mm", least=5, most=150
    )
    icing_bag_knot_mm: float = setting(
        50.0, "knot and clip of an icing bag, beyond the icing", unit="mm", least=0, most=150
    )
    cookie_bag_width_mm: float = setting(102.0, "cookie bag, width", unit="mm", least=20, most=500)
    cookie_bag_gusset_mm: float = setting(
        51.0, "cookie bag, depth of the gusset, 0 for a flat bag", unit="mm", least=0, most=300
    )
    cookie_bag_length_mm: float = setting(254.0, "cookie bag, length", unit="mm", least=20, most=600)
    cookie_bag_tie_mm: float = setting(
        60.0, "of the bag's length that the tie takes", unit="mm", least=0, most=200
    )
    stick_length_mm: float = setting(115.0, "stick or pick, length", unit="mm", least=20, most=300)
    stick_mm: float = setting(5.0, "stick or pick, thickness", unit="mm", least=1, most=30)
    spoon_length_mm: float = setting(100.0, "spoon, length", unit="mm", least=20, most=300)
    spoon_width_mm: float = setting(25.0, "spoon, width", unit="mm", least=5, most=100)
    card_length_mm: float = setting(148.0, "card, length", unit="mm", least=30, most=400)
    card_width_mm: float = setting(105.0, "card, width", unit="mm", least=30, most=400)
    cookie_rise_share: float = setting(0.10, "growth of a cookie in thickness while baking", least=0, most=1)
    spoon_height_mm: float = setting(10.0, "spoon, height lying", unit="mm", least=1, most=60)
    card_mm: float = setting(0.4, "card, thickness", unit="mm", least=0.1, most=10)
    napkin_mm: float = setting(125.0, "folded napkin, side", unit="mm", least=30, most=400)
    napkin_thickness_mm: float = setting(2.0, "folded napkin, thickness", unit="mm", least=0.1, most=30)
    filling_ml_per_g: float = setting(25.0, "room that loose paper filling takes", unit="mL/g", least=1, most=200)
    loose_share: float = setting(
        0.6, "of a box's room that pieces take at most while they still go in without fuss", least=0.05, most=1
    )
    box_g: float = setting(60.0, "an empty box", unit="g", least=0, most=2000)
    cup_g: float = setting(3.0, "an empty cup with lid", unit="g", least=0, most=200)
    bag_g: float = setting(3.0, "an empty bag with its tie", unit="g", least=0, most=200)
    small_goods_g: float = setting(2.0, "one stick, spoon, card, sticker or napkin", unit="g", least=0, most=200)
