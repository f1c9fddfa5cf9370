"""One kit as it was chosen: what everything in this room is worked out from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from themekit.make.settings import Settings
from themekit.values import Cutter, Jar, Tint

Serve = Literal["apart", "mixed"]


@dataclass(frozen=True, slots=True)
class Topping:
    """One jar of a kit and its share of the kit's toppings by volume; shares add up to 1."""

    jar: Jar
    share: float


@dataclass(frozen=True, slots=True)
class Cut:
    """So many cookies of one cutter in one kit."""

    cutter: Cutter
    cookies: int


@dataclass(frozen=True, slots=True)
class Kit:
    """What one kit holds: icing tints, toppings and cookies. Toppings stand apart in cups, or mixed."""

    theme: str
    tints: tuple[Tint, ...]
    toppings: tuple[Topping, ...]
    cuts: tuple[Cut, ...]
    serve: Serve = "apart"

    @property
    def cookies(self) -> int:
        """Cookies in one kit."""
        return sum(cut.cookies for cut in self.cuts)


@dataclass(frozen=True, slots=True)
class Order:
    """One kit chosen, how many of it, and the settings to work by."""

    kit: Kit
    kits: int
    settings: Settings
