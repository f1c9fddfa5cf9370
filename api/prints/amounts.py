"""Amounts as they are weighed at the bench."""

from __future__ import annotations

from themekit.make.units import OZ_G, TBSP_ML, System, mass, nearest, spoons, volume


def grams(amount: float | None, system: System, fine: bool = False) -> str:
    """Whole grams, however many; below 20 g with a tenth, where `fine` below 100 g.

    US: pounds and ounces, but grams below half an ounce, which quarter ounces would blur.
    """
    if amount is None:
        return "grams not known"
    if system == "US" and amount >= OZ_G / 2:
        return mass(amount, "US")
    return f"{nearest(amount, 1)} g" if amount >= (100 if fine else 20) else mass(amount)


def of_unit(amount: float | None, unit: str, system: System) -> str:
    """An amount in g, ml, m or pieces; pieces stand without a word."""
    if amount is None:
        return "?"
    if unit == "g":
        return grams(amount, system)
    if unit == "ml":
        return volume(amount, system)
    return f"{amount:g}" if unit == "piece" else f"{amount:g} {unit}"


def spoon(tbsp: float) -> str:
    """US tablespoons in spoons and cups."""
    return spoons(tbsp * TBSP_ML)


def share_of(share: float) -> str:
    """A share as a percentage."""
    return f"{100 * share:g} %"
