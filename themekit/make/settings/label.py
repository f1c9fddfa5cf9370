"""Settings of the label and the cautions."""

from __future__ import annotations

from dataclasses import dataclass

from themekit.make.settings.base import OWN, setting


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
