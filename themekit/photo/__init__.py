"""A photo of a jar, or of sprinkles on a plate, as CIELAB colours with shares."""

from __future__ import annotations

from themekit.photo.reading import PhotoColours, read_photo

__all__ = ["PhotoColours", "read_photo"]
