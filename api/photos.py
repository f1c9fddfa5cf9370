"""A photo as it comes in: checked before it is decoded, turned upright, in sRGB; nothing of it is kept."""

from __future__ import annotations

import io
import re
import struct
import warnings
from threading import Lock
from typing import Any

import numpy as np
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from api.answers import Json, lab_list
from catalog import lexicon as built_in
from themekit.colour.names import names_of
from themekit.colour.space import labs_to_hex
from themekit.errors import InvalidValue, Problem, raise_all
from themekit.photo import read_photo

MOST_BYTES = 15_000_000
MOST_PIXELS = 60_000_000
#: Bytes of memory that a pixel takes at most while it is unpacked, as measured, and how many are given to it.
#: A plain JPEG is made small while it is unpacked, and takes next to nothing.
_BYTES_PER_PIXEL = {"WEBP": 17, "HEIF": 9, "PNG": 10, "JPEG": 12}
_MOST_MEMORY = 225_000_000
#: Larger pictures are made smaller; colours need no more.
_SIDE = 1_400
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
# Large photos that come in together are unpacked one after another, or memory would run out.
_ONE_AT_A_TIME = Lock()


def colours_of(data: bytes, white: Any = None) -> Json:
    """The colours of a jar or of sprinkles in a photo: JPEG, PNG, WebP or HEIC.

    `white` is "x,y,width,height" of white paper or a grey card, in pixels of the upright
    photo. Raises `InvalidValue` with every problem. Where and by whom it was taken is
    never read.
    """
    rectangle, problems = _rectangle(white)
    if not data or len(data) > MOST_BYTES:
        allowed = f"a photo of at most {MOST_BYTES // 1_000_000} MB"
        problems.append(Problem("photo", f"{len(data):,} bytes", allowed, "Send a smaller photo."))
    raise_all(problems, "The photo cannot be read.")
    picture, shrunk = _opened(data)
    if rectangle is not None and shrunk > 1:
        x, y, width, height = (max(0, round(v / shrunk)) for v in rectangle)
        rectangle = (x, y, max(4, width), max(4, height))
    read = read_photo(picture, rectangle)
    labs = [c.lab for c in read.colours]
    names = names_of(built_in.lexicon().colour_basics)
    told = names.nearest_many(labs) if labs else []
    hexes = labs_to_hex(labs) if labs else []
    return {
        "colours": [
            {"lab": lab_list(c.lab), "hex": hex_, "name": name, "share": round(c.share, 4)}
            for c, hex_, (name, _) in zip(read.colours, hexes, told, strict=True)
        ],
        "sureness": read.sureness,
        "warnings": list(read.warnings),
        "balanced_by": read.balanced_by,
    }


def _opened(data: bytes) -> tuple[np.ndarray[Any, Any], float]:
    """The upright picture in sRGB, shape (h, w, 3), and by how much it was made smaller."""
    import pillow_heif

    pillow_heif.register_heif_opener(thumbnails=False)
    try:
        with warnings.catch_warnings():
            # A picture that unpacks into very much more is refused by its size, below.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data), formats=FORMATS)
            most = _most_pixels(image)
            width, height = _unpacked(image, data)
            if width * height > most:
                raise _too_large(f"{width} × {height} pixels", most)
            side = max(image.size)
            with _ONE_AT_A_TIME:
                image.draft("RGB", (_SIDE, _SIDE))
                image.load()
                # Made small before anything else, since every step needs another picture of its size.
                image = _small(image)
            upright = ImageOps.exif_transpose(_srgb(image))
    except InvalidValue:
        raise
    except Image.DecompressionBombError as error:
        got = f"{len(data):,} bytes that unpack into very many pixels"
        raise _too_large(got, _MOST_MEMORY // max(_BYTES_PER_PIXEL.values())) from error
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        EOFError,
        # From the library for HEIF, of a picture that is not as large as its file says.
        RuntimeError,
    ) as error:
        problem = Problem(
            "photo", f"{len(data):,} bytes", "a whole JPEG, PNG, WebP or HEIC", "Take or save it again."
        )
        raise InvalidValue("This is no photo that can be read.", [problem]) from error
    return np.asarray(upright), max(1.0, side / max(upright.size))


def _most_pixels(image: Image.Image) -> int:
    plain = image.format == "JPEG" and image.mode in ("RGB", "L") and not image.info.get("progressive")
    return MOST_PIXELS if plain else _MOST_MEMORY // _BYTES_PER_PIXEL[str(image.format)]


def _unpacked(image: Image.Image, data: bytes) -> tuple[int, int]:
    """Width and height of what is unpacked: of HEIF before a part is cut out of it, of which alone its size tells.

    By the property ispe of ISO/IEC 23008-12: four bytes of version and flags, width, height. More is not
    unpacked than it says.
    """
    told = [image.size]
    if image.format == "HEIF":
        told += [struct.unpack(">4xII", found) for found in re.findall(rb"ispe(.{12})", data, re.DOTALL)]
    return max(told, key=lambda size: size[0] * size[1])


def _small(image: Image.Image) -> Image.Image:
    """A picture whose longer side is no more than `_SIDE`, with what the camera wrote beside it."""
    if max(image.size) <= _SIDE:
        return image
    if image.mode in ("P", "PA", "1"):
        # Numbers of colours have no mean, so every so many of them is taken, and then their colours.
        share = min(1.0, 2 * _SIDE / max(image.size))
        image = image.resize(_size(image, share), Image.Resampling.NEAREST)
        clear = image.mode == "PA" or "transparency" in image.info
        image = image.convert("RGBA" if clear else "RGB")
    return image.resize(_size(image, _SIDE / max(image.size)), Image.Resampling.BOX)


def _size(image: Image.Image, share: float) -> tuple[int, int]:
    return max(1, round(image.width * share)), max(1, round(image.height * share))


def _too_large(got: str, most: int) -> InvalidValue:
    allowed = f"at most {most // 1_000_000} million pixels in this format"
    hint = f"Send a smaller photo, or save it as a plain JPEG of at most {MOST_PIXELS // 1_000_000} million."
    return InvalidValue("The photo is too large.", [Problem("photo", got, allowed, hint)])


def _srgb(image: Image.Image) -> Image.Image:
    """The picture in sRGB: its own profile is followed, what is clear stands on white."""
    profile, exif = image.info.get("icc_profile"), image.getexif()
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        over = image.convert("RGBA")
        white = Image.new("RGBA", over.size, "white")
        image = Image.alpha_composite(white, over).convert("RGB")
    if image.mode.startswith("I"):
        image = image.point(lambda v: v / 256).convert("L")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            made = ImageCms.profileToProfile(image, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
            image = made if made is not None else image
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass
    plain = image.convert("RGB")
    # How it was held is all that is kept of what the camera wrote.
    if exif.get(0x0112):
        plain.getexif()[0x0112] = exif[0x0112]
    return plain


def _rectangle(white: Any) -> tuple[tuple[int, int, int, int] | None, list[Problem]]:
    if white is None or white == "":
        return None, []
    parts = str(white)[:60].split(",")
    if len(parts) == 4 and all(p.strip().isascii() and p.strip().isdigit() and len(p.strip()) < 7 for p in parts):
        x, y, width, height = (int(p) for p in parts)
        return (x, y, width, height), []
    return None, [Problem("white", str(white)[:60], "x,y,width,height in whole pixels", "Mark the paper again.")]
