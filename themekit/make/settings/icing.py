"""Settings of the icing and its tinting."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import OWN, setting


@dataclass(frozen=True, slots=True)
class Icing:
    """The icing recipe by parts of 100 g of confectioners' sugar, and how it is handled."""

    recipe: str = setting(
        "meringue powder",
        "what the icing is made with",
        choices=("meringue powder", "pasteurised whites", "buttercream"),
    )
    meringue_powder_per_100: float = setting(
        6.6, "meringue powder for 100 g of sugar", unit="g", least=1, most=30,
        source="3 tbsp (30 g) to 1 lb of sugar, the usual recipe (several recipe pages agree)",
    )  # fmt: skip
    whites_per_100: float = setting(
        18.0, "pasteurised whites for 100 g of sugar", unit="g", least=5, most=50,
        source="2–3 whites of 33 g (USDA SR28 no. 01124) to 1 lb of sugar; the number of whites from memory",
    )  # fmt: skip
    water_per_100: float = setting(
        18.0, "water for 100 g of sugar in the stiff icing", unit="g", least=0, most=60,
        source="5–6 tbsp to 1 lb of sugar, the usual recipe",
    )  # fmt: skip
    butter_per_100: float = setting(50.0, "butter for 100 g of sugar in buttercream", unit="g", least=5, most=200)
    milk_per_100: float = setting(7.0, "milk for 100 g of sugar in buttercream", unit="g", least=0, most=60)
    waste_share: float = setting(0.10, "icing made beyond what is filled, for bowls and bags", least=0, most=0.9)
    holdup_share: float = setting(0.12, "icing that stays in the customer's bag", least=0, most=0.9)
    drop_g: float = setting(0.045, "one drop of gel, until it is weighed", unit="g", least=0.005, most=1)
    scale_step_g: float = setting(0.1, "the smallest step that her scale shows", unit="g", least=0.001, most=10)
    film_mm: float = setting(2.0, "icing on an iced cookie, how thick", unit="mm", least=0.2, most=10)
    outline_share: float = setting(0.15, "icing for outlines, beyond the film", least=0, most=2)
    covered_share: float = setting(1.0, "part of a cookie's face that is iced", least=0.05, most=1)
    density_g_per_ml: float = setting(1.28, "flowing icing", unit="g/mL", least=0.7, most=1.5)
    points: tuple[tuple[float, float], ...] = setting(
        (), "her own tests: water added (g for 100 g of stiff icing) and the seconds until a cut closes",
        unit="(g, s)", least=0, most=600, source=OWN,
    )  # fmt: skip
    wanted_seconds: float = setting(
        20.0, "seconds until a cut closes, as the kit wants it", unit="s", least=3, most=120
    )
    keeps_days: int = setting(14, "days that sealed icing keeps, by her own test", unit="days", least=1, most=180)
