"""Settings of the cookies: recipe, rolling, baking."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import setting

_TEXTBOOK = "Goodheart-Willcox, Culinary: 20 oz flour, 8 butter, 10 sugar, 2 egg, 2 milk"


@dataclass(frozen=True, slots=True)
class Dough:
    """The recipe by parts of 100 g of flour, and how it is rolled and baked."""

    butter_per_100: float = setting(
        40.0, "butter for 100 g of flour", unit="g", least=0, most=200, source=_TEXTBOOK
    )
    sugar_per_100: float = setting(50.0, "sugar for 100 g of flour", unit="g", least=0, most=200, source=_TEXTBOOK)
    egg_per_100: float = setting(10.0, "egg for 100 g of flour", unit="g", least=0, most=100, source=_TEXTBOOK)
    milk_per_100: float = setting(10.0, "milk for 100 g of flour", unit="g", least=0, most=100, source=_TEXTBOOK)
    baking_powder_per_100: float = setting(
        0.4, "baking powder for 100 g of flour", unit="g", least=0, most=10,
        source="the same recipe's half teaspoon to 567 g; 4.6 g a teaspoon (USDA SR28)",
    )  # fmt: skip
    egg_g: float = setting(
        50.0, "one egg without its shell", unit="g", least=20, most=90,
        source="USDA SR28 no. 01123, a large egg",
    )  # fmt: skip
    thickness_mm: float = setting(
        6.35, "rolled dough, where the cutter names none", unit="mm", least=1, most=30,
        source="about a quarter inch (Goodheart-Willcox, Culinary)",
    )  # fmt: skip
    density_g_per_ml: float = setting(
        1.30, "raw dough", unit="g/mL", least=0.8, most=1.6,
        source="USDA recipe B-04: 37 oz in 3 1/3 cups is 1.33; by composition 1.29",
    )  # fmt: skip
    fill_factor: float = setting(
        0.75, "outline area over width × height, where no outline is known", least=0.1, most=1
    )
    scrap_share: float = setting(0.07, "dough lost after the last re-roll", least=0, most=0.6)
    first_roll_share: float = setting(
        0.67, "of the dough that becomes cookies at the first rolling", least=0.1, most=1
    )
    bake_loss_share: float = setting(
        0.115, "mass lost in baking", least=0, most=0.5,
        source="USDA SR28, rolled refrigerated sugar dough, nos. 18205 and 18206: 11.8 and 11.5 %",
    )  # fmt: skip
    spread_share: float = setting(0.03, "growth in width while baking", least=0, most=0.5)
    tray_length_mm: float = setting(457.0, "baking tray, length", unit="mm", least=100, most=1000)
    tray_width_mm: float = setting(330.0, "baking tray, width", unit="mm", least=100, most=1000)
    tray_edge_mm: float = setting(12.7, "free edge of the tray", unit="mm", least=0, most=100)
    tray_gap_mm: float = setting(25.4, "gap between cookies", unit="mm", least=0, most=100)
    trays_per_load: int = setting(2, "trays in the oven at once", least=1, most=50)
    bake_minutes: float = setting(12.0, "baking time of one load", unit="min", least=3, most=60)
    oven_c: float = setting(177.0, "oven", unit="°C", least=120, most=230, source="350 °F, general recipe pages")
    cookies_keep_days: int = setting(
        14, "days that bagged cookies keep, by her own test", unit="days", least=1, most=90
    )
