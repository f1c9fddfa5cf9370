"""Pictures of what the API answers, drawn by the core from the things on the shelf."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from catalog import lexicon as built_in
from catalog.batch_fields import check_batch, flattened
from catalog.batch_kit import kit_of
from themekit.draw.kit import Touch, kit_picture
from themekit.make.kit import Kit
from themekit.values import Shelf


def kit_of_idea(idea: dict[str, Any], theme: str, shelf: Shelf) -> Kit:
    """The core's value of a kit from an idea as the API gives it."""
    lexicon = built_in.lexicon()
    clean, _ = check_batch({**flattened({"idea": idea}), "theme": theme, "kits": 1}, shelf, lexicon.staples)
    return kit_of(clean, shelf, lexicon.staples, lexicon.colour_basics)


def picture_of(kit: Kit, prefix: str, title: str = "", touch: Mapping[str, Touch] | None = None) -> Markup:
    """The kit from above, with what a tap on each part leads to; the core escapes every name in it."""
    return Markup(kit_picture(kit, prefix, title or None, touch))
