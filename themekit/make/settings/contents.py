"""Settings of what one kit holds."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import setting


@dataclass(frozen=True, slots=True)
class Contents:
    """Counts and amounts of one kit; 0 leaves a thing out."""

    decorators: int = setting(2, "people who decorate from one kit", least=1, most=100)
    icing_g_per_bag: float = setting(75.0, "icing in each bag", unit="g", least=5, most=1000)
    topping_tbsp: float = setting(
        1.0, "of each topping, or a third of the mix, in US tablespoons", unit="tbsp", least=0.1, most=20
    )
    sticks: int | None = setting(None, "sticks; unset means decorators × colours", least=0, most=1000)
    spoons: int = setting(1, "spoons for the toppings", least=0, most=100)
    picks: int = setting(0, "picks to draw with; they are sharp", least=0, most=100)
    napkins: int = setting(0, "napkins", least=0, most=100)
    cookie_bags: int = setting(1, "bags that the cookies go into", least=0, most=200)
    ties_per_cookie_bag: int = setting(1, "ties for each cookie bag", least=0, most=4)
    clips_per_icing_bag: int = setting(1, "clips or ties for each icing bag", least=0, most=4)
    lids_apart: bool = setting(True, "lids of the cups are bought apart from the cups")
    cards: int = setting(1, "cards of directions", least=0, most=20)
    stickers: int = setting(1, "stickers", least=0, most=20)
    labels: int = setting(1, "labels with what is in the kit", least=0, most=20)
    filling_g: float = setting(10.0, "paper filling", unit="g", least=0, most=1000)
    waste_share: float = setting(
        0.05, "toppings and small goods taken beyond those packed, for waste", least=0, most=0.9
    )
    spare_cookies_share: float = setting(0.05, "cookies baked beyond those packed, for breakage", least=0, most=2)
