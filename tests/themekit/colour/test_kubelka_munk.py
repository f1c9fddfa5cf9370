"""Kubelka and Munk, and Saunderson, against values worked out by hand."""

import numpy as np
import pytest

from themekit.colour import kubelka_munk as km


@pytest.mark.parametrize(
    ("reflectance", "expected"),
    [(0.05, 9.025), (0.1, 4.05), (0.25, 1.125), (0.5, 0.25), (0.75, 0.041667), (0.9, 0.005556), (1, 0)],
)
def test_absorption_of_a_reflectance(reflectance, expected):
    """K/S = (1 − R)²/(2R), Kubelka and Munk (1931), worked out by hand."""
    assert km.absorption(reflectance) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(
    ("q", "expected"),
    [
        (0, 1),
        (0.01, 0.868226),
        (0.1, 0.641742),
        (0.5, 0.381966),
        (1, 0.267949),
        (2, 0.171573),
        (10, 0.045549),
    ],
)
def test_reflectance_of_an_absorption(q, expected):
    """R = 1 + q − √(q² + 2q), Kubelka and Munk (1931); 0.267949 is 2 − √3, 0.171573 is 3 − 2√2."""
    assert km.reflectance(q) == pytest.approx(expected, abs=5e-7)
    assert km.reflectance(q) == pytest.approx(1 + q - np.sqrt(q * q + 2 * q), abs=1e-12)


@pytest.mark.parametrize(("inside", "seen"), [(0.1, 0.050526), (0.5, 0.32), (0.9, 0.785455), (1, 0.96), (0, 0)])
def test_the_surface_takes_its_share(inside, seen):
    """Saunderson (1942), specular excluded, k1 = 0.04, k2 = 0.5: worked out by hand."""
    assert (km.OUTER, km.INNER) == (0.04, 0.5)
    assert km.through_surface(inside) == pytest.approx(seen, abs=5e-7)
    assert km.under_surface(seen) == pytest.approx(inside, abs=2e-6)


def test_both_formulae_go_there_and_back():
    r = np.linspace(0.001, 1, 500)
    np.testing.assert_allclose(km.reflectance(km.absorption(r)), r, rtol=1e-9)
    np.testing.assert_allclose(km.under_surface(km.through_surface(r)), r, rtol=1e-12)
    assert km.reflectance(1e9) == pytest.approx(5e-10, rel=1e-6)


def test_both_together_are_the_one_after_the_other():
    q = np.geomspace(1e-6, 1e4, 300)
    np.testing.assert_allclose(km.seen_of(q), km.through_surface(km.reflectance(q)), rtol=1e-13)
