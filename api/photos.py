"""A photo as it comes in: checked before it is decoded, turned upright, in sRGB; nothing of it is kept."""

from __future__ import annotations

import io
import warnings
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
#: Larger pictures are made smaller; colours need no more.
_SIDE = 1_400
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
_UNREADABLE = (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError)


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
            if image.width * image.height > MOST_PIXELS:
                raise _too_large(f"{image.width} × {image.height} pixels")
            image.draft("RGB", (_SIDE, _SIDE))
            image.load()
            upright = ImageOps.exif_transpose(_srgb(image))
    except InvalidValue:
        raise
    except Image.DecompressionBombError as error:
        raise _too_large(f"{len(data):,} bytes that unpack into very many pixels") from error
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        EOFError,
    ) as error:
        problem = Problem(
            "photo", f"{len(data):,} bytes", "a whole JPEG, PNG, WebP or HEIC", "Take or save it again."
        )
        raise InvalidValue("This is no photo that can be read.", [problem]) from error
    side = max(upright.size)
    if side > _SIDE:
        upright = upright.resize(
            tuple(max(1, round(v * _SIDE / side)) for v in upright.size),
            Image.Resampling.BOX,  # type: ignore[arg-type]
        )
    return np.asarray(upright), max(1.0, side / _SIDE)


def _too_large(got: str) -> InvalidValue:
    allowed = f"at most {MOST_PIXELS // 1_000_000} million pixels"
    return InvalidValue("The photo is too large.", [Problem("photo", got, allowed, "Send a smaller photo.")])


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
