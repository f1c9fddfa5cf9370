"""What one print is made from, and what several prints tell alike."""

from __future__ import annotations

import base64
import binascii
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from themekit.colour.space import lab_to_hex
from themekit.errors import Problem, raise_all
from themekit.make.units import System
from themekit.make.work import Work
from themekit.values import Jar

Json = dict[str, Any]
Paper = Literal["a4", "letter"]
#: Papers by name, each as the templates call it.
PAPERS: Mapping[str, str] = {"a4": "a4", "letter": "us-letter"}
UNITS: Mapping[str, System] = {"metric": "metric", "us": "US"}
_PNG = "data:image/png;base64,"
MOST_PICTURE_BYTES, MOST_PICTURE_SIDE = 200_000, 4_000


@dataclass(frozen=True, slots=True)
class Job:
    """A batch worked out, with how it is to be printed.

    shelf   the shelf's own name.
    name    the batch's name.
    missing what is not known or no longer there, all of it.
    to      who gets it and when, asked what they asked for; "" where that is not known.
    """

    work: Work
    shelf: str
    name: str
    missing: Sequence[str] = ()
    paper: Paper = "a4"
    system: System = "metric"
    to: str = ""
    asked: str = ""

    @property
    def basics(self) -> Json:
        """What every template takes."""
        short = self.name if len(self.name) <= 50 else self.name[:49] + "…"
        return {"paper": PAPERS[self.paper], "shelf": self.shelf, "title": self.name, "short": short}


def usual_paper(shelf: Mapping[str, Any], jurisdiction: str) -> Paper:
    """Letter where the shelf is in the US or Canada, else A4.

    By the first of these that tells: the locale's country, the region's words, the currency,
    the rules of the label.
    """
    _, dash, country = (shelf.get("locale") or "").replace("_", "-").rpartition("-")
    if dash and len(country) == 2:
        return "letter" if country.upper() in ("US", "CA") else "a4"
    words = {word.strip(".,()").casefold() for word in (shelf.get("region") or "").split()}
    if words & {"us", "usa", "u.s", "u.s.a", "canada"} or {"united", "states"} <= words:
        return "letter"
    currency = shelf.get("currency")
    if currency:
        return "letter" if currency in ("USD", "CAD") else "a4"
    return "letter" if jurisdiction in ("US", "CA") else "a4"


def jar_colours(jar: Jar, most: int = 3) -> list[str]:
    """A jar's main colours as hex, the largest share first."""
    return [lab_to_hex(c.lab) for c in sorted(jar.colours, key=lambda c: -c.share)[:most]]


@lru_cache(maxsize=8)
def logo(uri: str) -> str:
    """A picture of the shelf's own as SVG around it; "" for none. Raises `InvalidValue`.

    The picture is written anew, so that nothing but its pixels gets into a print.
    """
    if not uri:
        return ""
    from PIL import Image

    try:
        data = base64.b64decode(uri.removeprefix(_PNG), validate=True) if uri.startswith(_PNG) else b""
        if not data or len(data) > MOST_PICTURE_BYTES:
            raise ValueError
        with Image.open(io.BytesIO(data), formats=("PNG",)) as picture:
            width, height = picture.size
            if max(width, height) > MOST_PICTURE_SIDE:
                raise ValueError
            anew = io.BytesIO()
            picture.convert("RGBA").save(anew, "PNG")
    except (ValueError, OSError, SyntaxError, binascii.Error, Image.DecompressionBombError):
        most = f"at most {MOST_PICTURE_BYTES // 1000} kB and {MOST_PICTURE_SIDE} pixels a side"
        allowed = f"{_PNG}… with a whole PNG of {most}"
        got = f"{uri[:40]}… ({len(uri)} characters)"
        problem = Problem("settings.label.picture", got, allowed, "Make it smaller, or leave it out.")
        raise_all([problem], "The picture cannot be printed.")
    href = _PNG + base64.b64encode(anew.getvalue()).decode()
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        f'<image width="{width}" height="{height}" href="{href}"/></svg>'
    )
