"""A photo of twelve million pixels read, beside only unpacking and shrinking it.

Run: python tests/bench/bench_photo.py
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

from table import Row, main, median_ms

from api.photos import colours_of

SIZE = (4000, 3000)
ROUNDS = 5


def photo() -> bytes:
    """Red, blue and yellow patches with a little noise on white paper, as JPEG."""
    draw = np.random.default_rng(3)
    picture = np.full((SIZE[1] // 10, SIZE[0] // 10, 3), 236.0)
    for number in range(60):
        y, x = draw.integers(10, SIZE[1] // 10 - 40), draw.integers(10, SIZE[0] // 10 - 40)
        picture[y : y + 28, x : x + 28] = ((179, 32, 44), (47, 95, 179), (235, 200, 60))[number % 3]
    picture += draw.normal(0, 2, picture.shape)
    image = Image.fromarray(np.clip(picture, 0, 255).astype(np.uint8)).resize(SIZE, Image.Resampling.BICUBIC)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90)
    return out.getvalue()


def unpacked(data: bytes) -> None:
    """What no reading of a photo can do without."""
    image = Image.open(io.BytesIO(data))
    image.draft("RGB", (1400, 1400))
    image.convert("RGB").resize((1400, 1050), Image.Resampling.BOX)


def rows(quick: bool) -> Iterator[Row]:
    """One photo."""
    data, rounds = photo(), 1 if quick else ROUNDS
    found = colours_of(data)
    read = median_ms(lambda: colours_of(data), rounds)
    alone = median_ms(lambda: unpacked(data), rounds)
    note = f"{len(found['colours'])} colours, sureness {found['sureness']:.2f}"
    size = f"{SIZE[0]} × {SIZE[1]} pixels, {len(data) / 1e6:.1f} MB"
    yield Row("colours off a photo", read, "ms", "unpacking it", alone, size=size, note=note)


if __name__ == "__main__":
    main(rows, __doc__)
