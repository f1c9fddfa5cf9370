"""Settings of the label and the cautions."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import OWN, setting

#: One step a line; `{toppings}` and the others are filled in for each batch.
DIRECTIONS = (
    "Knead each icing bag for one to two minutes, until it is soft and smooth.\n"
    "Cut off the tip of the bag, only about 2 mm (1/16 in); a grown-up does this.\n"
    "Draw round the edge of a cookie, then fill in the middle and spread it with a stick.\n"
    "While the icing is wet, sprinkle on {toppings}.\n"
    "Let the cookies lie flat until the icing is dry: some hours, a night before you stack them."
)
PLACEHOLDERS = ("kit", "shelf", "colours", "toppings", "cookies", "use_by")


@dataclass(frozen=True, slots=True)
class Label:
    """What only she can say of a label."""

    jurisdiction: str = setting("US", "whose rules the label follows", choices=("US", "EU", "GB", "CA"))
    product_name: str = setting("Decorate-it-yourself cookie kit", "the name of the food", most=120)
    maker: str = setting("", "her name or business and address, as her local code asks", most=300, source=OWN)
    home_kitchen_statement: str = setting("", "the statement that her local code asks for", most=500, source=OWN)
    storage: str = setting("Keep cool and dry, out of the sun.", "how to keep it", most=200)
    best_before_days: int = setting(
        14, "days from packing to best-before, by her own test", unit="days", least=1, most=180
    )
    strict_choking: bool = setting(False, "small hard pieces are held back up to five years instead of four")
    warm_from_month: int = setting(5, "first warm month, for what melts; 11 in the south", least=1, most=12)
    warm_to_month: int = setting(9, "last warm month; 3 in the south", least=1, most=12)
    directions: str = setting(
        DIRECTIONS,
        "text of the card, one step a line; may hold " + ", ".join(f"{{{name}}}" for name in PLACEHOLDERS),
        most=1500,
    )
    picture: str = setting(
        "", "the shelf's own picture on the card, a PNG of at most 200 kB as data:image/png;base64,…",
        most=270_000, source=OWN,
    )  # fmt: skip
