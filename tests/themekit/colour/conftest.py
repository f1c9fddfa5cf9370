"""Fourteen invented gels for the tests of tints."""

import numpy as np
import pytest

from themekit.colour.mixing import gel_absorption, predict
from themekit.colour.space import hex_to_lab
from themekit.values import Gel

# Swatches in the colours that gels are sold in: name, hex, g per 100 g.
SWATCHES = (
    ("yellow", "#ffd21f", 0.5), ("orange", "#f57c1f", 0.5), ("red", "#c8102e", 0.8),
    ("dark red", "#9b1b1e", 1.0), ("neon pink", "#ff4fa3", 0.3), ("hot pink", "#ff2e93", 0.4),
    ("violet", "#6a3a9c", 0.6), ("royal blue", "#1f4fb0", 0.6), ("sky blue", "#58b7e8", 0.3),
    ("navy", "#1b2a55", 1.2), ("teal", "#1f8a8a", 0.5), ("leaf green", "#3f8f3a", 0.6),
    ("brown", "#6b4226", 0.8), ("black", "#1e1b1c", 1.5),
)  # fmt: skip


def gel_of(number, name, text, dose, most=None):
    lab = tuple(hex_to_lab(text).tolist())
    return Gel(number, name, lab, dose, gel_absorption(lab, dose), most)


@pytest.fixture(scope="session")
def make_gel():
    """A gel from id, name, hex, dose and, if it has one, maximum."""
    return gel_of


@pytest.fixture(scope="session")
def fourteen():
    return tuple(gel_of(i, *swatch) for i, swatch in enumerate(SWATCHES, start=1))


@pytest.fixture(scope="session")
def fourteen_k(fourteen):
    return np.array([g.k for g in fourteen])


@pytest.fixture(scope="session")
def by_name(fourteen):
    return {g.name: g for g in fourteen}


@pytest.fixture(scope="session")
def mix(by_name):
    """CIELAB of gels by name (spaces as underscores) at g per 100 g."""

    def mixed(**doses):
        used = [by_name[name.replace("_", " ")] for name in doses]
        return predict([g.k for g in used], [list(doses.values())])[0]

    return mixed
