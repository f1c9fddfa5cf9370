"""Weights and lengths in the units that the reader chose, with the decimal sign of the shelf's place."""

from __future__ import annotations

from flask import request

from api.local import Local
from themekit.make.units import FL_OZ_ML, OZ_G


def system() -> str:
    """Metric or US, remembered in a cookie."""
    return "US" if request.cookies.get("units") == "us" else "metric"


def weight(grams: float | None, local: Local = Local()) -> str:  # noqa: B008 - frozen
    """Grams for people: g and kg, or oz and lb; a dash where it is not known."""
    if grams is None:
        return "–"
    if system() == "US":
        ounces = grams / OZ_G
        if ounces >= 32:
            return f"{local.number(ounces / 16, 1)} lb"
        return f"{local.number(float(f'{ounces:.2g}'))} oz" if ounces < 10 else f"{local.number(ounces, 0)} oz"
    if grams >= 10_000:
        return f"{local.number(grams / 1000, 1)} kg"
    return f"{local.number(float(f'{grams:.2g}'))} g" if grams < 10 else f"{local.number(grams, 0)} g"


def length(mm: float | None, local: Local = Local()) -> str:  # noqa: B008 - frozen
    """Millimetres for people: mm, or inches."""
    if mm is None:
        return "–"
    return f"{local.number(float(f'{mm / 25.4:.2g}'))} in" if system() == "US" else f"{local.number(mm)} mm"


def quantity(amount: float | None, unit: str, local: Local = Local()) -> str:  # noqa: B008 - frozen
    """An amount of any unit for people: grams as `weight` tells them, ml or fluid ounces, pieces bare."""
    if amount is None:
        return "–"
    if unit == "g":
        return weight(amount, local)
    if unit == "ml" and system() == "US":
        return f"{local.number(float(f'{amount / FL_OZ_ML:.2g}'))} fl oz"
    return f"{local.number(float(f'{amount:.6g}'))}{'' if unit == 'piece' else f' {unit}'}"
