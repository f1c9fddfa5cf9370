"""What counts how much: every weight and threshold of the suggestions in one place.

How they were arrived at: harmony alone was tried first and runs to three near-equal pale
colours, so it stays small; fit and coverage lead, because she asked for a theme; the
rest was set by trying thirty trial themes on the demo shelf and asking which palette and
trio looked like the theme, stayed legible when piped and differed to eye and mouth. No
published source gives such weights; a baker's own choices move them (see `taste`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Parts:
    """Weights of the parts of one score; they add up to 1.

    fit           closeness of the members' own colours to the theme's anchors
    coverage      how much of the theme's anchors some member shows
    harmony       Ou and Luo, mean of the three pairs, scaled to 0–1
    contrast      tints: lightness steps; jars: difference of texture
    distinctness  the smallest pair distance
    chroma        tints: as colourful as the theme
    ease          tints: few gels to mix
    suits         jars: harmony with the palette
    ties          jars: of a colour of the icing, of what the theme leads with, or a neutral
    stock         jars: enough for the kits asked, with a bonus for idle ones
    motif         jars: shaped ones show something of the theme, and nothing else
    """

    fit: float
    coverage: float
    harmony: float
    contrast: float
    distinctness: float
    chroma: float = 0.0
    ease: float = 0.0
    suits: float = 0.0
    ties: float = 0.0
    stock: float = 0.0
    motif: float = 0.0


PALETTE = Parts(fit=0.30, coverage=0.28, harmony=0.08, contrast=0.10, distinctness=0.14, chroma=0.07, ease=0.03)
TRIO = Parts(
    fit=0.18, coverage=0.16, harmony=0.04, contrast=0.11, distinctness=0.06, suits=0.05, ties=0.20, stock=0.08,
    motif=0.12,
)  # fmt: skip
#: What a jar's motifs are worth: one of the theme's, none or a plain shape, something else.
MOTIF_OF_THEME, MOTIF_NONE, MOTIF_OTHER = 1.0, 0.7, 0.0
#: Toppings of the pantry rather than the sprinkle shelf: they come forward where the theme names them or their
#: colour leads, not because white chips go with everything.
MOTIF_PANTRY = 0.3
OF_THE_PANTRY = frozenset(
    (
        "mini chips", "chips", "chocolate shavings", "mini marshmallows", "marshmallow bits", "shredded coconut",
        "flaked coconut", "crushed candy", "toffee bits", "chopped nuts", "freeze-dried fruit bits", "puffed rice",
        "crisped rice", "cookie crumbs", "gummy pieces",
    )
)  # fmt: skip
#: Shapes that say nothing of their own and go with any theme.
PLAIN_MOTIFS = ("circle", "dot", "heart", "star", "flower", "square", "bead")
#: An idea's score from its palette's, its trio's and its cutters'.
IDEA_PALETTE, IDEA_TRIO, IDEA_CUTTERS = 0.45, 0.35, 0.20

#: CIEDE2000 at which closeness to an anchor has fallen to 1/e.
CLOSENESS_SCALE = 16.0
#: A jar's colour is kin to a tint in full up to this CIEDE2000, and from that on not at all;
#: lightness counts half, so that a paler or deeper shade of the icing is still of its kin.
TIED_WITHIN, UNTIED_FROM, TIE_K_L = 12.0, 28.0, 2.0
#: Below the first chroma a colour is a grey, above the second it is clearly none.
GREY_C, COLOURED_C = 8.0, 18.0
#: A topping that is more colourful than a tint by more than this chroma loses of its kinship, at most
#: the last part and that at so much more.
LOUD_FROM, LOUD_SPAN, LOUD_MOST = 20.0, 30.0, 0.6
#: What white, cream, metals and chocolate are worth as a tie: they go with most icings.
NEUTRAL_TIE = 0.75
#: The theme leads with every anchor of at least this part of its heaviest one's weight.
LEADS = 0.7
#: Toppings are as near to a colour as the nearest one up to this much further off.
AS_NEAR = 4.0
#: A jar tied less than this is told as odd beside the icing.
STRAY_BELOW = 0.4
#: A jar shows a colour in full from this share on: one bead in seven is seen.
SHOWN_SHARE = 0.15
#: Of a many-coloured theme so much of harmony's weight goes to coverage: there the
#: published model, made for two or three colours, would only bury what was asked for.
MANY_COLOURED_SHIFT = 0.8
#: Icing darker than this bleeds into its neighbours; one such tint at most.
VERY_DARK_L = 34.0
#: Icing this light and this neutral reads as white; one such tint at most.
WHITE_L, WHITE_C = 91.0, 7.0
#: Ideas differ by at least this mean CIEDE2000 of their palettes …
APART = 8.0
#: … and reach this part of the best score, or are not given.
QUALITY_FLOOR = 0.8
#: A tint counts as an included colour within this CIEDE2000, as an avoided one within that.
INCLUDED_WITHIN, AVOIDED_WITHIN = 10.0, 15.0
#: A tint shows a half of the wish within this CIEDE2000 of one of its colours; a colour said
#: outright within this much more than the nearest that the gels make, if that is not too far off.
SHOWN_WITHIN, SAID_SLACK, SAID_FAR = 14.0, 4.0, 20.0
#: Beyond this CIEDE2000 an anchor is said to be out of the gels' reach.
OUT_OF_REACH = 6.0


def counted(parts: Parts) -> tuple[str, ...]:
    """The names of the parts that weigh anything."""
    return tuple(name for name in parts.__dataclass_fields__ if getattr(parts, name) > 0)


def scaled(parts: Parts, factors: Mapping[str, float]) -> Parts:
    """The weights, each times its factor; without factors the very same."""
    if not factors:
        return parts
    return Parts(**{name: getattr(parts, name) * factors.get(name, 1.0) for name in parts.__dataclass_fields__})


def rescaled(parts: Parts, themed: bool, many: float) -> Parts:
    """The weights for a reading: without a theme fit and coverage fall away.

    `many` (0–1) is how many-coloured the theme is.
    """
    values = {name: getattr(parts, name) for name in parts.__dataclass_fields__}
    if not themed:
        for name in ("fit", "coverage", "chroma", "motif"):
            values[name] = 0.0
        total = sum(values.values())
        return Parts(**{name: value / total for name, value in values.items()})
    moved = MANY_COLOURED_SHIFT * many * values["harmony"]
    values["harmony"] -= moved
    values["coverage"] += moved
    return Parts(**values)
