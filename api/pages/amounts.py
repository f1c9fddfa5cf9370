"""Weights and lengths in the units that the reader chose."""

from __future__ import annotations

from flask import request

from themekit.make.units import OZ_G


def system() -> str:
    """Metric or US, remembered in a cookie."""
    return "US" if request.cookies.get("units") == "us" else "metric"


def weight(grams: float | None) -> str:
    """Grams for people: g and kg, or oz and lb; a dash where it is not known."""
    if grams is None:
        return "–"
    if system() == "US":
        ounces = grams / OZ_G
        return (
            f"{ounces / 16:.1f} lb" if ounces >= 32 else f"{ounces:.2g} oz" if ounces < 10 else f"{ounces:.0f} oz"
        )
    if grams >= 10_000:
        return f"{grams / 1000:.1f} kg"
    return f"{grams:.2g} g" if grams < 10 else f"{grams:.0f} g"


def length(mm: float | None) -> str:
    """Millimetres for people: mm, or inches."""
    if mm is None:
        return "–"
    return f"{mm / 25.4:.2g} in" if system() == "US" else f"{mm:g} mm"
