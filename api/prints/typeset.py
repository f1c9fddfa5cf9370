"""From data to PDF: one compiler, its fonts loaded once, templates of this folder."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any, cast

import typst

from api.prints.glyphs import FONTS, Glyphs
from themekit.errors import ThemekitError

_TEMPLATES = Path(__file__).parent / "templates"
#: What a template says, before the part concerned, when something does not fit.
_TOO_LONG = "panicked with: too long: "
#: Fields that are pictures, not text for people.
PICTURES = ("picture", "logo")
_one_at_a_time = Lock()


class DoesNotFit(ThemekitError, ValueError):
    """Text that goes on no page, even at the smallest type; `part` is the template's word for it."""

    code = "too_long"

    def __init__(self, part: str) -> None:
        super().__init__(f"The {part} does not fit on its page.")
        self.part = part


@lru_cache(maxsize=1)
def _compiler() -> typst.Compiler:
    return typst.Compiler(root=str(_TEMPLATES), font_paths=[str(FONTS)], ignore_system_fonts=True)


def typeset(template: str, data: Mapping[str, Any]) -> tuple[bytes, str]:
    """The PDF of a template with this data, and the signs in it that no font has, once each.

    The same data give the same bytes: no clock, no fonts but those shipped. Signs without a
    glyph are printed as a replacement character. Raises `DoesNotFit`.
    """
    glyphs = Glyphs()
    text = json.dumps(_clean(data, glyphs), ensure_ascii=False)
    with _one_at_a_time:
        try:
            made = _compiler().compile(
                input=str(_TEMPLATES / f"{template}.typ"), sys_inputs={"data": text}, format="pdf", timestamp=0
            )
        except typst.TypstError as error:
            told = str(error)
            if told.startswith(_TOO_LONG):
                raise DoesNotFit(told.removeprefix(_TOO_LONG)) from None
            raise
    # One format of one file is bytes; typst's signature foresees others.
    return cast(bytes, made), "".join(glyphs.missing)


def _clean(value: Any, glyphs: Glyphs) -> Any:
    if isinstance(value, str):
        return glyphs.shown(value)
    if isinstance(value, Mapping):
        return {k: v if k in PICTURES else _clean(v, glyphs) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(one, glyphs) for one in value]
    return value
