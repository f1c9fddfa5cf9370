"""A small renderer of sprinkles on a plate under a lamp of known spectrum.

Spectra come from colour-science: reflectances of the ColorChecker (BabelColor average of 30
charts), CIE illuminants A, D65 and FL2, CIE 1931 2° observer. A bead is a Lambertian sphere
or rod with a glint, on matt paper; the picture is blurred, noisy and JPEG compressed.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from themekit.colour.space import WHITE_XYZ, xyz_to_lab, xyz_to_rgb

Floats = NDArray[np.float64]
HEIGHT, WIDTH = 360, 480
#: Spectral reflectance of the paper, flat; L* 95 as `themekit.photo.light` takes white paper to be.
PAPER = ((95 + 16) / 116) ** 3
#: Light in 400–700 nm by 10 nm, as in handbooks of colour measurement.
_STEP = (400, 700, 10)


@dataclass(frozen=True)
class Lamp:
    """A light and how bright the camera makes white paper, as its highest linear channel."""

    illuminant: str
    exposure: float = 0.75


#: The lamps of the tests.
LAMPS = {
    "warm": Lamp("A"),
    "daylight": Lamp("D65"),
    "cool tube": Lamp("FL2"),
    "dim and warm": Lamp("A", 0.12),
    "dim": Lamp("D65", 0.12),
}


@lru_cache(maxsize=1)
def _spectra() -> tuple[dict[str, Floats], dict[str, Floats], Floats]:
    with warnings.catch_warnings():
        # Importing colour-science tells of what it can do only with other packages.
        warnings.simplefilter("ignore")
        import colour
    shape = colour.SpectralShape(*_STEP)

    def values(spectrum: Any) -> Floats:
        return np.array(spectrum.copy().align(shape).values)

    chart = {name: values(sd) for name, sd in colour.SDS_COLOURCHECKERS["BabelColor Average"].items()}
    lamps = {name: values(colour.SDS_ILLUMINANTS[name]) for name in ("A", "D65", "FL2")}
    return chart, lamps, values(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])


def chart() -> dict[str, Floats]:
    """Spectral reflectances of the 24 patches by name."""
    return _spectra()[0]


def xyz_under(illuminant: str, reflectance: Floats) -> Floats:
    """CIE XYZ of reflectances, shape (..., 31), the perfect white at Y = 1."""
    _, lamps, observer = _spectra()
    S = lamps[illuminant]
    return np.asarray((reflectance * S) @ observer / (S @ observer[:, 1]))


def true_lab(reflectance: Floats) -> Floats:
    """CIELAB under D65; the white of the band 400–700 nm stands for that of the whole spectrum."""
    white = xyz_under("D65", np.ones(reflectance.shape[-1]))
    return xyz_to_lab(xyz_under("D65", reflectance) / white * WHITE_XYZ)


def developed(xyz: Floats, lamp: Lamp, seed: int = 1, blur: float = 1.0, quality: int = 90) -> NDArray[np.uint8]:
    """The camera: exposure, blur, noise, sRGB without white balance, JPEG; shape (h, w, 3)."""
    white = xyz_to_rgb(xyz_under(lamp.illuminant, np.full(31, PAPER)))
    # The curve is undone to find the linear level.
    linear_white = (((np.maximum(white, 0.05) + 0.055) / 1.055) ** 2.4).max()
    seen = xyz * (lamp.exposure / linear_white)
    if blur:
        seen = np.stack([ndimage.gaussian_filter(seen[..., i], blur) for i in range(3)], axis=-1)
    levels = xyz_to_rgb(seen) + np.random.default_rng(seed).normal(0, 0.01, seen.shape)
    image = Image.fromarray(np.rint(np.clip(levels, 0, 1) * 255).astype(np.uint8))
    packed = io.BytesIO()
    image.save(packed, "JPEG", quality=quality)
    return np.asarray(Image.open(packed).convert("RGB"))


def plate(
    reflectances: Sequence[Floats],
    illuminant: str,
    seed: int = 1,
    radius: tuple[float, float] = (11, 17),
    backdrop: Floats | None = None,
    count: int = 60,
) -> Floats:
    """CIE XYZ of beads of these reflectances in turn, half of them rods, strewn on a backdrop."""
    rng = np.random.default_rng(seed)
    white = xyz_under(illuminant, np.ones(31))
    behind = xyz_under(illuminant, np.full(31, PAPER) if backdrop is None else backdrop)
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    scene = np.broadcast_to(behind, (HEIGHT, WIDTH, 3)).copy()
    taken: list[tuple[float, float, float]] = []
    for number in range(count):
        for _ in range(200):
            r = rng.uniform(*radius)
            y, x = rng.uniform(2 * r, HEIGHT - 2 * r), rng.uniform(2 * r, WIDTH - 2 * r)
            if all(np.hypot(y - v, x - u) > 1.7 * (r + s) for v, u, s in taken):
                break
        else:
            break
        taken.append((y, x, r))
        body = xyz_under(illuminant, reflectances[number % len(reflectances)])
        _bead(scene, rows, columns, (y, x, r, rng.uniform(0, np.pi)), number % 4 >= 2, body, white)
    return scene


_LIGHT = np.array([0.3, -0.35, 0.89])


def _bead(
    scene: Floats, rows: Floats, columns: Floats, at: tuple[float, float, float, float], rod: bool,
    body: Floats, white: Floats,
) -> None:  # fmt: skip
    """Paint one bead and its shadow."""
    y, x, r, turn = at
    across = (columns - x) * np.cos(turn) + (rows - y) * np.sin(turn)
    along = -(columns - x) * np.sin(turn) + (rows - y) * np.cos(turn)
    if rod:
        r *= 0.6
        beyond = np.maximum(np.abs(along) - 1.6 * r, 0) * np.sign(along)
    else:
        beyond = along
    distance = np.hypot(across, beyond) / r
    # A soft shadow falls away from the light.
    shifted = np.hypot(columns - x + 0.35 * r, rows - y - 0.35 * r) / r
    shadow = 1 - 0.35 * np.clip(1.6 - shifted, 0, 1)
    scene *= np.where(distance < 1, 1, shadow)[..., None]
    inside = distance < 1
    up = np.sqrt(np.clip(1 - distance**2, 0, 1))
    nx = (across * np.cos(turn) - beyond * np.sin(turn)) / r
    ny = (across * np.sin(turn) + beyond * np.cos(turn)) / r
    facing = np.clip(nx * _LIGHT[0] + ny * _LIGHT[1] + up * _LIGHT[2], 0, None)
    # Light comes from the lamp and, less, from all around; flat paper gets 1.
    shade = (0.4 + 0.6 * facing) / (0.4 + 0.6 * _LIGHT[2])
    glint = 0.5 * np.clip(2 * facing * up - _LIGHT[2], 0, 1) ** 60
    painted = shade[..., None] * body + glint[..., None] * white
    scene[inside] = painted[inside]


class Studio:
    """The renderer by its parts, for tests, which cannot import this file."""

    lamps = LAMPS
    paper = PAPER
    chart = staticmethod(chart)
    developed = staticmethod(developed)
    plate = staticmethod(plate)
    true_lab = staticmethod(true_lab)
    xyz_under = staticmethod(xyz_under)


@pytest.fixture(scope="session")
def studio() -> type[Studio]:
    """Renders plates of sprinkles under lamps of known spectrum."""
    return Studio
