"""From a reflectance spectrum to CIELAB: the 2° observer under daylight.

References
----------
ISO/CIE 11664-1:2019, the CIE 1931 standard observer; ISO/CIE 11664-2:2022, D65;
both tabulated by 1 nm. ASTM E2022-11, Lagrange weights for a 10 nm interval; ASTM
E308-15, 7.3.2.2, the weights beyond 400 and 700 nm are added to the end bands.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from themekit.colour.space import xyz_to_lab

Floats = NDArray[np.float64]

#: The bands of every spectrum in this package, nm.
WAVELENGTHS: Floats = np.arange(400.0, 701.0, 10.0)
WAVELENGTHS.setflags(write=False)
BANDS = len(WAVELENGTHS)

#: X, Y and Z of each band, scaled so that the perfect reflector has Y = 1. The tests
#: work the table out again from colour-science's observer and illuminant.
WEIGHTS: Floats = np.array(
    [
        (0.00130643, 0.00003639, 0.00618140),  # 400
        (0.00375602, 0.00010050, 0.01788267),  # 410
        (0.01199914, 0.00035500, 0.05765440),  # 420
        (0.02396094, 0.00098365, 0.11697550),  # 430
        (0.03417763, 0.00226091, 0.17150194),  # 440
        (0.03698684, 0.00417325, 0.19505710),  # 450
        (0.03227319, 0.00664154, 0.18520320),  # 460
        (0.02148836, 0.00997985, 0.14136565),  # 470
        (0.01042435, 0.01501289, 0.08849834),  # 480
        (0.00332729, 0.02163698, 0.04855922),  # 490
        (0.00045462, 0.03352106, 0.02802351),  # 500
        (0.00098024, 0.05129035, 0.01601905),  # 510
        (0.00636705, 0.07076321, 0.00791306),  # 520
        (0.01666530, 0.08707589, 0.00419705),  # 530
        (0.02883623, 0.09473620, 0.00202300),  # 540
        (0.04250441, 0.09751853, 0.00085586),  # 550
        (0.05625908, 0.09419082, 0.00036552),  # 560
        (0.06987731, 0.08721693, 0.00019254),  # 570
        (0.08213575, 0.07801705, 0.00014353),  # 580
        (0.08729789, 0.06441864, 0.00009822),  # 590
        (0.09014742, 0.05351117, 0.00006732),  # 600
        (0.08491545, 0.04262541, 0.00003181),  # 610
        (0.07050375, 0.03145167, 0.00001398),  # 620
        (0.05124142, 0.02112575, 0.00000435),  # 630
        (0.03515839, 0.01373223, 0.00000138),  # 640
        (0.02167299, 0.00817523, 0.00000017),  # 650
        (0.01252077, 0.00462982, 0.00000000),  # 660
        (0.00678377, 0.00248271, 0.00000000),  # 670
        (0.00340676, 0.00123805, 0.00000000),  # 680
        (0.00153399, 0.00055462, 0.00000000),  # 690
        (0.00150580, 0.00054371, 0.00000000),  # 700
    ]
)
WEIGHTS.setflags(write=False)


def reflectance_to_xyz(reflectance: ArrayLike) -> Floats:
    """CIE XYZ (perfect reflector at Y = 1) of reflectances 0–1, shape (..., 31)."""
    return np.asarray(np.asarray(reflectance, float) @ WEIGHTS)


def reflectance_to_lab(reflectance: ArrayLike) -> Floats:
    """CIELAB under D65 of reflectances 0–1, shape (..., 31) to (..., 3)."""
    return xyz_to_lab(reflectance_to_xyz(reflectance))
