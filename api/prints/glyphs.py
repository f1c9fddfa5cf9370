"""Which signs the shipped fonts can print. What they cannot is shown as a replacement character."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from functools import cache, lru_cache
from pathlib import Path

Drawn = tuple[tuple[int, int], bytes]
FONTS = Path(__file__).parent / "fonts"
#: Fonts of running text; together they say what can be printed.
_TEXT = ("NotoSans-Regular.ttf", "NotoSansHebrew-Regular.ttf", "NotoSansArabic-Regular.ttf", "Quicksand-Bold.ttf")
#: The replacement character of Unicode (chapter 23.8), which the text fonts have.
INSTEAD = "\ufffd"
#: A code point that no font may have a glyph for, so that it shows the sign of a missing one.
_NONE = "\uffff"


class Glyphs:
    """Makes text printable and keeps what had no glyph, once each, in order."""

    def __init__(self) -> None:
        self.missing: dict[str, None] = {}

    def shown(self, text: str) -> str:
        """The text with replacement characters for signs without glyph; invisible signs are left out."""
        if text.isascii() and text.isprintable():
            return text
        return "".join(self._sign(c) for c in unicodedata.normalize("NFC", text))

    def _sign(self, sign: str) -> str:
        if sign in "\n\u200b\u00ad" or (sign.isascii() and sign.isprintable()):
            return sign
        # Joiners, variation selectors, signs that turn the direction, controls, lone surrogates.
        if unicodedata.category(sign) in ("Cc", "Cf", "Cs") or "\ufe00" <= sign <= "\ufe0f":
            return ""
        if has_glyph(sign):
            return sign
        self.missing[sign] = None
        return INSTEAD


@lru_cache(maxsize=8192)
def has_glyph(sign: str) -> bool:
    """Whether any of the text fonts draws this one character."""
    return unicodedata.category(sign) == "Zs" or any(_draws(name, sign) for name in _TEXT)


def _draws(name: str, sign: str) -> bool:
    """Whether a font draws a sign otherwise than one that it does not have."""
    drawn, missing = _font(name)
    return drawn(sign) != missing


@cache
def _font(name: str) -> tuple[Callable[[str], Drawn], Drawn]:
    """What draws a sign of a font as size and pixels, and how that font shows a missing one."""
    from PIL import ImageFont

    font = ImageFont.truetype(str(FONTS / name), 24, layout_engine=ImageFont.Layout.BASIC)

    def drawn(sign: str) -> Drawn:
        mask = font.getmask(sign)
        return mask.size, bytes(mask)

    return drawn, drawn(_NONE)
