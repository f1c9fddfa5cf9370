"""Reading the colours off a photo, with how sure they are and what to do better."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from themekit.colour.space import lab_to_lch, xyz_to_lab
from themekit.errors import InvalidValue, Problem
from themekit.photo import clusters as grouping
from themekit.photo import light, pixels
from themekit.values import ColourShare

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rectangle = tuple[int, int, int, int]

#: Colours told at most, and the smallest picture, in pixels a side.
MOST_COLOURS = 8
LEAST_SIDE = 16
#: Linear level of white below which a photo is too dark, and from which on it is bright enough.
_DARK, _BRIGHT = 0.10, 0.25
#: u'v' distance from daylight of a strong cast (a warm bulb has 0.07); CIELAB chroma without a reference.
_CAST_UV, _CAST_CHROMA = 0.03, 20.0
#: Share of cut-off pixels, and width of the sharpest edges in pixels, from which on we warn.
_BLOWN, _BLURRED = 0.03, 5.0
#: Smooth pixels that are enough.
_ENOUGH = 400

DARK = "The photo is too dark: take it nearer to a window or a lamp."
BLOWN = "Parts are so bright that their colour is lost: avoid the flash, or tilt the jar against glare."
BLURRED = "The photo is blurred: hold still, tap to focus, and take it again."
CAST = "The light is strongly coloured: put a sheet of white paper or a grey card in the picture."
TAKEN = "The light is strongly coloured, or what was taken for white is not: mark the white paper to be sure."
BARE = "No white paper or grey card was found: the colours are as the camera balanced them."
FEW = "Little of the picture is smooth enough to tell a colour: go nearer."
PLAIN = "Nothing stands out from the background: the whole picture was read as one thing."

PALE = (
    "White on white cannot be told: only the shade of it is seen, which is too dark. "
    "Lay pale sprinkles on something dark, with the white paper beside them."
)
#: Lightness of white paper, and of its like in shade, at least; their chroma at most; less is blur at edges.
_WHITE_L, _SHADED_L, _WHITE_C, _PALE_SHARE = 85.0, 65.0, 8.0, 0.1


@dataclass(frozen=True, slots=True)
class PhotoColours:
    """What a photo shows.

    colours      CIELAB (D65, 2°) with shares adding up to 1, the largest first; () when none was found
    sureness     0–1, higher is surer; a measure by rule of thumb, no probability
    warnings     plain sentences, each with what to do
    balanced_by  "white paper", "grey card" or None
    """

    colours: tuple[ColourShare, ...]
    sureness: float
    warnings: tuple[str, ...]
    balanced_by: light.Source | None


def read_photo(rgb: NDArray[np.generic], white: Rectangle | None = None, most: int = MOST_COLOURS) -> PhotoColours:
    """Read colours with shares off a photo of a jar or of sprinkles on a plate.

    Parameters
    ----------
    rgb    sRGB, shape (height, width, 3), uint8, or float in 0–1; at least 16 pixels a side.
    white  x, y, width, height in pixels of white paper or of a grey card in the picture; None
           to look for it.
    most   how many colours are told at most.

    Edges, glare and what fills the border (plate, paper, table) are left out. Raises
    `InvalidValue` for another shape and for a rectangle that is not within the picture.
    The same picture always gives the same answer.
    """
    _check(rgb, white)
    picture = pixels.prepared(rgb)
    xyz, clipped = picture.xyz, picture.clipped
    brightest = _brightest(xyz, clipped)
    # Evened out in brightness, so that edges of a dim picture count as much as those of a bright one.
    rough = xyz_to_lab(xyz * (0.9 / max(brightest, 1e-6)))
    flat = pixels.smooth(rough)
    regions = pixels.regions_of(flat)
    if white is not None:
        inside = _inside(white, picture.scale, flat.shape)
        reference: light.Reference | None = light.from_rectangle(xyz, inside, regions, brightest)
    else:
        reference = light.find(xyz, clipped, regions, brightest)
    lab = xyz_to_lab(xyz if reference is None else light.balanced(xyz, reference))
    behind, backdrop = pixels.background(lab, regions, reference.where if reference else None, brightest)
    usable = ~behind & ~clipped
    plain = (usable & flat).sum() < 0.002 * usable.size
    if plain:
        # Not without its reference: a picture of paper alone has no colours.
        behind = np.zeros_like(behind) if reference is None else reference.where
        usable = ~behind & ~clipped
    found = grouping.clusters(lab, usable, flat, backdrop, most)
    told = sum(c.share for c in found)
    colours = tuple(ColourShare(_lab(c.lab), c.share / told) for c in found)
    level = reference.xyz[1] if reference and reference.source == "white paper" else brightest
    notes = _Notes(
        dark=level,
        blown=float(clipped.mean()),
        width=pixels.edge_width(rough[..., 0]),
        few=int((usable & flat).sum()),
        plain=bool(plain),
        pale=_pale(backdrop, [c.lab for c in found if c.share >= _PALE_SHARE]),
        cast=_cast(xyz, clipped, brightest) if reference is None else 0.0,
    )
    sureness = round(told * _sureness(reference, notes), 2) if colours else 0.0
    return PhotoColours(colours, sureness, _warnings(reference, notes), reference.source if reference else None)


@dataclass(frozen=True, slots=True)
class _Notes:
    """What a photo's worth is judged by."""

    dark: float
    blown: float
    width: float
    few: int
    plain: bool
    pale: bool
    cast: float


def _check(rgb: NDArray[np.generic], white: Rectangle | None) -> None:
    shape = rgb.shape
    if len(shape) != 3 or shape[2] != 3 or min(shape[:2]) < LEAST_SIDE:
        allowed = f"height × width × 3 with at least {LEAST_SIDE} pixels a side"
        got = " × ".join(map(str, shape))
        raise InvalidValue("The photo cannot be read.", [Problem("photo", got, allowed, "Take a larger photo.")])
    if white is None:
        return
    x, y, width, height = white
    if min(x, y) < 0 or min(width, height) < 4 or x + width > shape[1] or y + height > shape[0]:
        allowed = f"x,y,width,height within {shape[1]} × {shape[0]} pixels, at least 4 a side"
        got = ",".join(map(str, white))
        raise InvalidValue("The photo cannot be read.", [Problem("white", got, allowed, "Mark the paper again.")])


def _inside(white: Rectangle, scale: int, shape: tuple[int, ...]) -> Bools:
    """The rectangle on the smaller picture, at least one pixel of it."""
    x, y, width, height = white
    inside = np.zeros(shape, bool)
    top, left = min(y // scale, shape[0] - 1), min(x // scale, shape[1] - 1)
    bottom, right = max((y + height) // scale, top + 1), max((x + width) // scale, left + 1)
    inside[top:bottom, left:right] = True
    return inside


def _brightest(xyz: Floats, clipped: Bools) -> float:
    """The luminance of the brightest hundredth that was not cut off."""
    levels = xyz[..., 1][~clipped]
    return float(np.percentile(levels if levels.size else xyz[..., 1], 99))


def _cast(xyz: Floats, clipped: Bools, brightest: float) -> float:
    """Mean chroma of the brightest tenth: high where the light, or all there is, has one colour."""
    lab = xyz_to_lab(xyz * (0.9 / max(brightest, 1e-6)))[~clipped]
    if not len(lab):
        return 0.0
    bright = lab[lab[:, 0] >= np.percentile(lab[:, 0], 90)]
    return float(lab_to_lch(bright.mean(axis=0))[1])


def _pale(backdrop: Floats, found: Sequence[Floats]) -> bool:
    """Whether something pale lies on white, so that its lit parts look like what lies behind."""

    def white(lab: Floats, least: float) -> bool:
        return bool(lab[0] >= least and np.hypot(lab[1], lab[2]) <= _WHITE_C)

    return any(white(lab, _WHITE_L) for lab in backdrop) and any(white(lab, _SHADED_L) for lab in found)


def _sureness(reference: light.Reference | None, notes: _Notes) -> float:
    """A product of parts: the reference, the light, the focus, glare, and how much was seen."""
    if reference is None:
        sure = 0.35 if notes.cast > _CAST_CHROMA else 0.55
    elif reference.given:
        sure = 1.0
    else:
        sure = 0.95 if reference.source == "white paper" else 0.8
        # The farther from daylight, the likelier is it a coloured surface.
        sure -= min(0.35, 4 * max(0.0, reference.off - 0.01))
    sure *= float(np.interp(notes.dark, [0, _DARK, _BRIGHT], [0.3, 0.6, 1]))
    sure *= 0.7 if notes.width >= _BLURRED else 1
    sure *= float(np.interp(notes.blown, [_BLOWN / 3, 4 * _BLOWN], [1, 0.5]))
    sure *= 0.6 if notes.plain else 1
    sure *= 0.5 if notes.pale else 1
    return sure * float(np.interp(notes.few, [0, _ENOUGH], [0.2, 1]))


def _warnings(reference: light.Reference | None, notes: _Notes) -> tuple[str, ...]:
    told = [
        (DARK, notes.dark < _DARK),
        (BLOWN, notes.blown >= _BLOWN),
        (BLURRED, notes.width >= _BLURRED),
        (CAST, reference is None and notes.cast > _CAST_CHROMA),
        (BARE, reference is None and notes.cast <= _CAST_CHROMA),
        (TAKEN, reference is not None and not reference.given and reference.off > _CAST_UV),
        (PLAIN, notes.plain),
        (PALE, notes.pale),
        (FEW, notes.few < _ENOUGH and not notes.plain),
    ]
    return tuple(text for text, holds in told if holds)


def _lab(lab: Floats) -> tuple[float, float, float]:
    L, a, b = (round(float(v), 2) + 0.0 for v in lab)
    return (min(max(L, 0.0), 100.0), a, b)
